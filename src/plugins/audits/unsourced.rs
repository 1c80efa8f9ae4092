//! `unsourced`: A claim rests on trade practice or on memory, without a source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "unsourced",
    severity: Warning,
    integrity: false,
    what: "A claim rests on trade practice or on memory, without a source.",
    why: "Nobody can look it up, and a wrong memory looks like a right one.",
    waive: "when the fact is common knowledge of the trade and no page is worth citing",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/unsourced.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
    if matches!(at.claim.basis, Basis::Practice | Basis::Recalled) && at.claim.source.is_none() {
        let ground = if at.claim.basis == Basis::Practice { "trade practice" } else { "memory" };
        let message = format!("{} rests on {ground} alone", at.title());
        desk.find(at.spot(""), message, "look it up and name source and locator, or measure it");
    }
}
