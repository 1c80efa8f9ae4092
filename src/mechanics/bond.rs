//! Bonded, knurled and grooved inserts: areas, mean shear, loads, how much glue, and what the gap costs.

use uom::si::f64::{Area, Force, Length, Mass, MassDensity, Pressure, Ratio, Torque, Volume};

use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Of, Status, Trend, Validity, ValidityLimit, arg};
use crate::quantity::Measure;

/// Area of a cylindrical bond: A = π D L.
pub fn bond_area(diameter: Length, length: Length) -> Area {
    diameter * length * std::f64::consts::PI
}

/// Mean shear stress of a cylindrical bond: τ = F/(π D L). Source: ISO 10123, ASTM D4562.
pub fn mean_shear(force: Force, diameter: Length, length: Length) -> Pressure {
    force / bond_area(diameter, length)
}

/// Load of a cylindrical bond or step: F = π D L τ f φ, with gap factor f and filled share φ.
pub fn bond_load(shear_strength: Pressure, diameter: Length, length: Length, gap_factor: Ratio, filled: Ratio) -> Force {
    shear_strength * bond_area(diameter, length) * gap_factor * filled
}

/// Gap on each side: g = (Dh - Di)/2.
pub fn side_gap(hole: Length, insert: Length) -> Length {
    (hole - insert) * 0.5
}

/// Volume of the glue ring: V = π/4 (Dh² - Di²) L.
pub fn ring_volume(hole: Length, insert: Length, length: Length) -> Volume {
    (hole * hole - insert * insert) * length * std::f64::consts::FRAC_PI_4
}

/// Drops of glue for a volume: n = V ρ/m.
pub fn glue_drops(volume: Volume, density: MassDensity, drop: Mass) -> Ratio {
    volume * density / drop
}

/// Pull-out load of a knurled insert by shear of the plastic in the knurl: F = τ π Dk L φ. Derived, no validated constant.
pub fn knurl_pull_out(shear_strength: Pressure, knurl_diameter: Length, length: Length, filled: Ratio) -> Force {
    shear_strength * bond_area(knurl_diameter, length) * filled
}

/// Load that shears the ring of plastic or glue standing in a groove: F = τ π D L. Derived.
pub fn groove_ring_load(shear_strength: Pressure, ring_diameter: Length, ring_length: Length) -> Force {
    shear_strength * bond_area(ring_diameter, ring_length)
}

/// Torque that turns an insert in its hole by shear of a cylinder: T = τ π D² L/2. Derived.
pub fn torque_out(shear_strength: Pressure, diameter: Length, length: Length) -> Torque {
    Torque::from_si((shear_strength * bond_area(diameter, length)).si() * diameter.si() / 2.0)
}

/// A corner of a gap curve: gap on each side in mm, factor on the strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapPoint {
    /// Gap on each side, mm.
    pub gap_mm: f64,
    /// Factor on the shear strength.
    pub factor: f64,
}

const fn at(gap_mm: f64, factor: f64) -> GapPoint {
    GapPoint { gap_mm, factor }
}

/// Strength kept at a gap, by family of glue: straight lines between practice points, no single source.
///
/// Sources disagree on bond thickness, even in sign: a band belongs round each of these.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GapCurve {
    /// Thin cyanoacrylate.
    CyanoacrylateThin,
    /// Medium cyanoacrylate: judged, half way between thin and thick.
    CyanoacrylateMedium,
    /// Thick cyanoacrylate.
    CyanoacrylateThick,
    /// Two-part epoxy: starved below 0.05 mm.
    Epoxy,
}

impl GapCurve {
    /// The corners, by growing gap; two corners at one gap are a step, the second one counts at the gap itself.
    pub const fn points(self) -> &'static [GapPoint] {
        match self {
            GapCurve::CyanoacrylateThin => const { &[at(0.05, 1.0), at(0.10, 0.5), at(0.20, 0.0)] },
            GapCurve::CyanoacrylateMedium => const { &[at(0.075, 1.0), at(0.175, 0.55), at(0.35, 0.0)] },
            GapCurve::CyanoacrylateThick => const { &[at(0.10, 1.0), at(0.25, 0.6), at(0.50, 0.0)] },
            GapCurve::Epoxy => const { &[at(0.0, 0.7), at(0.05, 1.0), at(0.20, 1.0), at(0.50, 0.8)] },
        }
    }
}

/// Factor on the strength of a bond at a gap on each side: level before the first and after the last corner.
pub fn gap_factor(curve: GapCurve, gap: Length) -> Ratio {
    gap_factor_along(curve.points(), gap)
}

/// The same along corners by growing gap; without corners the factor is one.
fn gap_factor_along(points: &[GapPoint], gap: Length) -> Ratio {
    // A hair of a micrometre, so that a gap computed as (Dh - Di)/2 = 0.05 mm counts as 0.05 mm.
    let g = gap.si() * 1e3 + 1e-9;
    let after = points.iter().position(|p| p.gap_mm > g);
    let factor = match after {
        Some(0) => points[0].factor,
        None => points.last().map_or(1.0, |p| p.factor),
        Some(i) => {
            let (a, b) = (points[i - 1], points[i]);
            a.factor + (b.factor - a.factor) * ((g - a.gap_mm) / (b.gap_mm - a.gap_mm))
        }
    };
    Ratio::from_si(factor)
}

use Domain::{NotNegative, Positive, Share};
use Trend::{Falls, Mixed, Rises};

const SHEAR_STRENGTH: Argument = arg("shear_strength", "τ", "MPa", "shear strength", NotNegative, Rises);
const FILLED: Argument = arg("filled", "φ", "1", "filled share", Share, Rises);

const fn diameter(trend: Trend) -> Argument {
    arg("diameter", "D", "mm", "diameter of the bond", Positive, trend)
}

const fn length(trend: Trend) -> Argument {
    arg("length", "L", "mm", "length of the bond", Positive, trend)
}

const MEAN: Validity = Validity::NotStated(
    "no range stated; even shear is assumed, while a stiff thin bond in a soft part peaks at the loaded mouth",
);
const GEOMETRY: Validity = Validity::Exact("geometry");

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = stress_formulas();
    all.extend(load_formulas());
    all.extend(glue_formulas());
    all.extend(gap_formulas());
    all
}

fn stress_formulas() -> Vec<Formula> {
    vec![
        Formula::of(
            bond_area,
            FormulaCard {
                name: "bond-area",
                purpose: "Area of a cylindrical bond.",
                arguments: [diameter(Rises), length(Rises)],
                above: &[],
                gives: Gives { symbol: "A", unit: "mm²", means: "bond area" },
                validity: GEOMETRY,
                source: "A = π D L: ISO 10123",
                example: Example {
                    inputs: ["12.675mm", "11.10mm"],
                    result: "442.0 mm²",
                    tolerance: 2e-4,
                    status: Status::Hand,
                    origin: "pin of ISO 10123:1990 (12.675 mm, collar 11.10 mm wide, read in a public text): π · 140.6925",
                },
            },
        ),
        Formula::of(
            mean_shear,
            FormulaCard {
                name: "mean-shear",
                purpose: "Mean shear stress of a cylindrical bond under an axial load.",
                arguments: [arg("force", "F", "N", "axial load", NotNegative, Rises), diameter(Falls), length(Falls)],
                above: &[],
                gives: Gives { symbol: "τ", unit: "MPa", means: "mean shear stress" },
                validity: MEAN,
                source: "τ = F/(π D L): ISO 10123, ASTM D4562",
                example: Example {
                    inputs: ["8840N", "12.675mm", "11.10mm"],
                    result: "20.0 MPa",
                    tolerance: 1e-3,
                    status: Status::Hand,
                    origin: "8840/442.0",
                },
            },
        ),
    ]
}

fn load_formulas() -> Vec<Formula> {
    vec![
        Formula::of(
            bond_load,
            FormulaCard {
                name: "bond-load",
                purpose: "Load of a cylindrical bond, or of one step of it.",
                arguments: [
                    SHEAR_STRENGTH,
                    diameter(Rises),
                    length(Rises),
                    arg("gap_factor", "f", "1", "factor for the gap", Share, Rises),
                    FILLED,
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "load of the bond" },
                validity: MEAN,
                source: "F = π D L τ f φ: mean shear of ISO 10123 with a factor for the gap and the filled share",
                example: Example {
                    inputs: ["10MPa", "4.6mm", "5.7mm", "0.5", "0.8"],
                    result: "329.49 N",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "82.3726 · 10 · 0.4",
                },
            },
        ),
        Formula::of(
            knurl_pull_out,
            FormulaCard {
                name: "knurl-pull-out",
                purpose: "Pull-out load of a knurled insert by shear of the plastic that fills its knurl.",
                arguments: [
                    SHEAR_STRENGTH,
                    arg("knurl_diameter", "Dk", "mm", "outer diameter of the knurl", Positive, Rises),
                    arg("length", "L", "mm", "length of the knurl", Positive, Rises),
                    FILLED,
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "pull-out load" },
                validity: Validity::NotStated(
                    "no range stated, no published form with validated constants; the filled share is 0.5 to 1",
                ),
                source: "derived: F = τ π Dk L φ",
                example: Example {
                    inputs: ["30MPa", "4.6mm", "5.7mm", "0.75"],
                    result: "1853.4 N",
                    tolerance: 3e-5,
                    status: Status::Hand,
                    origin: "82.3726 · 22.5",
                },
            },
        ),
        Formula::of(
            groove_ring_load,
            FormulaCard {
                name: "groove-ring-load",
                purpose: "Load that shears the ring of plastic or glue standing in a groove.",
                arguments: [
                    SHEAR_STRENGTH,
                    arg("ring_diameter", "D", "mm", "diameter on which the ring shears", Positive, Rises),
                    arg("ring_length", "L", "mm", "length of the ring along the axis", Positive, Rises),
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "load of the ring" },
                validity: Validity::NotStated("no range stated; even shear, full ring"),
                source: "derived: F = τ π D L",
                example: Example {
                    inputs: ["20MPa", "5mm", "1mm"],
                    result: "314.159 N",
                    tolerance: 2e-6,
                    status: Status::Hand,
                    origin: "20 · 5 π",
                },
            },
        ),
        Formula::of(
            torque_out,
            FormulaCard {
                name: "torque-out",
                purpose: "Torque that turns an insert in its hole.",
                arguments: [SHEAR_STRENGTH, diameter(Rises), length(Rises)],
                above: &[],
                gives: Gives { symbol: "T", unit: "N·m", means: "torque" },
                validity: MEAN,
                source: "derived: T = τ π D² L/2",
                example: Example {
                    inputs: ["10MPa", "4.6mm", "5.7mm"],
                    result: "1.89457 N·m",
                    tolerance: 3e-6,
                    status: Status::Hand,
                    origin: "823.726 N · 2.3 mm",
                },
            },
        ),
    ]
}

fn glue_formulas() -> Vec<Formula> {
    let ring = || {
        [
            arg("hole", "Dh", "mm", "diameter of the hole", Positive, Rises),
            arg("insert", "Di", "mm", "diameter of the insert", Positive, Falls),
        ]
    };
    let [hole, insert] = ring();
    vec![
        Formula::of(
            side_gap,
            FormulaCard {
                name: "side-gap",
                purpose: "Gap on each side of an insert in its hole.",
                arguments: ring(),
                above: &[],
                gives: Gives { symbol: "g", unit: "mm", means: "gap on each side; below zero an interference" },
                validity: Validity::Exact("geometry of a centred insert; off centre one side has up to twice the gap"),
                source: "g = (Dh - Di)/2: geometry",
                example: Example {
                    inputs: ["4.8mm", "4.6mm"],
                    result: "0.1 mm",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "0.2/2",
                },
            },
        ),
        Formula::of(
            ring_volume,
            FormulaCard {
                name: "glue-volume",
                purpose: "Volume of glue that fills the ring between insert and hole.",
                arguments: [hole, insert, length(Rises)],
                above: &[("hole", "insert")],
                gives: Gives { symbol: "V", unit: "mm³", means: "volume" },
                validity: GEOMETRY,
                source: "V = π/4 (Dh² - Di²) L: geometry",
                example: Example {
                    inputs: ["4.8mm", "4.6mm", "5.7mm"],
                    result: "8.4163 mm³",
                    tolerance: 1e-5,
                    status: Status::Hand,
                    origin: "π/4 · 1.88 · 5.7 = 8.41633",
                },
            },
        ),
        Formula::of(
            glue_drops,
            FormulaCard {
                name: "glue-drops",
                purpose: "Number of drops in a volume of glue.",
                arguments: [
                    arg("volume", "V", "mm³", "volume of glue", NotNegative, Rises),
                    arg("density", "ρ", "g/cm³", "density of the glue", Positive, Rises),
                    arg("drop", "m", "mg", "mass of one drop", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "n", unit: "1", means: "drops" },
                validity: Validity::Exact("definition; the mass of a drop depends on the tip: weigh ten of yours"),
                source: "n = V ρ/m",
                example: Example {
                    inputs: ["8.416mm3", "1.05g/cm3", "6mg"],
                    result: "1.473",
                    tolerance: 4e-4,
                    status: Status::Hand,
                    origin: "8.8368/6",
                },
            },
        ),
    ]
}

fn gap_formulas() -> Vec<Formula> {
    let card = |name, glue: &'static str, trend, bounds: &'static [ValidityLimit], inputs, result, origin| FormulaCard {
        name,
        purpose: glue,
        arguments: [arg("gap", "g", "mm", "gap on each side", NotNegative, trend)],
        above: &[],
        gives: Gives { symbol: "f", unit: "1", means: "factor on the shear strength" },
        validity: Validity::Within(bounds),
        source: "common practice, no single source: straight lines between fill limits; sources disagree, even in sign",
        example: Example { inputs: [inputs], result, tolerance: 1e-6, status: Status::Practice, origin },
    };
    const fn to(high: f64, says: &'static str) -> [ValidityLimit; 1] {
        [ValidityLimit { of: Of::Argument("gap"), low: 0.0, high, says }]
    }
    const THIN: [ValidityLimit; 1] = to(0.000_200_000_1, "gap up to 0.20 mm each side, where nothing is left");
    const MEDIUM: [ValidityLimit; 1] = to(0.000_350_000_1, "gap up to 0.35 mm each side, where nothing is left (judged)");
    const THICK: [ValidityLimit; 1] = to(0.000_500_000_1, "gap up to 0.50 mm each side, where nothing is left");
    const EPOXY: [ValidityLimit; 1] = to(0.000_500_000_1, "gap up to 0.50 mm each side");
    vec![
        Formula::of(
            |gap| gap_factor(GapCurve::CyanoacrylateThin, gap),
            card(
                "gap-factor-cyanoacrylate-thin",
                "Share of its strength that thin cyanoacrylate keeps at a gap.",
                Falls,
                &THIN,
                "0.15mm",
                "0.25",
                "half way from 0.5 at 0.10 to 0 at 0.20 mm",
            ),
        ),
        Formula::of(
            |gap| gap_factor(GapCurve::CyanoacrylateMedium, gap),
            card(
                "gap-factor-cyanoacrylate-medium",
                "Share of its strength that medium cyanoacrylate keeps at a gap.",
                Falls,
                &MEDIUM,
                "0.125mm",
                "0.775",
                "half way from 1 at 0.075 to 0.55 at 0.175 mm (judged between thin and thick)",
            ),
        ),
        Formula::of(
            |gap| gap_factor(GapCurve::CyanoacrylateThick, gap),
            card(
                "gap-factor-cyanoacrylate-thick",
                "Share of its strength that thick cyanoacrylate keeps at a gap.",
                Falls,
                &THICK,
                "0.175mm",
                "0.8",
                "half way from 1 at 0.10 to 0.6 at 0.25 mm",
            ),
        ),
        Formula::of(
            |gap| gap_factor(GapCurve::Epoxy, gap),
            card(
                "gap-factor-epoxy",
                "Share of its strength that two-part epoxy keeps at a gap.",
                Mixed,
                &EPOXY,
                "0.35mm",
                "0.9",
                "half way from 1 at 0.20 to 0.8 at 0.50 mm; starved below 0.05 mm, down to 0.7",
            ),
        ),
    ]
}
