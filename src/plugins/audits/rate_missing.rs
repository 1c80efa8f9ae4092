//! `rate-missing`: A mechanical property does not state the test speed.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "rate-missing",
    severity: Warning,
    integrity: false,
    what: "A mechanical property does not state the test speed.",
    why: "At ten times the speed, a plastic is five to ten per cent stronger.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "rate dependence of polymers; figure from general knowledge (memory)",
    cases: include_str!("../../../tests/data/audits/rate-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if is_mechanical_test(at) && !at.is("impact") && !at.states("speed") && !at.states("strain_rate") && !at.states("frequency") {
        findings.gap(
            at.own,
            at.spot(""),
            format!("the test speed of {} is not stated", at.title()),
            "add `conditions: {speed: …}`",
        );
    }
}
