//! What earlier runs remember: one folder per pack in the user's cache folder.
//!
//! Everything here may be deleted at any time. What cannot be read or written only costs time.

use super::ask;
use super::disk::Put;
use super::large::{self, OpenIndex};
use super::matching::{Hit, judge};
use super::query::Query;
use super::search::{Found, order, search};
use super::snapshot::{self, Entry, Held, Snapshot};
use crate::book::files::{self, PackFile, Part};
use crate::book::load::{Kept, Known, Memory};
use crate::book::{Book, PackRoot, Record, blob, hex};
use crate::check::catalogue::Catalogue;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{SystemTime, UNIX_EPOCH};

/// Packs with more records than this get an index; of smaller ones the snapshot holds the records.
pub const LARGE: usize = 5_000;

/// What a run wants of large packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wants {
    /// Every record in the book.
    Everything,
    /// Records of large packs stay in their index; [`Cache::search`] asks it.
    Search,
}

/// Memory in the user's cache folder.
pub struct Cache {
    folder: PathBuf,
    here: PathBuf,
    rehash: bool,
    wants: Wants,
    large: usize,
    /// When the run began to look at files, in nanoseconds since 1970.
    began: i64,
    before: Mutex<HashMap<PathBuf, Before>>,
    unwritable: AtomicBool,
}

/// What was there before a run, of one pack.
struct Before {
    snapshot: Snapshot,
    /// A file was compared by content that can be believed by its stamp from now on.
    settled: bool,
    index: Option<OpenIndex>,
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
            began,
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
            let answer = ask::ask(&open.disk, query, book.catalogue(), &open.stale).ok_or(Damaged)?;
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
    /// Writes what is remembered of a pack; `None` when nothing could be written.
    fn write(&self, folder: &Path, before: &mut Before, kept: &[Kept<'_>], schemas: &[u8; 32], kinds: &Catalogue) -> Option<()> {
        std::fs::create_dir_all(folder).ok()?;
        let records = kept.iter().filter(|k| k.file.part == Part::Record).count();
        let is_indexed = kept.iter().any(|k| k.file.part == Part::Record && k.record.is_none());
        if records < self.large && !is_indexed {
            return replace(folder, "snapshot", &snapshot::bytes(kept, schemas, self.began, None)).ok();
        }
        let lock = large::lock(folder)?;
        let (gone, put) = difference(before, kept);
        let state = large::update(folder, before.index.as_ref(), &gone, &put, kinds, self.began)?;
        replace(folder, "snapshot", &snapshot::bytes(kept, schemas, self.began, Some(&state))).ok()?;
        large::sweep(folder, &state);
        drop(lock);
        Some(())
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

/// What has to leave the index, and what has to come into it.
fn difference<'a>(before: &'a Before, kept: &'a [Kept<'_>]) -> (Vec<&'a str>, Vec<Put<'a>>) {
    let now: HashSet<&str> = kept.iter().map(|k| &*k.file.path).collect();
    let gone = before.snapshot.in_index().filter(|path| !now.contains(path)).collect();
    let is_new = |k: &&Kept<'_>| !k.recalled || before.index.is_none();
    let put = kept.iter().filter(is_new).filter_map(|k| Some(Put { path: &k.file.path, record: k.record? })).collect();
    (gone, put)
}

impl Memory for Cache {
    fn recall(&self, root: &PackRoot, files: &[PackFile], schemas: &[u8; 32]) -> Vec<Option<Known>> {
        let folder = self.folder_of(root);
        let snapshot = Snapshot::read(&folder.join("snapshot"), &key(root, schemas));
        let index = snapshot.index.as_ref().and_then(|state| large::open(&folder, state));
        let settled = AtomicBool::new(false);
        let known = |file: &PackFile| {
            let entry = snapshot.entry(&file.path).filter(|e| snapshot::fits(e, file))?;
            let believed =
                matches!(root, PackRoot::BuiltIn | PackRoot::Demo) || (!self.rehash && snapshot.believes(entry, &file.stamp));
            if !believed {
                same_content(entry, file).then_some(())?;
                if Snapshot::settled(&file.stamp, self.began) {
                    settled.store(true, Ordering::Relaxed);
                }
            }
            remembered(entry, &snapshot, index.is_some())
        };
        let mut all: Vec<Option<Known>> = files.par_iter().map(known).collect();
        if let (Some(open), Wants::Everything) = (&index, self.wants) {
            fetch(open, files, &mut all);
        }
        if let Ok(mut before) = self.before.lock() {
            before.insert(folder, Before { snapshot, settled: settled.into_inner(), index });
        }
        all
    }

    fn lost(&self, root: &PackRoot, exists: &dyn Fn(&str) -> bool) -> Vec<String> {
        let Ok(before) = self.before.lock() else { return Vec::new() };
        let open = before.get(&self.folder_of(root)).and_then(|b| b.index.as_ref()).filter(|_| self.wants == Wants::Search);
        open.map_or_else(Vec::new, |open| large::naming(&open.disk, exists))
    }

    fn keep(&self, root: &PackRoot, kept: &[Kept<'_>], schemas: &[u8; 32], kinds: &Catalogue) {
        let folder = self.folder_of(root);
        let Ok(mut all) = self.before.lock() else { return };
        let Some(before) = all.get_mut(&folder) else { return };
        let same = before.snapshot.count() == kept.len() && !before.settled && kept.iter().all(|k| k.recalled);
        if !same && self.write(&folder, before, kept, &key(root, schemas), kinds).is_none() {
            // Another process that writes at this moment is no reason for a notice.
            self.unwritable.store(!large::is_busy(&folder), Ordering::Relaxed);
        }
        if same {
            return;
        }
        // What is in the book now, or gone, must not be found in the index a second time.
        let current: BTreeSet<&str> = kept.iter().filter(|k| k.recalled).map(|k| &*k.file.path).collect();
        let stale = before.snapshot.in_index().filter(|path| !current.contains(path)).map(str::to_owned).collect();
        if let Some(open) = &mut before.index {
            open.stale = stale;
        }
    }
}

/// What is known of a file; a record in the index stays there.
fn remembered(entry: &Entry, snapshot: &Snapshot, is_index_open: bool) -> Option<Known> {
    let known = |record: Option<Record>, elsewhere: bool| Known { hash: entry.hash, record, elsewhere };
    match entry.held {
        Held::Nowhere => Some(known(None, false)),
        // A record that does not decode is as unknown as one that was never read.
        Held::Here(_) => Some(known(Some(snapshot.record(entry)?), false)),
        Held::InIndex => is_index_open.then(|| known(None, true)),
    }
}

/// Brings the records of an index into what is known; those it does not hold undamaged become unknown.
fn fetch(open: &OpenIndex, files: &[PackFile], known: &mut [Option<Known>]) {
    let mut records = large::records(&open.disk);
    for (file, known) in files.iter().zip(known) {
        if let Some(Known { hash, elsewhere: true, .. }) = known {
            *known = records.remove(&file.path).map(|record| Known { hash: *hash, record: Some(record), elsewhere: false });
        }
    }
}

/// What must be equal for a snapshot to serve: the schemas in force and, for built-in packs, the embedded files.
fn key(root: &PackRoot, schemas: &[u8; 32]) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(schemas);
    hash.update(files::built_in_mark(root));
    hash.finalize().into()
}

fn same_content(entry: &Entry, file: &PackFile) -> bool {
    file.bytes().is_ok_and(|bytes| files::content_hash(&bytes) == entry.hash)
}

/// Writes a file beside its place and moves it there, so that readers see the old or the new one.
fn replace(folder: &Path, name: &str, bytes: &[u8]) -> std::io::Result<()> {
    static TURN: std::sync::atomic::AtomicU64 = std::sync::atomic::AtomicU64::new(0);
    let turn = TURN.fetch_add(1, Ordering::Relaxed);
    let beside = folder.join(format!("{name}.{}-{turn}.new", std::process::id()));
    std::fs::write(&beside, bytes).and_then(|()| std::fs::rename(&beside, folder.join(name))).inspect_err(|_| {
        // What is left of a failed write must not fill the disk; that it cannot be removed changes nothing.
        let _ = std::fs::remove_file(&beside);
    })
}
