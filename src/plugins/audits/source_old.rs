//! `source-old`: A source is older than 25 years.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "source-old",
    severity: Note,
    integrity: false,
    what: "A source is older than 25 years.",
    why: "Materials and test standards have changed since.",
    waive: "when the value is a constant of nature, or of a metal that has not changed",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/source-old.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let year = record.source().and_then(|s| s.issued.as_deref()?.get(..4)?.parse::<i32>().ok());
    if let Some(year) = year.filter(|y| context.year() - y > 25) {
        findings.find(Spot::field(record, "/issued"), format!("issued {year}"), "look for a newer source of the same numbers");
    }
}
