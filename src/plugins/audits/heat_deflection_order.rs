//! `heat-deflection-order`: The heat deflection temperature at the higher stress lies above the one at the lower stress.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "heat-deflection-order",
    severity: Warning,
    integrity: false,
    what: "The heat deflection temperature at the higher stress lies above the one at the lower stress.",
    why: "A higher stress deflects the bar at a lower temperature; the two are probably exchanged.",
    waive: "when the specimens differ",
    source: "ISO 75-2 (memory)",
    cases: include_str!("../../../tests/data/audits/heat-deflection-order.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if at.word != "hdt" || !at.in_use() {
        return;
    }
    let (Some(mine), Some(stress)) = (middle(at.claim), at.amount("stress")) else { return };
    for other in at.beside("hdt", &["stress"]) {
        let less = match other.condition("stress") {
            Some(crate::book::ConditionValue::Quantity(w)) => w.si < stress.si * 0.9,
            _ => false,
        };
        if less && middle(other).is_some_and(|theirs| mine > theirs + 0.5) {
            let message = format!("{} at {}, but {} at less stress", at.claim.value.text(), stress.text, other.value.text());
            return findings.find(at.value_spot(), message, "exchange the two stresses");
        }
    }
}
