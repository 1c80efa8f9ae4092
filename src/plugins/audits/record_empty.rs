//! `record-empty`: A record has no claims at all.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "record-empty",
    severity: Note,
    integrity: false,
    what: "A record has no claims at all.",
    why: "Searches find it, but it says nothing.",
    waive: "while its claims are being collected",
    source: "hygiene",
    cases: include_str!("../../../tests/data/audits/record-empty.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let could = context.book.kind_of(record).is_some_and(|k| !k.properties.is_empty());
    if could && record.current && record.properties.is_empty() {
        findings.find(Spot::field(record, "/name"), "the record holds no claim", "add what is known, with its source");
    }
}
