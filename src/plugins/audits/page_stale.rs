//! `page-stale`: A web page was last seen more than 24 months ago.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "page-stale",
    severity: Note,
    integrity: false,
    what: "A web page was last seen more than 24 months ago.",
    why: "It may have moved or changed.",
    waive: "when an archived copy is cited",
    source: "practice: 24 months",
    cases: include_str!("../../../tests/data/audits/page-stale.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(seen) = record.source().and_then(|s| s.accessed.as_deref()) else { return };
    let months = |date: &str| -> Option<i32> {
        let month = date.get(5..7).and_then(|m| m.parse::<i32>().ok()).unwrap_or(12);
        Some(date.get(..4)?.parse::<i32>().ok()? * 12 + month)
    };
    if let (Some(then), Some(now)) = (months(seen), months(context.today))
        && now - then > 24
    {
        findings.find(
            Spot::field(record, "/accessed"),
            format!("last seen {seen}"),
            "open the page again and write the new date",
        );
    }
}
