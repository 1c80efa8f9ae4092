//! `page-undated`: A web page is cited without the date it was read.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "page-undated",
    severity: Warning,
    integrity: false,
    what: "A web page is cited without the date it was read.",
    why: "Pages change; without a date nobody knows which text was meant.",
    waive: "when the page is an archived copy with its own date",
    source: "CSL-JSON field `accessed`",
    cases: include_str!("../../../tests/data/audits/page-undated.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(source) = record.source() else { return };
    if source.is("webpage") && source.url.is_some() && source.accessed.is_none() {
        findings.find(Spot::field(record, "/URL"), "the page is cited without the date it was read", "add `accessed`");
    }
}
