//! `quoted-from-another`: The source quotes the number from another work.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "quoted-from-another",
    severity: Warning,
    integrity: false,
    what: "The number is known at second hand: the source quotes another work, or was itself read in a quotation.",
    why: "Every copy is a chance for an error, and two copies of one number look like two independent results.",
    waive: "when the first source cannot be obtained",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/quoted-from-another.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(source) = at.source.filter(|_| at.in_use && at.is_first()) else { return };
    if at.read == Some("secondary") {
        findings.find(
            at.spot(StatementPart::Origin("read")),
            format!("the value is quoted at second hand, from {}", context.book.cite(source)),
            "look the number up where it was first published, and cite that source",
        );
    }
}
