//! What the audits ask of a claim that was measured: known before the claim is written, so that it can be asked for at once.

use crate::check::catalogue::PropertyCard;

/// Fields of a claim, nested ones with a dot, beside value, source, locator and basis. A test holds them against the audits.
pub fn of_claim(kind: &str, is_polyamide: bool, card: &PropertyCard) -> Vec<&'static str> {
    let (property, mechanical, impact) = (card.word.as_str(), card.is("mechanical"), card.is("impact"));
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
