//! `rule-from-memory`: A rule about glue and material rests on practice or memory only.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "rule-from-memory",
    severity: Note,
    integrity: false,
    what: "A rule about glue and material rests on practice or memory only.",
    why: "A prohibition that nobody published may be a mere habit.",
    waive: "when the trade agrees and no publication says so",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/rule-from-memory.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(rule) = record.rule().filter(|_| record.current) else { return };
    if rule.provenance.iter().all(|o| matches!(o.basis, Basis::Practice | Basis::Recalled) && o.source.is_none()) {
        findings.find(Spot::field(record, "/provenance"), "the rule has no published source", "name one under `provenance`");
    }
}
