//! `spread-missing`: A mean of several specimens has no spread.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "spread-missing",
    severity: Warning,
    integrity: false,
    what: "A mean of several specimens has no spread.",
    why: "Nobody can say how low the next specimen may be.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 2602 (memory)",
    cases: include_str!("../../../tests/data/audits/spread-missing.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let told = at.has_spread || at.measurement().is_some_and(|m| m.series.not_stated("sd"));
    if at.in_use && at.tested && at.n.is_some_and(|n| n >= 2) && at.mean.is_some() && !told {
        findings.gap(
            at.own,
            at.spot(StatementPart::Mean),
            "the mean has no spread",
            "add `sd`, the range, or the single results",
        );
    }
}
