//! What the surroundings are: read once, at the rim, and handed in.

use super::clock;
use super::options::When;
use gripbook::index::Begun;
use gripbook::plugins::Registry;
use gripbook::present::writer;
use std::env;
use std::path::PathBuf;

/// The surroundings of a run.
#[derive(Clone)]
pub struct Context {
    /// What is plugged in.
    pub registry: Registry,
    /// The command line as typed, quoted for a shell.
    pub command_line: String,
    /// When the run began.
    pub begun: Begun,
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
    /// Whether standard output is a terminal that may be coloured.
    pub colourful: bool,
}

/// Columns of text that no terminal shows: the same on every machine.
const WIDTH_OF_FILES: usize = 100;
/// Columns of a terminal that does not say how many it has.
const WIDTH_OF_TERMINALS: usize = 80;
/// Lines longer than this nobody reads well.
const WIDEST: usize = 120;

impl Context {
    /// Reads the surroundings.
    pub fn read(registry: Registry) -> Self {
        let terminal = writer::to_terminal();
        let columns = env::var("COLUMNS").ok().and_then(|c| c.parse::<usize>().ok()).filter(|c| (20..=400).contains(c));
        let own = if terminal { writer::columns().unwrap_or(WIDTH_OF_TERMINALS) } else { WIDTH_OF_FILES };
        let plain = env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty()) || env::var_os("TERM").is_none_or(|t| t == "dumb");
        Context {
            registry,
            begun: Begun { at: clock::nanoseconds(), process: std::process::id() },
            command_line: env::args_os()
                .map(|a| quoted(&a.to_string_lossy()))
                .skip(1)
                .fold("gripbook".to_string(), |l, a| l + " " + &a),
            folder: env::current_dir().unwrap_or_else(|_| PathBuf::from(".")),
            home: etcetera::home_dir().ok(),
            cache: cache_folder(),
            force: false,
            width: columns.unwrap_or(own).min(WIDEST),
            colourful: terminal && !plain,
        }
    }
    /// Whether to colour.
    pub fn colour(&self, when: When) -> bool {
        match when {
            When::Always => true,
            When::Never => false,
            When::Auto => self.colourful,
        }
    }
}

/// `GRIPBOOK_CACHE`, else the platform's cache folder.
fn cache_folder() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    if let Some(folder) = env::var_os("GRIPBOOK_CACHE") {
        return (!folder.is_empty()).then(|| PathBuf::from(folder));
    }
    // HOME unset means no cache, even where the platform would guess one.
    env::var_os("HOME").filter(|h| !h.is_empty())?;
    etcetera::choose_base_strategy().ok().map(|s| s.cache_dir().join("gripbook"))
}

/// A word as a shell would need it.
pub(super) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:=,+%@#".contains(c) || (c as u32) > 0x7F;
    if !word.is_empty() && word.chars().all(plain) { word.to_string() } else { format!("'{}'", word.replace('\'', "'\\''")) }
}
