//! What a loaded thread does to the wall round it: radial force, pressure, hoop stress, growth, jumping.

use uom::si::f64::{Angle, Force, Length, Pressure, Ratio};

use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// Slope with which an axial load turns radial: tan(α - atan μ), zero once friction holds the flank.
fn slope(half_angle: Angle, friction: Ratio) -> f64 {
    // By the difference formula of the tangent: no arc tangent in the middle of many draws.
    let flank = libm::tan(half_angle.si());
    ((flank - friction.si()) / (1.0 + flank * friction.si())).max(0.0)
}

/// Radial force of an axial one on flanks of half angle α: Fr = F tan(α - atan μ), zero when friction holds.
pub fn radial_force(axial: Force, half_angle: Angle, friction: Ratio) -> Force {
    axial * slope(half_angle, friction)
}

/// Mean radial pressure on the pitch cylinder: p = Fr/(π d2 Le).
pub fn radial_pressure(axial: Force, half_angle: Angle, friction: Ratio, pitch_diameter: Length, engaged: Length) -> Pressure {
    let area = pitch_diameter * engaged * std::f64::consts::PI;
    radial_force(axial, half_angle, friction) / area
}

/// Hoop stress at the bore over the pressure there: K = (ro² + ri²)/(ro² - ri²). Lamé; Shigley ch. 3; Roark table 13.5.
///
/// Radii; `outer` must be above `inner`, else the number means nothing.
pub fn lame_ratio(inner: Length, outer: Length) -> Ratio {
    let (i, o) = (inner.si() * inner.si(), outer.si() * outer.si());
    Ratio::from_si((o + i) / (o - i))
}

/// Hoop stress at the bore of a cylinder under internal pressure: σt = p K; see [`lame_ratio`].
pub fn lame_hoop(inner: Length, outer: Length, pressure: Pressure) -> Pressure {
    pressure * lame_ratio(inner, outer)
}

/// Internal pressure that brings the bore to a hoop stress: p = σt/K; see [`lame_ratio`].
pub fn lame_pressure(inner: Length, outer: Length, hoop: Pressure) -> Pressure {
    hoop / lame_ratio(inner, outer)
}

/// Radial growth of the bore under internal pressure, plane stress: u = (p ri/E)(K + ν); see [`lame_ratio`].
pub fn lame_growth(inner: Length, outer: Length, pressure: Pressure, modulus: Pressure, poisson: Ratio) -> Length {
    let strain = pressure.si() / modulus.si() * (lame_ratio(inner, outer).si() + poisson.si());
    inner * strain
}

/// Axial load at which the wall's mean hoop stress reaches a strength: F = (σ/K) π d2 Le/tan(α - atan μ).
///
/// `None` when friction holds the flank and no load becomes radial. Derived from [`radial_pressure`] and [`lame_hoop`].
pub fn bursting_load(
    strength: Pressure,
    inner: Length,
    outer: Length,
    pitch_diameter: Length,
    engaged: Length,
    half_angle: Angle,
    friction: Ratio,
) -> Option<Force> {
    axial_load(lame_pressure(inner, outer, strength), pitch_diameter, engaged, half_angle, friction)
}

/// Axial load at which an elastic boss has grown by the radial overlap of the threads and the screw jumps.
///
/// p = h E/[ri (K + ν)], F = p π d2 Le/tan(α - atan μ). `None` when friction holds the flank. Derived; governs only for
/// soft bosses, thin walls or wide holes.
#[allow(clippy::too_many_arguments)] // the physics has nine inputs; a struct would hide their order from the card
pub fn jumping_load(
    overlap: Length,
    inner: Length,
    outer: Length,
    modulus: Pressure,
    poisson: Ratio,
    pitch_diameter: Length,
    engaged: Length,
    half_angle: Angle,
    friction: Ratio,
) -> Option<Force> {
    let stiffness = lame_ratio(inner, outer).si() + poisson.si();
    let pressure = modulus * ((overlap / inner).si() / stiffness);
    axial_load(pressure, pitch_diameter, engaged, half_angle, friction)
}

fn axial_load(pressure: Pressure, pitch_diameter: Length, engaged: Length, half_angle: Angle, friction: Ratio) -> Option<Force> {
    let slope = slope(half_angle, friction);
    let radial: Force = pressure * (pitch_diameter * engaged * std::f64::consts::PI);
    (slope > 0.0).then(|| radial / slope)
}

/// Wall of an open thick cylinder by Birnie: t = Di/2 [√((σ + (1-ν)p)/(σ - (1+ν)p)) - 1]; `None` when σ is too small.
pub fn wall_birnie(inner_diameter: Length, pressure: Pressure, stress: Pressure, poisson: Ratio) -> Option<Length> {
    wall(inner_diameter, pressure, stress, poisson, 1.0 - poisson.si())
}

/// Wall of a closed thick cylinder by Clavarino: t = Di/2 [√((σ + (1-2ν)p)/(σ - (1+ν)p)) - 1]; `None` when σ is too small.
pub fn wall_clavarino(inner_diameter: Length, pressure: Pressure, stress: Pressure, poisson: Ratio) -> Option<Length> {
    wall(inner_diameter, pressure, stress, poisson, 1.0 - 2.0 * poisson.si())
}

fn wall(inner_diameter: Length, pressure: Pressure, stress: Pressure, poisson: Ratio, share: f64) -> Option<Length> {
    let (p, s) = (pressure.si(), stress.si());
    let under = s - (1.0 + poisson.si()) * p;
    (under > 0.0).then(|| inner_diameter * 0.5 * (libm::sqrt((s + share * p) / under) - 1.0))
}

use Domain::{NotNegative, Positive};
use Trend::{Falls, Mixed, Rises};

const AXIAL: Argument = arg("axial", "F", "N", "axial load", NotNegative, Rises);
const FRICTION: Argument = arg("friction", "μ", "1", "friction of the flanks; 0 for none", NotNegative, Falls);
const INNER: Argument = arg("inner", "ri", "mm", "radius of the bore", Positive, Rises);
const OUTER: Argument = arg("outer", "ro", "mm", "outer radius", Positive, Falls);

const fn half_angle(trend: Trend) -> Argument {
    // Up to 86°: at a right angle the flank carries nothing.
    arg("half_angle", "α", "°", "half of the flank angle; 30° for ISO metric and unified", Domain::Within(0.0, 1.5), trend)
}

const fn pitch_diameter(trend: Trend) -> Argument {
    arg("pitch_diameter", "d2", "mm", "pitch diameter", Positive, trend)
}

const fn engaged(trend: Trend) -> Argument {
    arg("engaged", "Le", "mm", "engaged length", Positive, trend)
}

const LAME: &str = "Lamé's thick cylinder: Shigley, Mechanical Engineering Design, ch. 3; Roark, table 13.5";
const STATICS: Validity = Validity::Exact("statics of the flank; the load is taken as spread evenly along the thread");
const ELASTIC: Validity = Validity::Exact("elastic, round, even pressure, plane stress; wrong once the wall yields or creeps");

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = radial_formulas();
    all.extend(lame_formulas());
    all.extend(load_formulas());
    all.extend(wall_formulas());
    all
}

fn radial_formulas() -> Vec<Formula> {
    vec![
        Formula::of(
            radial_force,
            FormulaCard {
                name: "radial-force",
                purpose: "Radial force that an axial load on a thread pushes outwards.",
                arguments: [AXIAL, half_angle(Rises), FRICTION],
                above: &[],
                gives: Gives { symbol: "Fr", unit: "N", means: "radial force" },
                validity: STATICS,
                source: "Fr = F tan(α - atan μ): statics of the flank, the wall sliding outwards",
                example: Example {
                    inputs: ["1000N", "30deg", "0.2"],
                    result: "338.29 N",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "(tan 30° - 0.2)/(1 + 0.2 tan 30°) = 0.377350/1.115470",
                },
            },
        ),
        Formula::of(
            radial_pressure,
            FormulaCard {
                name: "radial-pressure",
                purpose: "Mean radial pressure of a loaded thread on its pitch cylinder.",
                arguments: [AXIAL, half_angle(Rises), FRICTION, pitch_diameter(Falls), engaged(Falls)],
                above: &[],
                gives: Gives { symbol: "p", unit: "MPa", means: "radial pressure" },
                validity: STATICS,
                source: "p = F tan(α - atan μ)/(π d2 Le): statics of the flank",
                example: Example {
                    inputs: ["1000N", "30deg", "0.1", "2.6752mm", "5.7mm"],
                    result: "9.4206 MPa",
                    tolerance: 1e-4,
                    status: Status::Hand,
                    origin: "1000 · (0.577350 - 0.1)/1.0577350 / 47.9050",
                },
            },
        ),
    ]
}

fn lame_formulas() -> Vec<Formula> {
    let pressure = arg("pressure", "p", "MPa", "pressure in the bore", NotNegative, Rises);
    let above: &[(&str, &str)] = &[("outer", "inner")];
    vec![
        Formula::of(
            lame_ratio,
            FormulaCard {
                name: "lame-ratio",
                purpose: "Hoop stress at the bore of a cylinder over the pressure in it.",
                arguments: [INNER, OUTER],
                above,
                gives: Gives { symbol: "K", unit: "1", means: "hoop stress over pressure" },
                validity: ELASTIC,
                source: LAME,
                example: Example {
                    inputs: ["2mm", "4mm"],
                    result: "1.66667",
                    tolerance: 3e-6,
                    status: Status::Hand,
                    origin: "(16 + 4)/(16 - 4)",
                },
            },
        ),
        Formula::of(
            lame_hoop,
            FormulaCard {
                name: "lame-hoop",
                purpose: "Hoop stress at the bore of a cylinder under internal pressure.",
                arguments: [INNER, OUTER, pressure],
                above,
                gives: Gives { symbol: "σt", unit: "MPa", means: "hoop stress at the bore" },
                validity: ELASTIC,
                source: LAME,
                example: Example {
                    inputs: ["1.3376mm", "3mm", "12.51MPa"],
                    result: "18.718 MPa",
                    tolerance: 5e-5,
                    status: Status::Hand,
                    origin: "a boundary-value solve of the cylinder gives 18.718",
                },
            },
        ),
        Formula::of(
            lame_pressure,
            FormulaCard {
                name: "lame-pressure",
                purpose: "Internal pressure that brings the bore of a cylinder to a hoop stress.",
                arguments: [
                    arg("inner", "ri", "mm", "radius of the bore", Positive, Falls),
                    arg("outer", "ro", "mm", "outer radius", Positive, Rises),
                    arg("hoop", "σt", "MPa", "hoop stress at the bore", NotNegative, Rises),
                ],
                above,
                gives: Gives { symbol: "p", unit: "MPa", means: "pressure in the bore" },
                validity: ELASTIC,
                source: LAME,
                example: Example {
                    inputs: ["20mm", "30mm", "100MPa"],
                    result: "38.4615 MPa",
                    tolerance: 2e-6,
                    status: Status::Published,
                    origin: "jacket of Bhandari, Introduction to Machine Design, example 22.6",
                },
            },
        ),
        Formula::of(
            lame_growth,
            FormulaCard {
                name: "lame-growth",
                purpose: "Radial growth of the bore of a cylinder under internal pressure.",
                arguments: [
                    INNER,
                    OUTER,
                    pressure,
                    arg("modulus", "E", "MPa", "elastic modulus", Positive, Falls),
                    arg("poisson", "ν", "1", "Poisson's ratio", Domain::Within(0.0, 0.5), Rises),
                ],
                above,
                gives: Gives { symbol: "u", unit: "mm", means: "radial growth" },
                validity: ELASTIC,
                source: LAME,
                example: Example {
                    inputs: ["1.3376mm", "3mm", "12.51MPa", "2000MPa", "0.35"],
                    result: "0.015447 mm",
                    tolerance: 5e-5,
                    status: Status::Hand,
                    origin: "a boundary-value solve of the cylinder gives 0.0154470",
                },
            },
        ),
    ]
}

fn load_formulas() -> Vec<Formula> {
    let inner = arg("inner", "ri", "mm", "radius at the pitch diameter", Positive, Falls);
    let outer = arg("outer", "ro", "mm", "outer radius of the boss", Positive, Rises);
    let friction = arg("friction", "μ", "1", "friction of the flanks; 0 for none", NotNegative, Rises);
    vec![
        Formula::of(
            bursting_load,
            FormulaCard {
                name: "bursting-load",
                purpose: "Axial load at which the mean hoop stress of a boss reaches its strength.",
                arguments: [
                    arg("strength", "σ", "MPa", "strength of the wall, with its flaws", NotNegative, Rises),
                    inner,
                    outer,
                    pitch_diameter(Rises),
                    engaged(Rises),
                    half_angle(Falls),
                    friction,
                ],
                above: &[("outer", "inner")],
                gives: Gives { symbol: "F", unit: "N", means: "bursting load" },
                validity: Validity::NotStated(
                    "no range stated; even pressure, elastic; the first turns carry one to three times the mean",
                ),
                source: "derived: p = σ/K (Lamé), F = p π d2 Le/tan(α - atan μ)",
                example: Example {
                    inputs: ["50MPa", "1.3376mm", "3mm", "2.6752mm", "5.7mm", "30deg", "0.2"],
                    result: "4732 N",
                    tolerance: 2e-4,
                    status: Status::Hand,
                    origin: "50/1.496247 · 47.9050/0.338291",
                },
            },
        ),
        Formula::of(
            jumping_load,
            FormulaCard {
                name: "jumping-load",
                purpose: "Axial load at which an elastic boss has expanded so far that the threads disengage.",
                arguments: [
                    arg("overlap", "h", "mm", "radial overlap of the threads", NotNegative, Rises),
                    inner,
                    outer,
                    arg("modulus", "E", "MPa", "elastic modulus of the boss", Positive, Rises),
                    arg("poisson", "ν", "1", "Poisson's ratio of the boss", Domain::Within(0.0, 0.5), Falls),
                    pitch_diameter(Rises),
                    engaged(Rises),
                    half_angle(Falls),
                    friction,
                ],
                above: &[("outer", "inner")],
                gives: Gives { symbol: "F", unit: "N", means: "jumping load" },
                validity: Validity::NotStated(
                    "no range stated and no measurement known; governs only for soft bosses (E below about 0.3 GPa), thin walls or an overlap below about 0.02 mm",
                ),
                source: "derived: p = h E/[ri (K + ν)] (Lamé), F = p π d2 Le/tan(α - atan μ)",
                example: Example {
                    inputs: ["0.05mm", "1.3376mm", "3mm", "2000MPa", "0.35", "2.6752mm", "5.7mm", "30deg", "0.1"],
                    result: "4298.4 N",
                    tolerance: 2e-4,
                    status: Status::Hand,
                    origin: "3359.9 N without friction, times tan 30°/tan(30° - 5.7106°) = 0.577350/0.451295",
                },
            },
        ),
    ]
}

fn wall_formulas() -> Vec<Formula> {
    let arguments = |poisson| {
        [
            arg("inner_diameter", "Di", "mm", "inner diameter", Positive, Rises),
            arg("pressure", "p", "MPa", "internal pressure", NotNegative, Rises),
            arg("stress", "σ", "MPa", "allowed stress", Positive, Falls),
            arg("poisson", "ν", "1", "Poisson's ratio", Domain::Within(0.0, 0.5), poisson),
        ]
    };
    let gives = Gives { symbol: "t", unit: "mm", means: "wall thickness" };
    let validity = Validity::NotStated("no range stated; ductile wall by the greatest strain, elastic");
    vec![
        Formula::of(
            wall_birnie,
            FormulaCard {
                name: "wall-birnie",
                purpose: "Wall of a thick cylinder with open ends under internal pressure.",
                arguments: arguments(Rises),
                above: &[],
                gives,
                validity,
                source: "Birnie's equation: Bhandari, Introduction to Machine Design, ch. 22",
                example: Example {
                    inputs: ["100mm", "12MPa", "92MPa", "0.27"],
                    result: "7.285750 mm",
                    tolerance: 1e-7,
                    status: Status::Published,
                    origin: "Bhandari, example 22.5 (230 MPa over 2.5)",
                },
            },
        ),
        Formula::of(
            wall_clavarino,
            FormulaCard {
                name: "wall-clavarino",
                purpose: "Wall of a thick cylinder with closed ends under internal pressure.",
                arguments: arguments(Mixed),
                above: &[],
                gives,
                validity,
                source: "Clavarino's equation: Bhandari, Introduction to Machine Design, ch. 22",
                example: Example {
                    inputs: ["250mm", "15MPa", "68MPa", "0.27"],
                    result: "30 mm",
                    tolerance: 2e-2,
                    status: Status::Published,
                    origin: "Bhandari, example 22.4 (340 MPa over 5), printed rounded up",
                },
            },
        ),
    ]
}
