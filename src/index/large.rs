//! The index folders of a large pack: opening, changing, sweeping.

use super::disk::{Disk, Put};
use super::snapshot::IndexState;
use crate::book::Record;
use crate::book::files::Stamp;
use crate::check::catalogue::Catalogue;
use rayon::prelude::*;
use std::collections::{BTreeSet, HashMap};
use std::fs::File;
use std::path::Path;
use tantivy::collector::DocSetCollector;
use tantivy::query::TermSetQuery;
use tantivy::{DocAddress, Term};

/// Records put into a new index in one commit, so that its memory stays bounded.
const BATCH: usize = 20_000;
/// Name of the file whose lock says that somebody writes.
const LOCK: &str = "lock";

/// An open index and what in it no longer holds.
pub struct OpenIndex {
    /// The index.
    pub disk: Disk,
    /// Paths whose records are not to be found in it: changed or gone since.
    pub stale: Vec<String>,
    state: IndexState,
}

/// Opens the index a snapshot belongs to; `None` when its files are not those of its last commit.
pub fn open(folder: &Path, state: &IndexState) -> Option<OpenIndex> {
    let place = folder.join(&state.folder);
    (files(&place) == state.files).then_some(())?;
    let disk = Disk::open(&place)?;
    (disk.state()? == state.state).then_some(())?;
    Some(OpenIndex { disk, stale: Vec::new(), state: state.clone() })
}

/// The files of an index with their stamps. Names with a dot in front are locks and lists the library keeps for itself.
fn files(place: &Path) -> Vec<(String, Stamp)> {
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

/// Changes the index, or makes a new one; gives the state to be written into the snapshot. Called under [`lock`].
pub fn update(
    folder: &Path,
    open: Option<&OpenIndex>,
    gone: &[&str],
    put: &[Put<'_>],
    kinds: &Catalogue,
    began: i64,
) -> Option<IndexState> {
    let state = format!("{began}-{}", std::process::id());
    match open {
        Some(open) => {
            // Changed since it was opened: whoever did so knows more than this run.
            (files(&folder.join(&open.state.folder)) == open.state.files).then_some(())?;
            if !(gone.is_empty() && put.is_empty()) {
                open.disk.change(gone, put, kinds, &state)?;
                return Some(described(folder, &open.state.folder, &state));
            }
            Some(open.state.clone())
        }
        None => {
            let name = format!("index-{state}");
            let disk = Disk::create(&folder.join(&name))?;
            for batch in put.chunks(BATCH) {
                disk.change(&[], batch, kinds, &state)?;
            }
            Some(described(folder, &name, &state))
        }
    }
}

fn described(folder: &Path, name: &str, state: &str) -> IndexState {
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

/// Every record of an index, by path. Damaged ones are left out, so that their files are read.
pub fn records(disk: &Disk) -> HashMap<String, Record> {
    let searcher = disk.searcher();
    let segments = searcher.segment_readers().iter().enumerate();
    let all: Vec<DocAddress> = segments
        .flat_map(|(at, segment)| {
            segment.doc_ids_alive().map(move |doc| DocAddress::new(u32::try_from(at).unwrap_or(u32::MAX), doc))
        })
        .collect();
    all.par_iter().filter_map(|at| disk.record(&searcher, *at)).collect()
}

/// Paths of the records that name something `exists` denies.
pub fn naming(disk: &Disk, exists: &dyn Fn(&str) -> bool) -> Vec<String> {
    let Some(named) = disk.named() else { return Vec::new() };
    let lost: Vec<Term> = named.iter().filter(|id| !exists(id)).map(|id| Term::from_field_text(disk.fields.names, id)).collect();
    if lost.is_empty() {
        return Vec::new();
    }
    let searcher = disk.searcher();
    let found = searcher.search(&TermSetQuery::new(lost), &DocSetCollector).unwrap_or_default();
    let paths: BTreeSet<String> = found.into_iter().filter_map(|at| disk.record(&searcher, at)).map(|(path, _)| path).collect();
    paths.into_iter().collect()
}
