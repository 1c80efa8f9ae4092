//! `expansion-span-missing`: A coefficient of thermal expansion does not state its temperature range.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "expansion-span-missing",
    severity: Warning,
    integrity: false,
    what: "A coefficient of thermal expansion does not state its temperature range.",
    why: "Above the glass transition it doubles or triples.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 11359-2 (memory)",
    cases: include_str!("../../../tests/data/audits/expansion-span-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let concerned = matches!(at.word, "cte") && at.in_use() && at.claim.source.is_some();
    if concerned && !at.states("temperature") && !at.states("temperature_low") && !at.states("temperature_high") {
        findings.gap(
            at.own,
            at.spot(""),
            format!("the temperature range of {} is not stated", at.title()),
            "add it to `conditions`",
        );
    }
}
