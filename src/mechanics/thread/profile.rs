//! The basic profile of ISO metric and unified threads (60°, the same shape), and what follows from it; of pipe threads (55°)
//! the two heights that give their diameters.

use uom::si::f64::{Angle, Area, Length, Ratio};

use crate::mechanics::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

const SQRT_3: f64 = 1.732_050_807_568_877_2;

/// Height of the fundamental triangle: H = √3/2 P. Source: ISO 68-1.
pub fn fundamental_height(pitch: Length) -> Length {
    pitch * (SQRT_3 / 2.0)
}

/// Height of the fundamental triangle of a 55° pipe thread: H = 0.960491 P. Source: ISO 228-1.
pub fn whitworth_height(pitch: Length) -> Length {
    pitch * 0.960_491
}

/// Depth of a 55° pipe thread with rounded crests and roots: h = 0.640327 P = 2/3 H. Source: ISO 228-1.
pub fn whitworth_depth(pitch: Length) -> Length {
    pitch * 0.640_327
}

/// Basic pitch diameter d2 = D2 = d - 3/4 H. Source: ISO 724.
pub fn pitch_diameter(major: Length, pitch: Length) -> Length {
    major - fundamental_height(pitch) * 0.75
}

/// Basic minor diameter of the internal thread D1 = d - 5/4 H. Source: ISO 724.
pub fn minor_diameter(major: Length, pitch: Length) -> Length {
    major - fundamental_height(pitch) * 1.25
}

/// Minor diameter of the external thread at its rounded root d3 = d - 17/12 H. Source: ISO 898-1.
pub fn root_diameter(major: Length, pitch: Length) -> Length {
    major - fundamental_height(pitch) * (17.0 / 12.0)
}

/// Nominal stress area As = π/4 ((d2 + d3)/2)². Source: ISO 898-1.
pub fn stress_area(major: Length, pitch: Length) -> Area {
    let mean = (pitch_diameter(major, pitch) + root_diameter(major, pitch)) * 0.5;
    mean * mean * std::f64::consts::FRAC_PI_4
}

/// Tensile stress area of a unified thread At = π/4 (d - 0.9743 P)². Source: ASME B1.1.
pub fn stress_area_unified(major: Length, pitch: Length) -> Area {
    let mean = major - pitch * 0.9743;
    mean * mean * std::f64::consts::FRAC_PI_4
}

/// Share of the thread's height a hole leaves: (d - Dh)/(2 · 3/4 H · P-scale) = (d - Dh)/(1.299038 P), zero from Dh = d.
///
/// 2 · 3/4 H is the 100 % of tap drill tables; against 5/4 H the figure is 1.2 times larger.
pub fn thread_height_share(major: Length, pitch: Length, hole: Length) -> Ratio {
    let share = (major - hole) / (fundamental_height(pitch) * 1.5);
    Ratio::from_si(share.si().max(0.0))
}

/// Radial overlap of screw and hole thread (d - D1 - 2c)/2; negative when they pass each other.
///
/// `offset` is the radial growth c of a printed thread; `minor` the minor diameter before that growth.
pub fn radial_overlap(major: Length, minor: Length, offset: Length) -> Length {
    (major - minor) * 0.5 - offset
}

/// Lead angle at the pitch diameter: tan λ = lead/(π d2).
pub fn lead_angle(lead: Length, pitch_diameter: Length) -> Angle {
    Angle::from_si(libm::atan(lead.si() / (std::f64::consts::PI * pitch_diameter.si())))
}

const PROFILE: Validity =
    Validity::Exact("basic profile of 60° ISO metric and unified threads; real parts differ by their tolerances");

fn major_and_pitch(pitch: Trend) -> [Argument; 2] {
    [
        arg("major", "d", "mm", "major diameter", Domain::Positive, Trend::Rises),
        arg("pitch", "P", "mm", "pitch", Domain::Positive, pitch),
    ]
}

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = diameters();
    all.extend(areas());
    all.extend(engagement());
    all
}

fn diameters() -> Vec<Formula> {
    let iso = "M3 in the table of basic dimensions, ISO 724";
    vec![
        Formula::of(
            fundamental_height,
            FormulaCard {
                name: "thread-height",
                purpose: "Height of the fundamental triangle of a 60° thread.",
                arguments: [arg("pitch", "P", "mm", "pitch", Domain::Positive, Trend::Rises)],
                above: &[],
                gives: Gives { symbol: "H", unit: "mm", means: "height of the fundamental triangle" },
                validity: PROFILE,
                source: "H = √3/2 P: ISO 68-1",
                example: Example {
                    inputs: ["0.5mm"],
                    result: "0.433013 mm",
                    tolerance: 2e-6,
                    status: Status::Hand,
                    origin: "0.5 · 0.8660254",
                },
            },
        ),
        Formula::of(
            pitch_diameter,
            FormulaCard {
                name: "pitch-diameter",
                purpose: "Basic pitch diameter of a 60° thread.",
                arguments: major_and_pitch(Trend::Falls),
                above: &[("major", "pitch")],
                gives: Gives { symbol: "d2", unit: "mm", means: "pitch diameter" },
                validity: PROFILE,
                source: "d2 = D2 = d - 3/4 H, H = √3/2 P: ISO 724",
                example: Example {
                    inputs: ["3mm", "0.5mm"],
                    result: "2.675 mm",
                    tolerance: 2e-4,
                    status: Status::Published,
                    origin: iso,
                },
            },
        ),
        Formula::of(
            minor_diameter,
            FormulaCard {
                name: "minor-diameter",
                purpose: "Basic minor diameter of an internal 60° thread.",
                arguments: major_and_pitch(Trend::Falls),
                above: &[("major", "pitch")],
                gives: Gives { symbol: "D1", unit: "mm", means: "minor diameter of the internal thread" },
                validity: PROFILE,
                source: "D1 = d - 5/4 H, H = √3/2 P: ISO 724",
                example: Example {
                    inputs: ["3mm", "0.5mm"],
                    result: "2.459 mm",
                    tolerance: 2e-4,
                    status: Status::Published,
                    origin: iso,
                },
            },
        ),
        Formula::of(
            root_diameter,
            FormulaCard {
                name: "root-diameter",
                purpose: "Minor diameter of an external ISO metric thread at its rounded root.",
                arguments: major_and_pitch(Trend::Falls),
                above: &[("major", "pitch")],
                gives: Gives { symbol: "d3", unit: "mm", means: "root diameter of the external thread" },
                validity: PROFILE,
                source: "d3 = d - 17/12 H, H = √3/2 P: ISO 898-1",
                example: Example {
                    inputs: ["3mm", "0.5mm"],
                    result: "2.38657 mm",
                    tolerance: 2e-6,
                    status: Status::Hand,
                    origin: "3 - 1.226869 · 0.5",
                },
            },
        ),
        Formula::of(
            lead_angle,
            FormulaCard {
                name: "lead-angle",
                purpose: "Lead angle of a thread at its pitch diameter.",
                arguments: [
                    arg("lead", "l", "mm", "advance per turn (the pitch of a single start)", Domain::Positive, Trend::Rises),
                    arg("pitch_diameter", "d2", "mm", "pitch diameter", Domain::Positive, Trend::Falls),
                ],
                above: &[],
                gives: Gives { symbol: "λ", unit: "°", means: "lead angle" },
                validity: Validity::Exact("geometry of a helix"),
                source: "tan λ = l/(π d2): geometry of a helix",
                example: Example {
                    inputs: ["0.5mm", "2.6752mm"],
                    result: "3.405°",
                    tolerance: 2e-4,
                    status: Status::Hand,
                    origin: "atan 0.0594926",
                },
            },
        ),
    ]
}

fn areas() -> Vec<Formula> {
    vec![
        Formula::of(
            stress_area,
            FormulaCard {
                name: "stress-area",
                purpose: "Nominal stress area of an ISO metric screw.",
                arguments: major_and_pitch(Trend::Falls),
                above: &[("major", "pitch")],
                gives: Gives { symbol: "As", unit: "mm²", means: "stress area" },
                validity: PROFILE,
                source: "As = π/4 ((d2 + d3)/2)²: ISO 898-1",
                example: Example {
                    inputs: ["3mm", "0.5mm"],
                    result: "5.03 mm²",
                    tolerance: 1e-3,
                    status: Status::Published,
                    origin: "M3 in the load table of ISO 898-1, read in a public reprint",
                },
            },
        ),
        Formula::of(
            stress_area_unified,
            FormulaCard {
                name: "stress-area-unified",
                purpose: "Tensile stress area of a unified screw.",
                arguments: [
                    arg("major", "d", "in", "major diameter", Domain::Positive, Trend::Rises),
                    arg("pitch", "P", "in", "pitch (one inch over the threads per inch)", Domain::Positive, Trend::Falls),
                ],
                above: &[("major", "pitch")],
                gives: Gives { symbol: "At", unit: "in²", means: "stress area" },
                validity: PROFILE,
                source: "At = π/4 (d - 0.9743 P)²: ASME B1.1",
                example: Example {
                    inputs: ["0.25in", "0.05in"],
                    result: "0.0318 in²",
                    tolerance: 2e-3,
                    status: Status::Published,
                    origin: "1/4-20 in the table of ASME B1.1, read in public pages",
                },
            },
        ),
    ]
}

fn engagement() -> Vec<Formula> {
    use Domain::{Any, Positive};
    use Trend::{Falls, Rises};
    vec![
        Formula::of(
            thread_height_share,
            FormulaCard {
                name: "thread-height-share",
                purpose: "Share of the thread's height that a hole leaves, as tap drill tables count it.",
                arguments: [
                    arg("major", "d", "mm", "major diameter", Positive, Rises),
                    arg("pitch", "P", "mm", "pitch", Positive, Falls),
                    arg("hole", "Dh", "mm", "hole diameter", Positive, Falls),
                ],
                above: &[("major", "pitch")],
                gives: Gives { symbol: "f", unit: "%", means: "share of the thread's height" },
                validity: Validity::Exact(
                    "geometry; 100 % is 2 · 3/4 H as in tap drill tables, against 5/4 H it is 1.2 times larger",
                ),
                source: "f = (d - Dh)/(1.299038 P): geometry of ISO 68-1",
                example: Example {
                    inputs: ["3mm", "0.5mm", "2.5mm"],
                    result: "76.98 %",
                    tolerance: 1e-4,
                    status: Status::Hand,
                    origin: "0.5/(1.299038 · 0.5)",
                },
            },
        ),
        Formula::of(
            radial_overlap,
            FormulaCard {
                name: "thread-overlap",
                purpose: "Radial overlap of a screw with a thread printed with a radial offset.",
                arguments: [
                    arg("major", "d", "mm", "major diameter of the screw", Positive, Rises),
                    arg("minor", "D1", "mm", "minor diameter of the hole before the offset", Positive, Falls),
                    arg("offset", "c", "mm", "radial growth of the printed thread", Any, Falls),
                ],
                above: &[("major", "minor")],
                gives: Gives { symbol: "h", unit: "mm", means: "radial overlap; below zero the threads pass each other" },
                validity: Validity::Exact("geometry of concentric threads"),
                source: "h = (d - D1 - 2 c)/2: geometry",
                example: Example {
                    inputs: ["3mm", "2.4587mm", "0.05mm"],
                    result: "0.22065 mm",
                    tolerance: 1e-6,
                    status: Status::Hand,
                    origin: "0.5413/2 - 0.05",
                },
            },
        ),
    ]
}
