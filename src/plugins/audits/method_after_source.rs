//! `method-after-source`: The cited edition of a standard is newer than the source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "method-after-source",
    severity: Note,
    integrity: false,
    what: "The cited edition of a standard is newer than the source.",
    why: "A test cannot follow an edition that did not exist.",
    waive: "when the source was published later than it says",
    source: "order of the dates",
    cases: include_str!("../../../tests/data/audits/method-after-source.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some(method), Some(source)) = (at.claim.method.as_deref(), at.claim.source.as_deref()) else { return };
    let edition = method
        .rsplit_once([':', '-'])
        .and_then(|(_, y)| y.trim().get(..4)?.parse::<i32>().ok())
        .filter(|y| (1900..2100).contains(y));
    if let (Some(edition), Some(issued)) = (edition, context.year_of(source))
        && edition > issued
    {
        findings.find(
            at.spot("method"),
            format!("the edition is of {edition}, but the source is of {issued}"),
            "correct the edition or the year of the source",
        );
    }
}
