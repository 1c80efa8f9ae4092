//! `rises-with-temperature`: Strength or modulus rises with temperature.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "rises-with-temperature",
    severity: Warning,
    integrity: false,
    what: "Strength or modulus rises with temperature.",
    why: "Polymers soften when they get warmer; the temperatures may be exchanged.",
    waive: "when the material cures or crystallises on the way",
    source: "behaviour of polymers, with a tolerance of a twentieth",
    cases: include_str!("../../../tests/data/audits/rises-with-temperature.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let falls = at.word.ends_with("strength") || at.word.ends_with("modulus");
    if !falls || !at.in_use() || at.is("impact") {
        return;
    }
    let (Some(mine), Some(warm)) = (middle(at.claim), at.amount("temperature")) else { return };
    for other in at.beside(at.word, &["temperature"]).filter(|c| c.method == at.claim.method) {
        let cooler = match other.condition("temperature") {
            Some(crate::book::ConditionValue::Quantity(t)) => t.si < warm.si - 5.0,
            _ => false,
        };
        let others_stated = other.conditions.len() == at.claim.conditions.len();
        if cooler && others_stated && middle(other).is_some_and(|theirs| mine > theirs * 1.05) {
            let message =
                format!("{} at {}, but less at a lower temperature: {}", at.claim.value.text(), warm.text, other.value.text());
            return findings.find(at.value_spot(), message, "check which temperature is which");
        }
    }
}
