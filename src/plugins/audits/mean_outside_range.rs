//! `mean-outside-range`: A mean lies outside the range of the results.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "mean-outside-range",
    severity: Error,
    integrity: true,
    what: "A mean lies outside the range of the results.",
    why: "That is impossible; one of the three numbers is wrong.",
    waive: "never: correct the record",
    source: "arithmetic",
    cases: include_str!("../../../tests/data/audits/mean-outside-range.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(mean) = at.mean.as_ref().filter(|_| at.in_use) else { return };
    let below = at.least.as_ref().filter(|l| mean.si + half_step(mean) < l.si - half_step(l));
    let above = at.most.as_ref().filter(|m| mean.si - half_step(mean) > m.si + half_step(m));
    if let Some(end) = below.or(above) {
        let word = if below.is_some() { "below the smallest result" } else { "above the largest result" };
        findings.find(
            at.spot(StatementPart::Mean),
            format!("{} lies {word}, {}", mean.text, end.text),
            "read the three numbers again",
        );
    }
}
