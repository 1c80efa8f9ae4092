//! `specimen-missing`: A mechanical property does not state the specimen.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "specimen-missing",
    severity: Warning,
    integrity: false,
    what: "A mechanical property does not state the specimen.",
    why: "Small and thin specimens test stronger.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "size effect; ISO 527-2 types 1A to 5B, ASTM D638 types I to V (memory)",
    cases: include_str!("../../../tests/data/audits/specimen-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let named = at.states("specimen")
        || at.states("thickness")
        || at.claim.method.as_deref().is_some_and(|m| m.to_lowercase().contains("type"));
    if is_mechanical_test(at) && !named {
        findings.gap(
            at.own,
            at.spot(""),
            format!("the specimen of {} is not stated", at.title()),
            "add `conditions: {specimen: …}`",
        );
    }
}
