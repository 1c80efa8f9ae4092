//! `graph-uncertainty-missing`: A value was read off a graph without stating the reading uncertainty.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "graph-uncertainty-missing",
    severity: Warning,
    integrity: false,
    what: "A value was read off a graph without stating the reading uncertainty.",
    why: "Reading a graph alone adds an error of two to five per cent.",
    waive: "when the graph has printed numbers beside its points",
    source: "reading error of 2 to 5 %: practice",
    cases: include_str!("../../../tests/data/audits/graph-uncertainty-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let c = at.claim;
    if at.in_use() && c.read.as_deref() == Some("graph") && c.u.is_none() && c.range.is_none() && c.value.quantity().is_some() {
        findings.find(
            at.spot("read"),
            "read off a graph, but no reading uncertainty is given",
            "add `u`: about half a division of the axis",
        );
    }
}
