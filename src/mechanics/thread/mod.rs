//! Screw threads: which there are, what their sizes are, what their shear areas are.
//!
//! Basic sizes are computed from diameter and pitch; limits and holes come from stored tables, because the printed
//! tolerance formulas with their rounding miss the printed tables by up to 12 µm.

pub mod designation;
pub mod limits;
pub mod profile;
pub mod sheet;
pub mod sizes;

pub use designation::{ThreadFault, parse};
pub use limits::Limits;
pub use sheet::{Asked, ThreadSheet, sheet};
pub use sizes::{Thread, all};

use serde::Serialize;

/// How a stored number is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Known {
    /// Read in a public table that reprints the standard; the standard itself was not opened.
    Read,
    /// Recalled from the standard, not seen.
    Recalled,
}

#[cfg(test)]
mod tests;
