//! `memory-only`: A property that the joint models need rests on practice or memory only.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "memory-only",
    severity: Warning,
    integrity: false,
    what: "A property that the joint models need rests on practice or memory only.",
    why: "A predicted load is no better than the value it was predicted from.",
    waive: "when the value does not change the answer, e.g. a screw of known class",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/memory-only.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    for (word, why) in context.book.catalogue().asked_by_models(context.book.role(record)) {
        let used: Vec<&Claim> = record.claims(word).iter().filter(|c| c.in_use()).collect();
        if !used.is_empty() && used.iter().all(|c| matches!(c.basis, Basis::Practice | Basis::Recalled)) {
            let message = format!("{} is known from practice or memory only; it is needed for {why}", word.replace('_', " "));
            findings.find(Spot::property(record, word), message, "add a measured or published value");
        }
    }
}
