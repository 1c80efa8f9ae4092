//! `locator-missing`: A claim or series names a source but no place in it.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "locator-missing",
    severity: Warning,
    integrity: false,
    what: "A claim or series names a source but no place in it.",
    why: "Nobody can find a number in a long source without a page or a table.",
    waive: "when the source is a single page or has no pages",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/locator-missing.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(source) = at.source.filter(|_| at.locator.is_none() && at.is_first()) else { return };
    if at.read == Some("abstract") || is_short(source, context) {
        return;
    }
    findings.find(
        at.spot(StatementPart::Origin("source")),
        format!("no page, table or figure of `{source}` is named"),
        "add `locator`, e.g. Table 8.2, p. 341",
    );
}

/// Sources short enough to be read through: web pages and papers of at most four pages.
fn is_short(source: &str, context: &AuditContext<'_>) -> bool {
    let Some(source) = context.book.source(source).and_then(Record::source) else { return true };
    let pages = source.page.as_deref().and_then(|p| {
        let (first, last) = p.split_once(['-', '\u{2013}'])?;
        Some(last.trim().parse::<u32>().ok()?.checked_sub(first.trim().parse().ok()?)? + 1)
    });
    source.is("webpage") || pages.is_some_and(|n| n <= 4)
}
