//! Does it say one thing?
//!
//! Every record is read, held against the schema of its kind and against the rules no schema can
//! say; references must lead to records that exist. A closed stage: its findings are never waived.
//!
//! Not here: whether a claim is to be believed (audit), and what a record means (book).

pub mod catalogue;
#[cfg(test)]
mod conformance;
mod curves;
mod file_findings;
mod fingerprint;
pub mod ids;
mod instance;
mod limits;
mod memory;
pub mod methods;
mod modules;
mod packfile;
pub mod packs;
mod record;
pub mod rules;
mod run;
pub mod schemas;
mod setup;
mod translate;
pub mod view;

pub use file_findings::{nearest, similar, suggestion};
pub use limits::families_of;
pub use memory::Memory;
pub use packfile::LICENCES;
pub use record::WITHDRAWN_CITED;
pub use run::{CheckReport, CheckRequest, Checked, Checker, Targets, run, run_with};
pub use setup::{schema_findings, schemas_of};
pub use translate::strengths_first;
