//! `unsourced`: A claim rests on trade practice or on memory and has no source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "unsourced",
    severity: Warning,
    integrity: false,
    what: "A claim rests on trade practice or on memory and has no source.",
    why: "Nobody can look it up, and a wrong memory looks like a right one.",
    waive: "when the fact is common knowledge of the trade and no page is worth citing",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/unsourced.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if !matches!(at.claim.basis, Basis::Practice | Basis::Recalled) || at.claim.source.is_some() {
        return;
    }
    let practice = at.claim.basis == Basis::Practice;
    let ground = if practice { "trade practice" } else { "memory" };
    // How the trade sorts things (an epoxy is a thermoset) is no measurement: the word `practice` beside it says enough.
    let sorted = practice && matches!(at.claim.value, Value::YesNo(_) | Value::Word(_));
    let message = format!("{} rests on {ground} alone", at.title());
    let severity = if sorted { Note } else { Warning };
    findings.find_as(severity, at.spot(""), message, "look it up and name source and locator, or measure it");
}
