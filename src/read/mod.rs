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
pub mod digest;
mod fault;
pub mod file;
pub mod folder;
pub mod kept;
pub mod located;
mod quick;
mod scalar;
pub mod source;
pub mod tree;

pub use fault::{DEPTH_LIMIT, FILE_LIMIT, Fault, NODE_LIMIT, SCALAR_LIMIT, TOP};

use source::Source;
use tree::Node;

/// A parsed file: the text, its tree (when the YAML could be read to its end) and every fault.
#[derive(Debug)]
pub struct ParsedFile {
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
pub fn read(bytes: &[u8]) -> ParsedFile {
    if bytes.len() as u64 > FILE_LIMIT {
        return ParsedFile { source: Source::empty(), tree: None, faults: vec![file::too_large(bytes.len() as u64)] };
    }
    match Source::from_bytes(bytes) {
        Ok(source) => {
            let mut faults = characters::faults(&source);
            if let Some(tree) = faults.is_empty().then(|| quick::build(&source)).flatten() {
                return ParsedFile { source, tree: Some(tree), faults };
            }
            let tree = build::build(&source, &mut faults);
            faults.sort_by(|a, b| (a.span.start, a.name).cmp(&(b.span.start, b.name)));
            faults.dedup();
            ParsedFile { source, tree, faults }
        }
        Err(fault) => ParsedFile { source: Source::empty(), tree: None, faults: vec![fault] },
    }
}
