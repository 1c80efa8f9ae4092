//! What claims and measurements have in common: a middle, a spread, a number of results, an origin.

use super::context::ClaimAt;
use super::findings::Spot;
use super::series::MeasurementAt;
use crate::book::{Basis, Standing, Value};
use crate::quantity::{Quantity, Written};

/// A part of a statement that a finding can stand on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StatementPart {
    /// All of it.
    Whole,
    /// The value or mean.
    Mean,
    /// The standard deviation.
    Sd,
    /// The number of results.
    N,
    /// The least result.
    Least,
    /// Single results.
    Samples,
    /// One of [`Statement::samples`].
    Sample(usize),
    /// Any other field, by its name in a claim or measurement.
    Field(&'static str),
    /// A field that a series states once for all its measurements.
    Origin(&'static str),
}

/// A claim of a subject or a measurement of a series.
pub struct Statement<'a> {
    claim: Option<&'a ClaimAt<'a>>,
    measurement: Option<&'a MeasurementAt<'a>>,
    /// The property or the measured quantity.
    pub word: &'a str,
    /// The value or mean, when one is stated.
    pub mean: Option<Written>,
    /// Sample standard deviation.
    pub sd: Option<Written>,
    /// Number of specimens; `None` too when n counts something else (materials, sources).
    pub n: Option<u32>,
    /// Least single result.
    pub least: Option<Written>,
    /// Greatest single result.
    pub most: Option<Written>,
    /// Single results that are failures.
    pub samples: Vec<Written>,
    /// Their places in the file.
    places: Vec<usize>,
    /// Divisor of the standard deviation as stated.
    pub sd_kind: Option<&'a str>,
    /// Whether the spread is one of specimens.
    pub of_specimens: bool,
    /// Whether any kind of spread is stated.
    pub has_spread: bool,
    /// Whether the value comes from a test.
    pub tested: bool,
    /// Whether the test is one's own.
    pub own: bool,
    /// Whether it may be used.
    pub in_use: bool,
    /// Whether it was withdrawn.
    pub withdrawn: bool,
    /// Why it is disputed.
    pub because: Option<&'a str>,
    /// Source id.
    pub source: Option<&'a str>,
    /// Place in the source.
    pub locator: Option<&'a str>,
    /// How it was read.
    pub read: Option<&'a str>,
    /// What the source prints.
    pub as_printed: Option<&'a str>,
    /// Whether its table is untraced.
    pub untraced: bool,
    /// Whether a note stands with it.
    pub noted: bool,
}

impl<'a> Statement<'a> {
    /// A claim.
    pub fn of_claim(at: &'a ClaimAt<'a>) -> Self {
        let c = at.claim;
        let of_specimens = matches!(c.spread_of.as_deref(), None | Some("specimens"));
        let ends = c.range.as_deref() == Some("specimens");
        let (mean, samples) = match &c.value {
            Value::One(w) => (Some(w.clone()), Vec::new()),
            Value::Samples(all) => (None, all.clone()),
            _ => (None, Vec::new()),
        };
        Statement {
            claim: Some(at),
            measurement: None,
            word: at.word,
            mean,
            has_spread: c.sd.is_some() || c.se.is_some() || c.u.is_some() || c.range.is_some() || !samples.is_empty(),
            sd: c.sd.clone(),
            n: c.n.filter(|_| of_specimens),
            least: c.least.clone().filter(|_| ends),
            most: c.most.clone().filter(|_| ends),
            places: (0..samples.len()).collect(),
            samples,
            sd_kind: c.sd_kind.as_deref(),
            of_specimens,
            tested: at.tested(),
            own: at.own,
            in_use: at.in_use(),
            withdrawn: c.standing == Standing::Withdrawn,
            because: c.because.as_deref(),
            source: c.source.as_deref(),
            locator: c.locator.as_deref(),
            read: c.read.as_deref(),
            as_printed: c.as_printed.as_deref(),
            untraced: c.untraced,
            noted: c.note.is_some() || c.conditions.iter().any(|c| &*c.name == "note"),
        }
    }
    /// A measurement.
    pub fn of_measurement(m: &'a MeasurementAt<'a>) -> Self {
        let (says, series, common) = (m.says, m.series.says, m.series.record.common());
        let spread = [&says.sd, &says.min, &says.max].into_iter().any(Option::is_some);
        let failures = m.specimens.iter().zip(&m.places).filter(|(s, _)| !s.censored);
        let (samples, places) = failures.map(|(s, place)| (s.value.clone(), *place)).unzip();
        Statement {
            claim: None,
            measurement: Some(m),
            word: m.quantity,
            mean: m.mean.clone(),
            sd: m.sd.clone(),
            n: m.n,
            least: m.least.clone(),
            most: m.most.clone(),
            samples,
            places,
            sd_kind: says.sd_kind.as_deref(),
            of_specimens: true,
            has_spread: spread || says.cv.is_some() || !m.specimens.is_empty() || says.range.is_some(),
            tested: matches!(m.basis(), Some(Basis::Measured | Basis::Invented)),
            own: m.series.own,
            in_use: m.in_use,
            withdrawn: says.standing.or(series.standing) == Some(Standing::Withdrawn),
            because: says.because.as_deref().or(series.because.as_deref()),
            source: common.source.as_deref(),
            locator: common.locator.as_deref(),
            read: series.read.as_deref(),
            as_printed: says.as_printed.as_deref(),
            untraced: series.untraced,
            noted: says.note.is_some() || m.specimens.iter().any(|s| s.note.is_some()),
        }
    }
    /// A part as a place.
    pub fn spot(&self, part: StatementPart) -> Spot {
        match (self.claim, self.measurement) {
            (Some(c), _) => c.spot(match part {
                StatementPart::Sample(at) => return c.spot(&format!("samples/{at}")),
                StatementPart::Whole => "",
                StatementPart::Mean => "value",
                StatementPart::Sd => "sd",
                StatementPart::N => "n",
                StatementPart::Least => "low",
                StatementPart::Samples => "samples",
                StatementPart::Field(name) | StatementPart::Origin(name) => name,
            }),
            (_, Some(m)) => match part {
                StatementPart::Whole => m.spot(""),
                StatementPart::Mean => m.spot("mean"),
                StatementPart::Sd => m.spot("sd"),
                StatementPart::N => m.spot("n"),
                StatementPart::Least => m.spot("min"),
                StatementPart::Samples => m.spot("specimens"),
                StatementPart::Sample(at) => match self.places.get(at) {
                    Some(place) => m.spot(&format!("specimens/{place}/value")),
                    None => m.spot("specimens"),
                },
                StatementPart::Field(name) => m.spot(name),
                StatementPart::Origin(name) => m.series.spot(&format!("/{name}")),
            },
            (None, None) => Spot { pointer: String::new(), line: None, subject: String::new(), at: Vec::new() },
        }
    }
    /// Whether it is a measurement of a joint.
    pub fn is_joint(&self) -> bool {
        self.measurement.is_some()
    }
    /// The measurement, if it is one.
    pub fn measurement(&self) -> Option<&'a MeasurementAt<'a>> {
        self.measurement
    }
    /// The claim, if it is one.
    pub fn claim(&self) -> Option<&'a ClaimAt<'a>> {
        self.claim
    }
    /// Whether it is the first measurement of its series, on which findings about the series as a whole stand once.
    pub fn is_first(&self) -> bool {
        self.measurement.is_none_or(|m| m.index == 0)
    }
    /// The quantity it measures.
    pub fn quantity(&self) -> Option<Quantity> {
        let any = self.mean.as_ref().or(self.least.as_ref()).or(self.samples.first());
        any.map(Written::quantity)
    }
    /// The standard deviation with divisor n - 1 in SI, with half a unit of its last digit.
    pub fn sample_sd(&self) -> Option<(f64, f64)> {
        let sd = self.sd.as_ref().filter(|_| self.of_specimens)?;
        let n = f64::from(self.n.filter(|n| *n >= 2)?);
        let scale = if self.sd_kind == Some("n") { libm::sqrt(n / (n - 1.0)) } else { 1.0 };
        Some((sd.si * scale, half_step(sd) * scale))
    }
}

/// Half a unit of the last written digit, in SI.
pub fn half_step(written: &Written) -> f64 {
    0.5 * written.resolution() * written.unit.unit().size()
}
