//! `n-missing`: A measured value or a spread does not state the number of specimens.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "n-missing",
    severity: Error,
    integrity: false,
    what: "A measured value or a spread does not state the number of specimens.",
    why: "A standard deviation from two specimens means far less than one from twenty.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 2602 (memory)",
    cases: include_str!("../../../tests/data/audits/n-missing.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let spread = at.sd.is_some() || at.measurement().is_some_and(|m| m.says.cv.is_some());
    let told = at.n.is_some()
        || !at.samples.is_empty()
        || at.measurement().is_some_and(|m| m.series.not_stated("n") || m.says.statistic.as_deref() == Some("single"));
    let counted_else = at.claim().is_some_and(|c| c.claim.n.is_some());
    if at.in_use && at.tested && !told && !counted_else && (spread || (at.own && at.mean.is_some())) {
        let part = if at.sd.is_some() { StatementPart::Sd } else { StatementPart::Mean };
        findings.gap(at.own, at.spot(part), "the number of specimens is not stated", "add `n`");
    }
}
