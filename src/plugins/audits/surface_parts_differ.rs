//! `surface-parts-differ`: The parts of a surface energy do not add up to the whole.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "surface-parts-differ",
    severity: Warning,
    integrity: false,
    what: "The parts of a surface energy do not add up to the whole.",
    why: "Dispersive and polar part are defined by their sum.",
    waive: "when the source rounds its parts separately",
    source: "Owens and Wendt 1969 (memory)",
    cases: include_str!("../../../tests/data/audits/surface-parts-differ.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
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
    let message = format!("{} stated, {} as sum of its parts", at.claim.value.text(), shown(Quantity::SurfaceEnergy, nearest, 3));
    desk.find(at.value_spot(), message, "read the three numbers again");
}
