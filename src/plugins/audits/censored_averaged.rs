//! `censored-averaged`: Specimens that did not fail, or whose screw broke, are averaged with those that failed.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "censored-averaged",
    severity: Warning,
    integrity: false,
    what: "Specimens that did not fail, or whose screw broke, are averaged with those that failed.",
    why: "The joint was stronger than that number, so the mean is too low by an unknown amount.",
    waive: "when `bound: lower` says so",
    source: "statistics of censored samples",
    cases: include_str!("../../../tests/data/audits/censored-averaged.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    const OTHER: [&str; 2] = ["machine-limit", "screw-break"];
    let other = |mode: &Option<Box<str>>| mode.as_deref().is_some_and(|m| OTHER.contains(&m));
    let censored = at.specimens.iter().any(|s| s.censored || other(&s.mode));
    let counted = at.says.counted().any(|(mode, n)| n > 0 && OTHER.contains(&mode));
    let some = censored || counted || other(&at.says.mode);
    if some && at.in_use && at.mean.is_some() && at.says.bound.is_none() {
        findings.find(
            at.spot("mean"),
            "the mean includes specimens whose joint did not fail",
            "add `bound: lower`, or average only the specimens that failed",
        );
    }
}
