//! `series-unit-slip`: The loads of a series are off those of like joints by the factor of a mix-up of units.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "series-unit-slip",
    severity: Warning,
    integrity: false,
    what: "The loads of a series are off those of like joints by the factor of a mix-up of units.",
    why: "A display set to another unit shifts a whole series, and nothing inside it looks wrong.",
    waive: "when the display and the sheet were looked at again and the unit is right",
    source: "exact unit definitions; peers by median and median deviation of logarithms, loads per diameter and length",
    cases: include_str!("../../../tests/data/audits/series-unit-slip.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(off) = context.loads.off(at) else { return };
    let (times, over) = if off.ratio > 1.0 { (off.ratio, "above") } else { (1.0 / off.ratio, "below") };
    let ways: Vec<&str> = off.ways.iter().map(|way| way.text).collect();
    let message = format!("{times:.2} times {over} {} like series; a factor of {}", off.peers, ways.join("; or of "));
    let source = at.series.record.common().source.as_deref();
    let whole = source.map(|source| format!(", `gripbook amend --source {source} …` its whole source")).unwrap_or_default();
    let help = format!(
        "look at display and sheet again; `gripbook amend {}:{} --all-specimens --unit WRITTEN=RIGHT --because …` corrects this series{whole}",
        at.series.record.id, at.quantity
    );
    findings.find(at.spot(""), message, help);
}
