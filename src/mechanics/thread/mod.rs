//! Screw threads: which there are, what their sizes are, what their shear areas are.
//!
//! Basic sizes are computed from diameter and pitch, limits from them and the tolerances of the standards; holes come from
//! stored tables.

pub mod designation;
pub mod limits;
pub mod profile;
pub mod sheet;
pub mod sizes;

pub use designation::{ThreadFault, fastening, parse};
pub use limits::Limits;
pub use sheet::{ThreadQuestion, ThreadSheet, sheet};
pub use sizes::{Thread, all};

use serde::Serialize;

/// How a stored number is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ValueStatus {
    /// Read in a public table that reprints the standard; the standard itself was not opened.
    Read,
    /// Computed by the formulas of the standard, which reproduce public tables of it.
    Computed,
    /// Recalled from the standard, not seen.
    Recalled,
}

#[cfg(test)]
mod tests;
