//! `notch-missing`: An impact strength does not say whether the specimen was notched.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "notch-missing",
    severity: Warning,
    integrity: false,
    what: "An impact strength does not say whether the specimen was notched.",
    why: "A notch can take away nine tenths of the impact strength.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 179-1, ISO 180 (memory)",
    cases: include_str!("../../../tests/data/audits/notch-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let concerned = at.is("impact") && at.in_use() && at.claim.source.is_some();
    if concerned && !at.states("notched") {
        findings.gap(
            at.own,
            at.spot(""),
            format!("for {} it is not stated whether the specimen was notched", at.title()),
            "add it to `conditions`",
        );
    }
}
