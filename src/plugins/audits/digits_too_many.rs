//! `digits-too-many`: A value has more digits than its spread allows, or than such a test can give.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "digits-too-many",
    severity: Warning,
    integrity: false,
    what: "A value has more digits than its spread allows, or than such a test can give.",
    why: "Digits are evidence; invented ones are false evidence.",
    waive: "when the source prints them and the record keeps them as printed",
    source: "ASTM D6436 limits significant digits (scope read); GUM 7.2.6 (memory)",
    cases: include_str!("../../../tests/data/audits/digits-too-many.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(value) = at.mean.as_ref().filter(|_| at.in_use) else { return };
    let spread = at.sd.as_ref().filter(|sd| sd.si > 0.0);
    let beyond_spread = spread.is_some_and(|sd| 2.0 * half_step(value) < 0.004 * sd.si);
    let mechanical = matches!(value.quantity(), Quantity::Stress | Quantity::Force | Quantity::Torque | Quantity::Toughness);
    let beyond_test = spread.is_none() && mechanical && value.significant_digits() > 4;
    if beyond_spread || beyond_test {
        let limit = spread.map_or_else(|| "such a test gives at most four".to_owned(), |sd| format!("the spread is {}", sd.text));
        findings.gap(
            at.own,
            at.spot(StatementPart::Mean),
            format!("{} has {} digits; {limit}", value.text, value.significant_digits()),
            "round to the significant digits, or keep them as printed and waive this finding",
        );
    }
}
