//! Values of like things: the same property of the same family, the same quantity of the same kind of test.

use super::series::SeriesAt;
use crate::book::{Book, Claim, Record};
use crate::statistics::summary::median;
use std::collections::HashMap;

/// A value among its peers.
#[derive(Debug, Clone, Copy)]
pub struct Peer<'a> {
    /// The value in SI.
    pub si: f64,
    /// The record that states it.
    pub record: &'a Record,
    /// The source of the value.
    pub source: Option<&'a str>,
    /// Address of the claim in memory; a claim is no peer of itself.
    key: usize,
}

/// All peers of a book.
#[derive(Debug, Default)]
pub struct Peers<'a> {
    groups: HashMap<String, Vec<Peer<'a>>>,
}

/// Middle and spread of a group of peers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typical {
    /// How many.
    pub count: usize,
    /// Their median in SI.
    pub median: f64,
    /// Robust standard deviation of their logarithms (1.4826 times the median absolute deviation).
    pub log_spread: f64,
}

/// Fewer peers say nothing.
pub const FEWEST: usize = 5;
/// Peers that agree better than this do not make the next value suspect.
const LEAST_LOG_SPREAD: f64 = 0.05;

impl<'a> Peers<'a> {
    /// Gathers claims in standing that state one quantity, and measurements in standing.
    pub fn of(book: &'a Book) -> Self {
        let mut groups: HashMap<String, Vec<Peer<'a>>> = HashMap::new();
        for record in book.records().iter().filter(|r| r.current) {
            for property in &record.properties {
                for claim in property.claims.iter().filter(|c| c.in_use() && c.bound.is_none()) {
                    if let Some(si) = claim.value.middle_si() {
                        let peer = Peer { si, record, source: claim.source.as_deref(), key: std::ptr::from_ref(claim).addr() };
                        groups.entry(group(record, &property.word, claim)).or_default().push(peer);
                    }
                }
            }
            for m in SeriesAt::of(record, book).into_iter().flat_map(SeriesAt::measurements).filter(|m| m.in_use) {
                if let Some(mean) = &m.mean {
                    let source = record.common().source.as_deref();
                    let peer = Peer { si: mean.si, record, source, key: std::ptr::from_ref(m.says).addr() };
                    groups.entry(test_group(&m.series, m.quantity)).or_default().push(peer);
                }
            }
        }
        Peers { groups }
    }
    /// The peers of a claim, itself left out.
    pub fn of_claim(&self, record: &Record, word: &str, claim: &Claim) -> Vec<Peer<'a>> {
        self.others(&group(record, word, claim), std::ptr::from_ref(claim).addr())
    }
    /// The peers of a measurement, itself left out.
    pub fn of_measurement(&self, m: &super::series::MeasurementAt<'_>) -> Vec<Peer<'a>> {
        self.others(&test_group(&m.series, m.quantity), std::ptr::from_ref(m.says).addr())
    }
    fn others(&self, group: &str, key: usize) -> Vec<Peer<'a>> {
        self.groups.get(group).into_iter().flatten().filter(|p| p.key != key).copied().collect()
    }
    /// Middle and spread of positive values; `None` below [`FEWEST`].
    pub fn typical(peers: &[Peer<'_>]) -> Option<Typical> {
        let values: Vec<f64> = peers.iter().map(|p| p.si).filter(|v| *v > 0.0).collect();
        (values.len() >= FEWEST).then_some(())?;
        let logs: Vec<f64> = values.iter().map(|v| libm::log(*v)).collect();
        let centre = median(&logs).ok()?;
        let apart: Vec<f64> = logs.iter().map(|l| (l - centre).abs()).collect();
        let spread = 1.4826 * median(&apart).ok()?;
        Some(Typical { count: values.len(), median: libm::exp(centre), log_spread: spread.max(LEAST_LOG_SPREAD) })
    }
}

/// Like with like: kind, property, family, state, wavelength, composition, notch, and whether invented or real.
fn group(record: &Record, word: &str, claim: &Claim) -> String {
    let text = |name: &str| claim.condition(name).map(|c| c.text()).unwrap_or_default();
    let notch = text("notched");
    let state = ["state", "wavelength", "composition"].map(text).join("/");
    let invented = claim.basis == crate::book::Basis::Invented;
    format!("{}/{word}/{}/{state}/{notch}/{invented}", record.id.kind(), record.family)
}

fn test_group(series: &SeriesAt<'_>, quantity: &str) -> String {
    let invented = series.record.is_invented();
    format!("series/{}/{quantity}/{invented}", series.says.joint.test.as_deref().unwrap_or_default())
}
