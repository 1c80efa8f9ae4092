//! What does a change say, among what, and which answers does it move? Two books, the one before and the one after.

mod changes;
mod moves;
mod near;

pub use changes::{ChangeSort, ChangedField, ReviewedChange, Stated, changes};
pub use moves::{Answered, AskedOfBoth, Move, answers, moved};
pub use near::{Near, near};
