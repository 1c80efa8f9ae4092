//! The index folders of a large pack: opening, changing, sweeping.

use super::disk::Disk;
use super::snapshot::IndexState;
use crate::read::folder::Stamp;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

/// Name of the file whose lock says that somebody writes.
const LOCK: &str = "lock";

/// An open index.
#[derive(Debug)]
pub struct OpenIndex {
    /// The index.
    pub disk: Arc<Disk>,
    /// What the snapshot says of it.
    pub state: IndexState,
}

/// Opens the index a snapshot belongs to; `None` when its files are not those of its last commit.
pub fn open(folder: &Path, state: &IndexState) -> Option<OpenIndex> {
    let place = folder.join(&state.folder);
    (files(&place) == state.files).then_some(())?;
    let disk = Disk::open(&place)?;
    (disk.state()? == state.state).then_some(())?;
    Some(OpenIndex { disk: Arc::new(disk), state: state.clone() })
}

/// The files of an index with their stamps. Names with a dot in front are locks and lists the library keeps for itself.
pub fn files(place: &Path) -> Vec<(String, Stamp)> {
    let entries = std::fs::read_dir(place).into_iter().flatten().flatten();
    let file = |e: std::fs::DirEntry| Some((e.file_name().into_string().ok()?, Stamp::of(&e.metadata().ok()?)));
    let mut all: Vec<_> = entries.filter_map(file).filter(|(name, _)| !name.starts_with('.')).collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}

/// The right to write; `None` when another process has it.
pub fn lock(folder: &Path) -> Option<File> {
    let file = File::options().create(true).append(true).open(folder.join(LOCK)).ok()?;
    file.try_lock().ok()?;
    Some(file)
}

/// Whether another process writes at this moment.
pub fn is_busy(folder: &Path) -> bool {
    File::open(folder.join(LOCK)).is_ok_and(|file| matches!(file.try_lock(), Err(std::fs::TryLockError::WouldBlock)))
}

/// What a snapshot says of an index that was just committed.
pub fn described(folder: &Path, name: &str, state: &str) -> IndexState {
    IndexState { folder: name.into(), state: state.into(), files: files(&folder.join(name)) }
}

/// Removes index folders that no snapshot names any more.
pub fn sweep(folder: &Path, state: &IndexState) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let old = entry.file_name().to_str().is_some_and(|name| name.starts_with("index-") && name != state.folder);
        if old {
            // One that cannot be removed is tried again at the next change.
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}
