//! `digits-too-few`: A measured value has only one significant digit.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "digits-too-few",
    severity: Note,
    integrity: false,
    what: "A measured value has only one significant digit.",
    why: "It may be off by a quarter or more.",
    waive: "when the source prints no more digits",
    source: "arithmetic",
    cases: include_str!("../../../tests/data/audits/digits-too-few.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(value) = at.mean.as_ref().filter(|_| at.in_use && at.tested) else { return };
    let coarse = value.significant_digits() < 2
        && !matches!(value.quantity(), Quantity::Number | Quantity::Fraction | Quantity::Temperature);
    if coarse && value.si != 0.0 {
        findings.find(
            at.spot(StatementPart::Mean),
            format!("{} has one digit", value.text),
            "give the value with the digits of the measurement",
        );
    }
}
