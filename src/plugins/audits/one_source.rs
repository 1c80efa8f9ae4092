//! `one-source`: A property that the joint models need has only one source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "one-source",
    severity: Note,
    integrity: false,
    what: "A property that the joint models need has only one source.",
    why: "An error in that source goes straight into every answer.",
    waive: "when the source is a test of this very material",
    source: "practice",
    cases: include_str!("../../../tests/data/audits/one-source.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    for (word, why) in context.book.catalogue().asked_by_models(context.book.role(record)) {
        let mut sources: Vec<&str> =
            record.claims(word).iter().filter(|c| c.in_use()).filter_map(|c| c.source.as_deref()).collect();
        sources.sort_unstable();
        sources.dedup();
        if let [only] = sources[..] {
            let message = format!("{} for {why} rests on one source, `{only}`", word.replace('_', " "));
            findings.find(Spot::property(record, word), message, "add a second, independent source");
        }
    }
}
