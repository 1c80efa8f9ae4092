//! `untraced-table`: The value comes from a table whose own origin is unknown.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "untraced-table",
    severity: Note,
    integrity: false,
    what: "The value comes from a table whose own origin is unknown.",
    why: "Such tables repeat suppliers without saying so, and are not counted as evidence.",
    waive: "when the origin was looked for and not found",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/untraced-table.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if at.in_use && at.untraced && at.is_first() {
        findings.find(
            at.spot(StatementPart::Origin("untraced")),
            "the table does not say who measured the value",
            "find out who measured it, or a source that says so",
        );
    }
}
