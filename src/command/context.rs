//! What the surroundings are: read once, at the rim, and handed in.

use super::clock;
use super::options::When;
use gripbook::book::PACK_FILE;
use gripbook::index::Begun;
use gripbook::plugins::Registry;
use gripbook::present::writer;
use std::env;
use std::path::{Path, PathBuf};

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
    /// A path as the user would type it: relative where it lies below, or in the pack stood in; else as it is.
    pub fn from_here(&self, path: &Path) -> PathBuf {
        let resolved = std::fs::canonicalize(&self.folder).unwrap_or_else(|_| self.folder.clone());
        from(&self.folder, path).or_else(|| from(&resolved, path)).unwrap_or_else(|| path.to_owned())
    }
    /// As [`Context::from_here`], for a sentence.
    pub fn shown(&self, path: &Path) -> String {
        gripbook::check::packs::shown(&self.from_here(path))
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

/// A path relative to a folder, through folders above it up to the pack that both are in.
fn from(here: &Path, path: &Path) -> Option<PathBuf> {
    for (above, folder) in here.ancestors().enumerate() {
        let Ok(below) = path.strip_prefix(folder) else { continue };
        let is_near = above == 0 || below.as_os_str().is_empty() || folder.join(PACK_FILE).is_file();
        let way: PathBuf = std::iter::repeat_n("..", above).collect::<PathBuf>().join(below);
        return is_near.then(|| if way.as_os_str().is_empty() { PathBuf::from(".") } else { way });
    }
    None
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_told_as_the_user_would_type_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let pack = folder.path().join("pack");
        std::fs::create_dir_all(pack.join("series/x")).expect("folders");
        std::fs::write(pack.join(PACK_FILE), "id: p\n").expect("a pack");
        let told = |here: &Path, path: &Path| from(here, path).map(|p| p.to_string_lossy().into_owned());
        assert_eq!(told(&pack, &pack.join("series/a.yaml")).as_deref(), Some("series/a.yaml"));
        assert_eq!(told(&pack.join("series/x"), &pack.join("resins/b.yaml")).as_deref(), Some("../../resins/b.yaml"));
        assert_eq!(told(&pack.join("series"), &pack).as_deref(), Some(".."));
        assert_eq!(told(&pack, &pack).as_deref(), Some("."));
        assert_eq!(told(folder.path(), &pack.join("c")).as_deref(), Some("pack/c"));
        // Beside the pack, and relative already: as it is.
        assert_eq!(told(&pack, &folder.path().join("other/c")), None);
        assert_eq!(told(&pack, Path::new("resins/d.yaml")), None);
    }
}
