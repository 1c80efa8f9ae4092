//! `specimens-few`: There are fewer specimens than such a test requires.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "specimens-few",
    severity: Warning,
    integrity: false,
    what: "There are fewer specimens than such a test requires.",
    why: "Five specimens give the spread within a factor of two; three hardly give one.",
    waive: "when material or time allowed no more specimens",
    source: "ISO 527-1 asks for five (memory); three for a joint: practice",
    cases: include_str!("../../../tests/data/audits/specimens-few.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let least = if at.is_joint() { 3 } else { 5 };
    let n = at.n.or_else(|| u32::try_from(at.samples.len()).ok().filter(|n| *n > 0));
    if let Some(n) = n.filter(|n| *n < least && at.in_use && at.tested && at.of_specimens) {
        let part = if at.n.is_some() { StatementPart::N } else { StatementPart::Samples };
        let were = if n == 1 { "specimen" } else { "specimens" };
        findings.gap(
            at.own,
            at.spot(part),
            format!("{n} {were}; at least {least} are required"),
            "test more specimens, and keep the old results",
        );
    }
}
