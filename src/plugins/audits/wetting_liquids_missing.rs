//! `wetting-liquids-missing`: A surface energy does not say with which liquids or method it was found.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "wetting-liquids-missing",
    severity: Warning,
    integrity: false,
    what: "A surface energy does not say with which liquids or method it was found.",
    why: "Two methods on one surface differ by ten mJ/m².",
    waive: "when the source does not say and its authors cannot be asked",
    source: "Owens and Wendt 1969 and others (memory)",
    cases: include_str!("../../../tests/data/audits/wetting-liquids-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let concerned = matches!(at.word, "surface_energy" | "surface_energy_dispersive" | "surface_energy_polar");
    if concerned && at.in_use() && at.claim.source.is_some() && at.claim.method.is_none() && !at.states("liquids") {
        findings.gap(
            at.own,
            at.spot(""),
            format!("neither method nor liquids of {} are stated", at.title()),
            "add `method` or `conditions: {liquids: …}`",
        );
    }
}
