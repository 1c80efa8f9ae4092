//! `shear-modulus-inconsistent`: Shear modulus, Young's modulus and Poisson's ratio of a metal do not agree.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "shear-modulus-inconsistent",
    severity: Note,
    integrity: false,
    what: "Shear modulus, Young's modulus and Poisson's ratio of a metal do not agree.",
    why: "For an isotropic body E = 2 G (1 + ν).",
    waive: "when the metal is textured",
    source: "elasticity of isotropic bodies",
    cases: include_str!("../../../tests/data/audits/shear-modulus-inconsistent.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(shear) = middle(at.claim).filter(|_| at.word == "shear_modulus" && at.in_use() && at.record.id.kind() == "metal")
    else {
        return;
    };
    let first = |word: &str| at.record.claims(word).iter().filter(|c| c.in_use()).filter_map(middle).next();
    let (Some(modulus), Some(poisson)) = (first("tensile_modulus"), first("poisson_ratio")) else { return };
    let expected = modulus / (2.0 * (1.0 + poisson));
    if (shear - expected).abs() > 0.2 * expected {
        let message = format!(
            "{}, but Young's modulus and Poisson's ratio give {}",
            at.claim.value.text(),
            shown(Quantity::Stress, expected, 3)
        );
        findings.find(at.value_spot(), message, "read the three numbers again");
    }
}
