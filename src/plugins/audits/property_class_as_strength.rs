//! `property-class-as-strength`: The number of a property class is recorded as a strength in MPa.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "property-class-as-strength",
    severity: Warning,
    integrity: false,
    what: "The number of a property class is recorded as a strength in MPa.",
    why: "Class 70 of a stainless screw means 700 MPa, class 100 means 1000 MPa.",
    waive: "when the metal really is that weak",
    source: "ISO 3506-1: a tenth of the minimum tensile strength (memory)",
    cases: include_str!("../../../tests/data/audits/property-class-as-strength.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    const CLASSES: [f64; 5] = [45.0, 50.0, 70.0, 80.0, 100.0];
    let concerned = matches!(at.word, "tensile_strength" | "yield_strength") && at.is_family(context, "steel") && at.in_use();
    let Some((low, _)) = at.claim.value.ends().filter(|_| concerned) else { return };
    let number = low.si / 1e6;
    if CLASSES.iter().any(|c| (c - number).abs() < 1e-6) {
        let message = format!("{} is the number of a property class; the strength would be {:.0} MPa", low.text, number * 10.0);
        findings.find(at.value_spot(), message, "write ten times the class in MPa, or name the class in `method`");
    }
}
