//! `notched-above-unnotched`: A notched specimen took more energy than an unnotched one.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "notched-above-unnotched",
    severity: Warning,
    integrity: false,
    what: "A notched specimen took more energy than an unnotched one.",
    why: "A notch never makes a specimen stronger.",
    waive: "when the specimens differ in size",
    source: "ISO 179-1, ISO 180 (memory)",
    cases: include_str!("../../../tests/data/audits/notched-above-unnotched.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if !at.is("impact") || !at.in_use() || at.condition("notched").as_deref() != Some("yes") {
        return;
    }
    let Some(mine) = middle(at.claim) else { return };
    let plain = at.beside(at.word, &["notched"]).filter(|c| c.condition("notched").is_some_and(|n| n.text() == "no"));
    if let Some(other) = plain.filter_map(middle).find(|theirs| mine > *theirs) {
        let quantity = at.quantity().unwrap_or(Quantity::EnergyPerArea);
        let message = format!("notched {} is above unnotched {}", at.claim.value.text(), shown(quantity, other, 3));
        findings.find(at.value_spot(), message, "exchange the two");
    }
}
