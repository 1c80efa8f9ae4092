//! `strain-order`: The strain at yield lies above the strain at break, or a material breaks before its elastic strain is reached.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "strain-order",
    severity: Warning,
    integrity: false,
    what: "The strain at yield lies above the strain at break, or a material breaks before its elastic strain is reached.",
    why: "The curve would have to run backwards.",
    waive: "when the strains were taken with different gauges and the record says so",
    source: "geometry of the stress-strain curve",
    cases: include_str!("../../../tests/data/audits/strain-order.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(broken) = middle(at.claim).filter(|_| at.word == "elongation_at_break" && at.in_use()) else { return };
    for yielded in at.beside("elongation_at_yield", &[]).filter_map(middle) {
        if yielded > broken * 1.02 {
            let message =
                format!("it breaks at {} but yields at {}", at.claim.value.text(), shown(Quantity::Fraction, yielded, 3));
            return findings.find(at.value_spot(), message, "read both again");
        }
    }
    let moduli: Vec<f64> = at.beside("tensile_modulus", &[]).filter_map(middle).collect();
    for strength in at.beside("tensile_strength", &[]).filter_map(middle) {
        let stiffest = moduli.iter().copied().fold(0.0, f64::max);
        if stiffest > 0.0 && strength / stiffest > broken * 1.2 {
            let message = format!(
                "it breaks at {}, but strength divided by modulus already gives {}",
                at.claim.value.text(),
                shown(Quantity::Fraction, strength / stiffest, 2)
            );
            return findings.find(
                at.value_spot(),
                message,
                "check modulus and strain: a strain taken from the crosshead gives too low a modulus",
            );
        }
    }
}
