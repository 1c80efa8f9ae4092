//! `digits-mixed`: Single results of one series have different numbers of decimals.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "digits-mixed",
    severity: Note,
    integrity: false,
    what: "Single results of one series have different numbers of decimals.",
    why: "They come from different instruments, or trailing zeros were lost.",
    waive: "when two instruments were used and the record says so",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/digits-mixed.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let mut steps: Vec<f64> = at.samples.iter().map(Written::resolution).collect();
    steps.sort_by(f64::total_cmp);
    steps.dedup();
    if steps.len() > 1 && at.in_use && !at.noted {
        findings.find(
            at.spot(StatementPart::Samples),
            "single results with different numbers of decimals",
            "write all of them as the instrument showed them, zeros included",
        );
    }
}
