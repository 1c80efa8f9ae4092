//! A test series as audits see it: what was joined, how it was loaded, what was measured.

use super::desk::Spot;
use crate::book::{Book, Record};
use crate::quantity::{self, Written};
use serde_json::Value as Json;

/// A record of kind series.
#[derive(Clone, Copy)]
pub struct SeriesAt<'a> {
    /// The record.
    pub record: &'a Record,
    /// Whether the source is a test campaign of one's own.
    pub own: bool,
    /// Quantities of a joint that was broken.
    failures: &'a [String],
}

impl<'a> SeriesAt<'a> {
    /// The record as a series; `None` for another kind.
    pub fn of(record: &'a Record, book: &'a Book) -> Option<Self> {
        (record.id.kind() == "series").then_some(())?;
        let own = record.rest["source"].as_str().is_some_and(|s| book.own_campaign(s));
        Some(SeriesAt { record, own, failures: &book.catalogue().failures })
    }
    /// A text field, e.g. `/joint/test`.
    pub fn text(&self, pointer: &str) -> Option<&'a str> {
        self.record.rest.pointer(pointer)?.as_str()
    }
    /// A quantity, e.g. `/joint/hole`.
    pub fn amount(&self, pointer: &str) -> Option<Written> {
        amount(self.record.rest.pointer(pointer)?)
    }
    /// Whether a field is given.
    pub fn has(&self, pointer: &str) -> bool {
        self.record.rest.pointer(pointer).is_some_and(|v| !v.is_null())
    }
    /// Whether the record says that its source leaves this out.
    pub fn not_stated(&self, word: &str) -> bool {
        self.record.rest["not_stated"].as_array().is_some_and(|all| all.iter().any(|w| w == word))
    }
    /// Whether it may be used.
    pub fn in_use(&self) -> bool {
        self.record.current && self.record.rest["standing"].as_str().is_none()
    }
    /// A field as a place.
    pub fn spot(&self, pointer: &str) -> Spot {
        Spot::field(self.record, pointer)
    }
    /// The measurements.
    pub fn measurements(self) -> Vec<MeasurementAt<'a>> {
        let all = self.record.rest["measurements"].as_array().map(Vec::as_slice).unwrap_or_default();
        all.iter().enumerate().map(|(index, json)| MeasurementAt::of(self, index, json)).collect()
    }
}

/// One quantity measured on the specimens of a series.
pub struct MeasurementAt<'a> {
    /// The series.
    pub series: SeriesAt<'a>,
    /// Place in the list.
    pub index: usize,
    /// What was measured: `pull_out_load`.
    pub quantity: &'a str,
    /// All fields.
    pub json: &'a Json,
    /// Number of specimens.
    pub n: Option<u32>,
    /// Mean (or what `statistic` says).
    pub mean: Option<Written>,
    /// Least single result: `min`, or `low` of a range of specimens.
    pub least: Option<Written>,
    /// Greatest single result.
    pub most: Option<Written>,
    /// Standard deviation.
    pub sd: Option<Written>,
    /// Single results.
    pub specimens: Vec<Specimen<'a>>,
    /// Whether it may be used.
    pub in_use: bool,
}

/// A single result.
pub struct Specimen<'a> {
    /// All fields.
    pub json: &'a Json,
    /// The result.
    pub value: Written,
    /// Whether it did not fail.
    pub censored: bool,
}

impl<'a> MeasurementAt<'a> {
    fn of(series: SeriesAt<'a>, index: usize, json: &'a Json) -> Self {
        let field = |name: &str| json.get(name).and_then(amount);
        let of_specimens = json["range"].as_str() == Some("specimens");
        let end = |first: &str, second: &str| field(first).or_else(|| field(second).filter(|_| of_specimens));
        MeasurementAt {
            series,
            index,
            quantity: json["quantity"].as_str().unwrap_or_default(),
            json,
            n: json["n"].as_u64().and_then(|n| u32::try_from(n).ok()),
            mean: field("mean").filter(|_| matches!(json["statistic"].as_str(), None | Some("mean"))),
            least: end("min", "low"),
            most: end("max", "high"),
            sd: field("sd"),
            specimens: json["specimens"].as_array().into_iter().flatten().filter_map(specimen).collect(),
            in_use: series.in_use() && json["standing"].as_str().is_none(),
        }
    }
    /// A text field.
    pub fn text(&self, name: &str) -> Option<&'a str> {
        self.json.get(name)?.as_str()
    }
    /// A field as a place; the measurement as a whole for an empty name.
    pub fn spot(&self, field: &str) -> Spot {
        let tail = if field.is_empty() { String::new() } else { format!("/{field}") };
        Spot {
            pointer: format!("/measurements/{}{tail}", self.index),
            line: None,
            subject: format!("{}:{}", self.series.record.id, self.quantity),
            at: vec![self.quantity.into()],
        }
    }
    /// Single results in SI that are failures.
    pub fn failures(&self) -> Vec<f64> {
        self.specimens.iter().filter(|s| !s.censored).map(|s| s.value.si).collect()
    }
    /// Whether it is a load, strength or torque of a joint that was broken.
    pub fn is_failure(&self) -> bool {
        self.series.failures.iter().any(|word| word == self.quantity)
    }
    /// The basis of the measurement, or of the series.
    pub fn basis(&self) -> &'a str {
        self.text("basis").or_else(|| self.series.text("/basis")).unwrap_or_default()
    }
}

fn specimen(json: &Json) -> Option<Specimen<'_>> {
    Some(Specimen { json, value: amount(&json["value"])?, censored: json["censored"].as_bool().unwrap_or(false) })
}

/// The quantity of a field: its unit says which. Units that two quantities share have one size in both.
fn amount(json: &Json) -> Option<Written> {
    match json {
        Json::String(text) => quantity::parse_any(text).into_iter().next(),
        Json::Number(number) => quantity::parse(&number.to_string(), quantity::Quantity::Number).ok(),
        _ => None,
    }
}
