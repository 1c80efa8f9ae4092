//! `transition-method-missing`: A glass transition does not say how it was measured.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "transition-method-missing",
    severity: Warning,
    integrity: false,
    what: "A glass transition does not say how it was measured.",
    why: "Mechanical analysis gives ten to fifteen kelvin more than calorimetry.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 11357-2, ISO 6721 (memory)",
    cases: include_str!("../../../tests/data/audits/transition-method-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if at.word == "tg" && at.in_use() && at.claim.source.is_some() && at.claim.method.is_none() && !at.states("frequency") {
        findings.gap(
            at.own,
            at.spot(""),
            "the method of the glass transition is not stated",
            "add `method`: DSC, or DMA with frequency",
        );
    }
}
