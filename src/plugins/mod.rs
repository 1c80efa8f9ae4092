//! What plugs in? One sorted list per folder; the contracts stand in the stages that use them. A test per folder names
//! the line that is missing.

pub mod audits;
pub mod importers;
pub mod methods;
