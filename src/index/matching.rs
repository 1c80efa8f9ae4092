//! Whether a record matches a query, how well, and by what.

use super::query::{Operator, PropertyBound, Query, Sort};
use super::words::{self, Field};
use crate::book::{Basis, Claim, Record, RecordId, Value};
use crate::check::catalogue::Catalogue;
use serde::Serialize;
use std::collections::BTreeSet;

/// How a bound was met.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum MatchedBy {
    /// A claim lies wholly on the right side.
    Value,
    /// Only a part of a stated range does.
    Overlap,
}

/// A bound that was met.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Match {
    /// The property.
    pub property: String,
    /// By a value, or by a part of a range.
    pub by: MatchedBy,
    /// The claim that met it, as written.
    pub written: String,
}

/// A record that matches.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit {
    /// Its id.
    pub id: RecordId,
    /// Its name.
    pub name: Box<str>,
    /// Its family; empty for book kinds.
    pub family: Box<str>,
    /// Place of its pack in [`crate::book::Book::packs`].
    pub pack: usize,
    /// Whether all its data are invented.
    pub invented: bool,
    /// Worth of the words found; 0 for a query without words.
    pub score: f32,
    /// The bounds met, in the order of the query.
    pub matched: Vec<Match>,
    /// Value of the property the results are sorted by, in SI, with its text.
    pub sorted_by: Option<SortValue>,
}

/// The value a record is sorted by.
#[derive(Debug, Clone, PartialEq)]
pub struct SortValue {
    /// In SI.
    pub si: f64,
    /// As written.
    pub written: String,
}

/// Judges a record; `None` when it does not match.
pub fn judge(record: &Record, query: &Query, kinds: &Catalogue) -> Option<Hit> {
    (record.current && passes_filters(record, query, kinds)).then_some(())?;
    let score = score(record, &query.words, kinds)?;
    let matched: Option<Vec<Match>> = query.bounds.iter().map(|b| meets(record, b)).collect();
    let sorted_by = match &query.sort {
        Some(Sort::Property(word)) => sort_value(record, word),
        _ => None,
    };
    Some(Hit {
        id: record.id.clone(),
        name: record.name.clone(),
        family: record.family.clone(),
        pack: record.pack,
        invented: record.invented(),
        score,
        matched: matched?,
        sorted_by,
    })
}

fn passes_filters(record: &Record, query: &Query, kinds: &Catalogue) -> bool {
    query.kind.as_deref().is_none_or(|k| record.id.kind() == k)
        && query.family.as_deref().is_none_or(|f| kinds.families.is_within(&record.family, f))
        && query.tag.as_deref().is_none_or(|t| record.tags.iter().any(|own| **own == *t))
        && query.missing.as_deref().is_none_or(|p| lacks(record, p, kinds))
        && (!query.unsourced || unsourced(record))
}

/// Whether the kind has the property and the record states nothing usable about it.
pub fn lacks(record: &Record, property: &str, kinds: &Catalogue) -> bool {
    kinds.property(record.id.kind(), property).is_some() && usable(record, property).next().is_none()
}

/// Whether a usable claim names no source.
pub fn unsourced(record: &Record) -> bool {
    record.properties.iter().flat_map(|p| usable(record, &p.word)).any(|c| c.source.is_none())
}

/// The claims of a property that may be found: in standing, and not invented unless the whole record is.
pub fn usable<'a>(record: &'a Record, property: &str) -> impl Iterator<Item = &'a Claim> {
    let invented = record.invented();
    record.claims(property).iter().filter(move |c| c.in_use() && (invented || c.basis != Basis::Invented))
}

/// Sum over the words of the query of the best place each is found at; `None` when one is not found.
fn score(record: &Record, wanted: &[String], kinds: &Catalogue) -> Option<f32> {
    if wanted.is_empty() {
        return Some(0.0);
    }
    let own = words::of_record(record, kinds);
    let worth = |wanted: &String| {
        let best = own.iter().map(|(field, word): &(Field, String)| field.weight() * words::likeness(wanted, word));
        best.max_by(f32::total_cmp).filter(|w| *w > 0.0)
    };
    let sum: Option<f32> = wanted.iter().map(worth).sum();
    sum.map(|sum| sum + if is_whole_name(record, wanted) { WHOLE } else { 0.0 })
}

/// What it adds when the words of the query are all of a record's short id, name or synonym.
pub const WHOLE: f32 = 16.0;

fn is_whole_name(record: &Record, wanted: &[String]) -> bool {
    whole_names(record).contains(&wanted.join(" "))
}

/// Short id, name and synonyms, each as its words with blanks between.
pub fn whole_names(record: &Record) -> BTreeSet<String> {
    let names = [record.id.name(), &record.name].into_iter().chain(record.also.iter().map(|a| &**a));
    names.map(|name| words::words(name).collect::<Vec<_>>().join(" ")).collect()
}

/// The least and the largest value a claim allows, in SI; infinite where it sets no end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Least value.
    pub low: f64,
    /// Largest value.
    pub high: f64,
}

/// The interval of a claim; `None` for facts and words.
pub fn interval(claim: &Claim) -> Option<Interval> {
    let mut found = match &claim.value {
        Value::One(w) => Interval { low: w.si, high: w.si },
        Value::Between { low, high } => Interval {
            low: low.as_ref().map_or(f64::NEG_INFINITY, |w| w.si),
            high: high.as_ref().map_or(f64::INFINITY, |w| w.si),
        },
        // Of single specimens the mean counts, as it does when a source prints the mean only.
        Value::Samples(_) => claim.value.middle_si().map(|m| Interval { low: m, high: m })?,
        Value::YesNo(_) | Value::Word(_) => return None,
    };
    match claim.bound.as_deref() {
        Some("lower") => found.high = f64::INFINITY,
        Some("upper") => found.low = f64::NEG_INFINITY,
        _ => {}
    }
    Some(found)
}

fn meets(record: &Record, bound: &PropertyBound) -> Option<Match> {
    let met = usable(record, &bound.property).filter_map(|c| Some((meets_claim(c, &bound.comparison)?, c)));
    // The first claim of the better kind, so that the order of the file decides among equals.
    let (by, claim) = met.min_by_key(|(by, _)| *by)?;
    Some(Match { property: bound.property.clone(), by, written: claim.value.text() })
}

fn meets_claim(claim: &Claim, comparison: &Operator) -> Option<MatchedBy> {
    let judged = |whole: fn(f64, f64) -> bool, flip: bool, limit: f64| {
        let Interval { low, high } = interval(claim)?;
        let (worst, best) = if flip { (high, low) } else { (low, high) };
        match (whole(worst, limit), whole(best, limit)) {
            (true, _) => Some(MatchedBy::Value),
            (false, true) => Some(MatchedBy::Overlap),
            (false, false) => None,
        }
    };
    match comparison {
        Operator::Above(w) => judged(|v, l| v > l, false, w.si),
        Operator::AtLeast(w) => judged(|v, l| v >= l, false, w.si),
        Operator::Below(w) => judged(|v, l| v < l, true, w.si),
        Operator::AtMost(w) => judged(|v, l| v <= l, true, w.si),
        Operator::Is(want) => matches!(&claim.value, Value::YesNo(is) if is == want).then_some(MatchedBy::Value),
        Operator::Word(want) => matches!(&claim.value, Value::Word(is) if **is == **want).then_some(MatchedBy::Value),
    }
}

/// The value a record is sorted by: of its usable claims the first of the best basis; the middle of a range, the end of
/// a one-sided one.
pub fn sort_value(record: &Record, property: &str) -> Option<SortValue> {
    let value = |c: &Claim| c.value.middle_si().or_else(|| c.value.ends().map(|(low, _)| low.si));
    let valued = usable(record, property).filter_map(|c| Some((c, value(c)?)));
    let (claim, si) = valued.min_by_key(|(c, _)| c.basis)?;
    Some(SortValue { si, written: claim.value.text() })
}
