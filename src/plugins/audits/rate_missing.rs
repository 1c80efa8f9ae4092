//! `rate-missing`: A mechanical property from a test does not say how fast it was loaded.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "rate-missing",
    severity: Warning,
    integrity: false,
    what: "A mechanical property from a test does not say how fast it was loaded.",
    why: "Ten times the speed gives a plastic five to ten per cent more strength.",
    waive: "when the source does not say and cannot be asked",
    source: "rate dependence of polymers; figure from general knowledge (memory)",
    cases: include_str!("../../../tests/data/audits/rate-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
    if is_mechanical_test(at) && !at.is("impact") && !at.states("speed") && !at.states("strain_rate") && !at.states("frequency") {
        desk.gap(at.own, at.spot(""), format!("the test speed of {} is not stated", at.title()), "add `conditions: {speed: …}`");
    }
}
