//! What earlier runs remember: one folder per pack in the user's cache folder.
//!
//! Everything here may be deleted at any time. What cannot be read or written only costs time.

use super::ask;
use super::disk::LargeShelf;
use super::keep::{LargeKeeper, Place, SmallKeeper};
use super::large::{self, OpenIndex};
use super::matching::{Hit, judge};
use super::query::Query;
use super::search::{Found, order, search};
use super::snapshot::{self, Entry, Held, SmallShelf, Snapshot};
use crate::book::files::{self, PackFile, Part};
use crate::book::memory::{Keeper, Known, Memory, Recalled, Shelf};
use crate::book::{Book, PackRoot, Record, blob, hex};
use crate::check;
use crate::check::catalogue::Catalogue;
use crate::read::paths::Aligned;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{SystemTime, UNIX_EPOCH};

/// Packs with more records than this get an index; of smaller ones the snapshot holds the records.
pub const LARGE: usize = 5_000;
/// Records of a large pack that stay beside its index, in the snapshot, before all of them go into it: a change of the
/// index costs more than a few records do in every search.
const BESIDE: usize = 256;
/// Name of the file that holds what `check` found.
const FINDINGS: &str = "findings";

/// What a run wants of large packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wants {
    /// Every record in the book.
    Everything,
    /// Records of large packs stay in their index; [`Cache::search`] asks it.
    Search,
}

/// Memory in the user's cache folder.
#[derive(Debug)]
pub struct Cache {
    folder: PathBuf,
    here: PathBuf,
    rehash: bool,
    pub(super) wants: Wants,
    large: usize,
    pub(super) beside: usize,
    /// When the run began to look at files, in nanoseconds since 1970.
    pub(super) began: i64,
    /// Snapshots read while files were still being listed.
    early: Mutex<HashMap<PathBuf, Option<Vec<u8>>>>,
    pub(super) before: Mutex<HashMap<PathBuf, Before>>,
    pub(super) unwritable: AtomicBool,
}

/// What was there before a run, of one pack.
#[derive(Debug)]
pub(super) struct Before {
    pub old: Arc<SmallShelf>,
    /// Whether a file is gone.
    pub gone: bool,
    pub index: Option<OpenIndex>,
}

/// The index does not hold what its snapshot says.
#[derive(Debug)]
pub struct Damaged;

impl Cache {
    /// A cache in `folder`. `here` is the folder relative pack paths start from; `rehash` compares every file by content.
    pub fn new(folder: &Path, here: &Path, rehash: bool) -> Cache {
        let began = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| i64::try_from(d.as_nanos()).unwrap_or(i64::MAX));
        Cache {
            folder: folder.into(),
            here: here.into(),
            rehash,
            wants: Wants::Everything,
            large: LARGE,
            beside: BESIDE,
            began,
            early: Mutex::default(),
            before: Mutex::default(),
            unwritable: AtomicBool::new(false),
        }
    }
    /// The same cache for a run that only searches.
    pub fn for_search(mut self) -> Cache {
        self.wants = Wants::Search;
        self
    }
    /// The same cache with another size from which packs get an index; for tests.
    pub fn large_from(mut self, records: usize) -> Cache {
        self.large = records;
        self
    }
    /// The same cache with another number of records that may stay beside an index; for tests.
    pub fn beside_at_most(mut self, records: usize) -> Cache {
        self.beside = records;
        self
    }
    /// The same cache as if the run had begun at another time, in nanoseconds since 1970; for tests.
    pub fn begun(mut self, at: i64) -> Cache {
        self.began = at;
        self
    }
    /// What the user should know: that nothing can be remembered.
    pub fn notice(&self) -> Option<String> {
        let text = || format!("{} cannot be written: every run reads all records again", files::shown(&self.folder));
        self.unwritable.load(Ordering::Relaxed).then(text)
    }
    /// Searches the book and the indexes of large packs that were opened while it was loaded.
    ///
    /// # Errors
    /// [`Damaged`] when an index cannot be asked; load again without memory, and [`Cache::forget`] it.
    pub fn search(&self, book: &Book, query: &Query) -> Result<Found, Damaged> {
        let mut found = search(book, query);
        let before = self.before.lock().map_err(|_| Damaged)?;
        for (place, pack) in book.packs().iter().enumerate() {
            let Some(open) = before.get(&self.folder_of(&pack.root)).and_then(|b| b.index.as_ref()) else { continue };
            if self.wants == Wants::Everything {
                continue;
            }
            let stale = [&open.stale[..], book.outdated(place)].concat();
            let answer = ask::ask(&open.disk, query, book.catalogue(), &stale).ok_or(Damaged)?;
            found.total += answer.total;
            found.hits.extend(judged(open, &answer, query, book, place)?);
        }
        found.hits.sort_by(|a, b| order(a, b, query));
        found.hits.truncate(query.limit);
        Ok(found)
    }
    /// Throws away what is remembered.
    pub fn forget(&self) {
        for folder in self.before.lock().iter().flat_map(|all| all.keys()) {
            // A snapshot that cannot be removed is as damaged in the next run, which then does without it too.
            let _ = std::fs::remove_file(folder.join("snapshot"));
        }
    }
    fn is_large(&self, files: &[PackFile]) -> bool {
        files.iter().filter(|file| file.part == Part::Record).count() >= self.large
    }
    /// The folder of a pack: named by what it is and by the version of the form.
    fn folder_of(&self, root: &PackRoot) -> PathBuf {
        let name = match root {
            PackRoot::BuiltIn => "built-in".to_owned(),
            PackRoot::Demo => "built-in-demo".to_owned(),
            PackRoot::Folder { path, .. } => {
                let full = self.here.join(path);
                let full = std::fs::canonicalize(&full).unwrap_or(full);
                hex(&Sha256::digest(full.as_os_str().as_encoded_bytes()), 16)
            }
        };
        self.folder.join(format!("{name}-{}", blob::FORMAT))
    }
}

fn judged(open: &OpenIndex, answer: &ask::Answer, query: &Query, book: &Book, place: usize) -> Result<Vec<Hit>, Damaged> {
    let searcher = open.disk.searcher();
    let one = |at: &tantivy::DocAddress| {
        let (_, record) = open.disk.record(&searcher, *at).ok_or(Damaged)?;
        let record = Record { pack: place, ..record };
        judge(&record, query, book.catalogue()).ok_or(Damaged)
    };
    answer.first.iter().map(one).collect()
}

impl Memory for Cache {
    fn prepare(&self, root: &PackRoot) {
        let folder = self.folder_of(root);
        let bytes = std::fs::read(folder.join("snapshot")).ok();
        if let Ok(mut early) = self.early.lock() {
            early.insert(folder, bytes);
        }
    }

    fn recall(&self, root: &PackRoot, files: &[PackFile], schemas: &[u8; 32]) -> Recalled {
        let folder = self.folder_of(root);
        let early = self.early.lock().ok().and_then(|mut early| early.remove(&folder));
        let bytes = early.unwrap_or_else(|| std::fs::read(folder.join("snapshot")).ok());
        let snapshot = Snapshot::of(bytes, &key(root, schemas));
        let mut index = snapshot.index.as_ref().and_then(|state| large::open(&folder, state));
        let settles = AtomicBool::new(false);
        let below = files::folder_of(root, &self.here);
        let is_ours = matches!(root, PackRoot::BuiltIn | PackRoot::Demo);
        // A pack that has outgrown its snapshot moves whole into an index: its records are read once more.
        let has_outgrown = index.is_none() && self.is_large(files);
        let judge = |entry: Entry, file: &PackFile| {
            snapshot::fits(&entry, file).then_some(())?;
            (!has_outgrown || entry.held == Held::Nowhere).then_some(())?;
            (entry.held != Held::InIndex || index.is_some()).then_some(())?;
            if !is_ours && (self.rehash || !snapshot.believes(&entry, &file.stamp)) {
                same_content(&entry, file, &below).then_some(())?;
                settles.fetch_or(file.stamp.settled(self.began), Ordering::Relaxed);
            }
            Some(entry.known)
        };
        let Aligned { kept: mut known, gone } = snapshot.aligned(files, judge);
        // Whether a series is sound depends on the recordings in its folder too.
        let is_recording = |(known, file): (&Option<Known>, &PackFile)| file.part == Part::Curve && known.is_none();
        if gone || known.iter().zip(files).any(is_recording) {
            let is_series = |file: &PackFile| file.part == Part::Record && file.folder() == files::SERIES;
            known.iter_mut().zip(files).filter(|(_, file)| is_series(file)).for_each(|(known, _)| *known = None);
        }
        let is_same = !gone && !settles.into_inner() && known.iter().all(Option::is_some);
        let same = is_same.then(|| snapshot.sum.clone());
        let old = Arc::new(SmallShelf::of(snapshot));
        let shelf: Arc<dyn Shelf> = match &mut index {
            Some(open) => {
                open.stale = old.paths().map(str::to_owned).collect();
                let is_asked = self.wants == Wants::Search;
                Arc::new(LargeShelf { disk: open.disk.clone(), later: old.clone(), is_asked })
            }
            None => old.clone(),
        };
        if let Ok(mut before) = self.before.lock() {
            before.insert(folder, Before { old, gone, index });
        }
        Recalled { known, same, shelf: Some(shelf) }
    }

    fn keeper<'m>(
        &'m self,
        root: &PackRoot,
        files: &[PackFile],
        schemas: &[u8; 32],
        kinds: &'m Catalogue,
    ) -> Box<dyn Keeper + 'm> {
        let folder = self.folder_of(root);
        let is_indexed = self.before.lock().is_ok_and(|all| all.get(&folder).is_some_and(|before| before.index.is_some()));
        let place = Place { cache: self, folder, key: key(root, schemas) };
        if is_indexed || self.is_large(files) {
            Box::new(LargeKeeper::new(place, kinds))
        } else {
            Box::new(SmallKeeper::new(place))
        }
    }
}

impl check::Memory for Cache {
    fn recall(&self, root: &Path) -> Option<Vec<u8>> {
        std::fs::read(self.folder_of(&on_disk(root)).join(FINDINGS)).ok()
    }
    fn keep(&self, root: &Path, bytes: &[u8]) {
        let folder = self.folder_of(&on_disk(root));
        let kept = std::fs::create_dir_all(&folder).and_then(|()| replace(&folder, FINDINGS, bytes));
        self.unwritable.fetch_or(kept.is_err(), Ordering::Relaxed);
    }
    fn began(&self) -> i64 {
        self.began
    }
    fn reads_all(&self) -> bool {
        self.rehash
    }
}

fn on_disk(root: &Path) -> PackRoot {
    PackRoot::Folder { path: root.into(), stood_in: false }
}

/// What must be equal for a snapshot to serve: the schemas in force and, for built-in packs, the embedded files.
fn key(root: &PackRoot, schemas: &[u8; 32]) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(schemas);
    hash.update(files::built_in_mark(root));
    hash.finalize().into()
}

fn same_content(entry: &Entry, file: &PackFile, below: &Path) -> bool {
    file.bytes(below).is_ok_and(|bytes| files::content_hash(&bytes) == entry.known.hash)
}

/// Writes a file beside its place and moves it there, so that readers see the old or the new one.
pub(super) fn replace(folder: &Path, name: &str, bytes: &[u8]) -> std::io::Result<()> {
    static TURN: std::sync::atomic::AtomicU64 = std::sync::atomic::AtomicU64::new(0);
    let turn = TURN.fetch_add(1, Ordering::Relaxed);
    let beside = folder.join(format!("{name}.{}-{turn}.new", std::process::id()));
    std::fs::write(&beside, bytes).and_then(|()| std::fs::rename(&beside, folder.join(name))).inspect_err(|_| {
        // What is left of a failed write must not fill the disk; that it cannot be removed changes nothing.
        let _ = std::fs::remove_file(&beside);
    })
}
