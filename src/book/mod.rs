//! What is known? Loaded packs: records, claims, sources, references.
//!
//! A record that does not pass `check` is left out and listed in [`Book::left_out`]; nothing else is ever dropped.

pub mod best;
pub mod choose;
mod cite;
mod claim;
pub mod codec;
mod collection;
pub mod disagree;
pub mod files;
mod from_tree;
pub mod gaps;
mod key;
pub mod kinds;
mod lazy;
mod load;
mod lost;
pub mod memory;
mod pack;
mod reading;
mod record;
pub mod references;
mod resolve;
mod roots;
pub mod sought;
pub mod view;

pub use claim::{Basis, Claim, ClaimCondition, ConditionValue, Correction, Standing, Value};
pub use collection::Book;
pub use files::{PACK_FILE, PackRoot};
pub use from_tree::json;
pub use key::claim_key;
pub use lost::{Citation, Loss};
pub use pack::{Count, Manifest, Pack};
pub use record::{Head, Property, Record, RecordId};
pub use references::Reference;
pub use resolve::{Miss, plain};
pub use roots::{WantedPacks, holds_no_pack, standing_in};
