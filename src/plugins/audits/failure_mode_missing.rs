//! `failure-mode-missing`: A test of a joint does not say how the specimens failed.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "failure-mode-missing",
    severity: Error,
    integrity: false,
    what: "A test of a joint does not say how the specimens failed.",
    why: "A load at which the screw broke says little about the part, and a bond whose part broke was stronger than the load.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 10365 on failure patterns (memory)",
    cases: include_str!("../../../tests/data/audits/failure-mode-missing.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let told = at.says.mode.is_some() || at.says.modes.is_some() || at.says.mode_text.is_some();
    let each = !at.specimens.is_empty() && at.specimens.iter().all(|s| s.mode.is_some());
    let lone_text = at.says.statistic.as_deref() == Some("slope");
    if at.in_use && at.is_failure() && !told && !each && !lone_text && !at.series.not_stated("failure-mode") {
        findings.gap(
            at.series.own,
            at.spot(""),
            "how the specimens failed is not stated",
            "add `mode`, `modes` or the mode of each specimen",
        );
    }
}
