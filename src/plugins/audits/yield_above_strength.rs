//! `yield-above-strength`: A yield stress lies above the tensile strength of the same test.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "yield-above-strength",
    severity: Warning,
    integrity: false,
    what: "A yield stress lies above the tensile strength of the same test.",
    why: "The strength is the largest stress of the curve, and the yield stress is one point of it.",
    waive: "when the source defines the strength as stress at break",
    source: "ISO 527-1 (memory)",
    cases: include_str!("../../../tests/data/audits/yield-above-strength.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(yielded) = middle(at.claim).filter(|_| at.word == "yield_strength" && at.in_use()) else { return };
    for strength in at.beside("tensile_strength", &[]).filter_map(middle) {
        if yielded > strength * 1.005 {
            let message =
                format!("yield stress {} is above strength {}", at.claim.value.text(), shown(Quantity::Stress, strength, 3));
            return findings.find(at.value_spot(), message, "one of the two belongs to another test, or they are exchanged");
        }
    }
}
