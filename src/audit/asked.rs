//! What the audits ask of a claim that was measured: known before the claim is written, so that it can be asked for at once.

/// Properties from a mechanical test, whose value depends on how it was tested.
pub const MECHANICAL: [&str; 17] = [
    "tensile_strength",
    "yield_strength",
    "stress_at_break",
    "shear_strength",
    "compressive_strength",
    "flexural_strength",
    "tensile_modulus",
    "flexural_modulus",
    "compressive_modulus",
    "shear_modulus",
    "elongation_at_break",
    "elongation_at_yield",
    "fracture_toughness",
    "izod_strength",
    "izod_impact_strength",
    "charpy_impact_strength",
    "lap_shear_strength",
];
/// Impact properties.
pub const IMPACT: [&str; 3] = ["izod_strength", "izod_impact_strength", "charpy_impact_strength"];

/// Fields of a claim, nested ones with a dot, beside value, source, locator and basis. A test holds them against the audits.
pub fn of_claim(kind: &str, is_polyamide: bool, property: &str) -> Vec<&'static str> {
    let mechanical = MECHANICAL.contains(&property);
    let impact = IMPACT.contains(&property);
    let mut asked = vec!["n", "sd", "sd_kind"];
    if mechanical || matches!(property, "tg" | "surface_energy" | "surface_energy_dispersive" | "surface_energy_polar") {
        asked.push("method");
    }
    if mechanical || matches!(property, "viscosity" | "cte") {
        asked.push("conditions.temperature");
    }
    if mechanical && !impact {
        asked.push("conditions.speed");
    }
    if mechanical {
        asked.push("conditions.specimen");
    }
    if impact {
        asked.push("conditions.notched");
    }
    if kind == "resin" && (mechanical || matches!(property, "tg" | "hdt")) {
        asked.push("conditions.post_cure");
    }
    if is_polyamide && (mechanical || property == "tg") {
        asked.push("conditions.moisture");
    }
    match property {
        "hdt" => asked.push("conditions.stress"),
        "penetration_depth" | "critical_dose" => asked.push("conditions.wavelength"),
        _ => {}
    }
    asked
}
