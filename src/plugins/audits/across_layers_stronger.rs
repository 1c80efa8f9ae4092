//! `across-layers-stronger`: A print is stronger across its layers than along them.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "across-layers-stronger",
    severity: Warning,
    integrity: false,
    what: "A print is stronger across its layers than along them.",
    why: "The seams between layers are the weakest part of most prints; the orientations may be exchanged.",
    waive: "for vat prints with full post-cure, which can be equal in all directions",
    source: "anisotropy of printed parts, with a tolerance of a tenth",
    cases: include_str!("../../../tests/data/audits/across-layers-stronger.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    const ACROSS: [&str; 3] = ["upright", "z", "along-build"];
    let turned = |c: Option<String>| c.is_some_and(|o| ACROSS.contains(&o.as_str()));
    if !is_mechanical_test(at) || !at.word.ends_with("strength") || !turned(at.condition("orientation")) {
        return;
    }
    let Some(mine) = middle(at.claim) else { return };
    let others = at.beside(at.word, &["orientation", "direction"]).filter(|c| {
        let o = c.condition("orientation").map(|o| o.text());
        o.is_some() && o.as_deref() != Some("unknown") && !turned(o)
    });
    if let Some(flat) = others.filter_map(middle).max_by(f64::total_cmp).filter(|flat| mine > flat * 1.1) {
        let message = format!("{} across the layers, {} along them", at.claim.value.text(), shown(Quantity::Stress, flat, 3));
        findings.find(at.value_spot(), message, "check which orientation is which");
    }
}
