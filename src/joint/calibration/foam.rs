//! Published thread shear in foam: one study's ratio of measured to predicted load, and the spread of a second one.
//!
//! The model checked there, F = tau pi D L TSF with TSF = 0.5 + 0.57735 h/P, is the internal shear area with the pitch
//! diameter at (D + core)/2. The first study (measured strength, twelve screw types) gives the level, the second (eleven
//! screws, one strength fitted) only the spread.

use crate::book::{Basis, Book};
use crate::mechanics::stripping::internal_shear_area;
use crate::quantity::{Measure, Quantity, parse};
use uom::si::f64::Length;

/// Log standard deviation of the thread shear model with the strength known: eleven screws in one foam scatter by 7.2 %.
pub const MODEL_SD: f64 = 0.07;

/// Ratio of one screw's load to the load with the one strength fitted to all screws of its study.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratio {
    /// Id of the series.
    pub series: String,
    /// Shear area, m².
    pub area: f64,
    /// Measured over predicted.
    pub ratio: f64,
}

/// The screws of studies that fitted one strength: only their spread is evidence.
pub fn spread_only(book: &Book) -> Vec<Ratio> {
    let mut rows: Vec<(String, f64, f64)> = Vec::new();
    for record in book.of_kind("series").filter(|r| r.current && r.common().basis == Some(Basis::Measured)) {
        let Some(says) = record.series().filter(|s| s.standing.is_none()) else { continue };
        let joint = &says.joint;
        let sizes = [&joint.thread_diameter, &joint.thread_core, &joint.thread_pitch, &joint.length].map(Option::as_ref);
        let [Some(diameter), Some(core), Some(pitch), Some(engaged)] = sizes else { continue };
        let load = says.measured("pull_out_load").and_then(|m| m.mean.as_ref()?.as_text());
        let Some(load) = load.and_then(|t| parse(t, Quantity::Force).ok()) else { continue };
        let middle = Length::from_si((diameter.si + core.si) / 2.0);
        let area = internal_shear_area(pitch.amount(), engaged.amount(), diameter.amount(), middle).si();
        rows.push((record.id.to_string(), area, load.si));
    }
    let strength = rows.iter().map(|(_, a, f)| f / a).sum::<f64>() / rows.len().max(1) as f64;
    rows.into_iter().map(|(series, area, load)| Ratio { series, area, ratio: load / area / strength }).collect()
}
