//! `wavelength-missing`: An optical property of a resin does not state the wavelength.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "wavelength-missing",
    severity: Warning,
    integrity: false,
    what: "An optical property of a resin does not state the wavelength.",
    why: "A resin that is clear at 405 nm can be opaque at 365 nm.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "working curves in this database",
    cases: include_str!("../../../tests/data/audits/wavelength-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let concerned = matches!(at.word, "penetration_depth" | "critical_dose") && at.in_use() && at.claim.source.is_some();
    if concerned && !at.states("wavelength") {
        findings.gap(at.own, at.spot(""), format!("the wavelength of {} is not stated", at.title()), "add it to `conditions`");
    }
}
