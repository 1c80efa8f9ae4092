//! What a series record says.

use super::stated::{Scalar, Stated, count};
use crate::book::{Basis, Standing};
use crate::quantity::Written;
use serde::Deserialize;
use uom::si::f64::{Area, Length, MassDensity, Ratio, ThermodynamicTemperature, Time, Torque, Velocity};

/// A test series.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Series {
    /// How much of the source was read.
    pub read: Option<Box<str>>,
    /// The source does not say who measured it.
    pub untraced: bool,
    /// Set where it may not be used.
    pub standing: Option<Standing>,
    /// Why not.
    pub because: Option<Box<str>>,
    /// What was joined.
    pub joint: Joint,
    /// How it was loaded.
    pub test: Test,
    /// What was measured.
    pub measurements: Vec<Measurement>,
    /// What the source leaves out.
    pub not_stated: Vec<Box<str>>,
    /// Bare ids of other series on the same specimens.
    pub shares_specimens_with: Vec<Box<str>>,
}

impl Series {
    /// The measurement of this quantity that stands.
    pub fn measured(&self, quantity: &str) -> Option<&Measurement> {
        self.measurements.iter().find(|m| &*m.quantity == quantity && m.in_use())
    }
    /// What an address behind its colon calls a measurement or a single result of it: `pull_out_load`, `pull_out_load#a3`; the
    /// second measurement of a quantity is `pull_out_load (2)`.
    pub fn part(&self, measurement: usize, result: Option<usize>) -> String {
        let Some(m) = self.measurements.get(measurement) else { return String::new() };
        let turn = self.measurements[..=measurement].iter().filter(|other| other.quantity == m.quantity).count();
        let word = if turn > 1 { format!("{} ({turn})", m.quantity) } else { m.quantity.to_string() };
        match result {
            None => word,
            Some(place) => {
                let label = m.all_specimens.get(place).and_then(|s| s.label.as_deref());
                format!("{word}#{}", label.map_or_else(|| (place + 1).to_string(), str::to_owned))
            }
        }
    }
    /// The measurements and single results that the record itself withdraws, by [`Series::part`], each with its reason. A
    /// measurement goes with the last of its results.
    pub fn withdrawn_parts(&self) -> impl Iterator<Item = (String, &str)> {
        fn why<'b>(mut told: impl Iterator<Item = &'b Option<Box<str>>>) -> &'b str {
            told.find_map(|because| because.as_deref()).unwrap_or("no reason given")
        }
        self.measurements.iter().enumerate().flat_map(move |(at, m)| {
            let of_results = || m.all_specimens.iter().map(|s| &s.because);
            let whole = m.standing() == Standing::Withdrawn;
            let whole = whole.then(|| (self.part(at, None), why(std::iter::once(&m.because).chain(of_results()))));
            let results = m.all_specimens.iter().enumerate().filter(|(_, s)| s.standing == Some(Standing::Withdrawn));
            let results = results.map(move |(place, s)| (self.part(at, Some(place)), why(std::iter::once(&s.because))));
            whole.into_iter().chain(results)
        })
    }
}

/// What was joined.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Joint {
    /// Sort of test.
    pub test: Option<Box<str>>,
    /// Word of the method.
    pub method: Option<Box<str>>,
    /// Id of the material.
    pub material: Option<Box<str>>,
    /// The material in the words of the source.
    pub material_text: Option<Box<str>>,
    /// Its density.
    pub material_density: Option<Stated<MassDensity>>,
    /// How the part was made.
    pub made_by: Option<Box<str>>,
    /// Id of the other adherend's material.
    pub other: Option<Box<str>>,
    /// It in the words of the source.
    pub other_text: Option<Box<str>>,
    /// How it was made.
    pub other_made_by: Option<Box<str>>,
    /// Id of the adhesive.
    pub adhesive: Option<Box<str>>,
    /// It in the words of the source.
    pub adhesive_text: Option<Box<str>>,
    /// Whether an activator was used.
    pub activator: bool,
    /// Id of the primer.
    pub primer: Option<Box<str>>,
    /// Preparation of the surfaces.
    pub preparation: Option<Box<str>>,
    /// Its steps in the words of rules; empty where nothing was done.
    pub steps: Option<Vec<Box<str>>>,
    /// Glue gap on one side.
    pub gap: Option<Stated<Length>>,
    /// Least gap of a range.
    pub gap_low: Option<Stated<Length>>,
    /// Greatest gap of a range.
    pub gap_high: Option<Stated<Length>>,
    /// Overlap of a lap joint.
    pub overlap: Option<Stated<Length>>,
    /// Area of the bond.
    pub bond_area: Option<Stated<Area>>,
    /// Id of the insert.
    pub insert: Option<Box<str>>,
    /// It in the words of the source.
    pub insert_text: Option<Box<str>>,
    /// The screw in the words of the source.
    pub screw_text: Option<Box<str>>,
    /// Thread designation.
    pub thread: Option<Box<str>>,
    /// Outer diameter of a thread without designation.
    pub thread_diameter: Option<Stated<Length>>,
    /// Its core.
    pub thread_core: Option<Stated<Length>>,
    /// Its pitch.
    pub thread_pitch: Option<Stated<Length>>,
    /// Area of its flanks.
    pub flank_area: Option<Stated<Area>>,
    /// Engaged length.
    pub length: Option<Stated<Length>>,
    /// Length of the screw.
    pub screw_length: Option<Stated<Length>>,
    /// Fields that were worked out from others.
    pub derived: Vec<Box<str>>,
    /// Diameter of the hole.
    pub hole: Option<Stated<Length>>,
    /// Diameter of the boss.
    pub boss: Option<Stated<Length>>,
    /// From the axis to the nearest free edge.
    pub edge_distance: Option<Stated<Length>>,
    /// Thickness of the plate.
    pub plate: Option<Stated<Length>>,
    /// Id of the process.
    pub process: Option<Box<str>>,
    /// Settings of the printer in words.
    pub settings: Option<Box<str>>,
    /// Share of the inside that was filled.
    pub infill: Option<Stated<Ratio>>,
    /// How it lay to the build direction.
    pub axis: Option<Box<str>>,
    /// How many screws shared the load.
    #[serde(deserialize_with = "count")]
    pub screws: Option<u64>,
}

impl Joint {
    /// Whether it was tested in this way.
    pub fn is(&self, test: &str) -> bool {
        self.test.as_deref() == Some(test)
    }
    /// What a joint is known by, in the order of the first screen.
    pub const KNOWN_BY: [&'static str; 8] = ["test", "method", "material", "insert", "adhesive", "thread", "length", "hole"];
}

/// How it was loaded.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Test {
    /// `out`, `through` or `push`.
    pub direction: Option<Box<str>>,
    /// Speed of the crosshead.
    pub speed: Option<Stated<Velocity>>,
    /// Temperature.
    pub temperature: Option<Stated<ThermodynamicTemperature>>,
    /// Humidity.
    pub humidity: Option<Stated<Ratio>>,
    /// Bore of the support.
    pub support_bore: Option<Stated<Length>>,
    /// Age of the bond.
    pub age_of_bond: Option<Stated<Time>>,
    /// What it went through before.
    pub ageing: Option<Ageing>,
    /// Id of the rig.
    pub rig: Option<Box<str>>,
    /// Torque of each tightening.
    pub torque: Option<Stated<Torque>>,
    /// How long a load stayed.
    pub duration: Option<Stated<Time>>,
    /// Unit of the travel in its recordings.
    pub travel_unit: Option<Box<str>>,
    /// Test standard.
    pub standard: Option<Box<str>>,
    /// Loading in words.
    pub loading: Option<Box<str>>,
    /// Id of the plan.
    pub plan: Option<Box<str>>,
    /// Who tested.
    pub by: Option<Box<str>>,
    /// When.
    pub date: Option<Box<str>>,
}

/// What specimens went through before the test.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Ageing {
    /// What they lay in.
    pub medium: Option<Box<str>>,
    /// How long.
    pub time: Option<Stated<Time>>,
    /// How warm.
    pub temperature: Option<Stated<ThermodynamicTemperature>>,
    /// How often.
    #[serde(deserialize_with = "count")]
    pub cycles: Option<u64>,
    /// Remark.
    pub note: Option<Box<str>>,
}

/// One quantity: single results, or what was published of them. Its dimension follows from its word.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Measurement {
    /// Word of the quantity.
    pub quantity: Box<str>,
    /// Specimens.
    #[serde(deserialize_with = "count")]
    pub n: Option<u64>,
    /// The mean, or what `statistic` names.
    pub mean: Option<Scalar>,
    /// Least of a range.
    pub low: Option<Scalar>,
    /// Greatest of a range.
    pub high: Option<Scalar>,
    /// Standard deviation.
    pub sd: Option<Scalar>,
    /// Least single result.
    pub min: Option<Scalar>,
    /// Greatest single result.
    pub max: Option<Scalar>,
    /// Coefficient of variation.
    pub cv: Option<Stated<Ratio>>,
    /// Divisor of the standard deviation.
    pub sd_kind: Option<Box<str>>,
    /// `mean`, `median`, `single` or `slope`.
    pub statistic: Option<Box<str>>,
    /// What low and high are.
    pub range: Option<Box<str>>,
    /// `lower` when specimens held.
    pub bound: Option<Box<str>>,
    /// Drawn diameter of printed holes.
    pub drawn: Option<Stated<Length>>,
    /// Whether printed holes are `blind` or `through`.
    pub hole_kind: Option<Box<str>>,
    /// After so many openings.
    #[serde(deserialize_with = "count")]
    pub at_cycle: Option<u64>,
    /// Single results in the order of the file, those out of use too.
    #[serde(rename = "specimens")]
    pub all_specimens: Vec<Specimen<Scalar>>,
    /// Area the load was divided by.
    pub area_definition: Option<Box<str>>,
    /// How all failed.
    pub mode: Option<Box<str>>,
    /// How many failed in each way, in the order of the file.
    pub modes: Option<serde_json::Map<String, serde_json::Value>>,
    /// How they failed, in the words of the source.
    pub mode_text: Option<Box<str>>,
    /// As the source prints it, where that differs.
    pub as_printed: Option<Box<str>>,
    /// How the source knows, where this differs from the series.
    pub basis: Option<Basis>,
    /// Set where it may not be used.
    pub standing: Option<Standing>,
    /// Why not.
    pub because: Option<Box<str>>,
    /// Remark.
    pub note: Option<Box<str>>,
}

impl Measurement {
    /// Its own standing; that of its single results where none of them may be used.
    pub fn standing(&self) -> Standing {
        let of_results = || self.all_specimens.first().filter(|_| self.specimens().next().is_none())?.standing;
        self.standing.or_else(of_results).unwrap_or_default()
    }
    /// Whether it may be used.
    pub fn in_use(&self) -> bool {
        self.standing() == Standing::Good
    }
    /// The single results that may be used, with their places in the file.
    pub fn specimens(&self) -> impl Iterator<Item = (usize, &Specimen<Scalar>)> {
        self.all_specimens.iter().enumerate().filter(|(_, s)| s.standing.unwrap_or_default() == Standing::Good)
    }
    /// How many failed in each way.
    pub fn counted(&self) -> impl Iterator<Item = (&str, u64)> {
        self.modes.iter().flatten().filter_map(|(mode, n)| Some((mode.as_str(), n.as_u64()?)))
    }
}

/// One specimen. `V` is its result: as the record writes it, or read in the dimension of its quantity.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
pub struct Specimen<V = Written> {
    /// Mark on the specimen.
    pub label: Option<Box<str>>,
    /// What was measured.
    pub value: V,
    /// How it failed.
    pub mode: Option<Box<str>>,
    /// Print job.
    pub job: Option<Box<str>>,
    /// Lot of material.
    pub batch: Option<Box<str>>,
    /// Place on the plate.
    pub position: Option<Box<str>>,
    /// Day of the test.
    pub date: Option<Box<str>>,
    /// It held this much and did not fail: the machine stopped, or the count ended.
    #[serde(default)]
    pub censored: bool,
    /// File of its curve, in the folder of the series.
    pub curve: Option<Box<str>>,
    /// Remark.
    pub note: Option<Box<str>>,
    /// Set where it may not be used.
    pub standing: Option<Standing>,
    /// Why not.
    pub because: Option<Box<str>>,
}

impl<V> Specimen<V> {
    /// A specimen of which only the result is known.
    pub fn of(value: V) -> Self {
        Specimen {
            value,
            label: None,
            mode: None,
            job: None,
            batch: None,
            position: None,
            date: None,
            censored: false,
            curve: None,
            note: None,
            standing: None,
            because: None,
        }
    }
    /// The same specimen with another result.
    pub fn with<W>(&self, value: W) -> Specimen<W> {
        let Specimen { label, mode, job, batch, position, date, curve, note, because, .. } = self;
        let (censored, standing) = (self.censored, self.standing);
        let [label, mode, job, batch, position, date, curve, note, because] =
            [label, mode, job, batch, position, date, curve, note, because].map(Clone::clone);
        Specimen { value, label, mode, job, batch, position, date, censored, curve, note, standing, because }
    }
    /// The mark; empty where it has none.
    pub fn label(&self) -> &str {
        self.label.as_deref().unwrap_or_default()
    }
    /// Whether it did not fail. A machine limit is no failure, whether or not somebody also wrote `censored`.
    pub fn held(&self) -> bool {
        self.censored || self.mode.as_deref() == Some("machine-limit")
    }
}
