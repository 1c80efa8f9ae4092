//! `spread-unknown`: No claim of a property that the joint models need has a spread.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "spread-unknown",
    severity: Note,
    integrity: false,
    what: "No claim of a property that the joint models need has a spread.",
    why: "The model then assumes a spread, and the interval rests on that assumption.",
    waive: "when the value is a constant, e.g. of a metal",
    source: "GUM: a value without uncertainty is incomplete (memory)",
    cases: include_str!("../../../tests/data/audits/spread-unknown.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    for (word, why) in context.book.catalogue().asked_by_models(context.book.role(record)) {
        let used: Vec<&Claim> = record.claims(word).iter().filter(|c| c.in_use()).collect();
        let spread = |c: &&Claim| {
            c.sd.is_some() || c.se.is_some() || c.u.is_some() || c.least.is_some() || !matches!(c.value, Value::One(_))
        };
        if !used.is_empty() && used.len() < 2 && !used.iter().any(spread) {
            let message = format!("{} for {why} has no spread", word.replace('_', " "));
            findings.find(Spot::property(record, word), message, "add `sd` and `n`, a range, or a second source");
        }
    }
}
