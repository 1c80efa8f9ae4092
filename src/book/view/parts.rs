//! What records of inserts, screws, nuts, processes and rigs say.

use super::stated::{Stated, count};
use crate::book::Basis;
use crate::quantity::measure::Compliance;
use serde::Deserialize;
use uom::si::f64::{Force, Frequency, HeatFluxDensity, Length, RadiantExposure, ThermodynamicTemperature, Time, Torque};

/// An insert.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Insert {
    /// How it is set: `heat-set`, `glue-in`, …
    pub fitting: Option<Box<str>>,
    /// Whole length.
    pub length: Option<Stated<Length>>,
    /// Length of its thread.
    pub thread_length: Option<Stated<Length>>,
    /// Whether it is open at both ends.
    pub through: Option<bool>,
    /// The steps of its outside, from the end that goes in last.
    pub steps: Vec<Step>,
}

/// A step of an insert's outside.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Step {
    /// Along the axis.
    pub length: Option<Stated<Length>>,
    /// Outer diameter.
    pub diameter: Option<Stated<Length>>,
    /// `knurl`, `groove`, `plain`, …
    pub form: Option<Box<str>>,
    /// Sort of knurl.
    pub knurl: Option<Box<str>>,
    /// Depth of the knurl.
    pub knurl_depth: Option<Stated<Length>>,
    /// Pitch of the knurl.
    pub knurl_pitch: Option<Stated<Length>>,
    /// How many grooves.
    #[serde(deserialize_with = "count")]
    pub groove_count: Option<u64>,
    /// Depth of the grooves.
    pub groove_depth: Option<Stated<Length>>,
}

impl Step {
    /// The sizes a drawing needs besides the form, by name.
    pub fn sizes(&self) -> impl Iterator<Item = (&'static str, &Stated<Length>)> {
        let all = [
            ("length", &self.length),
            ("diameter", &self.diameter),
            ("knurl_depth", &self.knurl_depth),
            ("knurl_pitch", &self.knurl_pitch),
            ("groove_depth", &self.groove_depth),
        ];
        all.into_iter().filter_map(|(name, size)| Some((name, size.as_ref()?)))
    }
}

/// A screw.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Screw {
    /// Strength class.
    pub property_class: Option<Box<str>>,
    /// Form of its point: what it does to the hole.
    pub point: Option<Box<str>>,
    /// Form of its head.
    pub head: Option<Box<str>>,
    /// Coating.
    pub coating: Option<Box<str>>,
}

/// A nut.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Nut {
    /// `hexagon` or `square`.
    pub form: Option<Box<str>>,
    /// `regular` or `thin`.
    pub style: Option<Box<str>>,
    /// Strength class.
    pub property_class: Option<Box<str>>,
}

/// A printing process.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Process {
    /// Sort of printer.
    pub printer_type: Option<Box<str>>,
    /// Id of the material.
    pub material: Option<Box<str>>,
    /// Layer height.
    pub layer: Option<Stated<Length>>,
    /// Exposure of a layer.
    pub exposure: Option<Stated<Time>>,
    /// Wavelength of the printer's light.
    pub wavelength: Option<Stated<Length>>,
    /// Irradiance of the printer's light.
    pub irradiance: Option<Stated<HeatFluxDensity>>,
    /// Width of the nozzle.
    pub nozzle: Option<Stated<Length>>,
    /// How parts lie.
    pub orientation: Option<Box<str>>,
    /// What parts get after printing.
    pub post_cure: Option<PostCure>,
    /// How much smaller or larger holes come out.
    pub hole_offset: Vec<HoleOffset>,
}

/// A post-cure.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct PostCure {
    /// There is none.
    pub none: bool,
    /// How long.
    pub time: Option<Stated<Time>>,
    /// Of the chamber.
    pub temperature: Option<Stated<ThermodynamicTemperature>>,
    /// Of the lamp.
    pub wavelength: Option<Stated<Length>>,
    /// At the part.
    pub irradiance: Option<Stated<HeatFluxDensity>>,
    /// At the part.
    pub dose: Option<Stated<RadiantExposure>>,
    /// Remark.
    pub note: Option<Box<str>>,
}

/// A rung of the ladder of hole sizes.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct HoleOffset {
    /// As drawn.
    pub diameter: Option<Stated<Length>>,
    /// Measured minus drawn.
    pub offset: Option<Stated<Length>>,
    /// Standard deviation between holes.
    pub sd: Option<Stated<Length>>,
    /// Holes measured.
    #[serde(deserialize_with = "count")]
    pub n: Option<u64>,
    /// Id of the source.
    pub source: Option<Box<str>>,
    /// Where in the source.
    pub locator: Option<Box<str>>,
    /// How the source knows.
    pub basis: Option<Basis>,
    /// How it was measured.
    pub method: Option<Box<str>>,
    /// Remark.
    pub note: Option<Box<str>>,
}

/// A test rig.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Rig {
    /// Greatest load it can measure.
    pub capacity: Option<Stated<Force>>,
    /// Greatest torque it can measure.
    pub torque_capacity: Option<Stated<Torque>>,
    /// Least step of its reading.
    pub resolution: Option<Stated<Force>>,
    /// When it was last checked.
    pub last_check: Option<Box<str>>,
    /// What it was checked with.
    pub checked_with: Option<Box<str>>,
    /// Reading without load.
    pub zero: Option<Stated<Force>>,
    /// How much it gives.
    pub compliance: Option<Stated<Compliance>>,
    /// Readings a second.
    pub sample_rate: Option<Stated<Frequency>>,
    /// How it pulls.
    pub drive: Option<Box<str>>,
    /// How it holds the part.
    pub support: Option<Box<str>>,
}
