//! Where is it, fast?
//!
//! One matcher decides what a record is worth to a query ([`matching`]); the cache only spares reading and looking at
//! records that cannot match. So an answer has the same bytes with a fresh index, an old one or none.
//!
//! The score of a record depends on that record and the query alone, never on what else is loaded: adding the demo
//! pack or one's own changes no other record's score.

mod ask;
mod cache;
mod disk;
mod keep;
mod large;
pub mod matching;
pub mod query;
pub mod search;
mod snapshot;
pub mod words;

pub use cache::{Cache, Damaged, Wants};
pub use matching::{Hit, Match, MatchedBy};
pub use query::{Comparison, Query, Sort, WrongQuery};
pub use search::{Found, search};
