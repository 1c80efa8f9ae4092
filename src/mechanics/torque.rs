//! Torque and preload of a screw.

use uom::si::f64::{Angle, Force, Length, Ratio, Torque};

use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// Torque by the nut factor: T = K F d.
pub fn nut_factor_torque(nut_factor: Ratio, preload: Force, diameter: Length) -> Torque {
    Torque::from_si(nut_factor.si() * preload.si() * diameter.si())
}

/// 1/cos 30° as ISO 16047 prints it.
const FLANK: f64 = 1.154;

/// Torque per preload in m: thread part (P + 1.154 π μG d2)/(2(π - 1.154 μG P/d2)) and head part μK DKm/2. ISO 16047.
///
/// Endless where friction and lead lock the thread (π ≤ 1.154 μG P/d2): no torque tightens it.
fn lever(pitch: Length, pitch_diameter: Length, thread_friction: Ratio, head_friction: Ratio, head_diameter: Length) -> f64 {
    let (p, d2, mu) = (pitch.si(), pitch_diameter.si(), thread_friction.si());
    let pi = std::f64::consts::PI;
    let under = pi - FLANK * mu * p / d2;
    let thread = if under > 0.0 { (p + FLANK * pi * mu * d2) / (2.0 * under) } else { f64::INFINITY };
    thread + head_friction.si() * head_diameter.si() / 2.0
}

/// Tightening torque of a 60° thread: T = F [(P + 1.154 π μG d2)/(2(π - 1.154 μG P/d2)) + μK DKm/2]. Source: ISO 16047, VDI 2230.
///
/// Not finite where the thread locks (π ≤ 1.154 μG P/d2).
pub fn tightening_torque(
    preload: Force,
    pitch: Length,
    pitch_diameter: Length,
    thread_friction: Ratio,
    head_friction: Ratio,
    head_diameter: Length,
) -> Torque {
    Torque::from_si(preload.si() * lever(pitch, pitch_diameter, thread_friction, head_friction, head_diameter))
}

/// Tightening torque, short form: T = F [0.16 P + 0.58 d2 μG + μK DKm/2]. Source: VDI 2230.
pub fn tightening_torque_short(
    preload: Force,
    pitch: Length,
    pitch_diameter: Length,
    thread_friction: Ratio,
    head_friction: Ratio,
    head_diameter: Length,
) -> Torque {
    let thread = 0.16 * pitch.si() + 0.58 * pitch_diameter.si() * thread_friction.si();
    Torque::from_si(preload.si() * (thread + head_friction.si() * head_diameter.si() / 2.0))
}

/// Preload that a tightening torque gives; the inverse of [`tightening_torque`]. `None` when the thread locks.
pub fn preload_from_torque(
    torque: Torque,
    pitch: Length,
    pitch_diameter: Length,
    thread_friction: Ratio,
    head_friction: Ratio,
    head_diameter: Length,
) -> Option<Force> {
    let lever = lever(pitch, pitch_diameter, thread_friction, head_friction, head_diameter);
    lever.is_finite().then(|| Force::from_si(torque.si() / lever))
}

/// Nut factor K = T/(F d) that belongs to the frictions; see [`tightening_torque`].
pub fn nut_factor(
    diameter: Length,
    pitch: Length,
    pitch_diameter: Length,
    thread_friction: Ratio,
    head_friction: Ratio,
    head_diameter: Length,
) -> Ratio {
    Ratio::from_si(lever(pitch, pitch_diameter, thread_friction, head_friction, head_diameter) / diameter.si())
}

/// Torque at which a seated screw strips its thread: [`tightening_torque`] at the stripping load.
///
/// Forming torque adds to the drive torque before that, not to the clamp.
pub fn strip_torque(
    stripping_load: Force,
    pitch: Length,
    pitch_diameter: Length,
    thread_friction: Ratio,
    head_friction: Ratio,
    head_diameter: Length,
) -> Torque {
    tightening_torque(stripping_load, pitch, pitch_diameter, thread_friction, head_friction, head_diameter)
}

/// Mean friction diameter under a head: DKm = (dw + dh)/2.
pub fn head_friction_diameter(head: Length, hole: Length) -> Length {
    (head + hole) * 0.5
}

/// Tangents of lead and of friction over the cosine of the half angle.
fn tangents(lead: Length, pitch_diameter: Length, friction: Ratio, half_angle: Angle) -> (f64, f64) {
    let lead = lead.si() / (std::f64::consts::PI * pitch_diameter.si());
    (lead, friction.si() / libm::cos(half_angle.si()))
}

/// Torque in the thread alone that raises an axial load: T = F d2/2 (tan λ + μ/cos α)/(1 - tan λ μ/cos α); `None` when it locks.
///
/// Source: power screws, Shigley ch. 8.
pub fn raising_torque(axial: Force, lead: Length, pitch_diameter: Length, friction: Ratio, half_angle: Angle) -> Option<Torque> {
    let (l, m) = tangents(lead, pitch_diameter, friction, half_angle);
    let under = 1.0 - l * m;
    (under > 0.0).then(|| Torque::from_si(axial.si() * pitch_diameter.si() / 2.0 * (l + m) / under))
}

/// Torque in the thread alone that lowers an axial load: T = F d2/2 (μ/cos α - tan λ)/(1 + tan λ μ/cos α); below zero it runs down by itself.
pub fn lowering_torque(axial: Force, lead: Length, pitch_diameter: Length, friction: Ratio, half_angle: Angle) -> Torque {
    let (l, m) = tangents(lead, pitch_diameter, friction, half_angle);
    Torque::from_si(axial.si() * pitch_diameter.si() / 2.0 * (m - l) / (1.0 + l * m))
}

/// Share of the work in a thread that raises the load: tan λ (1 - tan λ μ')/(tan λ + μ'), μ' = μ/cos α; `None` when it locks.
pub fn thread_efficiency(lead: Length, pitch_diameter: Length, friction: Ratio, half_angle: Angle) -> Option<Ratio> {
    let (l, m) = tangents(lead, pitch_diameter, friction, half_angle);
    let under = 1.0 - l * m;
    (under > 0.0).then(|| Ratio::from_si(l * under / (l + m)))
}

use Domain::{NotNegative, Positive};
use Trend::{Falls, Mixed, Rises};

const fn pitch(trend: Trend) -> Argument {
    arg("pitch", "P", "mm", "pitch", Positive, trend)
}
const fn pitch_diameter(trend: Trend) -> Argument {
    arg("pitch_diameter", "d2", "mm", "pitch diameter", Positive, trend)
}
const fn thread_friction(trend: Trend) -> Argument {
    arg("thread_friction", "μG", "1", "friction in the thread", NotNegative, trend)
}
const fn head_friction(trend: Trend) -> Argument {
    arg("head_friction", "μK", "1", "friction under the head", NotNegative, trend)
}
const fn head_diameter(trend: Trend) -> Argument {
    arg("head_diameter", "DKm", "mm", "mean friction diameter under the head", NotNegative, trend)
}

const FRICTION: Validity = Validity::NotStated(
    "no range stated; the friction of a plastic thread is rarely known, and preload from torque scatters by a quarter and more",
);

fn tightening(first: Argument, trend: Trend) -> [Argument; 6] {
    [first, pitch(trend), pitch_diameter(trend), thread_friction(trend), head_friction(trend), head_diameter(trend)]
}

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = tightening_formulas();
    all.extend(preload_formulas());
    all.extend(thread_formulas());
    all
}

fn tightening_formulas() -> Vec<Formula> {
    let preload = arg("preload", "F", "N", "preload", NotNegative, Rises);
    let torque = |means| Gives { symbol: "T", unit: "N·m", means };
    let m8x1 = ["20.7kN", "1mm", "7.350481mm", "0.1", "0.1", "10.315mm"];
    let table = "M8x1 8.8 in table A of VDI 2230:2003, read in a public reprint; its 20.7 kN is rounded";
    vec![
        Formula::of(
            nut_factor_torque,
            FormulaCard {
                name: "torque-nut-factor",
                purpose: "Tightening torque by the nut factor.",
                arguments: [
                    arg("nut_factor", "K", "1", "nut factor", NotNegative, Rises),
                    preload,
                    arg("diameter", "d", "mm", "nominal diameter", Positive, Rises),
                ],
                above: &[],
                gives: torque("tightening torque"),
                validity: FRICTION,
                source: "T = K F d: Shigley, Mechanical Engineering Design, ch. 8",
                example: Example {
                    inputs: ["0.25", "1275lbf", "0.19in"],
                    result: "60.6 lbf·in",
                    tolerance: 1e-3,
                    status: Status::Published,
                    origin: "Speck, Mechanical Fastening, Joining, and Assembly, p. 85",
                },
            },
        ),
        Formula::of(
            tightening_torque,
            FormulaCard {
                name: "torque-exact",
                purpose: "Tightening torque of a 60° thread from the frictions of thread and head.",
                arguments: tightening(preload, Rises),
                above: &[],
                gives: torque("tightening torque"),
                validity: FRICTION,
                source: "T = F [(P + 1.154 π μG d2)/(2(π - 1.154 μG P/d2)) + μK DKm/2]: ISO 16047, VDI 2230",
                example: Example { inputs: m8x1, result: "22.8 N·m", tolerance: 3e-3, status: Status::Published, origin: table },
            },
        ),
        Formula::of(
            tightening_torque_short,
            FormulaCard {
                name: "torque-short",
                purpose: "Tightening torque of a 60° thread, short form.",
                arguments: tightening(preload, Rises),
                above: &[],
                gives: torque("tightening torque"),
                validity: FRICTION,
                source: "T = F [0.16 P + 0.58 d2 μG + μK DKm/2]: VDI 2230",
                example: Example { inputs: m8x1, result: "22.8 N·m", tolerance: 3e-3, status: Status::Published, origin: table },
            },
        ),
        Formula::of(
            strip_torque,
            FormulaCard {
                name: "strip-torque",
                purpose: "Torque at which a seated screw strips its thread.",
                arguments: tightening(
                    arg("stripping_load", "F", "N", "load at which the thread strips", NotNegative, Rises),
                    Rises,
                ),
                above: &[],
                gives: torque("strip torque"),
                validity: Validity::NotStated(
                    "no range stated; measured strip torques lie within about 18 % of such predictions for one family of screws, forming torque comes on top while driving",
                ),
                source: "tightening torque (ISO 16047) at the stripping load",
                example: Example {
                    inputs: ["400N", "0.5mm", "2.675241mm", "0.2", "0.2", "4.45mm"],
                    result: "0.33548 N·m",
                    tolerance: 2e-5,
                    status: Status::Hand,
                    origin: "K = 0.279569 by hand: 0.279569 · 400 · 0.003 (head 5.5, hole 3.4 mm)",
                },
            },
        ),
    ]
}

fn preload_formulas() -> Vec<Formula> {
    vec![
        Formula::of(
            preload_from_torque,
            FormulaCard {
                name: "preload-from-torque",
                purpose: "Preload that a tightening torque gives.",
                arguments: tightening(arg("torque", "T", "N·m", "tightening torque", NotNegative, Rises), Falls),
                above: &[],
                gives: Gives { symbol: "F", unit: "N", means: "preload" },
                validity: FRICTION,
                source: "ISO 16047 solved for the preload",
                example: Example {
                    inputs: ["22.8N.m", "1mm", "7.350481mm", "0.1", "0.1", "10.315mm"],
                    result: "20.7 kN",
                    tolerance: 3e-3,
                    status: Status::Published,
                    origin: "M8x1 8.8 in table A of VDI 2230:2003, read in a public reprint",
                },
            },
        ),
        Formula::of(
            nut_factor,
            FormulaCard {
                name: "nut-factor",
                purpose: "Nut factor that belongs to the frictions of thread and head.",
                arguments: tightening(arg("diameter", "d", "mm", "nominal diameter", Positive, Falls), Rises),
                above: &[],
                gives: Gives { symbol: "K", unit: "1", means: "nut factor" },
                validity: FRICTION,
                source: "K = T/(F d) with T of ISO 16047",
                example: Example {
                    inputs: ["3mm", "0.5mm", "2.675241mm", "0.15", "0.15", "4.45mm"],
                    result: "0.21604",
                    tolerance: 3e-5,
                    status: Status::Hand,
                    origin: "(1.954822/6.218481 + 0.33375)/3 = (0.314357 + 0.33375)/3",
                },
            },
        ),
        Formula::of(
            head_friction_diameter,
            FormulaCard {
                name: "head-friction-diameter",
                purpose: "Mean friction diameter under a head.",
                arguments: [
                    arg("head", "dw", "mm", "outer diameter of the bearing face", Positive, Rises),
                    arg("hole", "dh", "mm", "diameter of the hole under it", Positive, Rises),
                ],
                above: &[("head", "hole")],
                gives: Gives { symbol: "DKm", unit: "mm", means: "mean friction diameter" },
                validity: Validity::Exact("definition"),
                source: "DKm = (dw + dh)/2: VDI 2230",
                example: Example {
                    inputs: ["5.5mm", "3.4mm"],
                    result: "4.45 mm",
                    tolerance: 1e-9,
                    status: Status::Hand,
                    origin: "8.9/2",
                },
            },
        ),
    ]
}

fn thread_formulas() -> Vec<Formula> {
    let axial = arg("axial", "F", "N", "axial load", NotNegative, Rises);
    let thread = |lead, pitch_diameter_trend, friction, angle| {
        [
            arg("lead", "l", "mm", "advance per turn (pitch times starts)", Positive, lead),
            pitch_diameter(pitch_diameter_trend),
            arg("friction", "μ", "1", "friction of the flanks", NotNegative, friction),
            arg(
                "half_angle",
                "α",
                "°",
                "half of the flank angle; 30° for ISO metric and unified",
                Domain::Within(0.0, 1.5),
                angle,
            ),
        ]
    };
    let loaded = |[lead, pitch_diameter, friction, angle]: [Argument; 4]| [axial, lead, pitch_diameter, friction, angle];
    let validity = Validity::Exact("statics of a helix with even friction");
    let source = "power screws: Shigley, Mechanical Engineering Design, ch. 8";
    let inputs = ["300kN", "24mm", "94mm", "0.15", "15deg"];
    let bhandari = "trapezoidal screw 100 x 12 with two starts: Bhandari, Introduction to Machine Design, example 6.2";
    vec![
        Formula::of(
            raising_torque,
            FormulaCard {
                name: "thread-torque",
                purpose: "Torque in the thread alone that draws up an axial load, head friction left out.",
                arguments: loaded(thread(Rises, Rises, Rises, Rises)),
                above: &[],
                gives: Gives { symbol: "T", unit: "N·m", means: "torque in the thread" },
                validity,
                source,
                example: Example {
                    inputs, result: "3378.159 N·m", tolerance: 2e-7, status: Status::Published, origin: bhandari
                },
            },
        ),
        Formula::of(
            lowering_torque,
            FormulaCard {
                name: "thread-torque-loosening",
                purpose: "Torque in the thread alone that lets an axial load down; below zero it runs down by itself.",
                arguments: loaded(thread(Falls, Rises, Rises, Rises)),
                above: &[],
                gives: Gives { symbol: "T", unit: "N·m", means: "torque in the thread" },
                validity,
                source,
                example: Example {
                    inputs,
                    result: "1030.6856 N·m",
                    tolerance: 1e-7,
                    status: Status::Published,
                    origin: bhandari,
                },
            },
        ),
        Formula::of(
            thread_efficiency,
            FormulaCard {
                name: "thread-efficiency",
                purpose: "Share of the work put into a thread that raises the load.",
                arguments: thread(Mixed, Mixed, Falls, Falls),
                above: &[],
                gives: Gives { symbol: "η", unit: "%", means: "efficiency" },
                validity,
                source,
                example: Example {
                    inputs: ["24mm", "94mm", "0.15", "15deg"],
                    result: "33.9213 %",
                    tolerance: 2e-6,
                    status: Status::Published,
                    origin: bhandari,
                },
            },
        ),
    ]
}
