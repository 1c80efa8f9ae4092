//! `load-above-equilibrium`: A pull-out load is larger than the thread area can carry.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "load-above-equilibrium",
    severity: Warning,
    integrity: false,
    what: "A pull-out load is larger than the thread area can carry.",
    why: "The load cannot exceed shear strength times the shear cylinder of the thread; the screw, the unit or the length is probably wrong.",
    waive: "when the load went through another part",
    source: "equilibrium: F ≤ π d L τ, with a tolerance of one half",
    cases: include_str!("../../../tests/data/audits/load-above-equilibrium.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, scene: &Scene<'_>, desk: &mut Desk<'_>) {
    let screw = at.text("mode").is_some_and(|m| m == "screw-break");
    if !matches!(at.quantity, "pull_out_load" | "push_out_load") || !at.in_use || screw {
        return;
    }
    let diameter = at.series.amount("/joint/thread_diameter").or_else(|| {
        let word = at.series.text("/joint/thread")?.strip_prefix('M')?;
        quantity::parse(&format!("{word} mm"), Quantity::Length).ok()
    });
    let values = at.mean.iter().map(|w| w.si).chain(at.failures());
    let (Some(load), Some(d), Some(length)) = (values.max_by(f64::total_cmp), diameter, at.series.amount("/joint/length")) else {
        return;
    };
    let screws = at.series.record.rest["joint"]["screws"].as_u64().unwrap_or(1) as f64;
    let Some(material) = at.series.text("/joint/material").and_then(|id| scene.book.record(id)) else { return };
    let Some(shear) = strongest(material) else { return };
    let limit = std::f64::consts::PI * d.si * length.si * shear * screws;
    // An insert carries on its own, larger circle.
    if !at.series.has("/joint/insert") && !at.series.has("/joint/insert_text") && load > 1.5 * limit {
        let message = format!(
            "the load is {}, but π d L times {} gives {}",
            shown(Quantity::Force, load, 3),
            shown(Quantity::Stress, shear, 3),
            shown(Quantity::Force, limit, 3)
        );
        desk.find(at.spot(""), message, "check unit, length, and how many screws shared the load");
    }
}

/// The greatest shear strength a material is said to have, else its greatest tensile strength.
fn strongest(material: &Record) -> Option<f64> {
    let most = |word: &str| {
        material
            .claims(word)
            .iter()
            .filter(|c| c.in_use())
            .filter_map(|c| c.value.ends().map(|(_, h)| h.si))
            .max_by(f64::total_cmp)
    };
    most("shear_strength").or_else(|| most("tensile_strength"))
}
