//! Cracks and notches in brittle plastics.

use uom::si::f64::{Force, Length, Pressure, Ratio};

use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::{FractureToughness, Measure};

/// Free-edge factor of a shallow edge crack (Tada, Paris and Irwin).
const EDGE: f64 = 1.12;

/// Critical distance L = (KIc/σ0)²/π. Source: D. Taylor, The Theory of Critical Distances.
pub fn critical_distance(toughness: FractureToughness, strength: Pressure) -> Length {
    let ratio = toughness.si() / strength.si();
    Length::from_si(ratio * ratio / std::f64::consts::PI)
}

/// Stress that breaks a part with a shallow edge crack: σ = KIc/(1.12 √(πa)). Source: linear elastic fracture mechanics.
pub fn edge_crack_strength(toughness: FractureToughness, depth: Length) -> Pressure {
    Pressure::from_si(toughness.si() / (EDGE * libm::sqrt(std::f64::consts::PI * depth.si())))
}

/// Strength with an edge crack of any depth: σ = KIc/√(1.12² πa + (KIc/σ0)²): σ0 without a crack, [`edge_crack_strength`] for a long one.
///
/// Source: El Haddad's intrinsic length.
pub fn short_crack_strength(toughness: FractureToughness, depth: Length, strength: Pressure) -> Pressure {
    let intrinsic = toughness.si() / strength.si();
    let crack = EDGE * EDGE * std::f64::consts::PI * depth.si();
    Pressure::from_si(toughness.si() / libm::sqrt(crack + intrinsic * intrinsic))
}

/// Share of its strength that a part keeps with an edge crack; see [`short_crack_strength`].
pub fn short_crack_share(toughness: FractureToughness, depth: Length, strength: Pressure) -> Ratio {
    short_crack_strength(toughness, depth, strength) / strength
}

/// Stress concentration of a notch: Kt = 1 + 2 √(a/ρ). Source: Inglis 1913.
pub fn notch_factor(depth: Length, radius: Length) -> Ratio {
    Ratio::from_si(1.0 + 2.0 * libm::sqrt(depth.si() / radius.si()))
}

/// Notch sensitivity: q = 1/(1 + a*/ρ). Source: Peterson.
pub fn notch_sensitivity(radius: Length, constant: Length) -> Ratio {
    Ratio::from_si(1.0 / (1.0 + constant.si() / radius.si()))
}

/// Load that breaks a cone out of a brittle part round a headed stud: F = 2.1 KIc h^1.5.
///
/// Constant recalled, order of magnitude only; free edge at least 1.5 h away, blind or widely supported.
pub fn break_out_load(toughness: FractureToughness, depth: Length) -> Force {
    Force::from_si(2.1 * toughness.si() * depth.si() * libm::sqrt(depth.si()))
}

const fn toughness(trend: Trend) -> Argument {
    arg("toughness", "KIc", "MPa·√m", "plane-strain fracture toughness", Domain::Positive, trend)
}

const fn strength(trend: Trend) -> Argument {
    arg("strength", "σ0", "MPa", "strength without a flaw", Domain::Positive, trend)
}

const LINEAR: Validity =
    Validity::NotStated("no range stated; linear elastic: crack small against the part, plastic zone small against the crack");

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = crack_formulas();
    all.extend(notch_formulas());
    all
}

fn crack_formulas() -> Vec<Formula> {
    use Domain::{NotNegative, Positive};
    use Trend::{Falls, Rises};
    vec![
        Formula::of(
            critical_distance,
            FormulaCard {
                name: "critical-distance",
                purpose: "Material length that tells how deep a crack must be to govern the strength.",
                arguments: [toughness(Rises), strength(Falls)],
                above: &[],
                gives: Gives { symbol: "L", unit: "mm", means: "critical distance" },
                validity: LINEAR,
                source: "L = (KIc/σ0)²/π: D. Taylor, The Theory of Critical Distances",
                example: Example {
                    inputs: ["1.012MPa.m^0.5", "50MPa"],
                    result: "0.1304 mm",
                    tolerance: 4e-4,
                    status: Status::Hand,
                    origin: "0.02024²/π = 1.30399e-4 m",
                },
            },
        ),
        Formula::of(
            edge_crack_strength,
            FormulaCard {
                name: "edge-crack-strength",
                purpose: "Stress that breaks a part with a long shallow edge crack.",
                arguments: [toughness(Rises), arg("depth", "a", "mm", "depth of the crack", Positive, Falls)],
                above: &[],
                gives: Gives { symbol: "σf", unit: "MPa", means: "strength with the crack" },
                validity: Validity::NotStated(
                    "no range stated; linear elastic, crack longer than the critical distance: a shorter one gives a number above the real strength",
                ),
                source: "σ = KIc/(1.12 √(πa)): Anderson, Fracture Mechanics; Tada, Paris and Irwin",
                example: Example {
                    inputs: ["1.012MPa.m^0.5", "0.1mm"],
                    result: "50.979 MPa",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "1.012/(1.12 · 0.01772454)",
                },
            },
        ),
        Formula::of(
            short_crack_strength,
            FormulaCard {
                name: "short-crack-strength",
                purpose: "Strength of a part with an edge crack of any depth.",
                arguments: [toughness(Rises), arg("depth", "a", "mm", "depth of the crack", NotNegative, Falls), strength(Rises)],
                above: &[],
                gives: Gives { symbol: "σf", unit: "MPa", means: "strength with the crack" },
                validity: LINEAR,
                source: "σ = KIc/√(1.12² πa + (KIc/σ0)²): El Haddad's intrinsic length",
                example: Example {
                    inputs: ["1.012MPa.m^0.5", "0.1mm", "50MPa"],
                    result: "35.696 MPa",
                    tolerance: 3e-5,
                    status: Status::Hand,
                    origin: "1.012/√(3.94082e-4 + 4.09658e-4)",
                },
            },
        ),
        Formula::of(
            short_crack_share,
            FormulaCard {
                name: "short-crack-share",
                purpose: "Share of its strength that a part keeps with an edge crack of any depth.",
                arguments: [toughness(Rises), arg("depth", "a", "mm", "depth of the crack", NotNegative, Falls), strength(Falls)],
                above: &[],
                gives: Gives { symbol: "σf/σ0", unit: "1", means: "share of the strength kept" },
                validity: LINEAR,
                source: "σ/σ0 = 1/√(1 + 1.12² πa (σ0/KIc)²): El Haddad's intrinsic length",
                example: Example {
                    inputs: ["1.012MPa.m^0.5", "0.1mm", "50MPa"],
                    result: "0.71393",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "35.696/50",
                },
            },
        ),
        Formula::of(
            break_out_load,
            FormulaCard {
                name: "break-out-load",
                purpose: "Load at which a cone is pulled out of a brittle part round an insert or screw.",
                arguments: [
                    toughness(Rises),
                    arg("depth", "h", "mm", "depth of the head or insert under the face", Positive, Rises),
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "cone pull-out load" },
                validity: Validity::NotStated(
                    "no range stated, order of magnitude only; free edge at least 1.5 h away and blind or wide support, else the plate splits and there is no model",
                ),
                source: "F = 2.1 KIc h^1.5: cone of a headed stud in a brittle solid, constant recalled",
                example: Example {
                    inputs: ["1.012MPa.m^0.5", "5.7mm"],
                    result: "914.6 N",
                    tolerance: 1e-4,
                    status: Status::Memory,
                    origin: "2.1 · 1.012e6 · 4.30341e-4 with the recalled constant",
                },
            },
        ),
    ]
}

fn notch_formulas() -> Vec<Formula> {
    use Domain::Positive;
    use Trend::{Falls, Rises};
    vec![
        Formula::of(
            notch_factor,
            FormulaCard {
                name: "notch-factor",
                purpose: "Stress concentration of a notch.",
                arguments: [
                    arg("depth", "a", "mm", "depth of the notch", Positive, Rises),
                    arg("radius", "ρ", "mm", "radius of its root", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "Kt", unit: "1", means: "stress concentration" },
                validity: Validity::NotStated("no range stated; elastic, shallow ellipse-like notch in a wide part"),
                source: "Kt = 1 + 2 √(a/ρ): C. E. Inglis 1913",
                example: Example {
                    inputs: ["0.27mm", "0.0722mm"],
                    result: "4.868",
                    tolerance: 1e-4,
                    status: Status::Hand,
                    origin: "1 + 2 √3.73961",
                },
            },
        ),
        Formula::of(
            notch_sensitivity,
            FormulaCard {
                name: "notch-sensitivity",
                purpose: "Share of a stress concentration that lowers the strength of the material.",
                arguments: [
                    arg("radius", "ρ", "mm", "radius of the root", Positive, Rises),
                    arg("constant", "a*", "mm", "material length", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "q", unit: "1", means: "notch sensitivity" },
                validity: Validity::NotStated("no range stated; the length a* is a material value that few plastics have"),
                source: "q = 1/(1 + a*/ρ): Peterson, Stress Concentration Factors",
                example: Example {
                    inputs: ["0.3mm", "0.1mm"],
                    result: "0.75",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "1/(1 + 1/3)",
                },
            },
        ),
    ]
}
