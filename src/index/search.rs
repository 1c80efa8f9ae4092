//! Searching a loaded book.

use super::matching::{Hit, judge};
use super::query::{Query, Sort};
use crate::book::Book;
use rayon::prelude::*;
use std::cmp::Ordering;

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// How many records match.
    pub total: usize,
    /// The first of them, in order.
    pub hits: Vec<Hit>,
}

/// Searches the records of a book.
pub fn search(book: &Book, query: &Query) -> Found {
    let mut hits: Vec<Hit> = book.records().into_par_iter().filter_map(|r| judge(r, query, book.catalogue())).collect();
    hits.sort_by(|a, b| order(a, b, query));
    let total = hits.len();
    hits.truncate(query.limit);
    Found { total, hits }
}

/// The order of results: real before invented, then as asked, then by id.
pub fn order(a: &Hit, b: &Hit, query: &Query) -> Ordering {
    let asked = match &query.sort {
        None => b.score.total_cmp(&a.score),
        Some(Sort::Name) => a.name.cmp(&b.name),
        Some(Sort::Property(_)) => {
            let value = |h: &Hit| h.sorted_by.as_ref().map(|v| v.si);
            match (value(a), value(b)) {
                (Some(x), Some(y)) => y.total_cmp(&x),
                // Without the property they stay last when the order is turned round.
                (x, y) => return a.invented.cmp(&b.invented).then(y.is_some().cmp(&x.is_some())).then_with(|| a.id.cmp(&b.id)),
            }
        }
    };
    let asked = if query.reverse { asked.reverse() } else { asked };
    a.invented.cmp(&b.invented).then(asked).then_with(|| a.id.cmp(&b.id))
}
