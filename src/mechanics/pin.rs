//! A pin, dowel or bar that lies across in a part: it shears, presses on the part, tears out, and weakens the section it crosses.
//!
//! The four checks of a pinned joint as textbooks give them (Shigley, Mechanical Engineering Design, shear joints with bolts and
//! rivets: shear of the pin, bearing, tension of the net section, tear-out at the edge).

use uom::si::f64::{Force, Length, Pressure};

use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};

/// Load that shears a round pin in one plane: F = τ π/4 d².
pub fn pin_shear_load(shear_strength: Pressure, diameter: Length) -> Force {
    shear_strength * (diameter * diameter * std::f64::consts::FRAC_PI_4)
}

/// Load at which a part yields under a pin that presses on it: F = σ d L, on the projected area.
pub fn pin_bearing_load(strength: Pressure, diameter: Length, length: Length) -> Force {
    strength * (diameter * length)
}

/// Load that tears the part out in front of a pin, on the two planes beside it: F = 2 τ e L.
pub fn tear_out_load(shear_strength: Pressure, edge: Length, length: Length) -> Force {
    shear_strength * (edge * length) * 2.0
}

/// Load that pulls apart the section that a hole leaves: F = σ (w - d) t.
pub fn net_section_load(strength: Pressure, width: Length, hole: Length, thickness: Length) -> Force {
    strength * ((width - hole) * thickness)
}

use Domain::{NotNegative, Positive};
use Trend::{Falls, Rises};

const SHEAR: Argument = arg("shear_strength", "τ", "MPa", "shear strength", NotNegative, Rises);
const STRENGTH: Argument = arg("strength", "σ", "MPa", "compressive yield strength of the part", NotNegative, Rises);
const DIAMETER: Argument = arg("diameter", "d", "mm", "diameter of the pin", Positive, Rises);
const LENGTH: Argument = arg("length", "L", "mm", "length over which the pin bears", NotNegative, Rises);

const fn load(means: &'static str) -> Gives {
    Gives { symbol: "F", unit: "N", means }
}

const SOURCE: &str = "strength of materials; Shigley, Mechanical Engineering Design, shear joints";

/// The formulas of pins, by card.
pub fn formulas() -> Vec<Formula> {
    let pin = [
        Formula::of(
            pin_shear_load,
            FormulaCard {
                name: "pin-shear-load",
                purpose: "Load that shears a round pin in one plane.",
                arguments: [SHEAR, DIAMETER],
                above: &[],
                gives: load("shear load of one plane"),
                validity: Validity::NotStated("no range stated; even shear, no bending of the pin in a wide gap"),
                source: SOURCE,
                example: Example {
                    inputs: ["240MPa", "3mm"],
                    result: "1696 N",
                    tolerance: 3e-4,
                    status: Status::Hand,
                    origin: "240 · π/4 · 9 = 1696.5",
                },
            },
        ),
        Formula::of(
            pin_bearing_load,
            FormulaCard {
                name: "pin-bearing-load",
                purpose: "Load at which a part yields under a pin that presses on it.",
                arguments: [STRENGTH, DIAMETER, LENGTH],
                above: &[],
                gives: load("bearing load"),
                validity: Validity::NotStated("no range stated; even pressure on the projected area, a stiff pin, short time"),
                source: SOURCE,
                example: Example {
                    inputs: ["50MPa", "8mm", "12mm"],
                    result: "4800 N",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "50 · 8 · 12",
                },
            },
        ),
    ];
    pin.into_iter().chain(part()).collect()
}

/// Those of the part that the pin crosses.
fn part() -> Vec<Formula> {
    vec![
        Formula::of(
            tear_out_load,
            FormulaCard {
                name: "tear-out-load",
                purpose: "Load that tears the part out in front of a pin, on two planes.",
                arguments: [
                    SHEAR,
                    arg("edge", "e", "mm", "part in front of the pin, along the load", NotNegative, Rises),
                    LENGTH,
                ],
                above: &[],
                gives: load("tear-out load"),
                validity: Validity::NotStated("no range stated; even shear on both planes, which a short edge does not have"),
                source: SOURCE,
                example: Example {
                    inputs: ["30MPa", "6mm", "12mm"],
                    result: "4320 N",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "2 · 30 · 6 · 12",
                },
            },
        ),
        Formula::of(
            net_section_load,
            FormulaCard {
                name: "net-section-load",
                purpose: "Load that pulls apart the section that a hole leaves.",
                arguments: [
                    arg("strength", "σ", "MPa", "tensile strength", NotNegative, Rises),
                    arg("width", "w", "mm", "width across the load", Positive, Rises),
                    arg("hole", "d", "mm", "width that the hole takes", NotNegative, Falls),
                    arg("thickness", "t", "mm", "thickness of the section", NotNegative, Rises),
                ],
                above: &[("width", "hole")],
                gives: load("load of the net section"),
                validity: Validity::NotStated(
                    "no range stated; even stress: a brittle part fails earlier, from the edge of the hole",
                ),
                source: SOURCE,
                example: Example {
                    inputs: ["40MPa", "16mm", "8mm", "12mm"],
                    result: "3840 N",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "40 · (16 - 8) · 12",
                },
            },
        ),
    ]
}
