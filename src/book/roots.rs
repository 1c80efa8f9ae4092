//! Which packs a run uses: the built-in one, those named, the one stood in.

use super::files::{PACK_FILE, PackRoot};
use crate::finding::{Finding, Severity};
use std::path::{Path, PathBuf};

/// What was asked for, and where one stands. Filled by the command, so that loading depends on arguments only.
#[derive(Debug, Clone, Default)]
pub struct WantedPacks {
    /// Values of `--pack`: `demo` or a folder.
    pub packs: Vec<String>,
    /// The current folder.
    pub here: PathBuf,
    /// The home folder: the search for a pack one stands in ends there.
    pub home: Option<PathBuf>,
}

impl WantedPacks {
    /// The packs of the run: built-in first, then those named, in the order of the arguments, then the one stood in.
    ///
    /// # Errors
    /// `pack-missing` when a named folder holds no `pack.yaml`.
    pub fn roots(&self) -> Result<Vec<PackRoot>, Box<Finding>> {
        let mut roots = vec![PackRoot::BuiltIn];
        let mut seen: Vec<PathBuf> = Vec::new();
        for name in &self.packs {
            if name == "demo" {
                if !roots.contains(&PackRoot::Demo) {
                    roots.push(PackRoot::Demo);
                }
                continue;
            }
            let full = self.here.join(name);
            if holds_no_pack(&full) {
                let message = format!("`{name}` is not a pack: it has no {PACK_FILE}");
                let found = Finding::new("pack-missing", Severity::Error, name, message);
                return Err(Box::new(found.help("name `demo` or a folder that holds a pack.yaml")));
            }
            if !seen_before(&mut seen, &full) {
                roots.push(PackRoot::Folder { path: PathBuf::from(name), stood_in: false });
            }
        }
        if let Some(path) = standing_in(&self.here, self.home.as_deref())
            && !seen_before(&mut seen, &path)
        {
            roots.push(PackRoot::Folder { path, stood_in: true });
        }
        Ok(roots)
    }
}

fn seen_before(seen: &mut Vec<PathBuf>, path: &Path) -> bool {
    let full = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let before = seen.contains(&full);
    if !before {
        seen.push(full);
    }
    before
}

/// Whether it is certain that a folder holds no `pack.yaml`. What else may be wrong is told when it is loaded.
pub fn holds_no_pack(folder: &Path) -> bool {
    use std::io::ErrorKind::{NotADirectory, NotFound};
    match std::fs::metadata(folder.join(PACK_FILE)) {
        Ok(metadata) => !metadata.is_file(),
        Err(error) => matches!(error.kind(), NotFound | NotADirectory),
    }
}

/// Whether a folder holds a `pack.yaml`. One that the disk cannot show counts too: to take the folder for no pack would give
/// an answer without its records, while loading it tells what is wrong.
fn holds_pack(folder: &Path) -> bool {
    use std::io::ErrorKind::{NotADirectory, NotFound, PermissionDenied};
    match std::fs::metadata(folder.join(PACK_FILE)) {
        Ok(metadata) => metadata.is_file(),
        Err(error) => !matches!(error.kind(), NotFound | NotADirectory | PermissionDenied),
    }
}

/// The nearest folder upwards with a `pack.yaml`; the search ends at the home folder and at a folder with `.git`.
pub fn standing_in(here: &Path, home: Option<&Path>) -> Option<PathBuf> {
    for folder in here.ancestors() {
        if holds_pack(folder) {
            return Some(folder.to_path_buf());
        }
        if Some(folder) == home || folder.join(".git").exists() {
            return None;
        }
    }
    None
}
