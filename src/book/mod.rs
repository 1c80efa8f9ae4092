//! What is known? Loaded packs: records, claims, sources, references.
//!
//! A record that does not pass `check` is left out and listed in [`Book::left_out`]; nothing else is ever dropped.

pub mod best;
pub mod choose;
mod cite;
mod claim;
pub mod codec;
pub mod disagree;
pub mod files;
pub mod gaps;
mod key;
pub mod kinds;
mod lazy;
mod load;
pub mod memory;
mod pack;
mod reading;
mod record;
pub mod references;
mod resolve;
mod roots;
mod shape;
pub mod sought;
mod whole;

pub use claim::{Basis, Claim, Condition, ConditionValue, Correction, Standing, Value};
pub use key::{claim_key, hex};
pub use pack::{Count, Manifest, Pack};
pub use record::{Head, Property, Record, RecordId};
pub use resolve::{Miss, plain};
pub use roots::{Asked, PACK_FILE, PackRoot, holds_no_pack, standing_in};
pub use shape::json;
pub use whole::{Book, Reference};
