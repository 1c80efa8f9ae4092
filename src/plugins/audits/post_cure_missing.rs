//! `post-cure-missing`: A property of a cured resin does not say whether and how it was post-cured.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "post-cure-missing",
    severity: Error,
    integrity: false,
    what: "A property of a cured resin does not say whether and how it was post-cured.",
    why: "Post-curing doubles strength and moves the glass transition.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "practice of vat printing; several papers of this book",
    cases: include_str!("../../../tests/data/audits/post-cure-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let thermal = at.is("thermal") && at.in_use() && at.tested();
    let state = at.condition("state").unwrap_or_default();
    let resin = at.record.id.kind() == "resin" && !matches!(state.as_str(), "liquid" | "green");
    if resin && (thermal || is_mechanical_test(at)) && !at.states("post_cure") {
        findings.gap(
            at.own,
            at.spot(""),
            format!("the post-cure of {} is not stated", at.title()),
            "add `conditions: {post_cure: {…}}`, or `{none: true}`",
        );
    }
}
