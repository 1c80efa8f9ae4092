//! `inputs-missing`: A computed value does not say from which claims it was computed.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "inputs-missing",
    severity: Warning,
    integrity: false,
    what: "A computed value does not say from which claims it was computed.",
    why: "Without its inputs it cannot be computed again when one of them is corrected.",
    waive: "when the source computed it and prints only the result",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/inputs-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    // A formula in `method`, applied to data at a named place, can be computed again too.
    let repeatable = at.claim.method.is_some() && at.claim.source.is_some() && at.claim.locator.is_some();
    if at.in_use() && at.claim.basis == Basis::Computed && at.claim.from.is_empty() && !repeatable {
        findings.find(
            at.spot("basis"),
            "the value is computed, but `from` names no claims",
            "list the claim addresses under `from`, or give the formula in `method` and the place of its data",
        );
    }
}
