//! A series record as the book holds it, read into specimens and published figures.

use super::specimen::Sample;
use crate::book::view::{self, Joint, Scalar, Specimen, Test};
use crate::book::{Basis, Record, Standing};
use crate::quantity::{Quantity, Written};
use serde_json::Value;

/// A series.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Full id, `series/…`.
    pub id: String,
    /// What was tested.
    pub name: String,
    /// How the source knows.
    pub basis: Option<Basis>,
    /// Bare id of the source.
    pub source: Option<String>,
    /// Where in the source.
    pub locator: Option<String>,
    /// How much of the source was read.
    pub read: Option<String>,
    /// The source does not say who measured it.
    pub untraced: bool,
    /// Whether it may be used.
    pub standing: Standing,
    /// Why it is disputed or withdrawn.
    pub because: Option<String>,
    /// The joint.
    pub joint: Joint,
    /// The test.
    pub test: Test,
    /// Joint and test as written, field by field.
    pub as_written: [Value; 2],
    /// What the source leaves out.
    pub not_stated: Vec<String>,
    /// Other series on the same specimens.
    pub shares: Vec<String>,
    /// Remark.
    pub note: Option<String>,
    /// What was measured.
    pub measurements: Vec<Measurement>,
}

/// One quantity of a series: single results, or what was published of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// Word of the quantity.
    pub word: String,
    /// Dimension and kind.
    pub quantity: Quantity,
    /// Single results, where the record has them.
    pub sample: Option<Sample>,
    /// What was published instead.
    pub published: Published,
    /// How they failed, in the words of the record.
    pub modes: Vec<String>,
    /// Area the load was divided by.
    pub area: Option<String>,
    /// Drawn diameter of printed holes.
    pub drawn: Option<Written>,
    /// Whether printed holes are `blind` or `through`.
    pub hole_kind: Option<String>,
    /// Whether it may be used.
    pub standing: Standing,
    /// Why it is disputed or withdrawn.
    pub because: Option<String>,
    /// Remark.
    pub note: Option<String>,
    /// As the source prints it, where that differs.
    pub as_printed: Option<String>,
}

/// Figures a source gives without single results.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Published {
    /// Specimens.
    pub n: Option<u64>,
    /// The mean, or what `statistic` names.
    pub mean: Option<Written>,
    /// Least and greatest of a range.
    pub low: Option<Written>,
    /// Greatest of a range.
    pub high: Option<Written>,
    /// Standard deviation.
    pub sd: Option<Written>,
    /// Its divisor: `n-1`, `n` or `unknown`.
    pub sd_kind: Option<String>,
    /// Coefficient of variation.
    pub cv: Option<Written>,
    /// Least single result.
    pub min: Option<Written>,
    /// Greatest single result.
    pub max: Option<Written>,
    /// `mean`, `median`, `single` or `slope`.
    pub statistic: Option<String>,
    /// What low and high are.
    pub range: Option<String>,
    /// `lower` when specimens held.
    pub bound: Option<String>,
}

/// The quantity behind a word of the schema.
pub fn quantity_of(word: &str) -> Quantity {
    match word {
        "pull_out_load" | "push_out_load" | "failure_load" | "preload" => Quantity::Force,
        "peel_strength" => Quantity::LineLoad,
        "drive_torque" | "strip_torque" | "torque_out" => Quantity::Torque,
        "stiffness" => Quantity::Stiffness,
        "hole_deviation" | "hole_diameter" | "size_deviation" => Quantity::Length,
        "cycles" | "strength_ratio" | "friction" | "poisson_ratio" | "measured_over_predicted" => Quantity::Number,
        "preload_left"
        | "preload_lost"
        | "share_split"
        | "strength_kept"
        | "load_change"
        | "elongation_at_break"
        | "prediction_error" => Quantity::Fraction,
        _ => Quantity::Stress,
    }
}

fn owned(text: &Option<Box<str>>) -> Option<String> {
    text.as_deref().map(str::to_owned)
}

fn all_owned(list: &[Box<str>]) -> Vec<String> {
    list.iter().map(ToString::to_string).collect()
}

/// Reads a record of kind series; `None` for another kind.
pub fn series(record: &Record) -> Option<Series> {
    let (says, common) = (record.series()?, record.common());
    Some(Series {
        id: record.id.to_string(),
        name: record.name.to_string(),
        basis: common.basis,
        source: owned(&common.source),
        locator: owned(&common.locator),
        read: owned(&says.read),
        untraced: says.untraced,
        standing: if record.current { says.standing.unwrap_or_default() } else { Standing::Withdrawn },
        because: owned(&says.because),
        joint: says.joint.clone(),
        test: says.test.clone(),
        as_written: [record.rest.joint().clone(), record.rest.test().clone()],
        not_stated: all_owned(&says.not_stated),
        shares: all_owned(&says.shares_specimens_with),
        note: owned(&record.note),
        measurements: says.measurements.iter().map(measurement).collect(),
    })
}

fn measurement(m: &view::Measurement) -> Measurement {
    let word = m.quantity.to_string();
    let quantity = quantity_of(&word);
    let specimens: Vec<Specimen> = m.specimens().filter_map(|(place, s)| specimen(place, s, quantity, &m.mode)).collect();
    let sample = (!specimens.is_empty()).then(|| Sample { word: word.as_str().into(), quantity, specimens });
    let counted = m.modes.iter().flatten().map(|(mode, n)| format!("{n} {mode}"));
    let modes = owned(&m.mode).into_iter().chain(counted).chain(owned(&m.mode_text)).collect();
    let read = |value: &Option<Scalar>| value.as_ref().and_then(|v| v.read(quantity));
    Measurement {
        published: Published {
            n: m.n,
            mean: read(&m.mean),
            low: read(&m.low),
            high: read(&m.high),
            sd: m.sd.as_ref().and_then(|sd| sd.read(quantity.spread())),
            sd_kind: owned(&m.sd_kind),
            cv: m.cv.as_deref().cloned(),
            min: read(&m.min),
            max: read(&m.max),
            statistic: owned(&m.statistic),
            range: owned(&m.range),
            bound: owned(&m.bound),
        },
        area: owned(&m.area_definition),
        drawn: m.drawn.as_deref().cloned(),
        hole_kind: owned(&m.hole_kind),
        standing: m.standing(),
        because: owned(&m.because),
        note: owned(&m.note),
        as_printed: owned(&m.as_printed),
        word,
        quantity,
        sample,
        modes,
    }
}

/// A specimen with its result in the dimension of its quantity; what the series says of all stands in it too.
fn specimen(place: usize, s: &Specimen<Scalar>, quantity: Quantity, general: &Option<Box<str>>) -> Option<Specimen> {
    let mut read = s.with(s.value.read(quantity)?);
    read.mode = read.mode.or_else(|| general.clone());
    read.label = read.label.or_else(|| Some((place + 1).to_string().into()));
    read.censored = read.held();
    Some(read)
}

impl Series {
    /// Whether the data are invented.
    pub fn invented(&self) -> bool {
        self.basis == Some(Basis::Invented)
    }
    /// Whether it may be used in other answers.
    pub fn usable(&self) -> bool {
        self.standing == Standing::Good && !self.untraced
    }
}
