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

fn look(at: &MeasurementAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let screw = at.says.mode.as_deref() == Some("screw-break");
    let joint = &at.series.says.joint;
    if !matches!(at.quantity, "pull_out_load" | "push_out_load") || !at.in_use || screw {
        return;
    }
    let diameter = joint.thread_diameter.as_ref().map(|d| d.si).or_else(|| {
        let word = joint.thread.as_deref()?.strip_prefix('M')?;
        quantity::parse(&format!("{word} mm"), Quantity::Length).ok().map(|d| d.si)
    });
    let values = at.mean.iter().map(|w| w.si).chain(at.failures());
    let (Some(load), Some(d), Some(length)) = (values.max_by(f64::total_cmp), diameter, &joint.length) else { return };
    let screws = joint.screws.unwrap_or(1) as f64;
    let Some(material) = joint.material.as_deref().and_then(|id| context.book.record(id)) else { return };
    let Some(shear) = strongest(material) else { return };
    let limit = std::f64::consts::PI * d * length.si * shear * screws;
    // An insert carries on its own, larger circle.
    if joint.insert.is_none() && joint.insert_text.is_none() && load > 1.5 * limit {
        let message = format!(
            "the load is {}, but π d L times {} gives {}",
            shown(Quantity::Force, load, 3),
            shown(Quantity::Stress, shear, 3),
            shown(Quantity::Force, limit, 3)
        );
        findings.find(at.spot(""), message, "check unit, length, and how many screws shared the load");
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
