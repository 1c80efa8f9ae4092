//! `shared-origin`: Two claims of a property that look independent come from one source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "shared-origin",
    severity: Warning,
    integrity: false,
    what: "Two claims of a property that look independent come from one source.",
    why: "Their agreement proves nothing, and a spread computed from both is too narrow.",
    waive: "when the quoted work reports the two values from different tests",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/shared-origin.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(source) = at.claim.source.as_deref().filter(|_| at.in_use()) else { return };
    let cited = cites(source, context);
    let others = at.record.claims(at.word).iter().take(at.index).filter(|c| c.in_use());
    for other in others.filter_map(|c| c.source.as_deref()).filter(|other| *other != source) {
        let theirs = cites(other, context);
        let shared = cited.contains(&other) || theirs.contains(&source) || cited.iter().any(|c| theirs.contains(c));
        if shared {
            let message = format!("`{source}` and `{other}` go back to one work");
            return findings.find(at.spot("source"), message, "keep the claim of the first source and cite that");
        }
    }
}

fn cites<'a>(source: &str, context: &AuditContext<'a>) -> Vec<&'a str> {
    let list = context.book.source(source).and_then(Record::source).map_or(&[][..], |s| &s.cites);
    list.iter().map(|id| &**id).collect()
}
