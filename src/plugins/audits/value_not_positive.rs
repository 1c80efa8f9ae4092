//! `value-not-positive`: A strength, modulus, load, length or density is zero or negative.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "value-not-positive",
    severity: Error,
    integrity: true,
    what: "A strength, modulus, load, length or density is zero or negative.",
    why: "Such a quantity cannot be negative, and zero means that nothing was measured.",
    waive: "never: correct the record",
    source: "physics",
    cases: include_str!("../../../tests/data/audits/value-not-positive.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
    let Some(mean) = at.mean.as_ref().filter(|_| at.in_use) else { return };
    let positive = matches!(
        mean.quantity(),
        Quantity::Stress
            | Quantity::Force
            | Quantity::Density
            | Quantity::Torque
            | Quantity::Toughness
            | Quantity::Viscosity
            | Quantity::Dose
    );
    let change = ["change", "deviation", "error", "ratio", "resilience"].iter().any(|w| at.word.contains(w));
    let zero_load = mean.si == 0.0 && at.is_joint();
    if positive && !change && mean.si <= 0.0 && !zero_load {
        desk.find(
            at.spot(Part::Mean),
            format!("{} is impossible for this property", mean.text),
            "correct the number or its sign",
        );
    }
}
