//! `cure-times-order`: The times of an adhesive are out of order.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "cure-times-order",
    severity: Warning,
    integrity: false,
    what: "The times of an adhesive are out of order.",
    why: "A glue can be worked before it sets, and it sets before it is fully cured.",
    waive: "when the times were taken at different temperatures",
    source: "meaning of the three times",
    cases: include_str!("../../../tests/data/audits/cure-times-order.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let ends = |word: &str| -> Option<(f64, f64)> {
        let used = record.claims(word).iter().filter(|c| c.in_use()).filter_map(|c| c.value.ends());
        let all: Vec<(f64, f64)> = used.map(|(l, h)| (l.si, h.si)).collect();
        let low = all.iter().map(|e| e.0).min_by(f64::total_cmp)?;
        Some((low, all.iter().map(|e| e.1).max_by(f64::total_cmp)?))
    };
    for (early, late) in [("fixture_time", "full_cure_time"), ("pot_life", "full_cure_time"), ("gel_time", "full_cure_time")] {
        if let (Some((first, _)), Some((_, last))) = (ends(early), ends(late))
            && first > last
        {
            let message = format!(
                "{} starts at {}, {} ends at {}",
                early.replace('_', " "),
                shown(Quantity::Duration, first, 3),
                late.replace('_', " "),
                shown(Quantity::Duration, last, 3)
            );
            findings.find(Spot::property(record, early), message, "read both again");
        }
    }
}
