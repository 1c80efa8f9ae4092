//! `moisture-missing`: A property of a polyamide does not say whether it was dry or conditioned.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "moisture-missing",
    severity: Error,
    integrity: false,
    what: "A property of a polyamide does not say whether it was dry or conditioned.",
    why: "Water halves the modulus of a polyamide and lowers its glass transition by tens of degrees.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 1110 and ISO 291 (memory)",
    cases: include_str!("../../../tests/data/audits/moisture-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let concerned = is_mechanical_test(at) || (at.word == "tg" && at.in_use() && at.tested());
    if concerned && at.is_family(context, "polyamide") && !at.states("moisture") && !at.states("humidity") {
        findings.gap(
            at.own,
            at.spot(""),
            format!("the moisture state of {} is not stated", at.title()),
            "add `conditions: {moisture: dry|conditioned|wet}`",
        );
    }
}
