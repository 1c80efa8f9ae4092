//! `property-missing`: A property that a joint model or a rule needs is missing.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "property-missing",
    severity: Note,
    integrity: false,
    what: "A property that a joint model or a rule needs is missing.",
    why: "The answer is unknown where this value would settle it.",
    waive: "when the property makes no sense for this subject",
    source: "what the joint models and rules of this database need",
    cases: include_str!("../../../tests/data/audits/property-missing.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if !record.current || record.properties.is_empty() {
        return;
    }
    let gaps = gaps::gaps(context.book, record);
    if !gaps.is_empty() {
        let words: Vec<String> = gaps.iter().map(|g| g.property.replace('_', " ")).collect();
        findings.find(
            Spot::field(record, "/properties"),
            format!("not known: {}", words.join(", ")),
            "`gripbook show` says what each is needed for",
        );
    }
}
