//! What the surroundings are: read once, at the rim, and handed in.

use gripbook::book::Book;
#[cfg(feature = "large-packs")]
use gripbook::index::Begun;
use gripbook::plugins::Registry;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// Results of a run that are handed on: name and bytes of each file.
pub type Handed = Arc<Mutex<Vec<(PathBuf, Vec<u8>)>>>;

/// The surroundings of a run.
#[derive(Clone)]
pub struct Context {
    /// What is plugged in.
    pub registry: Registry,
    /// The command line as typed, quoted for a shell.
    pub command_line: String,
    /// Today in UTC, `YYYY-MM-DD`.
    pub today: String,
    /// When the run began.
    #[cfg(feature = "large-packs")]
    pub begun: Begun,
    /// The packs, where they are loaded already and none is read again.
    pub book: Option<Arc<Book>>,
    /// Where results go instead of to the disk.
    pub handed: Option<Handed>,
    /// Where the user stands.
    pub folder: PathBuf,
    /// The user's home folder, if known.
    pub home: Option<PathBuf>,
    /// Where indexes may be kept, if anywhere.
    pub cache: Option<PathBuf>,
    /// Whether files of others may be replaced.
    pub force: bool,
    /// Columns of text.
    pub width: usize,
}

/// A command line as a shell would take it, from the words behind the program's name.
pub fn command_line(words: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    words.into_iter().fold("gripbook".to_string(), |line, word| line + " " + &quoted(word.as_ref()))
}

/// A word as a shell would need it.
pub(super) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:=,+%@#".contains(c) || (c as u32) > 0x7F;
    if !word.is_empty() && word.chars().all(plain) { word.to_string() } else { format!("'{}'", word.replace('\'', "'\\''")) }
}
