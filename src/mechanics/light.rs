//! Light through resin and part: cure depth, dose behind a wall, reach down an open mouth.
//!
//! Absorption follows Beer and Lambert with one penetration depth h: the depth after which a dose has fallen to 1/e.
//! Between laboratories the penetration depth of one batch varied 7-fold and the critical dose 70-fold (PMC10986335,
//! abstract): an answer for a real part belongs in a band.

use uom::si::f64::{Length, RadiantExposure, Ratio};

use super::formula::{Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// Depth to which a resin gels under a dose at its surface: Cd = Dp ln(E0/Ec), zero when the dose is below the critical one.
///
/// Source: P. F. Jacobs, *Rapid Prototyping & Manufacturing* (1992), working curve; Gibson et al., eq. 4.23.
pub fn cure_depth(penetration: Length, dose: RadiantExposure, critical: RadiantExposure) -> Length {
    let ln = libm::log(dose.si() / critical.si());
    penetration * if ln > 0.0 { ln } else { 0.0 }
}

/// Dose that arrives behind a wall: E = E0 exp(-z/h). Source: Beer and Lambert.
pub fn dose_through_wall(dose: RadiantExposure, wall: Length, penetration: Length) -> RadiantExposure {
    dose * libm::exp(-(wall.si() / penetration.si()))
}

/// Thickest wall behind which the critical dose still arrives, or depth down an open mouth that still gels: z = h ln(E0/Ec).
///
/// The same law as [`cure_depth`], asked of the part (its h) instead of the liquid's working curve.
pub fn light_reach(penetration: Length, dose: RadiantExposure, critical: RadiantExposure) -> Length {
    cure_depth(penetration, dose, critical)
}

/// Penetration depth from a measured decadic absorbance over a path: h = t/(A ln 10). Source: Beer and Lambert.
pub fn penetration_depth(path: Length, absorbance: Ratio) -> Length {
    Length::from_si(path.si() / (absorbance.si() * std::f64::consts::LN_10))
}

const NO_RANGE: Validity = Validity::NotStated(
    "no range stated; one penetration depth for one wavelength, no scatter and no bleaching is assumed. Use a band, never one value",
);

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    use Domain::Positive;
    use Trend::{Falls, Rises};
    vec![
        Formula::of(
            cure_depth,
            FormulaCard {
                name: "cure-depth",
                purpose: "Depth to which a liquid resin gels under a dose at its surface.",
                arguments: [
                    arg("penetration", "Dp", "µm", "penetration depth of the liquid at the lamp's wavelength", Positive, Rises),
                    arg("dose", "E0", "mJ/cm²", "dose at the surface", Positive, Rises),
                    arg("critical", "Ec", "mJ/cm²", "critical dose of the resin", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "Cd", unit: "µm", means: "cure depth" },
                validity: NO_RANGE,
                source: "Cd = Dp ln(E0/Ec): Jacobs, Rapid Prototyping & Manufacturing (1992); Gibson et al., Additive Manufacturing Technologies, eq. 4.23",
                example: Example {
                    inputs: ["100um", "100mJ/cm2", "10mJ/cm2"],
                    result: "230.26 µm",
                    tolerance: 3e-5,
                    status: Status::Hand,
                    origin: "100 ln 10 = 230.2585",
                },
            },
        ),
        Formula::of(
            dose_through_wall,
            FormulaCard {
                name: "dose-through-wall",
                purpose: "Dose that arrives behind a wall of absorbing material.",
                arguments: [
                    arg("dose", "E0", "mJ/cm²", "dose at the outer face", Positive, Rises),
                    arg("wall", "z", "mm", "thickness of the wall", Domain::NotNegative, Falls),
                    arg("penetration", "h", "µm", "penetration depth of the wall's material", Positive, Rises),
                ],
                above: &[],
                gives: Gives { symbol: "E", unit: "mJ/cm²", means: "dose behind the wall" },
                validity: NO_RANGE,
                source: "E = E0 exp(-z/h): Beer-Lambert law",
                example: Example {
                    inputs: ["6000mJ/cm2", "1mm", "109um"],
                    result: "0.622 mJ/cm²",
                    tolerance: 1e-3,
                    status: Status::Hand,
                    origin: "6000 exp(-9.17431)",
                },
            },
        ),
        Formula::of(
            light_reach,
            FormulaCard {
                name: "light-reach",
                purpose: "Thickest wall, or depth down an open mouth, at which the critical dose still arrives.",
                arguments: [
                    arg(
                        "penetration",
                        "h",
                        "µm",
                        "penetration depth of what the light crosses (cured wall or liquid glue)",
                        Positive,
                        Rises,
                    ),
                    arg("dose", "E0", "mJ/cm²", "dose where the light enters", Positive, Rises),
                    arg("critical", "Ec", "mJ/cm²", "critical dose of what shall gel", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "z", unit: "µm", means: "reach" },
                validity: NO_RANGE,
                source: "z = h ln(E0/Ec): Beer-Lambert law solved for the depth",
                example: Example {
                    inputs: ["109um", "6000mJ/cm2", "8mJ/cm2"],
                    result: "721.59 µm",
                    tolerance: 1e-5,
                    status: Status::Hand,
                    origin: "109 ln 750 = 721.587",
                },
            },
        ),
        Formula::of(
            penetration_depth,
            FormulaCard {
                name: "penetration-depth",
                purpose: "Penetration depth from a measured absorbance.",
                arguments: [
                    arg("path", "t", "µm", "path of the light in the sample", Positive, Rises),
                    arg("absorbance", "A", "1", "decadic absorbance of that path", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "h", unit: "µm", means: "penetration depth" },
                validity: Validity::NotStated(
                    "no range stated; an absorbance near the baseline of the instrument gives a lower bound only",
                ),
                source: "h = t/(A ln 10): Beer-Lambert law",
                example: Example {
                    inputs: ["93um", "0.5059"],
                    result: "79.84 µm",
                    tolerance: 1e-4,
                    status: Status::Published,
                    origin: "from the absorbance spectra published with doi:10.1039/C5RA23855B",
                },
            },
        ),
    ]
}
