//! Where sources disagree about a property.

use super::claim::{Claim, ConditionValue, Value};
use super::record::Record;
use crate::quantity::Quantity;

/// Relative distance below which two values count as agreeing, whatever their stated spread.
const AGREE: f64 = 0.10;
/// As [`AGREE`] for temperatures, in K.
const AGREE_KELVIN: f64 = 5.0;

/// Two claims that contradict each other: different sources, no condition stated differently, ranges of two standard
/// deviations (or as stated) that do not touch.
#[derive(Debug, Clone, PartialEq)]
pub struct Disagreement<'a> {
    /// The property.
    pub property: &'a str,
    /// The claim with the smaller value (or `no`).
    pub low: &'a Claim,
    /// The claim with the larger value (or `yes`).
    pub high: &'a Claim,
}

/// The widest disagreement of each property, in the order of the file.
pub fn disagreements(record: &Record) -> Vec<Disagreement<'_>> {
    record.properties.iter().filter_map(|p| widest(&p.word, &p.claims)).collect()
}

fn widest<'a>(property: &'a str, claims: &'a [Claim]) -> Option<Disagreement<'a>> {
    let mut worst: Option<(f64, Disagreement<'a>)> = None;
    for (at, a) in claims.iter().enumerate() {
        for b in &claims[at + 1..] {
            let Some((apart, low_first)) = contradict(a, b) else { continue };
            if worst.as_ref().is_none_or(|(w, _)| apart > *w) {
                let (low, high) = if low_first { (a, b) } else { (b, a) };
                worst = Some((apart, Disagreement { property, low, high }));
            }
        }
    }
    worst.map(|(_, found)| found)
}

/// How far apart two claims are (distance of their middles) and whether the first is the lower; `None` when they agree
/// or cannot be compared.
fn contradict(a: &Claim, b: &Claim) -> Option<(f64, bool)> {
    (a.in_use() && b.in_use() && a.source != b.source && comparable(a, b)).then_some(())?;
    match (&a.value, &b.value) {
        (Value::YesNo(x), Value::YesNo(y)) => (x != y).then_some((1.0, !*x)),
        (Value::Word(x), Value::Word(y)) => (x != y).then_some((1.0, x < y)),
        _ => {
            let (x, y) = (spread(a)?, spread(b)?);
            let (low, high) = if x.0 <= y.0 { (x, y) } else { (y, x) };
            let (middle_a, middle_b) = ((x.0 + x.1) / 2.0, (y.0 + y.1) / 2.0);
            let near = match a.value.quantity() {
                Some(Quantity::Temperature) => (middle_a - middle_b).abs() <= AGREE_KELVIN,
                _ => (middle_a - middle_b).abs() <= AGREE * middle_a.abs().max(middle_b.abs()),
            };
            (!near && low.1 < high.0).then_some(((middle_a - middle_b).abs(), middle_a <= middle_b))
        }
    }
}

/// Lower and upper end: as stated, or the middle with two standard deviations.
fn spread(claim: &Claim) -> Option<(f64, f64)> {
    // A value that only bounds the property contradicts nothing by being low or high.
    claim.bound.is_none().then_some(())?;
    match &claim.value {
        Value::Between { low: Some(low), high: Some(high) } => Some((low.si, high.si)),
        Value::Samples(_) => claim.value.ends().map(|(low, high)| (low.si, high.si)),
        Value::One(w) => {
            let sd = claim.sd.as_ref().or(claim.u.as_ref()).map_or(0.0, |s| s.si);
            Some((w.si - 2.0 * sd, w.si + 2.0 * sd))
        }
        _ => None,
    }
}

/// Whether no condition is stated differently by the two.
fn comparable(a: &Claim, b: &Claim) -> bool {
    let same = |x: &ConditionValue, y: &ConditionValue| match (x, y) {
        (ConditionValue::Quantity(x), ConditionValue::Quantity(y)) => x.si == y.si,
        _ => x == y,
    };
    let method = a.method.is_none() || b.method.is_none() || a.method == b.method;
    method && a.conditions.iter().all(|c| b.condition(&c.name).is_none_or(|other| same(&c.value, other)))
}
