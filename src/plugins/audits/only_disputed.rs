//! `only-disputed`: All claims of a property are disputed or withdrawn.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "only-disputed",
    severity: Warning,
    integrity: false,
    what: "All claims of a property are disputed or withdrawn.",
    why: "The property looks known, but it is not.",
    waive: "when nothing better is published and the record says so",
    source: "rule of this database",
    cases: include_str!("../../../tests/data/audits/only-disputed.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    for property in record.properties.iter().filter(|p| !p.claims.iter().any(Claim::in_use)) {
        let message = format!("none of the claims of {} may be used", property.word.replace('_', " "));
        findings.find(Spot::property(record, &property.word), message, "add a claim that can be used");
    }
}
