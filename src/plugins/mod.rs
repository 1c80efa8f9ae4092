//! What plugs in? One sorted list per folder; the contracts stand in the stages that use them.

pub mod importers;
pub mod methods;
