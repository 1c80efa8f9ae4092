//! `heat-deflection-stress-missing`: A heat deflection temperature does not say its stress.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "heat-deflection-stress-missing",
    severity: Warning,
    integrity: false,
    what: "A heat deflection temperature does not say its stress.",
    why: "At 0.45 MPa it can be 50 K higher than at 1.80 MPa.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 75-2 (memory)",
    cases: include_str!("../../../tests/data/audits/heat-deflection-stress-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let concerned = matches!(at.word, "hdt") && at.in_use() && at.claim.source.is_some();
    if concerned && !at.states("stress") {
        findings.gap(at.own, at.spot(""), format!("the stress of {} is not stated", at.title()), "add it to `conditions`");
    }
}
