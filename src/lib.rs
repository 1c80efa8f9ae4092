//! gripbook: screw threads in printed plastic parts, with every number's origin.
//!
//! The order of the modules is the order of the stages; a stage uses earlier ones only.

#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod quantity;

pub mod finding;

pub mod mechanics;

pub mod statistics;

pub mod read;

pub mod check;

pub mod book;

pub mod index;
pub mod suit;

pub mod series;

pub mod joint;

pub mod audit;

#[cfg(feature = "plugins")]
pub mod sandbox;

pub mod plugins;

pub mod ask;

pub mod present;
