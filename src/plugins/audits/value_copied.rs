//! `value-copied`: Two materials have the same value with the same spread from one place.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "value-copied",
    severity: Warning,
    integrity: false,
    what: "Two materials have the same value with the same spread from one place.",
    why: "One of the two was copied into the wrong record.",
    waive: "when the source gives one value for both",
    source: "practice of data checking",
    cases: include_str!("../../../tests/data/audits/value-copied.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let c = at.claim;
    let (Some(sd), Some(source), true) = (&c.sd, c.source.as_deref(), at.in_use()) else { return };
    for other in context.book.of_kind(at.record.id.kind()).filter(|r| r.id != at.record.id) {
        let same = |o: &Claim| {
            o.source.as_deref() == Some(source)
                && o.value == c.value
                && o.locator == c.locator
                && o.sd.as_ref().is_some_and(|s| s.text == sd.text)
        };
        if other.claims(at.word).iter().any(|o| o.in_use() && same(o)) {
            let message = format!("{} ± {} is also recorded in {}, from the same place", c.value.text(), sd.text, other.id);
            return findings.find(at.value_spot(), message, "see in the source which material it belongs to");
        }
    }
}
