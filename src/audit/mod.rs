//! Should I believe it?
//!
//! Audits look at records that `check` has passed and say what is doubtful: provenance, test description, numbers,
//! statistics, physics, conflicts, coverage. The contract of an audit stands here, the audits themselves are plugins.
//! What a reviewer has read and accepted is waived in the record itself, with a reason.
//!
//! Not here: whether a record can be read at all (check), and which claim an answer uses (book).

pub mod address;
pub mod asked;
mod context;
mod contract;
mod findings;
pub mod gaps;
pub mod ledger;
mod loads;
mod peers;
mod place;
pub mod review;
mod run;
mod series;
pub mod slip;
mod statement;
pub mod waiver;
pub mod walk;

pub use context::{AuditContext, ClaimAt};
pub use contract::{Audit, Example, Look, MARK, examples};
pub use findings::{AuditFindings, Spot};
pub use loads::Loads;
pub use peers::{FEWEST, Peer, Peers, Typical};
pub use run::{AuditReport, AuditRequest, Waived, condense, run};
pub use series::{MeasurementAt, SeriesAt};
pub use statement::{Statement, StatementPart, half_step};
