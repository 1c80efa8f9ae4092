//! What to test next: how many, in which order, with what.

pub mod ladder;
pub mod matrix;
pub mod number;
pub mod order;
