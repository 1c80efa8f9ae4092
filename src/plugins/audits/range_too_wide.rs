//! `range-too-wide`: A range of a material property spans more than a factor of fifty.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "range-too-wide",
    severity: Warning,
    integrity: false,
    what: "A range of a material property spans more than a factor of fifty.",
    why: "Nothing can be concluded from it; often one end has the wrong unit.",
    waive: "when the class really spans that much, as viscosities can",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/range-too-wide.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Value::Between { low: Some(low), high: Some(high) } = &at.claim.value else { return };
    let narrow = matches!(
        low.quantity(),
        Quantity::Stress | Quantity::Density | Quantity::Expansion | Quantity::Toughness | Quantity::EnergyPerArea
    );
    if at.in_use() && narrow && low.si > 0.0 && high.si / low.si > 50.0 {
        let message = format!("{} to {} spans a factor of {:.0}", low.text, high.text, high.si / low.si);
        findings.find(at.spot("low"), message, "check the units of both ends");
    }
}
