//! `surface-parts-differ`: The components of a surface energy do not add up to the total.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "surface-parts-differ",
    severity: Warning,
    integrity: false,
    what: "The components of a surface energy do not add up to the total.",
    why: "The dispersive and the polar component add up to the total by definition.",
    waive: "when the source rounds the components separately",
    source: "Owens and Wendt 1969 (memory)",
    cases: include_str!("../../../tests/data/audits/surface-parts-differ.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(whole) = middle(at.claim).filter(|_| at.word == "surface_energy" && at.in_use()) else { return };
    // Each method has parts of its own.
    let same_method = |c: &&Claim| c.method == at.claim.method;
    let parts = |word| at.beside(word, &[]).filter(same_method).filter_map(middle).collect::<Vec<f64>>();
    let polar = parts("surface_energy_polar");
    let sums: Vec<f64> = parts("surface_energy_dispersive").iter().flat_map(|d| polar.iter().map(move |p| d + p)).collect();
    let Some(nearest) = sums.iter().copied().min_by(|a, b| (a - whole).abs().total_cmp(&(b - whole).abs())) else { return };
    if (nearest - whole).abs() <= 0.02 * whole {
        return;
    }
    let message = format!(
        "{} is stated, but its components add up to {}",
        at.claim.value.text(),
        shown(Quantity::SurfaceEnergy, nearest, 3)
    );
    findings.find(at.value_spot(), message, "read the three numbers again");
}
