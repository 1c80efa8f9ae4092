//! Writing what is remembered: a snapshot of a small pack, index and snapshot of a large one.

use super::cache::{Cache, Wants, replace};
use super::disk::{Change, Disk, LargeShelf};
use super::large::{self, OpenIndex};
use super::snapshot::{Body, IndexState, SmallShelf, Stored};
use crate::book::memory::{Fresh, Keeper, Kept, Shelf, Sum};
use crate::book::{Record, blob, references};
use crate::check::catalogue::Catalogue;
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// Where what is remembered of a pack is kept.
pub(super) struct Place<'c> {
    pub cache: &'c Cache,
    pub folder: PathBuf,
    /// What must be equal for the snapshot to serve.
    pub key: [u8; 32],
}

impl Place<'_> {
    fn could_not_write(&self) {
        // Another process that writes at this moment is no reason for a notice.
        self.cache.unwritable.fetch_or(!large::is_busy(&self.folder), Ordering::Relaxed);
    }
}

/// Keeps the records of a small pack in its snapshot.
pub(super) struct SmallKeeper<'c> {
    place: Place<'c>,
    fresh: BTreeMap<Box<str>, Stored>,
}

impl<'c> SmallKeeper<'c> {
    pub fn new(place: Place<'c>) -> Self {
        SmallKeeper { place, fresh: BTreeMap::new() }
    }
}

fn stored(record: &Record) -> Stored {
    Stored { bytes: blob::encode(record), names: references::names(record).into_iter().collect() }
}

impl Keeper for SmallKeeper<'_> {
    fn take(&mut self, read: &[Fresh<'_>]) -> bool {
        self.fresh.extend(read.iter().map(|one| (one.path.into(), stored(one.record))));
        false
    }
    fn done(self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>> {
        let Place { cache, folder, key, .. } = &self.place;
        let old = cache.before.lock().ok().and_then(|before| before.get(folder).map(|b| b.old.clone()));
        let mut records = old.as_ref().map(|old| old.stored()).unwrap_or_default();
        records.extend(self.fresh.iter().map(|(path, stored)| (&**path, stored.clone())));
        let bytes = Body::of(all, records, false, key).bytes(&sum(), cache.began, None);
        let written = std::fs::create_dir_all(folder).and_then(|()| replace(folder, "snapshot", &bytes));
        if written.is_err() {
            self.place.could_not_write();
        }
        None
    }
}

/// Keeps the records of a large pack in its index, and the latest ones beside it.
pub(super) struct LargeKeeper<'c> {
    place: Place<'c>,
    kinds: &'c Catalogue,
    /// What was there before.
    old: Option<Arc<SmallShelf>>,
    /// By path.
    beside: BTreeMap<Box<str>, Stored>,
    /// Paths of those that were read now and are in the book, whatever becomes of them here.
    in_book: BTreeSet<Box<str>>,
    work: Option<Work>,
}

/// An index being changed.
struct Work {
    /// Held until the end, so that one process writes at a time.
    _lock: File,
    disk: Arc<Disk>,
    /// Begun when there is something to change.
    change: Option<Change>,
    /// Name of the folder of the index.
    name: String,
    /// What the commit will be called.
    state: String,
    /// What the snapshot said of the index; absent for a new one.
    before: Option<IndexState>,
}

impl Work {
    fn begin(place: &Place<'_>) -> Option<Work> {
        std::fs::create_dir_all(&place.folder).ok()?;
        let lock = large::lock(&place.folder)?;
        let state = format!("{}-{}", place.cache.began, std::process::id());
        let known = place.cache.before.lock().ok()?;
        if let Some(open) = known.get(&place.folder).and_then(|before| before.index.as_ref()) {
            // Changed since it was opened: whoever did so knows more than this run.
            (large::files(&place.folder.join(&open.state.folder)) == open.state.files).then_some(())?;
            let (disk, name, before) = (open.disk.clone(), open.state.folder.clone(), Some(open.state.clone()));
            return Some(Work { _lock: lock, disk, change: None, name, state, before });
        }
        let name = format!("index-{state}");
        let disk = Arc::new(Disk::create(&place.folder.join(&name))?);
        let change = Some(disk.change()?);
        Some(Work { _lock: lock, disk, change, name, state, before: None })
    }
    fn change(&mut self) -> Option<&Change> {
        if self.change.is_none() {
            self.change = Some(self.disk.change()?);
        }
        self.change.as_ref()
    }
    /// Ends the change; what the snapshot has to say of the index now.
    fn commit(&mut self, folder: &Path) -> Option<IndexState> {
        match (self.change.take(), &self.before) {
            (None, Some(before)) => Some(before.clone()),
            (change, _) => {
                change?.commit(&self.state)?;
                Some(large::described(folder, &self.name, &self.state))
            }
        }
    }
}

impl<'c> LargeKeeper<'c> {
    pub fn new(place: Place<'c>, kinds: &'c Catalogue) -> Self {
        let work = Work::begin(&place);
        let before = place.cache.before.lock().ok();
        let before = before.as_ref().and_then(|before| before.get(&place.folder)).filter(|before| before.index.is_some());
        let old = before.map(|before| before.old.clone());
        let stored = old.iter().flat_map(|old| old.stored()).map(|(path, stored)| (path.into(), stored));
        LargeKeeper { beside: stored.collect(), in_book: BTreeSet::new(), old, place, kinds, work }
    }
    /// Puts what is beside the index into it.
    fn merge(&mut self) -> Option<()> {
        let beside = std::mem::take(&mut self.beside);
        let records = beside.iter().map(|(path, stored)| Some((&**path, blob::decode(&stored.bytes)?)));
        let records: Vec<(&str, Record)> = records.collect::<Option<_>>()?;
        let fresh: Vec<Fresh<'_>> = records.iter().map(|(path, record)| Fresh { path, record }).collect();
        self.work.as_mut()?.change()?.put(&fresh, self.kinds)
    }
    fn put(&mut self, read: &[Fresh<'_>]) -> Option<()> {
        self.merge()?;
        self.work.as_mut()?.change()?.put(read, self.kinds)
    }
    fn finish(&mut self, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>> {
        let gone = self.gone(all);
        if !gone.is_empty() {
            self.merge()?;
        }
        let mut work = self.work.take()?;
        for path in gone {
            work.change()?.take_out(&path);
        }
        let Place { cache, folder, key, .. } = &self.place;
        let beside = || self.beside.iter().map(|(path, stored)| (&**path, stored.clone())).collect();
        // The index waits for the disk most of the time.
        let body = || Body::of(all, beside(), true, key);
        let (state, (sum, body)) = rayon::join(|| work.commit(folder), || rayon::join(sum, body));
        let state = state?;
        let bytes = body.bytes(&sum, cache.began, Some(&state));
        // The system takes its time to throw a large file away, and need not be waited for.
        let before = File::open(folder.join("snapshot"));
        match replace(folder, "snapshot", &bytes) {
            Ok(()) => large::sweep(folder, &state),
            Err(_) => cache.unwritable.store(true, Ordering::Relaxed),
        }
        rayon::spawn(move || drop(before));
        // What was beside the index is in it now, or else still where it was.
        let later = self.old.take().filter(|_| !self.beside.is_empty()).unwrap_or_default();
        let stale: BTreeSet<&Box<str>> = self.beside.keys().chain(&self.in_book).collect();
        let stale = stale.into_iter().map(|path| path.to_string()).collect();
        if let Some(before) = cache.before.lock().ok()?.get_mut(folder) {
            before.index = Some(OpenIndex { disk: work.disk.clone(), stale, state });
        }
        Some(Arc::new(LargeShelf { disk: work.disk, later, is_asked: cache.wants == Wants::Search }))
    }
    /// Paths of records that have to leave the index.
    fn gone(&self, all: &Kept<'_>) -> Vec<String> {
        let Some(old) = &self.old else { return Vec::new() };
        let was_gone = self.place.cache.before.lock().is_ok_and(|all| all.get(&self.place.folder).is_some_and(|b| b.gone));
        // Most changes take nothing out, and then there is nothing to go through.
        if !was_gone && all.known.iter().all(Option::is_some) {
            return Vec::new();
        }
        let now: HashSet<&str> = all.each().map(|(file, _)| &*file.path).collect();
        old.in_index().into_iter().filter(|path| !now.contains(&**path)).collect()
    }
    /// What is in the book now, or gone, must not be found in the old index a second time.
    fn mark_stale(&self, all: &Kept<'_>) {
        let Ok(mut known) = self.place.cache.before.lock() else { return };
        let Some(before) = known.get_mut(&self.place.folder) else { return };
        let current: HashSet<&str> = all.recalled().map(|file| &*file.path).collect();
        let is_stale = |path: &String| !current.contains(&**path) || before.old.bytes(path).is_some();
        let stale = before.old.in_index().into_iter().filter(is_stale).collect();
        if let Some(open) = &mut before.index {
            open.stale = stale;
        }
    }
}

impl Keeper for LargeKeeper<'_> {
    fn take(&mut self, read: &[Fresh<'_>]) -> bool {
        let is_begun = self.work.as_ref().is_none_or(|work| work.change.is_some());
        let more = read.iter().filter(|one| !self.beside.contains_key(one.path)).count();
        if !is_begun && self.beside.len() + more <= self.place.cache.beside {
            self.beside.extend(read.iter().map(|one| (one.path.into(), stored(one.record))));
            self.in_book.extend(read.iter().map(|one| Box::from(one.path)));
            return false;
        }
        let put = self.put(read);
        if put.is_none() {
            self.work = None;
        }
        put.is_some()
    }
    fn done(mut self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>> {
        let finished = self.finish(all, sum);
        if finished.is_none() {
            self.place.could_not_write();
            self.mark_stale(all);
        }
        finished
    }
}
