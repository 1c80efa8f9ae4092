//! `torque-order`: The strip torque of a series is not above its drive torque.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "torque-order",
    severity: Warning,
    integrity: false,
    what: "The strip torque of a series is not above its drive torque.",
    why: "Such a screw would strip while it is driven.",
    waive: "when that is what was found",
    source: "definition of the two torques",
    cases: include_str!("../../../tests/data/audits/torque-order.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(series) = SeriesAt::of(record, context.book) else { return };
    let all = series.measurements();
    let mean =
        |word: &str| all.iter().find(|m| m.quantity == word && m.in_use).and_then(|m| m.mean.clone().map(|v| (m.index, v)));
    if let (Some((at, strip)), Some((_, drive))) = (mean("strip_torque"), mean("drive_torque"))
        && strip.si <= drive.si
    {
        let spot = series.spot(&format!("/measurements/{at}/mean"));
        findings.find(
            spot,
            format!("it strips at {} but drives at {}", strip.text, drive.text),
            "exchange the two, or say in `note` that the screw stripped while driven",
        );
    }
}
