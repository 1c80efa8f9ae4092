//! Should I believe it?
//!
//! Audits look at records that `check` has passed and say what is doubtful: provenance, test description, numbers,
//! statistics, physics, conflicts, coverage. The contract of an audit stands here, the audits themselves are plugins.
//! What a reviewer has read and accepted is waived in the record itself, with a reason.
//!
//! Not here: whether a record can be read at all (check), and which claim an answer uses (book).

pub mod address;
pub mod asked;
mod contract;
mod desk;
pub mod gaps;
pub mod ledger;
mod loads;
mod peers;
mod place;
pub mod review;
mod run;
mod scene;
mod series;
pub mod slip;
mod statement;
pub mod waiver;

pub use contract::{Audit, Example, Look, MARK, examples};
pub use desk::{Desk, Spot};
pub use loads::Loads;
pub use peers::{FEWEST, Peer, Peers, Typical};
pub use run::{Report, Request, Waived, condense, run};
pub use scene::{ClaimAt, Scene};
pub use series::{MeasurementAt, SeriesAt};
pub use statement::{Part, Statement, half_step};
