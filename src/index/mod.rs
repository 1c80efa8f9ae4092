//! Where is it, fast?
//!
//! One matcher decides what a record is worth to a query ([`matching`]); the cache only spares reading and looking at
//! records that cannot match. So an answer has the same bytes with a fresh index, an old one or none.
//!
//! The score of a record depends on that record and the query alone, never on what else is loaded: adding the demo
//! pack or one's own changes no other record's score.

#[cfg(feature = "large-packs")]
mod ask;
#[cfg(feature = "large-packs")]
mod cache;
#[cfg(feature = "large-packs")]
mod cache_writer;
mod carried;
#[cfg(feature = "large-packs")]
mod disk;
#[cfg(feature = "large-packs")]
mod large;
pub mod matching;
#[cfg(feature = "large-packs")]
mod pack_folder;
pub mod query;
pub mod search;
#[cfg_attr(not(feature = "large-packs"), allow(dead_code, reason = "a page reads snapshots, only a cache renews them"))]
mod snapshot;
pub mod words;

#[cfg(feature = "large-packs")]
pub use cache::{Cache, Damaged};
pub use carried::Carried;
pub use matching::{Hit, Match, MatchedBy};
#[cfg(feature = "large-packs")]
pub use pack_folder::{Begun, Wants};
pub use query::{Operator, Query, Sort, WrongQuery};
pub use search::{Found, search};
