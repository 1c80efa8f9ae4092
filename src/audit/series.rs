//! A test series as audits see it: what was joined, how it was loaded, what was measured.

use super::findings::Spot;
use crate::book::view::{Measurement, Scalar, Series, Specimen};
use crate::book::{Basis, Book, Record};
use crate::quantity::{self, Quantity, Written};

/// A record of kind series.
#[derive(Clone, Copy)]
pub struct SeriesAt<'a> {
    /// The record.
    pub record: &'a Record,
    /// What it says.
    pub says: &'a Series,
    /// Whether the source is a test campaign of one's own.
    pub own: bool,
    /// Quantities of a joint that was broken.
    failures: &'a [String],
}

impl<'a> SeriesAt<'a> {
    /// The record as a series; `None` for another kind.
    pub fn of(record: &'a Record, book: &'a Book) -> Option<Self> {
        let says = record.series()?;
        let own = record.common().source.as_deref().is_some_and(|s| book.own_campaign(s));
        Some(SeriesAt { record, says, own, failures: &book.catalogue().failures })
    }
    /// Whether the record says that its source leaves this out.
    pub fn not_stated(&self, word: &str) -> bool {
        self.says.not_stated.iter().any(|w| &**w == word)
    }
    /// Whether it may be used.
    pub fn in_use(&self) -> bool {
        self.record.current && self.says.standing.is_none()
    }
    /// A field as a place.
    pub fn spot(&self, pointer: &str) -> Spot {
        Spot::field(self.record, pointer)
    }
    /// The measurements.
    pub fn measurements(self) -> Vec<MeasurementAt<'a>> {
        self.says.measurements.iter().enumerate().map(|(index, says)| MeasurementAt::of(self, index, says)).collect()
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
    pub says: &'a Measurement,
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
    /// Single results that may be used.
    pub specimens: Vec<Specimen>,
    /// Their places in the file.
    pub places: Vec<usize>,
    /// Whether it may be used.
    pub in_use: bool,
}

impl<'a> MeasurementAt<'a> {
    fn of(series: SeriesAt<'a>, index: usize, says: &'a Measurement) -> Self {
        let field = |value: &Option<Scalar>| value.as_ref().and_then(amount);
        let of_specimens = says.range.as_deref() == Some("specimens");
        let end = |first, second| field(first).or_else(|| field(second).filter(|_| of_specimens));
        let (places, specimens) = says.specimens().filter_map(|(place, s)| Some((place, s.with(amount(&s.value)?)))).unzip();
        MeasurementAt {
            series,
            index,
            quantity: &says.quantity,
            says,
            n: says.n.and_then(|n| u32::try_from(n).ok()),
            mean: field(&says.mean).filter(|_| matches!(says.statistic.as_deref(), None | Some("mean"))),
            least: end(&says.min, &says.low),
            most: end(&says.max, &says.high),
            sd: field(&says.sd),
            specimens,
            places,
            in_use: series.in_use() && says.in_use(),
        }
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
    pub fn basis(&self) -> Option<Basis> {
        self.says.basis.or(self.series.record.common().basis)
    }
}

/// The quantity of a field: its unit says which. Units that two quantities share have one size in both.
fn amount(value: &Scalar) -> Option<Written> {
    match value {
        Scalar::Text(text) => quantity::parse_any(text).into_iter().next(),
        Scalar::Number(_) => value.read(Quantity::Number),
    }
}
