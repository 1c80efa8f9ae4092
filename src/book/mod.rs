//! What is known? Loaded packs: records, claims, sources, references.
//!
//! A record that does not pass `check` is left out and listed in [`Book::left_out`]; nothing else is ever dropped.

mod claim;
mod record;

pub use claim::{Basis, Claim, Condition, ConditionValue, Correction, Standing, Value};
pub use record::{Property, Record, RecordId};
