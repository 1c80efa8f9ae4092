//! `deviation-kind-missing`: A standard deviation does not say its divisor.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "deviation-kind-missing",
    severity: Error,
    integrity: false,
    what: "A standard deviation does not say its divisor.",
    why: "With three specimens the two divisors differ by a fifth, and a standard error differs by more.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "GUM 4.2.2 (memory)",
    cases: include_str!("../../../tests/data/audits/deviation-kind-missing.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let known = matches!(at.sd_kind, Some("n" | "n-1"));
    if at.in_use && at.sd.is_some() && at.of_specimens && !known {
        findings.gap(
            at.own,
            at.spot(StatementPart::Sd),
            "the divisor of the standard deviation is not stated",
            "add `sd_kind: n-1` or `n`; `unknown` when the source does not say",
        );
    }
}
