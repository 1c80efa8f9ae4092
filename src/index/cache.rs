//! What earlier runs remember: one folder per pack in the user's cache folder.
//!
//! Everything here may be deleted at any time. What cannot be read or written only costs time.

use super::ask;
use super::cache_writer::Renewal;
use super::disk::LargeShelf;
use super::large;
use super::matching::{Hit, judge};
use super::pack_folder::{Begun, FINDINGS, PackFolder, Run, SNAPSHOT, Wants};
use super::query::Query;
use super::search::{Found, order, search};
use super::snapshot::{FileState, Held, SmallShelf, Snapshot, keeps_kinds, key};
use crate::book::files::{self, FileRole, PackFile};
use crate::book::kinds::SchemasHash;
use crate::book::memory::{Memory, Recalled, Shelf};
use crate::book::{Book, PackRoot, Record, codec};
use crate::check;
use crate::read::atomic::{self, Lasts};
use crate::read::digest::hex;
use crate::read::kept;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Packs with more records than this get an index; of smaller ones the snapshot holds the records.
pub const LARGE: usize = 5_000;
/// Records of a large pack that stay beside its index, in the snapshot, before all of them go into it: a change of the
/// index costs more than a few records do in every search.
const BESIDE: usize = 256;

/// Memory in the user's cache folder.
#[derive(Debug)]
pub struct Cache {
    folder: PathBuf,
    here: PathBuf,
    rehash: bool,
    run: Run,
}

/// The index does not hold what its snapshot says.
#[derive(Debug)]
pub struct Damaged;

impl Cache {
    /// A cache in `folder`. `here` is the folder relative pack paths start from; `rehash` compares every file by content.
    pub fn new(folder: &Path, here: &Path, rehash: bool, begun: Begun) -> Cache {
        Cache {
            folder: folder.into(),
            here: here.into(),
            rehash,
            run: Run { wants: Wants::Everything, large: LARGE, beside: BESIDE, begun, unwritable: AtomicBool::new(false) },
        }
    }
    /// The same cache for a run that only searches.
    pub fn for_search(mut self) -> Cache {
        self.run.wants = Wants::Search;
        self
    }
    /// The same cache with another size from which packs get an index; for tests.
    pub fn large_from(mut self, records: usize) -> Cache {
        self.run.large = records;
        self
    }
    /// The same cache with another number of records that may stay beside an index; for tests.
    pub fn beside_at_most(mut self, records: usize) -> Cache {
        self.run.beside = records;
        self
    }
    /// The same cache as if the run had begun at another time, in nanoseconds since 1970; for tests.
    pub fn begun(mut self, at: i64) -> Cache {
        self.run.begun.at = at;
        self
    }
    /// What the user should know: that nothing can be remembered.
    pub fn notice(&self) -> Option<String> {
        let text = || format!("{} cannot be written, so every run reads all records again", files::shown(&self.folder));
        self.run.unwritable.load(Ordering::Relaxed).then(text)
    }
    /// Searches the book and the indexes of large packs that were opened while it was loaded.
    ///
    /// # Errors
    /// [`Damaged`] when an index cannot be asked; load again without memory, and [`Cache::forget`] it.
    pub fn search(&self, book: &Book, query: &Query) -> Result<Found, Damaged> {
        let mut found = search(book, query);
        for place in 0..book.packs().len() {
            let Some(large) = book.shelf(place).and_then(|shelf| shelf.as_any().downcast_ref::<LargeShelf>()) else { continue };
            if !large.is_asked {
                continue;
            }
            let stale = [&large.stale[..], book.outdated(place)].concat();
            let answer = ask::ask(&large.disk, query, book.catalogue(), &stale).ok_or(Damaged)?;
            found.total += answer.total;
            found.hits.extend(judged(large, &answer, query, book, place)?);
        }
        found.hits.sort_by(|a, b| order(a, b, query));
        found.hits.truncate(query.limit);
        Ok(found)
    }
    /// Throws away what is remembered of the packs of a book.
    pub fn forget(&self, book: &Book) {
        for pack in book.packs() {
            // A snapshot that cannot be removed is as damaged in the next run, which then does without it too.
            let _ = std::fs::remove_file(self.folder_of(&pack.root).join(SNAPSHOT));
        }
    }
    fn is_large(&self, files: &[PackFile]) -> bool {
        files.iter().filter(|file| file.part == FileRole::Record).count() >= self.run.large
    }
    /// The folder of a pack: named by what it is and by the version of the form.
    fn folder_of(&self, root: &PackRoot) -> PathBuf {
        let name = match root {
            PackRoot::BuiltIn => "built-in".to_owned(),
            PackRoot::Demo => "built-in-demo".to_owned(),
            // Nothing is written of it, so the name is never used.
            PackRoot::Given { .. } => "given".to_owned(),
            PackRoot::Folder { path, .. } => {
                let full = self.here.join(path);
                let full = std::fs::canonicalize(&full).unwrap_or(full);
                hex(&Sha256::digest(full.as_os_str().as_encoded_bytes()), 16)
            }
        };
        self.folder.join(format!("{name}-{}", codec::FORMAT))
    }
}

fn judged(large: &LargeShelf, answer: &ask::IndexAnswer, query: &Query, book: &Book, place: usize) -> Result<Vec<Hit>, Damaged> {
    let searcher = large.disk.searcher();
    let one = |at: &tantivy::DocAddress| {
        let (_, record) = large.disk.record(&searcher, *at).ok_or(Damaged)?;
        let record = Record { pack: place, ..record };
        judge(&record, query, book.catalogue()).ok_or(Damaged)
    };
    answer.first.iter().map(one).collect()
}

impl Memory for Cache {
    fn fetch(&self, root: &PackRoot) -> Option<Vec<u8>> {
        std::fs::read(self.folder_of(root).join(SNAPSHOT)).ok()
    }

    fn recall<'m>(&'m self, kept: Option<Vec<u8>>, root: &PackRoot, files: &[PackFile], schemas: &SchemasHash) -> Recalled<'m> {
        if let PackRoot::Given { .. } = root {
            return Recalled::nothing(files.len());
        }
        let place = PackFolder { run: &self.run, path: self.folder_of(root), key: key(root, schemas) };
        let snapshot = Snapshot::of(kept, &place.key);
        let index = snapshot.index.as_ref().and_then(|state| large::open(&place.path, state));
        let is_large = index.is_some() || self.is_large(files);
        let settles = AtomicBool::new(false);
        let below = files::folder_of(root, &self.here);
        let is_ours = root.is_built_in();
        // A pack that has outgrown its snapshot moves whole into an index: its records are read once more.
        let has_outgrown = index.is_none() && is_large;
        let holds = |(state, file): (Option<FileState<'_>>, &PackFile)| {
            let state = state.filter(|state| state.fits(file))?;
            (!has_outgrown || state.held == Held::Nowhere).then_some(())?;
            (state.held != Held::InIndex || index.is_some()).then_some(())?;
            if !is_ours && (self.rehash || !snapshot.believes(&state, &file.stamp)) {
                same_content(&state, file, &below).then_some(())?;
                settles.fetch_or(file.stamp.settled(self.run.begun.at), Ordering::Relaxed);
            }
            Some(state.known)
        };
        let kept::Aligned { kept, gone } = kept::align(files, |file| &file.path, snapshot.files(), |state| state.path);
        let mut known: Vec<_> = kept.into_par_iter().zip(files).map(holds).collect();
        // Whether a series is sound depends on the recordings in its folder too.
        let is_new_recording = known.iter().zip(files).any(|(known, file)| file.part == FileRole::Curve && known.is_none());
        if gone || is_new_recording {
            let is_series = |file: &PackFile| file.part == FileRole::Record && file.folder() == files::SERIES;
            known.iter_mut().zip(files).filter(|(_, file)| is_series(file)).for_each(|(known, _)| *known = None);
        }
        let is_same = !gone && !settles.into_inner() && known.iter().all(Option::is_some);
        let same = is_same.then(|| snapshot.sum.clone());
        let kinds = snapshot.kinds();
        let old = Arc::new(SmallShelf::of(snapshot));
        let shelf: Arc<dyn Shelf> = match &index {
            Some(open) => {
                let stale = old.paths().map(str::to_owned).collect();
                Arc::new(LargeShelf {
                    disk: open.disk.clone(),
                    later: old.clone(),
                    stale,
                    is_asked: self.run.wants == Wants::Search,
                })
            }
            None => old.clone(),
        };
        let renewal = Box::new(Renewal { place, old, gone, index, is_large, keeps_kinds: keeps_kinds(root) });
        Recalled { known, same, shelf: Some(shelf), kinds, renewal: Some(renewal) }
    }
}

impl check::Memory for Cache {
    fn recall(&self, root: &Path) -> Option<Vec<u8>> {
        std::fs::read(self.folder_of(&on_disk(root)).join(FINDINGS)).ok()
    }
    fn keep(&self, root: &Path, bytes: &[u8]) {
        let kept = atomic::replace(&self.folder_of(&on_disk(root)).join(FINDINGS), bytes, Lasts::Run);
        self.run.unwritable.fetch_or(kept.is_err(), Ordering::Relaxed);
    }
    fn began(&self) -> i64 {
        self.run.begun.at
    }
    fn reads_all(&self) -> bool {
        self.rehash
    }
}

fn on_disk(root: &Path) -> PackRoot {
    PackRoot::Folder { path: root.into(), stood_in: false }
}

fn same_content(state: &FileState<'_>, file: &PackFile, below: &Path) -> bool {
    file.bytes(below).is_ok_and(|bytes| files::content_hash(&bytes) == state.known.hash)
}
