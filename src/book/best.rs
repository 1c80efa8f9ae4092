//! One property of a record at a glance: the value an answer at room temperature rests on, and how far all claims reach.

use super::choose::{Chosen, Subject, UsedClaim, Wanted, choose};
use super::claim::{Basis, Claim, Value};
use super::collection::Book;
use super::record::{Property, Record};
use crate::quantity::{Amount, UnitId, Written};

/// Room temperature in K.
const ROOM: f64 = 296.15;

/// A property at a glance.
#[derive(Debug, Clone, PartialEq)]
pub struct Glance {
    /// The value: as written where one claim is used, the mean of its results, the median where several of one rank are; of a
    /// limit that protects people the least.
    pub best: String,
    /// Its middle in SI, where it is a number.
    pub si: Option<f64>,
    /// How many claims of that rank are used.
    pub used: usize,
    /// Smallest to largest over all claims in use; `None` where they say one and the same.
    pub range: Option<String>,
    /// Claims in use, the disputed and withdrawn ones left out.
    pub claims: usize,
    /// Claims that may not be used.
    pub barred: usize,
    /// Basis of the best value.
    pub basis: Basis,
}

/// The glance at a property; `None` where no claim of it may be used.
pub fn glance(book: &Book, record: &Record, property: &Property) -> Option<Glance> {
    let own = |source: &str| book.own_campaign(source);
    let subject = Subject { invented: record.invented(), own: &own };
    let at_room = Wanted { temperature: Some(ROOM), ..Wanted::default() };
    // A value across the layers is the weakest direction of a print, not what the material is known by.
    let along: Vec<Claim> = property.claims.iter().filter(|c| !across_layers(c)).cloned().collect();
    let claims = if along.iter().any(Claim::in_use) { &along } else { &property.claims };
    let chosen = choose(&property.word, claims, &at_room, subject);
    // Where every claim states another temperature, any of them tells more than nothing.
    let chosen = if chosen.used.is_empty() { choose(&property.word, claims, &Wanted::default(), subject) } else { chosen };
    let first = chosen.used.first()?;
    let in_use: Vec<&Claim> = property.claims.iter().filter(|c| c.in_use()).collect();
    let protects = book.kind_of(record).and_then(|kind| kind.property(&property.word)).is_some_and(|card| card.lowest);
    let least = if protects { least(&in_use) } else { None };
    let (best, si) = least.map_or_else(|| value(&chosen), |claim| (claim.value.text(), claim.value.middle_si()));
    Some(Glance {
        range: range(&in_use).filter(|range| *range != best),
        best,
        si,
        used: if least.is_some() { 1 } else { chosen.used.len() },
        claims: in_use.len(),
        barred: property.claims.len() - in_use.len(),
        basis: least.unwrap_or(first.claim).basis,
    })
}

/// The claim that allows least.
fn least<'c>(claims: &[&'c Claim]) -> Option<&'c Claim> {
    let ends = claims.iter().filter_map(|claim| Some((claim.value.ends()?.0.si, *claim)));
    ends.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, claim)| claim)
}

fn across_layers(claim: &Claim) -> bool {
    let says = |name: &str, words: &[&str]| claim.condition(name).is_some_and(|c| words.contains(&&*c.text()));
    says("orientation", &["z", "upright"]) || says("direction", &["across the layers"])
}

fn value(chosen: &Chosen<'_>) -> (String, Option<f64>) {
    let Some(first) = chosen.used.first() else { return (String::new(), None) };
    // Of results of specimens the mean is told; the range has the least and the largest.
    let is_sample = matches!(&first.claim.value, Value::Samples(all) if all.len() > 1);
    if chosen.used.len() == 1 && first.partner.is_none() && !is_sample {
        return (first.claim.value.text(), first.middle_si());
    }
    let mut middles: Vec<f64> = chosen.used.iter().filter_map(UsedClaim::middle_si).collect();
    if middles.is_empty() {
        let mut words: Vec<String> = chosen.used.iter().map(|u| u.claim.value.text()).collect();
        words.dedup();
        return (words.join(" or "), None);
    }
    middles.sort_by(f64::total_cmp);
    let half = middles.len() / 2;
    let median = if middles.len() % 2 == 1 { middles[half] } else { f64::midpoint(middles[half - 1], middles[half]) };
    let unit = shared_unit(chosen.used.iter().map(|u| u.claim));
    let digits = chosen.used.iter().filter_map(|u| u.claim.value.ends()).map(|(low, _)| low.significant_digits());
    let digits = digits.max().unwrap_or(2).clamp(2, 3);
    (unit.map_or_else(String::new, |unit| Amount { si: median, unit }.text(digits)), Some(median))
}

/// The unit all claims are written in, else the canonical one.
fn shared_unit<'a>(claims: impl Iterator<Item = &'a Claim>) -> Option<UnitId> {
    let units: Vec<UnitId> = claims.filter_map(|c| c.value.ends()).map(|(low, _)| low.unit).collect();
    let first = *units.first()?;
    Some(if units.iter().all(|u| *u == first) { first } else { first.quantity.canonical() })
}

/// From the smallest to the largest value of any claim, spreads of specimens not counted.
fn range(claims: &[&Claim]) -> Option<String> {
    let is_wide = |c: &&Claim| c.least.is_some() || c.most.is_some() || matches!(c.value, Value::Samples(_));
    if claims.len() < 2 && !claims.iter().any(is_wide) {
        return None;
    }
    let stated = |c: &&Claim| -> Vec<Written> {
        let ends = c.value.ends().into_iter().flat_map(|(low, high)| [low.clone(), high.clone()]);
        ends.chain(c.least.clone()).chain(c.most.clone()).collect()
    };
    let all: Vec<Written> =
        claims.iter().filter(|c| !matches!(c.value, Value::YesNo(_) | Value::Word(_))).flat_map(stated).collect();
    let low = all.iter().min_by(|a, b| a.si.total_cmp(&b.si))?;
    let high = all.iter().max_by(|a, b| a.si.total_cmp(&b.si))?;
    if low.si == high.si {
        return None;
    }
    let unit = shared_unit(claims.iter().copied())?;
    let text = |w: &Written| {
        if w.unit == unit { w.text.to_string() } else { Amount { si: w.si, unit }.text(w.significant_digits().clamp(2, 3)) }
    };
    Some(format!("{} to {}", text(low), text(high)))
}
