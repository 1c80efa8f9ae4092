//! `wet-stiffer-than-dry`: A polyamide is stiffer or stronger wet than dry.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "wet-stiffer-than-dry",
    severity: Warning,
    integrity: false,
    what: "A polyamide is stiffer or stronger wet than dry.",
    why: "Water softens polyamides; the states may be exchanged.",
    waive: "when the dry specimens were flawed and the source says so",
    source: "ISO 1110 and handbooks of polyamides (memory)",
    cases: include_str!("../../../tests/data/audits/wet-stiffer-than-dry.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let state = at.condition("moisture").unwrap_or_default();
    let concerned = matches!(at.word, "tensile_modulus" | "flexural_modulus" | "yield_strength" | "tensile_strength");
    if !concerned || !at.in_use() || !matches!(state.as_str(), "wet" | "conditioned") || !at.is_family(context, "polyamide") {
        return;
    }
    let Some(mine) = middle(at.claim) else { return };
    let dry =
        at.beside(at.word, &["moisture", "humidity"]).filter(|c| c.condition("moisture").is_some_and(|m| m.text() == "dry"));
    if let Some(other) = dry.filter_map(middle).find(|theirs| mine > theirs * 1.02) {
        let message = format!("{state} {}, dry {}", at.claim.value.text(), shown(Quantity::Stress, other, 3));
        findings.find(at.value_spot(), message, "exchange the two");
    }
}
