//! Published thread shear in foam: one study's ratio of measured to predicted load, and the spread of a second one.
//!
//! The model checked there, F = tau pi D L TSF with TSF = 0.5 + 0.57735 h/P, is the internal shear area with the pitch
//! diameter at (D + core)/2. The first study (measured strength, twelve screw types) gives the level, the second (eleven
//! screws, one strength fitted) only the spread.

use super::place::{JointCoordinates, MeasuredJoint};
use crate::book::view::{Scalar, Stated};
use crate::book::{Basis, Book, Record};
use crate::joint::need::{Axis, ROOM};
use crate::mechanics::stripping::internal_shear_area;
use crate::quantity::{Measure, Quantity};
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
    /// Log standard deviation of the load as the study states it, that of the model where it does not.
    pub sd: f64,
    /// Where the joint lies; its material is the study, which had one foam.
    pub place: JointCoordinates,
}

/// The screws of studies that fitted one strength: only their spread is evidence.
pub fn spread_only(book: &Book) -> Vec<Ratio> {
    let real = |r: &&Record| r.current && r.common().basis == Some(Basis::Measured);
    let mut rows: Vec<Ratio> = book.of_kind("series").filter(real).filter_map(screw).collect();
    let strength = |of: &Ratio| {
        let same: Vec<f64> = rows.iter().filter(|r| r.place.material == of.place.material).map(|r| r.ratio / r.area).collect();
        same.iter().sum::<f64>() / same.len() as f64
    };
    let ratios: Vec<f64> = rows.iter().map(|r| r.ratio / r.area / strength(r)).collect();
    rows.iter_mut().zip(ratios).for_each(|(row, ratio)| row.ratio = ratio);
    rows
}

/// A screw with its load in the place of its ratio; `None` of a series that does not state all of its sizes.
fn screw(record: &Record) -> Option<Ratio> {
    let says = record.series().filter(|s| s.standing.is_none())?;
    let joint = &says.joint;
    let length = |stated: &Option<Stated<Length>>| stated.as_ref().map(|w| w.si);
    let (diameter, core) = (length(&joint.thread_diameter)?, length(&joint.thread_core)?);
    let (pitch, engaged) = (length(&joint.thread_pitch)?, length(&joint.length)?);
    let load = says.measured("pull_out_load")?;
    let force = |value: &Option<Scalar>| value.as_ref()?.read(Quantity::Force).map(|w| w.si);
    let mean = force(&load.mean)?;
    let sd = force(&load.sd).map_or(MODEL_SD, |sd| sd / mean);
    let metres = Length::from_si;
    let area = internal_shear_area(metres(pitch), metres(engaged), metres(diameter), metres((diameter + core) / 2.0)).si();
    let made = MeasuredJoint {
        method: joint.method.as_deref()?.to_owned(),
        insert: None,
        adhesive: None,
        thread: (diameter, pitch),
        length: engaged,
        hole: core,
        boss: length(&joint.boss).unwrap_or(1.0),
        axis: Axis::Unknown,
        temperature: ROOM,
        infill: 1.0,
    };
    let study = record.common().source.as_deref()?.to_owned();
    let place = JointCoordinates { class: Some("foam".into()), family: None, material: Some(study), joint: Some(made) };
    Some(Ratio { series: record.id.to_string(), area, ratio: mean, sd, place })
}
