//! The screw itself and what its head presses on.

use uom::si::f64::{Area, Force, Length, Pressure, Ratio, Time};

use super::formula::{Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// Load that breaks a screw in tension: F = Rm As. Source: ISO 898-1.
pub fn tensile_load(strength: Pressure, stress_area: Area) -> Force {
    strength * stress_area
}

/// Assembly preload at a utilisation ν of the yield strength under tension and torsion:
/// F = ν Rp A0/√(1 + 3 [1.5 (d2/d0)(P/(π d2) + 1.155 μG)]²), d0 = (d2 + d3)/2. Source: VDI 2230.
pub fn assembly_preload(
    yield_strength: Pressure,
    pitch: Length,
    pitch_diameter: Length,
    root_diameter: Length,
    thread_friction: Ratio,
    utilisation: Ratio,
) -> Force {
    let (p, d2) = (pitch.si(), pitch_diameter.si());
    let d0 = (d2 + root_diameter.si()) / 2.0;
    let torsion = 1.5 * (d2 / d0) * (p / (std::f64::consts::PI * d2) + 1.155 * thread_friction.si());
    let area = std::f64::consts::FRAC_PI_4 * d0 * d0;
    Force::from_si(utilisation.si() * yield_strength.si() * area / libm::sqrt(1.0 + 3.0 * torsion * torsion))
}

/// Area under a head: π/4 (dw² - dh²); zero when the hole is as wide as the head.
pub fn head_area(head: Length, hole: Length) -> Area {
    let ring = head * head - hole * hole;
    Area::from_si(ring.si().max(0.0) * std::f64::consts::FRAC_PI_4)
}

/// Load at which the face under a head yields: F = σ π/4 (dw² - dh²). Derived.
pub fn head_bearing_load(strength: Pressure, head: Length, hole: Length) -> Force {
    strength * head_area(head, hole)
}

/// Mean pressure under a head: p = F/[π/4 (dw² - dh²)]. Source: VDI 2230.
pub fn head_pressure(preload: Force, head: Length, hole: Length) -> Pressure {
    preload / head_area(head, hole)
}

/// Share of the preload left when a polymer creeps under a rigid screw: 1/(1 + m t^n), t in hours.
///
/// First order, all compliance in the polymer, Findley creep; m is the creep strain after one hour over the elastic one.
pub fn preload_left(creep_at_one_hour: Ratio, time: Time, exponent: Ratio) -> Ratio {
    let grown = libm::pow(time.si() / 3600.0, exponent.si());
    Ratio::from_si(1.0 / (1.0 + creep_at_one_hour.si() * grown))
}

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = tension_formulas();
    all.extend(head_formulas());
    all
}

use Domain::{NotNegative, Positive};
use Trend::{Falls, Mixed, Rises};

fn tension_formulas() -> Vec<Formula> {
    vec![
        Formula::of(
            tensile_load,
            FormulaCard {
                name: "screw-tensile-load",
                purpose: "Load that breaks a screw in tension.",
                arguments: [
                    arg("strength", "Rm", "MPa", "tensile strength of the screw", NotNegative, Rises),
                    arg("stress_area", "As", "mm²", "stress area", NotNegative, Rises),
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "breaking load" },
                validity: Validity::NotStated("no range stated; pure tension, full-size thread, no head fault"),
                source: "F = Rm As: ISO 898-1",
                example: Example {
                    inputs: ["800MPa", "8.78mm2"],
                    result: "7020 N",
                    tolerance: 1e-3,
                    status: Status::Published,
                    origin: "M4 8.8 in the load table of ISO 898-1, read in a public reprint",
                },
            },
        ),
        Formula::of(
            assembly_preload,
            FormulaCard {
                name: "assembly-preload",
                purpose: "Preload of a metal screw at a utilisation of its yield strength under tension and torsion.",
                arguments: [
                    arg("yield_strength", "Rp0.2", "MPa", "yield strength of the screw", Positive, Rises),
                    arg("pitch", "P", "mm", "pitch", Positive, Falls),
                    arg("pitch_diameter", "d2", "mm", "pitch diameter", Positive, Mixed),
                    arg("root_diameter", "d3", "mm", "root diameter", Positive, Rises),
                    arg("thread_friction", "μG", "1", "friction in the thread", NotNegative, Falls),
                    arg("utilisation", "ν", "1", "utilisation of the yield strength; 0.9 in VDI 2230", Domain::Share, Rises),
                ],
                above: &[("pitch_diameter", "root_diameter")],
                gives: Gives { symbol: "FM", unit: "kN", means: "assembly preload" },
                validity: Validity::NotStated(
                    "no range stated; of the screw alone: a plastic part fails at a much lower preload",
                ),
                source: "VDI 2230 part 1, assembly preload",
                example: Example {
                    inputs: ["640MPa", "1mm", "7.350481mm", "6.773131mm", "0.1", "0.9"],
                    result: "20.7 kN",
                    tolerance: 2.5e-3,
                    status: Status::Published,
                    origin: "M8x1 8.8 in table A of VDI 2230:2003, read in a public reprint",
                },
            },
        ),
        Formula::of(
            preload_left,
            FormulaCard {
                name: "preload-left",
                purpose: "Share of the preload left when the plastic creeps under a rigid screw.",
                arguments: [
                    arg("creep_at_one_hour", "m", "1", "creep strain after one hour over the elastic strain", NotNegative, Falls),
                    arg("time", "t", "h", "time under load", NotNegative, Falls),
                    arg("exponent", "n", "1", "exponent of the creep law", Domain::Share, Mixed),
                ],
                above: &[],
                gives: Gives { symbol: "F/F0", unit: "%", means: "share of the preload left" },
                validity: Validity::NotStated(
                    "no range stated; m and n must be measured for the plastic: there is no default, and a springy screw loses less",
                ),
                source: "derived: F/F0 = 1/(1 + m t^n), Findley creep with t in hours, rigid screw",
                example: Example {
                    inputs: ["0.5", "32h", "0.2"],
                    result: "50 %",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "32^0.2 = 2; 1/(1 + 0.5 · 2)",
                },
            },
        ),
    ]
}

fn head_formulas() -> Vec<Formula> {
    let head = |trend| arg("head", "dw", "mm", "outer diameter of the bearing face", Positive, trend);
    let hole = |trend| arg("hole", "dh", "mm", "diameter of the hole under it", NotNegative, trend);
    vec![
        Formula::of(
            head_bearing_load,
            FormulaCard {
                name: "head-bearing-load",
                purpose: "Load at which the face under a head or washer yields.",
                arguments: [
                    arg("strength", "σ", "MPa", "compressive yield strength of the face", NotNegative, Rises),
                    head(Rises),
                    hole(Falls),
                ],
                above: &[("head", "hole")],
                gives: Gives { symbol: "F", unit: "N", means: "bearing load" },
                validity: Validity::NotStated("no range stated; even pressure, short time: plastics creep far below"),
                source: "derived: F = σ π/4 (dw² - dh²)",
                example: Example {
                    inputs: ["50MPa", "5.5mm", "3.4mm"],
                    result: "733.95 N",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "50 · π/4 · (30.25 - 11.56)",
                },
            },
        ),
        Formula::of(
            head_pressure,
            FormulaCard {
                name: "head-pressure",
                purpose: "Mean pressure under a head or washer.",
                arguments: [arg("preload", "F", "N", "preload", NotNegative, Rises), head(Falls), hole(Rises)],
                above: &[("head", "hole")],
                gives: Gives { symbol: "p", unit: "MPa", means: "mean pressure under the head" },
                validity: Validity::NotStated("no range stated; even pressure"),
                source: "p = F/[π/4 (dw² - dh²)]: VDI 2230",
                example: Example {
                    inputs: ["400N", "5.5mm", "3.4mm"],
                    result: "27.250 MPa",
                    tolerance: 3e-5,
                    status: Status::Hand,
                    origin: "400/14.67909",
                },
            },
        ),
    ]
}
