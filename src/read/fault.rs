//! What the record profile refuses: its limits, and a fault.

use crate::finding::Span;

/// Largest record file, in bytes. Checked before anything is parsed.
pub const FILE_LIMIT: u64 = 256 * 1024;
/// Deepest nesting of lists and maps; the map at the top counts as 1.
pub const DEPTH_LIMIT: usize = 16;
/// Most keys, values, lists and maps in one file.
pub const NODE_LIMIT: usize = 20_000;
/// Longest single scalar, in bytes.
pub const SCALAR_LIMIT: usize = 64 * 1024;

/// The empty span at the top of a file, for faults of the file as a whole.
pub const TOP: Span = Span { start: 0, end: 0, line: 1, column: 1 };

/// Something the record profile refuses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Name of the rule, in readable words (`key-twice`).
    pub name: &'static str,
    /// Where it stands.
    pub span: Span,
    /// What is wrong, in one sentence without final stop.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
}
