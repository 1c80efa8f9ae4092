//! `source-incomplete`: A source record lacks what is needed to find the publication.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "source-incomplete",
    severity: Warning,
    integrity: false,
    what: "A source record lacks what is needed to find the publication.",
    why: "A title without a year and a number leads nowhere.",
    waive: "when the publication is lost and the record says where it was seen",
    source: "CSL-JSON field names; FAIR principles (memory)",
    cases: include_str!("../../../tests/data/audits/source-incomplete.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(source) = record.source() else { return };
    let has = |field: &Option<Box<str>>| field.as_deref().is_some_and(|t| !t.is_empty());
    let made = !source.author.is_empty() || !source.editor.is_empty();
    let campaign = source.is("campaign");
    let number = [&source.doi, &source.isbn, &source.pmcid, &source.number, &source.url].into_iter().any(has)
        || has(&source.container_title) && has(&source.volume);
    // A book is found by who made it, who printed it and when.
    let book = made && has(&source.publisher) && has(&source.issued);
    let mut missing = Vec::new();
    if !has(&source.issued) {
        missing.push("issued");
    }
    if campaign && !has(&source.by) {
        missing.push("by");
    }
    if !campaign && !number && !book {
        missing.push("DOI, ISBN, number or URL");
    }
    if missing.is_empty() {
        return;
    }
    let message = format!("the source does not say: {}", missing.join("; "));
    // With a number it can be found all the same; only its age is open.
    let severity = if number && !campaign { Note } else { Warning };
    findings.find_as(severity, Spot::field(record, "/title"), message, "add the fields from the title page");
}
