//! Where a bond is stressed: shear lag of a sleeve, the balanced lap, the edge moment of a lap joint.
//!
//! The elastic peak is a warning, never the strength: tests on lap joints find thin bonds stronger, not weaker.

use uom::si::f64::{Force, Length, Pressure, Ratio};

use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// Axial stiffness of a tube: S = E π/4 (Do² - Di²), in newtons (per unit strain).
pub fn axial_stiffness(modulus: Pressure, outer_diameter: Length, inner_diameter: Length) -> Force {
    let ring = outer_diameter * outer_diameter - inner_diameter * inner_diameter;
    modulus * (ring * std::f64::consts::FRAC_PI_4)
}

/// A sleeve bond: mean bond radius, length, gap, shear modulus of the glue, axial stiffnesses of insert and part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sleeve {
    /// Mean radius of the bond.
    pub radius: Length,
    /// Bonded length.
    pub length: Length,
    /// Gap on each side.
    pub gap: Length,
    /// Shear modulus of the glue.
    pub shear_modulus: Pressure,
    /// Axial stiffness E A of the insert.
    pub insert_stiffness: Force,
    /// Axial stiffness E A of the part.
    pub part_stiffness: Force,
}

impl Sleeve {
    /// Shear-lag number ωL, with ω² = (2π r G/t)(1/S1 + 1/S2).
    pub fn lag_number(self) -> f64 {
        let (s1, s2) = (self.insert_stiffness.si(), self.part_stiffness.si());
        let bond = 2.0 * std::f64::consts::PI * self.radius.si() * self.shear_modulus.si() / self.gap.si();
        libm::sqrt(bond * (1.0 / s1 + 1.0 / s2)) * self.length.si()
    }
}

fn coth_times(x: f64) -> f64 {
    x / libm::tanh(x)
}

fn over_sinh(x: f64) -> f64 {
    x / libm::sinh(x)
}

/// Shear at the loaded mouth over the mean, part held at the same face (the usual pull-out test): ωL coth ωL.
pub fn peak_same_face(sleeve: Sleeve) -> Ratio {
    Ratio::from_si(coth_times(sleeve.lag_number()))
}

/// Shear at the far end over the mean, part held at the same face: ωL/sinh ωL.
pub fn far_same_face(sleeve: Sleeve) -> Ratio {
    Ratio::from_si(over_sinh(sleeve.lag_number()))
}

/// Shear at the loaded end over the mean, part held at the opposite face: ωL[(1-ψ) coth ωL + ψ/sinh ωL], ψ = S1/(S1+S2).
pub fn near_through(sleeve: Sleeve) -> Ratio {
    let (x, psi) = (sleeve.lag_number(), share(sleeve));
    Ratio::from_si((1.0 - psi) * coth_times(x) + psi * over_sinh(x))
}

/// Shear at the held end over the mean, part held at the opposite face: ωL[(1-ψ)/sinh ωL + ψ coth ωL].
pub fn far_through(sleeve: Sleeve) -> Ratio {
    let (x, psi) = (sleeve.lag_number(), share(sleeve));
    Ratio::from_si((1.0 - psi) * over_sinh(x) + psi * coth_times(x))
}

fn share(sleeve: Sleeve) -> f64 {
    let (s1, s2) = (sleeve.insert_stiffness.si(), sleeve.part_stiffness.si());
    s1 / (s1 + s2)
}

/// Peak over mean shear of a balanced lap: x coth x with x = ωL/2. Source: Volkersen 1938.
pub fn volkersen_peak(half_lag: Ratio) -> Ratio {
    Ratio::from_si(coth_times(half_lag.si()))
}

/// Edge moment factor of a single lap joint: k = 1/(1 + 2√2 tanh u), u = √(3(1-ν²)/2) (c/t) √(σ/E), c half the overlap.
///
/// Source: Goland and Reissner 1944.
pub fn edge_moment_factor(stress: Pressure, modulus: Pressure, poisson: Ratio, thickness: Length, overlap: Length) -> Ratio {
    let nu = poisson.si();
    let slender = overlap.si() / 2.0 / thickness.si();
    let u = libm::sqrt(1.5 * (1.0 - nu * nu)) * slender * libm::sqrt(stress.si() / modulus.si());
    Ratio::from_si(1.0 / (1.0 + 2.0 * std::f64::consts::SQRT_2 * libm::tanh(u)))
}

use Domain::{NotNegative, Positive};
use Trend::{Falls, Rises};

const SOURCE: &str = "shear lag of Volkersen 1938 written for a sleeve; closed form derived";
const ELASTIC: Validity = Validity::Exact(
    "elastic glue and adherends, no bending, no peel; a peak is a warning, not the strength: glue yields and tests contradict the trend with the gap",
);

fn arguments(trends: [Trend; 6]) -> [Argument; 6] {
    let [radius, length, gap, modulus, insert, part] = trends;
    [
        arg("radius", "r", "mm", "mean radius of the bond", Positive, radius),
        arg("length", "L", "mm", "bonded length", Positive, length),
        arg("gap", "t", "mm", "gap on each side", Positive, gap),
        arg("shear_modulus", "G", "MPa", "shear modulus of the glue", Positive, modulus),
        arg("insert_stiffness", "S1", "N", "axial stiffness E·A of the insert", Positive, insert),
        arg("part_stiffness", "S2", "N", "axial stiffness E·A of the part", Positive, part),
    ]
}

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = sleeve_formulas();
    all.extend(lap_formulas());
    all
}

fn sleeve_formulas() -> Vec<Formula> {
    use Trend::Mixed;
    /// A function of a sleeve as one of its plain arguments.
    fn of(f: fn(Sleeve) -> Ratio) -> impl Fn(Length, Length, Length, Pressure, Force, Force) -> Ratio + Send + Sync + 'static {
        move |radius, length, gap, shear_modulus, insert_stiffness, part_stiffness| {
            f(Sleeve { radius, length, gap, shear_modulus, insert_stiffness, part_stiffness })
        }
    }
    let card = |name, purpose, trends, result, tolerance| FormulaCard {
        name,
        purpose,
        arguments: arguments(trends),
        above: &[],
        gives: Gives { symbol: "τ/τm", unit: "1", means: "shear over mean shear" },
        validity: ELASTIC,
        source: SOURCE,
        example: Example {
            inputs: ["2.35mm", "5.7mm", "0.1mm", "1000MPa", "955044N", "190004N"],
            result,
            tolerance,
            status: Status::Hand,
            origin: "brass 4.6/3.0 mm in a part of 2 GPa and 12 mm; a boundary-value solve agrees",
        },
    };
    let peak = [Rises, Rises, Falls, Rises, Falls, Falls];
    let far = [Falls, Falls, Rises, Falls, Rises, Rises];
    vec![
        Formula::of(
            of(peak_same_face),
            card(
                "sleeve-peak-same-face",
                "Shear at the loaded mouth of a bonded sleeve over the mean, part held at that face.",
                peak,
                "5.5021",
                2e-5,
            ),
        ),
        Formula::of(
            of(far_same_face),
            card(
                "sleeve-far-same-face",
                "Shear at the far end of a bonded sleeve over the mean, part held at the loaded face.",
                far,
                "0.044883",
                3e-5,
            ),
        ),
        Formula::of(
            of(near_through),
            card(
                "sleeve-near-through",
                "Shear at the loaded end of a bonded sleeve over the mean, part held at the opposite face.",
                [Mixed, Mixed, Mixed, Mixed, Mixed, Mixed],
                "0.95043",
                2e-5,
            ),
        ),
        Formula::of(
            of(far_through),
            card(
                "sleeve-far-through",
                "Shear at the held end of a bonded sleeve over the mean, part held at the opposite face.",
                [Rises, Rises, Falls, Rises, Mixed, Falls],
                "4.5966",
                2e-5,
            ),
        ),
    ]
}

fn lap_formulas() -> Vec<Formula> {
    vec![
        Formula::of(
            axial_stiffness,
            FormulaCard {
                name: "axial-stiffness",
                purpose: "Axial stiffness of a tube, per unit strain.",
                arguments: [
                    arg("modulus", "E", "MPa", "elastic modulus", Positive, Rises),
                    arg("outer_diameter", "Do", "mm", "outer diameter", Positive, Rises),
                    arg("inner_diameter", "Di", "mm", "inner diameter; 0 for a rod", NotNegative, Falls),
                ],
                above: &[("outer_diameter", "inner_diameter")],
                gives: Gives { symbol: "S", unit: "N", means: "axial stiffness E·A" },
                validity: Validity::Exact("definition"),
                source: "S = E π/4 (Do² - Di²)",
                example: Example {
                    inputs: ["100GPa", "4.6mm", "3mm"],
                    result: "955044 N",
                    tolerance: 1e-6,
                    status: Status::Hand,
                    origin: "1e5 · π/4 · 12.16",
                },
            },
        ),
        Formula::of(
            volkersen_peak,
            FormulaCard {
                name: "volkersen-peak",
                purpose: "Peak over mean shear of a balanced lap joint.",
                arguments: [arg("half_lag", "ωL/2", "1", "half the shear-lag number", Positive, Rises)],
                above: &[],
                gives: Gives { symbol: "τ/τm", unit: "1", means: "peak over mean shear" },
                validity: ELASTIC,
                source: "x coth x: Volkersen 1938",
                example: Example {
                    inputs: ["2"],
                    result: "2.07463",
                    tolerance: 2e-6,
                    status: Status::Hand,
                    origin: "2 (e⁴ + 1)/(e⁴ - 1)",
                },
            },
        ),
        Formula::of(
            edge_moment_factor,
            FormulaCard {
                name: "goland-reissner-factor",
                purpose: "Edge moment factor of a single lap joint.",
                arguments: [
                    arg("stress", "σ", "MPa", "tensile stress of the adherend", NotNegative, Falls),
                    arg("modulus", "E", "MPa", "elastic modulus of the adherend", Positive, Rises),
                    arg("poisson", "ν", "1", "Poisson's ratio of the adherend", Domain::Within(0.0, 0.5), Rises),
                    arg("thickness", "t", "mm", "thickness of the adherend", Positive, Rises),
                    arg("overlap", "2c", "mm", "overlap (the formula uses half of it)", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "k", unit: "1", means: "edge moment factor" },
                validity: Validity::NotStated("no range stated; equal adherends, thin bond, small strain"),
                source: "k = 1/(1 + 2√2 tanh u): Goland and Reissner 1944, J. Appl. Mech. 11:A17",
                example: Example {
                    inputs: ["100MPa", "70GPa", "0.33", "1.6mm", "25mm"],
                    result: "0.51820",
                    tolerance: 1e-5,
                    status: Status::Hand,
                    origin: "u = 1.156137 · 7.8125 · 0.0377964 = 0.341386; 1/(1 + 2.828427 · 0.328722)",
                },
            },
        ),
    ]
}
