//! How a thread strips: shear areas of both parts, crushing of the crests, and Alexander's factors for metal on metal.

use uom::si::f64::{Area, Force, Length, Pressure, Ratio};

use super::formula::{Domain, Example, Formula, FormulaCard, Gives, Of, Status, Trend, Validity, ValidityLimit, arg};
use super::thread::profile;
use crate::quantity::Measure;

const SQRT_3: f64 = 1.732_050_807_568_877_2;

/// Area of the helical ridge cut by a cylinder: (π/P) Le D · w, with the ridge width w = P/2 + (a - b)/√3 kept within 0 and P.
fn ridge_area(pitch: Length, engaged: Length, cylinder: Length, outer: Length, inner: Length) -> Area {
    let width = (pitch.si() / 2.0 + (outer.si() - inner.si()) / SQRT_3).clamp(0.0, pitch.si().max(0.0));
    Area::from_si(std::f64::consts::PI / pitch.si() * engaged.si() * cylinder.si() * width)
}

/// Shear area of the internal thread on the screw's major diameter: ASn = (π/P) Le d [P/2 + (d - D2)/√3].
///
/// With basic sizes exactly 7/8 π d Le. Worst limits: smallest d, largest D2. Zero when the ridge is gone.
/// Source: FED-STD-H28/2, ASME B1.1 appendix B.
pub fn internal_shear_area(pitch: Length, engaged: Length, screw_major: Length, hole_pitch_diameter: Length) -> Area {
    ridge_area(pitch, engaged, screw_major, screw_major, hole_pitch_diameter)
}

/// Shear area of the screw's thread on the hole's minor diameter: ASs = (π/P) Le D1 [P/2 + (d2 - D1)/√3].
///
/// With basic sizes exactly 3/4 π D1 Le. Worst limits: largest D1, smallest d2. Zero when the ridge is gone.
/// Source: FED-STD-H28/2, ASME B1.1 appendix B.
pub fn external_shear_area(pitch: Length, engaged: Length, hole_minor: Length, screw_pitch_diameter: Length) -> Area {
    ridge_area(pitch, engaged, hole_minor, screw_pitch_diameter, hole_minor)
}

/// Shear area of a printed internal thread that has grown radially by c: D2 = basic + 2c. Derived from [`internal_shear_area`].
pub fn printed_shear_area(pitch: Length, engaged: Length, screw_major: Length, offset: Length) -> Area {
    let grown = profile::pitch_diameter(screw_major, pitch) + offset * 2.0;
    internal_shear_area(pitch, engaged, screw_major, grown)
}

/// Load that shears a thread: F = τ A C1 C, with the dilation factor C1 and the factor of the thread (C2 or C3).
pub fn stripping_load(shear_strength: Pressure, shear_area: Area, dilation: Ratio, thread_factor: Ratio) -> Force {
    shear_strength * shear_area * dilation * thread_factor
}

/// Strength ratio Rs = (τn ASn)/(τs ASs): above one the screw's thread goes first.
pub fn strength_ratio(
    internal_strength: Pressure,
    internal_area: Area,
    external_strength: Pressure,
    external_area: Area,
) -> Ratio {
    Ratio::from_si((internal_strength.si() * internal_area.si()) / (external_strength.si() * external_area.si()))
}

/// Alexander's dilation factor C1 = -(s/D)² + 3.8 s/D - 2.61; 1 from s/D = 1.9; `None` below 1.4, where the wall governs.
///
/// Metal on metal. Source: E. M. Alexander, SAE 770420 (1977), as adopted in VDI 2230; formula recalled.
pub fn dilation_factor(boss: Length, major: Length) -> Option<Ratio> {
    let x = boss.si() / major.si();
    if x.is_nan() || x < 1.4 - 1e-12 {
        return None;
    }
    Some(dilation_fit(boss, major))
}

/// The fit behind [`dilation_factor`], also below s/D = 1.4, where it was never meant.
fn dilation_fit(boss: Length, major: Length) -> Ratio {
    let x = boss.si() / major.si();
    Ratio::from_si(if x >= 1.9 { 1.0 } else { -x * x + 3.8 * x - 2.61 })
}

/// Alexander's factor of the screw's thread C2: 0.897 up to Rs = 1, then a quartic, held at its value at Rs = 2.2.
///
/// Metal on metal. Source: E. M. Alexander, SAE 770420 (1977), as adopted in VDI 2230; formula recalled.
pub fn screw_thread_factor(strength_ratio: Ratio) -> Ratio {
    let r = strength_ratio.si().min(2.2);
    let quartic = || 5.594 + r * (-13.682 + r * (14.107 + r * (-6.057 + r * 0.9353)));
    Ratio::from_si(if r <= 1.0 { 0.897 } else { quartic() })
}

/// Alexander's factor of the hole's thread C3: 0.897 from Rs = 1, a cubic from 0.4 to 1, and 1 below 0.4.
///
/// Metal on metal. A plastic hole under a steel screw has Rs far below 0.4, outside the fit: there the factor is held at
/// 1, because holding it at the edge of the fit (1.055) would be on the unsafe side. Source as [`screw_thread_factor`].
pub fn hole_thread_factor(strength_ratio: Ratio) -> Ratio {
    let r = strength_ratio.si();
    let cubic = || 0.728 + r * (1.769 + r * (-2.896 + r * 1.296));
    Ratio::from_si(if r >= 1.0 {
        0.897
    } else if r >= 0.4 {
        cubic()
    } else {
        1.0
    })
}

/// Area on which the flanks bear: π/4 (d² - Dh²) Le/P; zero from Dh = d.
pub fn bearing_area(major: Length, hole: Length, engaged: Length, pitch: Length) -> Area {
    let ring = major.si() * major.si() - hole.si() * hole.si();
    Area::from_si(std::f64::consts::FRAC_PI_4 * ring.max(0.0) * (engaged.si() / pitch.si()))
}

/// Load that crushes the crests: F = σb π/4 (d² - Dh²) Le/P.
///
/// Unlike the shear area it contains the hole's diameter. The bearing strength is judged at 1.0 to 1.6 times the
/// tensile yield strength. Derived (projected area of the engaged flanks).
pub fn crest_crushing_load(bearing_strength: Pressure, major: Length, hole: Length, engaged: Length, pitch: Length) -> Force {
    bearing_strength * bearing_area(major, hole, engaged, pitch)
}

const SHEAR: Validity = Validity::NotStated(
    "no range stated; uniform load along the thread is assumed: engaged length helps little beyond 2 to 2.5 d (practice)",
);
const H28: &str = "FED-STD-H28/2, ASME B1.1 appendix B, Machinery's Handbook";
const ALEXANDER: &str = "E. M. Alexander, SAE 770420 (1977), as in VDI 2230 part 1 (5.5.5); formula recalled. Metal on metal";

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = area_formulas();
    all.extend(load_formulas());
    all.extend(alexander_formulas());
    all
}

fn area_formulas() -> Vec<Formula> {
    use Domain::{Any, Positive};
    use Trend::{Falls, Mixed, Rises};
    let pitch = arg("pitch", "P", "mm", "pitch", Positive, Mixed);
    let engaged = arg("engaged", "Le", "mm", "engaged length", Positive, Rises);
    let gives = |symbol| Gives { symbol, unit: "mm²", means: "shear area" };
    vec![
        Formula::of(
            internal_shear_area,
            FormulaCard {
                name: "internal-shear-area",
                purpose: "Shear area of the internal thread, on the cylinder of the screw's major diameter.",
                arguments: [
                    pitch,
                    engaged,
                    arg("major", "d", "mm", "major diameter of the screw (smallest for the worst case)", Positive, Rises),
                    arg("pitch_diameter", "D2", "mm", "pitch diameter of the hole (largest for the worst case)", Positive, Falls),
                ],
                above: &[("major", "pitch")],
                gives: gives("ASn"),
                validity: SHEAR,
                source: H28,
                example: Example {
                    inputs: ["0.05in", "0.25in", "0.2408in", "0.2224in"],
                    result: "0.135 in²",
                    tolerance: 4e-3,
                    status: Status::Published,
                    origin: "1/4-20 2A/2B at Le = d in a printed table of unified thread areas",
                },
            },
        ),
        Formula::of(
            external_shear_area,
            FormulaCard {
                name: "external-shear-area",
                purpose: "Shear area of the external thread, on the cylinder of the hole's minor diameter.",
                arguments: [
                    pitch,
                    engaged,
                    arg("minor", "D1", "mm", "minor diameter of the hole (largest for the worst case)", Positive, Mixed),
                    arg(
                        "pitch_diameter",
                        "d2",
                        "mm",
                        "pitch diameter of the screw (smallest for the worst case)",
                        Positive,
                        Rises,
                    ),
                ],
                above: &[("minor", "pitch")],
                gives: gives("ASs"),
                validity: SHEAR,
                source: H28,
                example: Example {
                    inputs: ["0.05in", "0.25in", "0.207in", "0.2127in"],
                    result: "0.092 in²",
                    tolerance: 1e-2,
                    status: Status::Published,
                    origin: "1/4-20 2A/2B at Le = d in a printed table of unified thread areas",
                },
            },
        ),
        Formula::of(
            printed_shear_area,
            FormulaCard {
                name: "printed-shear-area",
                purpose: "Shear area of a printed internal thread that has grown radially, with a screw of basic size.",
                arguments: [
                    arg("pitch", "P", "mm", "pitch", Positive, Mixed),
                    engaged,
                    arg("major", "d", "mm", "major diameter of the screw", Positive, Rises),
                    arg("offset", "c", "mm", "radial growth of the printed thread", Any, Falls),
                ],
                above: &[("major", "pitch")],
                gives: gives("ASn"),
                validity: SHEAR,
                source: "derived: internal shear area with D2 = basic + 2c",
                example: Example {
                    inputs: ["0.5mm", "5.7mm", "3mm", "0.05mm"],
                    result: "40.803 mm²",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "7/8 π d Le = 47.0061 less 2 π d Le c/(P √3) = 6.2032",
                },
            },
        ),
        Formula::of(
            bearing_area,
            FormulaCard {
                name: "bearing-area",
                purpose: "Area on which the engaged flanks bear.",
                arguments: [
                    arg("major", "d", "mm", "major diameter of the screw", Positive, Rises),
                    arg("hole", "Dh", "mm", "diameter of the hole at its crests", Positive, Falls),
                    engaged,
                    arg("pitch", "P", "mm", "pitch", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "Ab", unit: "mm²", means: "bearing area" },
                validity: Validity::Exact("projected area of the flanks of a full helix; run-outs are not counted"),
                source: "Ab = π/4 (d² - Dh²) Le/P: geometry",
                example: Example {
                    inputs: ["2mm", "1mm", "1mm", "0.5mm"],
                    result: "4.712389 mm²",
                    tolerance: 1e-6,
                    status: Status::Hand,
                    origin: "π/4 · 3 · 2",
                },
            },
        ),
    ]
}

fn load_formulas() -> Vec<Formula> {
    use Domain::{NotNegative, Positive};
    use Trend::{Falls, Rises};
    vec![
        Formula::of(
            stripping_load,
            FormulaCard {
                name: "stripping-load",
                purpose: "Load at which a thread shears off.",
                arguments: [
                    arg(
                        "shear_strength",
                        "τ",
                        "MPa",
                        "shear strength (metals about 0.6 Rm; plastics measured, else 0.577 to 0.65 of tensile)",
                        NotNegative,
                        Rises,
                    ),
                    arg("shear_area", "AS", "mm²", "shear area of that thread", NotNegative, Rises),
                    arg("dilation", "C1", "1", "dilation factor; 1 for a thick boss", NotNegative, Rises),
                    arg("thread_factor", "C", "1", "factor of that thread (C2 or C3); 1 for a plastic hole", NotNegative, Rises),
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "stripping load" },
                validity: SHEAR,
                source: "F = τ AS C1 C: E. M. Alexander, SAE 770420 (1977)",
                example: Example {
                    inputs: ["33MPa", "31.616mm2", "1", "1"],
                    result: "1043.3 N",
                    tolerance: 1e-4,
                    status: Status::Hand,
                    origin: "33 · 31.616 = 1043.328",
                },
            },
        ),
        Formula::of(
            strength_ratio,
            FormulaCard {
                name: "strength-ratio",
                purpose: "Strength of the internal thread over that of the external one; above one the external thread strips first.",
                arguments: [
                    arg("internal_strength", "τn", "MPa", "shear strength of the hole's material", NotNegative, Rises),
                    arg("internal_area", "ASn", "mm²", "shear area of the internal thread", NotNegative, Rises),
                    arg("external_strength", "τs", "MPa", "shear strength of the screw", Positive, Falls),
                    arg("external_area", "ASs", "mm²", "shear area of the external thread", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "Rs", unit: "1", means: "strength ratio" },
                validity: Validity::Exact("definition"),
                source: "Rs = (τn ASn)/(τs ASs): E. M. Alexander, SAE 770420 (1977)",
                example: Example {
                    inputs: ["33MPa", "31.6mm2", "480MPa", "22.2mm2"],
                    result: "0.098",
                    tolerance: 5e-3,
                    status: Status::Hand,
                    origin: "1042.8/10656 = 0.09786",
                },
            },
        ),
        Formula::of(
            crest_crushing_load,
            FormulaCard {
                name: "crest-crushing-load",
                purpose: "Load at which the thread crests are crushed and the screw disengages.",
                arguments: [
                    arg(
                        "bearing_strength",
                        "σb",
                        "MPa",
                        "bearing strength, judged at 1.0 to 1.6 times the tensile yield strength",
                        NotNegative,
                        Rises,
                    ),
                    arg("major", "d", "mm", "major diameter of the screw", Positive, Rises),
                    arg("hole", "Dh", "mm", "diameter of the hole at its crests", Positive, Falls),
                    arg("engaged", "Le", "mm", "engaged length", Positive, Rises),
                    arg("pitch", "P", "mm", "pitch", Positive, Falls),
                ],
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "crushing load" },
                validity: Validity::NotStated(
                    "no range stated; even load on all flanks is assumed, zero when the hole is as wide as the screw",
                ),
                source: "derived: F = σb π/4 (d² - Dh²) Le/P",
                example: Example {
                    inputs: ["80MPa", "2.927mm", "2.6mm", "5.7mm", "0.5mm"],
                    result: "1295 N",
                    tolerance: 1e-3,
                    status: Status::Hand,
                    origin: "80 · 0.785398 · 1.807329 · 11.4 = 1294.6",
                },
            },
        ),
    ]
}

fn alexander_formulas() -> Vec<Formula> {
    use Trend::{Mixed, Rises};
    let ratio = |trend| [arg("strength_ratio", "Rs", "1", "strength ratio, internal over external", Domain::NotNegative, trend)];
    vec![
        Formula::of(
            dilation_fit,
            FormulaCard {
                name: "alexander-dilation",
                purpose: "Factor C1 for the widening of a nut or boss under load.",
                arguments: [
                    arg("boss", "s", "mm", "boss diameter, or width across flats", Domain::Positive, Rises),
                    arg("major", "D", "mm", "thread diameter", Domain::Positive, Trend::Falls),
                ],
                above: &[("boss", "major")],
                gives: Gives { symbol: "C1", unit: "1", means: "dilation factor" },
                validity: Validity::Within(&[ValidityLimit {
                    of: Of::Quotient("boss", "major"),
                    low: 1.4 - 1e-12,
                    high: f64::INFINITY,
                    says: "s/D from 1.4 (below it the wall governs and there is no factor); 1 from s/D = 1.9",
                }]),
                source: ALEXANDER,
                example: Example {
                    inputs: ["4.5mm", "3mm"],
                    result: "0.84",
                    tolerance: 1e-4,
                    status: Status::Memory,
                    origin: "-2.25 + 5.7 - 2.61",
                },
            },
        ),
        Formula::of(
            screw_thread_factor,
            FormulaCard {
                name: "alexander-screw-thread",
                purpose: "Factor C2 for the bending of the external thread.",
                arguments: ratio(Mixed),
                above: &[],
                gives: Gives { symbol: "C2", unit: "1", means: "factor of the external thread" },
                validity: Validity::Within(&[ValidityLimit {
                    of: Of::Argument("strength_ratio"),
                    low: 0.0,
                    high: 2.2,
                    says: "Rs up to 2.2 (0.897 up to 1); above, the value at 2.2 stands",
                }]),
                source: ALEXANDER,
                example: Example {
                    inputs: ["1.5"],
                    result: "1.1043",
                    tolerance: 5e-5,
                    status: Status::Memory,
                    origin: "quartic with recalled coefficients; continuous with 0.897 at Rs = 1",
                },
            },
        ),
        Formula::of(
            hole_thread_factor,
            FormulaCard {
                name: "alexander-hole-thread",
                purpose: "Factor C3 for the bending of the internal thread.",
                arguments: ratio(Mixed),
                above: &[],
                gives: Gives { symbol: "C3", unit: "1", means: "factor of the internal thread" },
                validity: Validity::Within(&[ValidityLimit {
                    of: Of::Argument("strength_ratio"),
                    low: 0.4,
                    high: f64::INFINITY,
                    says: "Rs from 0.4 (a plastic hole under a steel screw lies below; there 1 is used, with a caution)",
                }]),
                source: ALEXANDER,
                example: Example {
                    inputs: ["0.6"],
                    result: "1.0268",
                    tolerance: 5e-5,
                    status: Status::Memory,
                    origin: "cubic with recalled coefficients; continuous with 0.897 at Rs = 1",
                },
            },
        ),
    ]
}
