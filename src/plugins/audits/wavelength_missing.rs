//! `wavelength-missing`: A light property of a resin does not say the wavelength.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "wavelength-missing",
    severity: Warning,
    integrity: false,
    what: "A light property of a resin does not say the wavelength.",
    why: "A resin that is clear at 405 nm is black at 365 nm.",
    waive: "when the source does not say and cannot be asked",
    source: "working curves of this book",
    cases: include_str!("../../../tests/data/audits/wavelength-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
    let concerned = matches!(at.word, "penetration_depth" | "critical_dose") && at.in_use() && at.claim.source.is_some();
    if concerned && !at.states("wavelength") {
        desk.gap(at.own, at.spot(""), format!("{} without the wavelength", at.title()), "add it to `conditions`");
    }
}
