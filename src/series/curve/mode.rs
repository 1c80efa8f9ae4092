//! What a curve suggests about how the joint failed. A suggestion only: the parts decide.

use super::{Pull, Settings};
use uom::si::{force::newton, length::millimeter};

/// A suggested failure mode.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggestion {
    /// The mode.
    pub mode: &'static str,
    /// What in the curve speaks for it.
    pub reasons: Vec<String>,
    /// What else gives such a curve.
    pub or: Vec<&'static str>,
}

/// Share of the pitch within which teeth count as one pitch apart.
const PITCH_WITHIN: f64 = 0.2;
/// Loads left behind a sudden break, as a share of the peak.
const LITTLE_LEFT: f64 = 0.3;
/// Travel within which a break is sudden, as a share of the travel to the peak.
const SUDDEN: f64 = 0.1;

/// Suggests a mode for a joint made by `method`; `None` where the curve says too little.
pub fn suggest(pull: &Pull, settings: &Settings, method: Option<&str>) -> Option<Suggestion> {
    if pull.held {
        let reasons = vec!["the load reached the limit of the cell".to_owned()];
        return Some(Suggestion { mode: "machine-limit", reasons, or: vec![] });
    }
    jumping(pull, settings, method).or_else(|| falling(pull, method))
}

fn jumping(pull: &Pull, settings: &Settings, method: Option<&str>) -> Option<Suggestion> {
    let thread = settings.pitch?;
    let found = pull.tooth_pitch?.get::<millimeter>();
    let threaded = matches!(method, None | Some("direct-screw" | "cut-thread" | "printed-thread"));
    if pull.teeth.len() < 3 || (found - thread).abs() > PITCH_WITHIN * thread || !threaded {
        return None;
    }
    let reasons = vec![
        format!("{} load drops {found:.2} mm apart; the pitch is {thread} mm", pull.teeth.len()),
        "sheared threads can also catch again at the pitch".to_owned(),
    ];
    Some(Suggestion { mode: "elastic-jump", reasons, or: vec!["crest-crush", "part-thread-shear"] })
}

fn falling(pull: &Pull, method: Option<&str>) -> Option<Suggestion> {
    let peak = pull.peak.get::<newton>();
    let top = pull.travel_at_peak.get::<millimeter>();
    let behind = pull.outline.iter().filter(|p| p.x > top);
    let little = behind.clone().find(|p| p.y <= LITTLE_LEFT * peak);
    let last = pull.outline.last()?;
    match little {
        Some(point) if point.x - top <= SUDDEN * top.abs().max(0.05) => {
            let reasons =
                vec![format!("the load fell to {:.0} % within {:.2} mm of the peak", 100.0 * point.y / peak, point.x - top)];
            let (mode, or): (_, Vec<&str>) = match method {
                Some(m) if m.starts_with("insert-glued") => ("glue", vec!["glue-to-metal", "glue-to-part", "hoop-burst"]),
                Some("insert-own-resin") => ("glue-to-metal", vec!["glue", "hoop-burst", "not-cured"]),
                Some("heat-set-insert" | "press-fit-insert") => ("hoop-burst", vec!["plate-split", "break-out"]),
                _ => ("hoop-burst", vec!["root-crack", "plate-split", "screw-break"]),
            };
            Some(Suggestion { mode, reasons, or })
        }
        _ if last.x - top > 0.2 && last.y < 0.9 * peak => {
            let reasons = vec![format!("the load fell off slowly, over {:.2} mm", last.x - top)];
            let (mode, or): (_, Vec<&str>) = match method {
                Some("heat-set-insert" | "press-fit-insert") => ("knurl-shear", vec![]),
                Some(m) if m.starts_with("insert") => ("groove-shear", vec!["glue-to-metal", "glue-to-part"]),
                _ => ("part-thread-shear", vec!["crest-crush"]),
            };
            Some(Suggestion { mode, reasons, or })
        }
        _ => None,
    }
}
