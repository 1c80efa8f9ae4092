//! A series record as the book holds it, read into specimens and published figures.

use super::specimen::{Sample, Specimen};
use crate::book::{Basis, Record, Standing};
use crate::quantity::{Quantity, Written, parse};
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
    /// The joint, field by field.
    pub joint: Value,
    /// The test, field by field.
    pub test: Value,
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

/// A scalar as its record writes it.
pub fn text(value: &Value) -> Option<String> {
    match value {
        Value::String(s) => Some(s.clone()),
        Value::Number(n) => Some(n.to_string()),
        _ => None,
    }
}

fn words(value: &Value) -> Vec<String> {
    value.as_array().into_iter().flatten().filter_map(text).collect()
}

fn standing(value: &Value) -> Standing {
    match value.as_str() {
        Some("disputed") => Standing::Disputed,
        Some("withdrawn") => Standing::Withdrawn,
        _ => Standing::Good,
    }
}

fn written(value: &Value, quantity: Quantity) -> Option<Written> {
    parse(&text(value)?, quantity).ok()
}

/// Reads a record of kind series; `None` for another kind.
pub fn series(record: &Record) -> Option<Series> {
    if record.id.kind() != "series" {
        return None;
    }
    let rest = &record.rest;
    let measurements = rest["measurements"].as_array().into_iter().flatten().filter_map(measurement).collect();
    Some(Series {
        id: record.id.to_string(),
        name: record.name.to_string(),
        basis: rest["basis"].as_str().and_then(Basis::from_word),
        source: text(&rest["source"]),
        locator: text(&rest["locator"]),
        read: text(&rest["read"]),
        untraced: rest["untraced"].as_bool().unwrap_or(false),
        standing: if record.current { standing(&rest["standing"]) } else { Standing::Withdrawn },
        because: text(&rest["because"]),
        joint: rest["joint"].clone(),
        test: rest["test"].clone(),
        not_stated: words(&rest["not_stated"]),
        shares: words(&rest["shares_specimens_with"]),
        note: record.note.as_deref().map(str::to_owned),
        measurements,
    })
}

fn measurement(value: &Value) -> Option<Measurement> {
    let word = value["quantity"].as_str()?.to_owned();
    let quantity = quantity_of(&word);
    let general = value["mode"].as_str();
    let specimens: Vec<Specimen> = value["specimens"]
        .as_array()
        .into_iter()
        .flatten()
        .enumerate()
        .filter_map(|(place, s)| specimen(place, s, quantity, general))
        .collect();
    let sample = (!specimens.is_empty()).then(|| Sample { word: word.as_str().into(), quantity, specimens });
    let counted = value["modes"].as_object().into_iter().flatten().map(|(mode, n)| format!("{n} {mode}"));
    let modes = general.map(str::to_owned).into_iter().chain(counted).chain(text(&value["mode_text"])).collect();
    let get = |key: &str| written(&value[key], quantity);
    Some(Measurement {
        published: Published {
            n: value["n"].as_u64(),
            mean: get("mean"),
            low: get("low"),
            high: get("high"),
            sd: written(&value["sd"], quantity.spread()),
            sd_kind: text(&value["sd_kind"]),
            cv: written(&value["cv"], Quantity::Fraction),
            min: get("min"),
            max: get("max"),
            statistic: text(&value["statistic"]),
            range: text(&value["range"]),
            bound: text(&value["bound"]),
        },
        area: text(&value["area_definition"]),
        drawn: written(&value["drawn"], Quantity::Length),
        hole_kind: text(&value["hole_kind"]),
        standing: standing(&value["standing"]),
        because: text(&value["because"]),
        note: text(&value["note"]),
        as_printed: text(&value["as_printed"]),
        word,
        quantity,
        sample,
        modes,
    })
}

fn specimen(place: usize, value: &Value, quantity: Quantity, general: Option<&str>) -> Option<Specimen> {
    let amount = written(&value["value"], quantity)?;
    let field = |key: &str| text(&value[key]).map(String::into_boxed_str);
    let mode = field("mode").or_else(|| general.map(Box::from));
    // A machine limit is no failure, whether or not somebody also wrote `censored`.
    let censored = value["censored"].as_bool().unwrap_or(false) || mode.as_deref() == Some("machine-limit");
    Some(Specimen {
        label: field("label").unwrap_or_else(|| (place + 1).to_string().into()),
        batch: field("batch"),
        job: field("job"),
        date: field("date"),
        position: field("position"),
        curve: field("curve"),
        note: field("note"),
        value: amount,
        censored,
        mode,
    })
}

impl Series {
    /// A field of the joint as text.
    pub fn joint(&self, field: &str) -> Option<String> {
        text(&self.joint[field])
    }
    /// A field of the test as text.
    pub fn test(&self, field: &str) -> Option<String> {
        text(&self.test[field])
    }
    /// Whether the data are invented.
    pub fn invented(&self) -> bool {
        self.basis == Some(Basis::Invented)
    }
    /// Whether it may be used in other answers.
    pub fn usable(&self) -> bool {
        self.standing == Standing::Good && !self.untraced
    }
}
