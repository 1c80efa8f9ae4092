//! `method-missing`: A mechanical property does not state the test method.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "method-missing",
    severity: Error,
    integrity: false,
    what: "A mechanical property does not state the test method.",
    why: "Editions and procedures define strength and modulus differently.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "properties of plastics depend on it; ISO 527, ISO 178, ISO 10350-1 ask for it (memory)",
    cases: include_str!("../../../tests/data/audits/method-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if is_mechanical_test(at) && at.claim.method.is_none() {
        findings.gap(
            at.own,
            at.spot(""),
            format!("the method of {} is not stated", at.title()),
            "add `method`: standard, part and procedure",
        );
    }
}
