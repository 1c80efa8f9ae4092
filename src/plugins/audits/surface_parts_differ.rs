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
    for dispersive in at.beside("surface_energy_dispersive", &[]).filter_map(middle) {
        let sums: Vec<f64> = at.beside("surface_energy_polar", &[]).filter_map(middle).map(|polar| dispersive + polar).collect();
        if sums.is_empty() || sums.iter().any(|sum| (sum - whole).abs() <= 0.02 * whole) {
            return;
        }
        let nearest = sums.iter().copied().min_by(|a, b| (a - whole).abs().total_cmp(&(b - whole).abs())).unwrap_or(0.0);
        let message =
            format!("{} stated, {} as sum of its parts", at.claim.value.text(), shown(Quantity::SurfaceEnergy, nearest, 3));
        return desk.find(at.value_spot(), message, "read the three numbers again");
    }
}
