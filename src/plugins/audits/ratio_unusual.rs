//! `ratio-unusual`: Two properties from one source have an unusual ratio.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "ratio-unusual",
    severity: Warning,
    integrity: false,
    what: "Two properties from one source have an unusual ratio.",
    why: "Bending and tension of one polymer give similar moduli, and strengths within a factor of two and a half.",
    waive: "when the material is a foam, a rubber or a layered print",
    source: "ratios from general knowledge of polymers (memory)",
    cases: include_str!("../../../tests/data/audits/ratio-unusual.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some((_, base, low, high)) = RATIOS.iter().find(|(word, ..)| *word == at.word).filter(|_| at.in_use()) else { return };
    let Some(mine) = middle(at.claim) else { return };
    for theirs in at.beside(base, &["specimen", "speed", "thickness"]).filter_map(middle).filter(|t| *t > 0.0) {
        let ratio = mine / theirs;
        if ratio < *low || ratio > *high {
            let message = format!("{} is {ratio:.2} of the {}; {low} to {high} is usual", at.title(), base.replace('_', " "));
            return findings.find(at.value_spot(), message, "read both again: unit, row and material");
        }
    }
}

/// Property, the property it is compared with, least and greatest usual ratio.
const RATIOS: [(&str, &str, f64, f64); 4] = [
    ("flexural_modulus", "tensile_modulus", 0.6, 1.6),
    ("flexural_strength", "tensile_strength", 0.9, 2.5),
    ("shear_strength", "tensile_strength", 0.3, 1.2),
    ("compressive_strength", "yield_strength", 0.8, 2.5),
];
