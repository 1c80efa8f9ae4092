//! How sizes, loads and torques are worded.

use gripbook::joint::geometry::{Drawn, Geometry, HoleStep, Section};
use gripbook::joint::judge::{Candidate, LowerBound, rounded_down};
use gripbook::joint::need::Need;
use gripbook::quantity::{Amount, Measure, Quantity};
use uom::si::f64::Length;

/// A length in mm, to a hundredth.
pub fn mm(length: Length) -> String {
    format!("{:.2} mm", length.si() * 1e3)
}

/// A load with three significant digits; `not reached` where a state is never reached.
pub fn load(newtons: f64) -> String {
    if newtons.is_finite() { Amount::new(Quantity::Force, newtons).text(3) } else { "not reached".into() }
}

/// The design load: rounded down to two significant digits.
pub fn design(bound: LowerBound) -> String {
    promised(bound.value)
}

/// A load rounded down to two significant digits: what is promised is never rounded up.
pub fn promised(newtons: f64) -> String {
    Amount::new(Quantity::Force, rounded_down(newtons)).text(2)
}

/// The design load with its kind, and with the word for a load that nobody measured beside it.
pub fn design_load(bound: LowerBound, candidate: &Candidate<'_>) -> String {
    let word = if candidate.evidence.model_only() { ", model only, not measured" } else { "" };
    format!("{}{word} ({})", design(bound), bound.kind.text())
}

/// The load asked for, in its own unit and in newtons: `20 kgf (196 N)`, with its factor behind it.
pub fn wanted(need: &Need<'_>, newtons: f64) -> String {
    let amount = Amount { si: newtons, unit: need.load_unit };
    let newton = Amount::new(Quantity::Force, newtons);
    let beside = if newton.unit == need.load_unit { String::new() } else { format!(" ({})", newton.trimmed(3)) };
    format!("{}{beside}", amount.trimmed(4))
}

/// ` x 2`, or nothing.
pub fn factor(need: &Need<'_>) -> String {
    if need.factor == 1.0 { String::new() } else { format!(" x {}", need.factor) }
}

/// A torque rounded down to two digits; none where nothing is left.
pub fn torque(newton_metres: f64) -> Option<String> {
    let down = rounded_down(newton_metres);
    (down > 0.0).then(|| Amount::new(Quantity::Torque, down).text(2))
}

/// `Ø 2.61 mm (2.56 to 2.66)`.
pub fn finished(step: &HoleStep) -> String {
    let shape = if step.section == Section::Hexagon { "across flats" } else { "Ø" };
    format!("{shape} {} ({:.2} to {:.2})", mm(step.finished.nominal), step.finished.low.si() * 1e3, step.finished.high.si() * 1e3)
}

/// The CAD diameter: what to draw so that the finished one results.
pub fn drawn(step: &HoleStep) -> String {
    match &step.drawn {
        Drawn::Size { diameter, offset, sd } => {
            let sd = sd.map(|s| format!(", sd {:.3}", s.si() * 1e3)).unwrap_or_default();
            let offset = gripbook::quantity::print::fixed(offset.si() * 1e3, 3);
            let plus = if offset.starts_with('-') { "" } else { "+" };
            format!("CAD diameter {} (offset {plus}{offset}{sd} mm)", mm(*diameter))
        }
        Drawn::Unknown(what) => format!("CAD diameter unknown: {what}"),
        Drawn::Machined => "CAD diameter: drill or tap to size".into(),
    }
}

/// The pins to check with.
pub fn check(step: &HoleStep) -> String {
    format!("go pin {:.2}, no-go {:.2}", step.check.go.si() * 1e3, step.check.no_go.si() * 1e3)
}

/// `insert 5.70 mm, engaged 5.00 mm`.
pub fn lengths(geometry: &Geometry) -> String {
    match &geometry.insert {
        Some(insert) => format!("insert {}, engaged {}", mm(insert.length), mm(geometry.thread.engaged)),
        None => format!("engaged {}", mm(geometry.thread.engaged)),
    }
}

/// A percentage that never rounds to a false certainty.
pub fn percent(share: f64) -> String {
    match share {
        s if s > 0.995 && s < 1.0 => "above 99 %".into(),
        s if s > 0.0 && s < 0.005 => "below 1 %".into(),
        s => format!("{:.0} %", s * 100.0),
    }
}
