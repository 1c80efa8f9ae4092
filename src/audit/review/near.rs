//! Where a value lies among values of like things, as a line of text.

use super::changes::{ReviewedChange, Stated};
use crate::audit::peers::Peers;
use crate::audit::series::SeriesAt;
use crate::book::{Book, Record};
use crate::quantity::{Amount, Quantity};

/// The neighbours of a value.
#[derive(Debug, Clone, PartialEq)]
pub struct Near {
    /// Of what: `pla`, `pull-out tests`.
    pub among: String,
    /// How many, of the same record and of others.
    pub same: usize,
    /// Of other records.
    pub others: usize,
    /// How many of them are smaller than the value.
    pub below: usize,
    /// The picture: `28 MPa |··o··:·x··N··| 72 MPa`.
    pub picture: String,
}

/// Columns between the ends of a picture.
const COLUMNS: usize = 32;
/// Ends further apart than this are drawn on a logarithmic scale.
const FAR: f64 = 20.0;

/// The neighbours of what changed, in the book after the change; `None` for what is no number or has no neighbours.
pub fn near(change: &ReviewedChange, book: &Book, peers: &Peers<'_>) -> Option<Near> {
    let shown = change.new.as_ref().or(change.old.as_ref())?;
    let (si, quantity) = (shown.si?, shown.written.as_ref()?.quantity());
    let record = book.record(&change.record)?;
    let word = change.word.as_deref()?;
    let (among, all) =
        if change.what == "claim" { claims(record, word, change, book, peers)? } else { tests(record, word, book, peers)? };
    if all.is_empty() {
        return None;
    }
    let old = change.old.as_ref().filter(|_| change.new.is_some()).and_then(|old: &Stated| old.si);
    let same = all.iter().filter(|(_, own)| *own).count();
    let below = all.iter().filter(|(value, _)| *value < si).count();
    Some(Near { among, same, others: all.len() - same, below, picture: picture(quantity, si, old, &all) })
}

type Values = Vec<(f64, bool)>;

fn claims(record: &Record, word: &str, change: &ReviewedChange, book: &Book, peers: &Peers<'_>) -> Option<(String, Values)> {
    let claim = record.claims(word).iter().find(|c| record.address(word, c) == change.address);
    // A claim that went has its neighbours all the same.
    let claim = claim.or_else(|| record.claims(word).first())?;
    let is_it = |c: &crate::book::Claim| record.address(word, c) == change.address;
    let own = record.claims(word).iter().filter(|c| c.in_use() && !is_it(c)).filter_map(|c| Some((c.value.middle_si()?, true)));
    let others = peers.of_claim(record, word, claim).into_iter().filter(|p| p.record.id != record.id).map(|p| (p.si, false));
    let family = book.family_chain(&record.family).first().map_or_else(|| record.id.kind().to_owned(), |f| (*f).to_owned());
    Some((family, own.chain(others).collect()))
}

fn tests(record: &Record, word: &str, book: &Book, peers: &Peers<'_>) -> Option<(String, Values)> {
    let series = SeriesAt::of(record, book)?;
    let measurement = series.measurements().into_iter().find(|m| m.quantity == word)?;
    let all = peers.of_measurement(&measurement).into_iter().map(|p| (p.si, p.record.id == record.id)).collect();
    Some((format!("{} tests", series.says.joint.test.as_deref().unwrap_or("other")), all))
}

/// `x` the value before, `N` the one now, `o` the same record, `·` another, `:` several.
fn picture(quantity: Quantity, now: f64, old: Option<f64>, all: &[(f64, bool)]) -> String {
    let values = || all.iter().map(|(v, _)| *v).chain([now]).chain(old);
    let (low, high) = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    let logarithmic = low > 0.0 && high / low > FAR;
    let place = |value: f64| {
        let share = match logarithmic {
            true => libm::log(value / low) / libm::log(high / low),
            false => (value - low) / (high - low),
        };
        let at = libm::round(share.clamp(0.0, 1.0) * (COLUMNS - 1) as f64);
        if at.is_finite() { at as usize } else { 0 }
    };
    let mut cells = [' '; COLUMNS];
    for (value, own) in all {
        let cell = &mut cells[place(*value)];
        *cell = match (*cell, own) {
            (_, true) | ('o', _) => 'o',
            (' ', false) => '·',
            _ => ':',
        };
    }
    if let Some(old) = old {
        cells[place(old)] = 'x';
    }
    cells[place(now)] = 'N';
    let end = |si: f64| Amount::new(quantity, si).text(3);
    let scale = if logarithmic { " log" } else { "" };
    format!("{} |{}| {}{scale}", end(low), cells.iter().collect::<String>(), end(high))
}

#[cfg(test)]
mod tests_of_the_picture {
    use super::*;

    /// Places by hand: 31 steps from the lowest to the highest.
    #[test]
    fn values_stand_where_their_size_puts_them() {
        let all = [(0.0, false), (31e6, false), (10e6, true), (20e6, false), (20e6, false)];
        let drawn = picture(Quantity::Stress, 15e6, Some(5e6), &all);
        let inner = drawn.split('|').nth(1).expect("the inside");
        let at = |place: usize| inner.chars().nth(place);
        assert_eq!(inner.chars().count(), COLUMNS);
        assert_eq!([at(0), at(5), at(10), at(15), at(20), at(31)].map(|c| c.unwrap_or(' ')), ['·', 'x', 'o', 'N', ':', '·']);
        assert!(!drawn.ends_with(" log"));
        assert!(picture(Quantity::Stress, 1e9, None, &[(1e6, false)]).ends_with(" log"));
    }
}
