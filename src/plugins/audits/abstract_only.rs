//! `abstract-only`: Only the abstract of the source was read.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "abstract-only",
    severity: Note,
    integrity: false,
    what: "Only the abstract of the source was read.",
    why: "An abstract gives the best number and leaves out the conditions.",
    waive: "when the full text cannot be obtained",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/abstract-only.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if at.in_use && at.read == Some("abstract") && at.is_first() {
        findings.find(
            at.spot(StatementPart::Origin("read")),
            "taken from the abstract",
            "read the full text and give table, conditions and spread",
        );
    }
}
