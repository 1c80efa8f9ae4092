//! What is written, and where?
//!
//! A record file becomes a tree in which every key and value knows its place in the file. While the
//! tree is built, the record profile is enforced: everything that two YAML readers could take for
//! two different things is a fault with line and column. Nothing is ever guessed or repaired.
//!
//! Not here: which keys a record may have, and what a quantity means. That is the stage `check`.

#[cfg(feature = "large-packs")]
pub mod atomic;
mod build;
pub mod characters;

pub mod file;
pub mod folder;
pub mod kept;
mod quick;
mod scalar;
pub mod source;
pub mod tree;

use crate::finding::Span;

use source::Source;
use tree::Node;

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

/// A parsed file: the text, its tree (when the YAML could be read to its end) and every fault.
#[derive(Debug)]
pub struct Reading {
    /// The text with its line table.
    pub source: Source,
    /// The map at the top; absent when a fault ended the reading early.
    pub tree: Option<Node>,
    /// All faults, in order of place.
    pub faults: Vec<Fault>,
}

/// Reads the bytes of one record file.
///
/// Never panics and never takes more than time and memory in proportion to the input; input above
/// [`FILE_LIMIT`] is refused unread.
#[must_use]
pub fn read(bytes: &[u8]) -> Reading {
    if bytes.len() as u64 > FILE_LIMIT {
        return Reading { source: Source::empty(), tree: None, faults: vec![file::too_large(bytes.len() as u64)] };
    }
    match Source::from_bytes(bytes) {
        Ok(source) => {
            let mut faults = characters::faults(&source);
            if let Some(tree) = faults.is_empty().then(|| quick::build(&source)).flatten() {
                return Reading { source, tree: Some(tree), faults };
            }
            let tree = build::build(&source, &mut faults);
            faults.sort_by(|a, b| (a.span.start, a.name).cmp(&(b.span.start, b.name)));
            faults.dedup();
            Reading { source, tree, faults }
        }
        Err(fault) => Reading { source: Source::empty(), tree: None, faults: vec![fault] },
    }
}
