//! `disputed`: A value is disputed: shown, never used.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "disputed",
    severity: Note,
    integrity: false,
    what: "A value is disputed: shown, never used.",
    why: "Readers should know what is doubted, and why.",
    waive: "not needed: it is only a note",
    source: "rule of this database",
    cases: include_str!("../../../tests/data/audits/disputed.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if let (false, false, Some(because)) = (at.in_use, at.withdrawn, at.because) {
        findings.find(
            at.spot(StatementPart::Field("standing")),
            format!("disputed: {because}"),
            "settle it: find who is right, and withdraw the other value",
        );
    }
}
