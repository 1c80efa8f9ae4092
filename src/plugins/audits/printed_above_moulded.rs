//! `printed-above-moulded`: A print is stronger or stiffer than a moulding of the same source.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "printed-above-moulded",
    severity: Warning,
    integrity: false,
    what: "A print is stronger or stiffer than a moulding of the same source.",
    why: "Printing leaves voids and seams; the labels may be exchanged.",
    waive: "when the source explains it, e.g. by fibres along the strands",
    source: "practice, with a tolerance of a tenth",
    cases: include_str!("../../../tests/data/audits/printed-above-moulded.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let printed = at.condition("process").is_some_and(|p| p.starts_with("printed"));
    if !is_mechanical_test(at) || !printed || at.word.contains("elongation") {
        return;
    }
    let Some(mine) = middle(at.claim) else { return };
    let moulded = at.beside(at.word, &["process", "orientation", "layer_height", "infill", "direction"]);
    let moulded = moulded.filter(|c| c.condition("process").is_some_and(|p| p.text() == "moulded"));
    if let Some(theirs) = moulded.filter_map(middle).max_by(f64::total_cmp).filter(|t| mine > t * 1.1) {
        let quantity = at.quantity().unwrap_or(Quantity::Stress);
        let message = format!("printed {}, moulded {}", at.claim.value.text(), shown(quantity, theirs, 3));
        findings.find(at.value_spot(), message, "check which is which");
    }
}
