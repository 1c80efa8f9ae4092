//! Does a liquid wet a solid? Owens and Wendt's split of surface energies into a dispersive and a polar part.

use uom::si::f64::{Angle, SurfaceTension};

use super::formula::{Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// A surface energy or surface tension in two parts (N/m in base SI).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Dispersive part.
    pub dispersive: SurfaceTension,
    /// Polar part.
    pub polar: SurfaceTension,
}

impl Split {
    /// Both parts together.
    pub fn total(self) -> SurfaceTension {
        self.dispersive + self.polar
    }
    fn from_millijoule(dispersive: f64, polar: f64) -> Self {
        Split { dispersive: SurfaceTension::from_si(dispersive / 1e3), polar: SurfaceTension::from_si(polar / 1e3) }
    }
}

/// Water, 72.8 mJ/m² (21.8 + 51.0): the split Owens and Wendt used, doi:10.1002/app.1969.070130815.
pub fn water() -> Split {
    Split::from_millijoule(21.8, 51.0)
}

/// Diiodomethane, 50.8 mJ/m² (49.5 + 1.3): the split Owens and Wendt used, doi:10.1002/app.1969.070130815.
pub fn diiodomethane() -> Split {
    Split::from_millijoule(49.5, 1.3)
}

/// Split of a solid's surface energy from the contact angles of two liquids of known split.
///
/// Solves γL(1 + cos θ)/2 = √(γSd γLd) + √(γSp γLp) for both liquids. `None` when the liquids are alike or when the
/// angles would need a negative root, that is, when they contradict each other.
pub fn owens_wendt(one: Split, angle_one: Angle, two: Split, angle_two: Angle) -> Option<Split> {
    let half = |l: Split, a: Angle| l.total().si() * (1.0 + libm::cos(a.si())) / 2.0;
    let root = |e: SurfaceTension| libm::sqrt(e.si());
    let (d1, p1, d2, p2) = (root(one.dispersive), root(one.polar), root(two.dispersive), root(two.polar));
    let (h1, h2) = (half(one, angle_one), half(two, angle_two));
    let determinant = d1 * p2 - d2 * p1;
    let x = (h1 * p2 - h2 * p1) / determinant;
    let y = (d1 * h2 - d2 * h1) / determinant;
    let solved = x.is_finite() && y.is_finite() && x >= 0.0 && y >= 0.0;
    solved.then(|| Split { dispersive: SurfaceTension::from_si(x * x), polar: SurfaceTension::from_si(y * y) })
}

/// Dispersive part of a solid's surface energy from the angles of water and diiodomethane; see [`owens_wendt`].
pub fn solid_dispersive(water_angle: Angle, diiodomethane_angle: Angle) -> Option<SurfaceTension> {
    owens_wendt(water(), water_angle, diiodomethane(), diiodomethane_angle).map(|s| s.dispersive)
}

/// Polar part of a solid's surface energy from the angles of water and diiodomethane; see [`owens_wendt`].
pub fn solid_polar(water_angle: Angle, diiodomethane_angle: Angle) -> Option<SurfaceTension> {
    owens_wendt(water(), water_angle, diiodomethane(), diiodomethane_angle).map(|s| s.polar)
}

/// A solid's surface energy from the angles of water and diiodomethane; see [`owens_wendt`].
pub fn solid_energy(water_angle: Angle, diiodomethane_angle: Angle) -> Option<SurfaceTension> {
    owens_wendt(water(), water_angle, diiodomethane(), diiodomethane_angle).map(Split::total)
}

/// Work of adhesion Wa = 2[√(γSd γLd) + √(γSp γLp)]. Source: Owens and Wendt 1969.
pub fn work_of_adhesion(
    solid_dispersive: SurfaceTension,
    solid_polar: SurfaceTension,
    liquid_dispersive: SurfaceTension,
    liquid_polar: SurfaceTension,
) -> SurfaceTension {
    let mean = |a: SurfaceTension, b: SurfaceTension| libm::sqrt(a.si() * b.si());
    SurfaceTension::from_si(2.0 * (mean(solid_dispersive, liquid_dispersive) + mean(solid_polar, liquid_polar)))
}

/// Contact angle from cos θ = Wa/γL - 1 (Young, Dupré); zero when the liquid spreads.
pub fn contact_angle(
    solid_dispersive: SurfaceTension,
    solid_polar: SurfaceTension,
    liquid_dispersive: SurfaceTension,
    liquid_polar: SurfaceTension,
) -> Angle {
    let wa = work_of_adhesion(solid_dispersive, solid_polar, liquid_dispersive, liquid_polar).si();
    let cos = wa / (liquid_dispersive + liquid_polar).si() - 1.0;
    Angle::from_si(libm::acos(cos.clamp(-1.0, 1.0)))
}

/// Spreading coefficient Wa - 2 γL: above zero the liquid spreads by itself (Dupré).
pub fn spreading_coefficient(
    solid_dispersive: SurfaceTension,
    solid_polar: SurfaceTension,
    liquid_dispersive: SurfaceTension,
    liquid_polar: SurfaceTension,
) -> SurfaceTension {
    let wa = work_of_adhesion(solid_dispersive, solid_polar, liquid_dispersive, liquid_polar);
    wa - (liquid_dispersive + liquid_polar) * 2.0
}

const OWENS_WENDT: &str = "geometric mean of dispersive and polar parts: Owens and Wendt 1969, J. Appl. Polym. Sci. 13:1741, doi:10.1002/app.1969.070130815";

/// The same with the parts of the two liquids the angles are of, as [`water`] and [`diiodomethane`] have them.
const TWO_LIQUIDS: &str = "geometric mean of dispersive and polar parts: Owens and Wendt 1969, J. Appl. Polym. Sci. 13:1741, doi:10.1002/app.1969.070130815; with water 72.8 mJ/m² (dispersive 21.8, polar 51.0) and diiodomethane 50.8 mJ/m² (dispersive 49.5, polar 1.3) as they used; other splits are printed elsewhere and change the answer";

const NOT_STATED: Validity = Validity::NotStated(
    "no range stated; smooth clean solid, equilibrium angles. Wetting is needed for a bond and does not make one",
);

const ANGLE: Domain = Domain::Within(0.0, std::f64::consts::PI);

fn angles(water: Trend, diiodomethane: Trend) -> [super::formula::Argument; 2] {
    [
        arg("water", "θw", "°", "contact angle of water", ANGLE, water),
        arg("diiodomethane", "θi", "°", "contact angle of diiodomethane", ANGLE, diiodomethane),
    ]
}

fn parts(solid: Trend, solid_polar: Trend, liquid: Trend) -> [super::formula::Argument; 4] {
    use Domain::NotNegative;
    [
        arg("solid_dispersive", "γSd", "mJ/m²", "dispersive part of the solid's surface energy", NotNegative, solid),
        arg("solid_polar", "γSp", "mJ/m²", "polar part of the solid's surface energy", NotNegative, solid_polar),
        arg("liquid_dispersive", "γLd", "mJ/m²", "dispersive part of the liquid's surface tension", NotNegative, liquid),
        arg("liquid_polar", "γLp", "mJ/m²", "polar part of the liquid's surface tension", NotNegative, liquid),
    ]
}

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = split_formulas();
    all.extend(liquid_formulas());
    all
}

fn split_formulas() -> Vec<Formula> {
    use Trend::{Falls, Mixed};
    let table = "poly(methyl methacrylate) at 80° and 41°; their table lists 35.9 + 4.3 = 40.2 mJ/m² (recalled)";
    vec![
        Formula::of(
            solid_dispersive,
            FormulaCard {
                name: "owens-wendt-dispersive",
                purpose: "Dispersive part of a solid's surface energy from the contact angles of water and diiodomethane.",
                arguments: angles(Mixed, Falls),
                above: &[],
                gives: Gives { symbol: "γSd", unit: "mJ/m²", means: "dispersive part" },
                validity: NOT_STATED,
                source: TWO_LIQUIDS,
                example: Example {
                    inputs: ["80deg", "41deg"],
                    result: "35.9 mJ/m²",
                    tolerance: 4e-3,
                    status: Status::Memory,
                    origin: table,
                },
            },
        ),
        Formula::of(
            solid_polar,
            FormulaCard {
                name: "owens-wendt-polar",
                purpose: "Polar part of a solid's surface energy from the contact angles of water and diiodomethane.",
                arguments: angles(Falls, Mixed),
                above: &[],
                gives: Gives { symbol: "γSp", unit: "mJ/m²", means: "polar part" },
                validity: NOT_STATED,
                source: TWO_LIQUIDS,
                example: Example {
                    inputs: ["80deg", "41deg"],
                    result: "4.3 mJ/m²",
                    tolerance: 2e-2,
                    status: Status::Memory,
                    origin: table,
                },
            },
        ),
        Formula::of(
            solid_energy,
            FormulaCard {
                name: "owens-wendt-total",
                purpose: "A solid's surface energy from the contact angles of water and diiodomethane.",
                arguments: angles(Mixed, Falls),
                above: &[],
                gives: Gives { symbol: "γS", unit: "mJ/m²", means: "surface energy" },
                validity: NOT_STATED,
                source: TWO_LIQUIDS,
                example: Example {
                    inputs: ["80deg", "41deg"],
                    result: "40.2 mJ/m²",
                    tolerance: 2.5e-3,
                    status: Status::Memory,
                    origin: table,
                },
            },
        ),
    ]
}

fn liquid_formulas() -> Vec<Formula> {
    use Trend::{Falls, Mixed, Rises};
    let inputs = ["18.6mJ/m2", "0.5mJ/m2", "41.2mJ/m2", "5mJ/m2"];
    let hand = "2 (√766.32 + √2.5) = 58.527; cos θ = 58.527/46.2 - 1 = 0.26682";
    vec![
        Formula::of(
            work_of_adhesion,
            FormulaCard {
                name: "work-of-adhesion",
                purpose: "Work of adhesion between a liquid and a solid of known split.",
                arguments: parts(Rises, Rises, Mixed),
                above: &[],
                gives: Gives { symbol: "Wa", unit: "mJ/m²", means: "work of adhesion" },
                validity: NOT_STATED,
                source: OWENS_WENDT,
                example: Example { inputs, result: "58.53 mJ/m²", tolerance: 5e-4, status: Status::Hand, origin: hand },
            },
        ),
        Formula::of(
            contact_angle,
            FormulaCard {
                name: "contact-angle",
                purpose: "Contact angle of a liquid on a solid of known split; zero when it spreads.",
                arguments: parts(Falls, Falls, Mixed),
                above: &[],
                gives: Gives { symbol: "θ", unit: "°", means: "contact angle" },
                validity: NOT_STATED,
                source: "cos θ = Wa/γL - 1 (Young, Dupré), Wa by Owens and Wendt 1969, doi:10.1002/app.1969.070130815",
                example: Example { inputs, result: "74.52°", tolerance: 2e-4, status: Status::Hand, origin: hand },
            },
        ),
        Formula::of(
            spreading_coefficient,
            FormulaCard {
                name: "spreading-coefficient",
                purpose: "Spreading coefficient of a liquid on a solid: above zero it spreads by itself.",
                arguments: parts(Rises, Rises, Mixed),
                above: &[],
                gives: Gives { symbol: "S", unit: "mJ/m²", means: "spreading coefficient" },
                validity: NOT_STATED,
                source: "S = Wa - 2 γL (Dupré), Wa by Owens and Wendt 1969, doi:10.1002/app.1969.070130815",
                example: Example {
                    inputs,
                    result: "-33.87 mJ/m²",
                    tolerance: 3e-3,
                    status: Status::Hand,
                    origin: "58.53 - 92.4",
                },
            },
        ),
    ]
}
