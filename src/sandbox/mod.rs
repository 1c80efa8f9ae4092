//! What may a stranger's code do? Turn bytes into bytes, within counted limits; it sees nothing of the machine, and nothing it
//! says is taken without being checked. The contract is written down in `schemas/plugin/`.

mod audit;
mod documents;
mod fault;
mod importer;
pub mod limits;
mod module;
mod permit;

pub use audit::AuditPlugin;
pub use fault::SandboxFault;
pub use importer::{ImporterPlugin, STOPPED};
pub use module::{Bytes, Module, Operation, Session};
pub use permit::{NotPermitted, Permit};

/// Version of the contract that this program speaks.
pub const CONTRACT: i32 = 1;

/// A text of a stranger as it may be shown: one line, no control characters, not without end.
fn printable(text: &str) -> String {
    const MOST: usize = 300;
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(MOST).collect();
    if text.chars().nth(MOST).is_some() { format!("{plain}…") } else { plain }
}
