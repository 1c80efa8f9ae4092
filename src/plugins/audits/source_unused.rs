//! `source-unused`: No record names this source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "source-unused",
    severity: Note,
    integrity: false,
    what: "No record names this source.",
    why: "It may be left over from a deleted claim, or its claims were forgotten.",
    waive: "when its claims are still to come",
    source: "hygiene",
    cases: include_str!("../../../tests/data/audits/source-unused.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if record.id.kind() == "source" && record.current && context.book.references_to(record.id.as_str()).is_empty() {
        findings.find(Spot::field(record, "/title"), "no record names this source", "add its claims, or withdraw it");
    }
}
