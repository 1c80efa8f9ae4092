//! The spread of one's own earlier series: same quantity, method, failure mode and rig.

use super::record::{Measurement, Series};
use super::specimen::{FactorLevel, Sample, batches, groups};
use crate::book::{Basis, Book};
use crate::statistics::bound::{PooledSpread, pooled_spread};
use crate::statistics::refusal::Refusal;

/// A pooled spread with the series it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// The spread.
    pub spread: PooledSpread,
    /// The series, this one among them.
    pub from: Vec<String>,
}

/// The one failure mode of a sample; `None` when it has several or none is stated.
pub fn one_mode(sample: &Sample) -> Option<&str> {
    let mut modes = sample.specimens.iter().filter(|s| !s.censored).map(|s| s.mode.as_deref());
    let first = modes.next()??;
    (first != "unknown" && modes.all(|m| m == Some(first))).then_some(first)
}

/// Pools the spread within batches over the series that are like this one.
///
/// # Errors
/// Too few degrees of freedom, or spreads that differ.
pub fn earlier(book: &Book, series: &Series, measured: &Measurement) -> Result<Option<Earlier>, Refusal> {
    let Some(sample) = &measured.sample else { return Ok(None) };
    let (Some(mode), Some(rig), Some(method)) = (one_mode(sample), &series.test.rig, &series.joint.method) else {
        return Ok(None);
    };
    let mut lists: Vec<Vec<f64>> = Vec::new();
    let mut from = Vec::new();
    for other in book.of_kind("series").filter_map(super::record::series) {
        let own = other.source.as_deref().is_some_and(|s| book.own_campaign(s));
        let same_world = other.invented() == series.invented();
        let basis = matches!(other.basis, Some(Basis::Measured | Basis::Invented));
        let alike = other.test.rig.as_ref() == Some(rig) && other.joint.method.as_ref() == Some(method);
        if !(own && same_world && basis && alike && other.usable()) {
            continue;
        }
        let before = lists.len();
        for m in other.measurements.iter().filter(|m| m.word == measured.word) {
            // Specimens that held would make the spread of the others look too small.
            let complete = |s: &&Sample| s.specimens.iter().all(|x| !x.censored);
            if let Some(s) = m.sample.as_ref().filter(|s| one_mode(s) == Some(mode)).filter(complete) {
                lists.extend(within(s));
            }
        }
        if lists.len() > before {
            from.push(other.id.clone());
        }
    }
    if from.len() < 2 {
        return Ok(None);
    }
    let views: Vec<&[f64]> = lists.iter().map(Vec::as_slice).collect();
    pooled_spread(&views).map(|spread| Some(Earlier { spread, from }))
}

fn within(sample: &Sample) -> Vec<Vec<f64>> {
    let groups = batches(sample).map_or_else(|| groups(sample, FactorLevel::Batch), |(_, groups)| groups);
    groups.into_iter().map(|g| g.failures).filter(|f| f.len() > 1).collect()
}
