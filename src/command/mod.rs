//! One thin file per subcommand: arguments in, a stage's answer out.
//!
//! A command reads its arguments, calls stages, and hands an answer back. It neither computes nor prints.

// A page has some of the commands only (`registry::OF_A_PAGE`).
#![cfg_attr(not(feature = "program"), allow(dead_code))]

mod add;
mod amend;
pub mod arguments;
mod audit;
pub mod card;
mod check;
mod choice;
mod class;
mod compare;
pub mod context;
mod edit;
mod editor;
mod examples;
mod export;
mod fasten;
mod find;
mod formula;
mod gaps;
mod headings;
mod import;
pub mod library;
mod lost;
mod mistakes;
mod new;
pub mod options;
pub mod outcome;
#[cfg(feature = "program")]
mod page;
mod plan;
mod plugins;
mod question;
mod recheck;
pub mod refusal;
pub mod registry;
mod review;
pub mod save;
mod series;
#[cfg(feature = "program")]
mod shell;
mod show;
mod suits;
mod thread;
pub mod tidy;
mod trace;
mod waiting;
mod why;

pub use arguments::Arguments;
pub use context::Context;
pub use options::Shared;
pub use outcome::{CommandOutcome, Fault};

#[cfg(test)]
mod tests;
