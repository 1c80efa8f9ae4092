//! The folder in which what is remembered of one pack is kept, and what holds for all of them in a run.

use super::large;
use crate::read::atomic::{self, Lasts};
use std::io;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

/// Name of the file that holds what is remembered of the files of a pack.
pub const SNAPSHOT: &str = "snapshot";
/// Name of the file that holds what `check` found.
pub const FINDINGS: &str = "findings";

/// What a run wants of large packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wants {
    /// Every record in the book.
    Everything,
    /// Records of large packs stay in their index; [`super::Cache::search`] asks it.
    Search,
}

/// What holds for all packs of a run.
#[derive(Debug)]
pub struct Run {
    /// What it wants of large packs.
    pub wants: Wants,
    /// Packs with this many records or more get an index.
    pub large: usize,
    /// Records of a large pack that may stay beside its index.
    pub beside: usize,
    /// When it began to look at files, in nanoseconds since 1970.
    pub began: i64,
    /// Whether something could not be written.
    pub unwritable: AtomicBool,
}

/// The folder of a pack.
#[derive(Debug)]
pub struct PackFolder<'r> {
    /// The run it is used in.
    pub run: &'r Run,
    /// Where it is.
    pub path: PathBuf,
    /// What must be equal for the snapshot to serve.
    pub key: [u8; 32],
}

impl PackFolder<'_> {
    /// Puts a file into it.
    ///
    /// # Errors
    /// What the file system says.
    pub fn put(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        atomic::replace(&self.path.join(name), bytes, Lasts::Run)
    }
    /// Notes that something could not be written. Another process that writes at this moment is no reason for a notice.
    pub fn could_not_write(&self) {
        self.run.unwritable.fetch_or(!large::is_busy(&self.path), Ordering::Relaxed);
    }
}
