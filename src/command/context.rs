//! What the surroundings are: read once, at the rim, and handed in.

use gripbook::book::{Book, PACK_FILE};
#[cfg(feature = "large-packs")]
use gripbook::index::Begun;
use gripbook::plugins::Registry;
use std::path::{Component, Path, PathBuf};
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

impl Context {
    /// Takes what is no longer needed. A program that ends with its answer gives nothing back piece by piece: it all goes with
    /// the process, at once. Where questions follow, in a page, it is dropped.
    pub fn leave<T>(&self, what: T) {
        match self.book {
            Some(_) => drop(what),
            None => std::mem::forget(what),
        }
    }
    /// A path as the user would type it: relative where it lies below, or in the pack stood in; else as it is.
    pub fn way_from_here(&self, path: &Path) -> PathBuf {
        let resolved = std::fs::canonicalize(&self.folder).unwrap_or_else(|_| self.folder.clone());
        from(&self.folder, path).or_else(|| from(&resolved, path)).unwrap_or_else(|| path.to_owned())
    }
    /// As [`Context::way_from_here`], for a sentence.
    pub fn shown(&self, path: &Path) -> String {
        gripbook::check::packs::shown(&self.way_from_here(path))
    }
}

/// A path relative to a folder, through folders above it up to the pack that both are in.
fn from(here: &Path, path: &Path) -> Option<PathBuf> {
    for (above, folder) in here.ancestors().enumerate() {
        let Ok(below) = path.strip_prefix(folder) else { continue };
        let is_near = above == 0 || below.as_os_str().is_empty() || folder.join(PACK_FILE).is_file();
        let up = std::iter::repeat_n(Component::ParentDir, above);
        let way: PathBuf = up.chain(below.components()).collect();
        return is_near.then(|| if way.as_os_str().is_empty() { PathBuf::from(".") } else { way });
    }
    None
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
