//! Writing what is remembered: a snapshot of a small pack, index and snapshot of a large one.

use super::disk::{Disk, IndexChange, LargeShelf};
use super::large::{self, OpenIndex};
use super::pack_folder::{PackFolder, SNAPSHOT, Wants};
use super::snapshot::{Body, IndexState, SmallShelf, Stored};
use crate::book::kinds::Kinds;
use crate::book::memory::{self, CacheWriter, Done, Fresh, Kept, Sum};
use crate::book::{Record, codec};
use crate::check::catalogue::Catalogue;
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::fs::File;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// What was remembered of a pack, when something of it has changed.
pub(super) struct Renewal<'c> {
    pub place: PackFolder<'c>,
    pub old: Arc<SmallShelf>,
    /// Whether a file is gone.
    pub gone: bool,
    pub index: Option<OpenIndex>,
    /// Whether the pack is to have an index.
    pub is_large: bool,
    /// Whether what the schemas say is kept with it.
    pub keeps_kinds: bool,
}

impl memory::Renewal for Renewal<'_> {
    fn begin<'k>(self: Box<Self>, kinds: &'k Kinds) -> Box<dyn CacheWriter + 'k>
    where
        Self: 'k,
    {
        if self.is_large {
            Box::new(LargeWriter::new(*self, &kinds.catalogue))
        } else {
            let kinds = self.keeps_kinds.then_some(kinds);
            Box::new(SmallWriter { place: self.place, old: self.old, kinds, fresh: BTreeMap::new() })
        }
    }
}

/// Keeps the records of a small pack in its snapshot.
struct SmallWriter<'c> {
    place: PackFolder<'c>,
    old: Arc<SmallShelf>,
    kinds: Option<&'c Kinds>,
    fresh: BTreeMap<Box<str>, Stored>,
}

impl CacheWriter for SmallWriter<'_> {
    fn take(&mut self, read: &[Fresh<'_>]) -> bool {
        self.fresh.extend(read.iter().map(|one| (one.path.into(), Stored::of(one.record))));
        false
    }
    fn done(self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Done {
        let mut records = self.old.stored();
        records.extend(self.fresh.iter().map(|(path, stored)| (&**path, stored.clone())));
        let bytes = Body::of(all, records, false).with(self.kinds).bytes(&self.place.key, &sum(), self.place.run.begun.at, None);
        if self.place.put(SNAPSHOT, &bytes).is_err() {
            self.place.could_not_write();
        }
        Done::default()
    }
}

/// Keeps the records of a large pack in its index, and the latest ones beside it.
struct LargeWriter<'c> {
    was: Renewal<'c>,
    kinds: &'c Catalogue,
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
    change: Option<IndexChange>,
    /// Name of the folder of the index.
    name: String,
    /// What the commit will be called.
    state: String,
    /// What the snapshot said of the index; absent for a new one.
    before: Option<IndexState>,
}

impl Work {
    fn begin(place: &PackFolder<'_>, index: Option<&OpenIndex>) -> Option<Work> {
        std::fs::create_dir_all(&place.path).ok()?;
        let lock = large::lock(&place.path)?;
        let state = format!("{}-{}", place.run.begun.at, place.run.begun.process);
        if let Some(open) = index {
            // Changed since it was opened: whoever did so knows more than this run.
            (large::files(&place.path.join(&open.state.folder)) == open.state.files).then_some(())?;
            let (disk, name, before) = (open.disk.clone(), open.state.folder.clone(), Some(open.state.clone()));
            return Some(Work { _lock: lock, disk, change: None, name, state, before });
        }
        let name = format!("index-{state}");
        let disk = Arc::new(Disk::create(&place.path.join(&name))?);
        let change = Some(disk.change()?);
        Some(Work { _lock: lock, disk, change, name, state, before: None })
    }
    fn change(&mut self) -> Option<&IndexChange> {
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

impl<'c> LargeWriter<'c> {
    fn new(was: Renewal<'c>, kinds: &'c Catalogue) -> Self {
        let work = Work::begin(&was.place, was.index.as_ref());
        let stored = was.index.iter().flat_map(|_| was.old.stored()).map(|(path, stored)| (path.into(), stored));
        LargeWriter { beside: stored.collect(), in_book: BTreeSet::new(), kinds, work, was }
    }
    /// Puts what is beside the index into it.
    fn merge(&mut self) -> Option<()> {
        let beside = std::mem::take(&mut self.beside);
        let records = beside.iter().map(|(path, stored)| Some((&**path, codec::decode(&stored.bytes)?)));
        let records: Vec<(&str, Record)> = records.collect::<Option<_>>()?;
        let fresh: Vec<Fresh<'_>> = records.iter().map(|(path, record)| Fresh { path, record }).collect();
        self.work.as_mut()?.change()?.put(&fresh, self.kinds)
    }
    fn put(&mut self, read: &[Fresh<'_>]) -> Option<()> {
        self.merge()?;
        self.work.as_mut()?.change()?.put(read, self.kinds)
    }
    fn finish(&mut self, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<LargeShelf> {
        let gone = self.gone(all);
        if !gone.is_empty() {
            self.merge()?;
        }
        let mut work = self.work.take()?;
        for path in gone {
            work.change()?.take_out(&path);
        }
        let PackFolder { run, path: folder, key } = &self.was.place;
        let beside = || self.beside.iter().map(|(path, stored)| (&**path, stored.clone())).collect();
        // The index waits for the disk most of the time.
        let body = || Body::of(all, beside(), true);
        let (state, (sum, body)) = rayon::join(|| work.commit(folder), || rayon::join(sum, body));
        let state = state?;
        let bytes = body.bytes(key, &sum, run.begun.at, Some(&state));
        // The system takes its time to throw a large file away, and need not be waited for.
        let before = File::open(folder.join(SNAPSHOT));
        match self.was.place.put(SNAPSHOT, &bytes) {
            Ok(()) => large::sweep(folder, &state),
            Err(_) => run.unwritable.store(true, Ordering::Relaxed),
        }
        rayon::spawn(move || drop(before));
        let stale: BTreeSet<&Box<str>> = self.beside.keys().chain(&self.in_book).collect();
        let stale = stale.into_iter().map(|path| path.to_string()).collect();
        // What was beside the index is in it now, or else still where it was.
        let is_beside = self.was.index.is_some() && !self.beside.is_empty();
        let later = if is_beside { self.was.old.clone() } else { Arc::default() };
        Some(self.shelf(work.disk, later, stale))
    }
    fn shelf(&self, disk: Arc<Disk>, later: Arc<SmallShelf>, stale: Vec<String>) -> LargeShelf {
        LargeShelf { disk, later, stale, is_asked: self.was.place.run.wants == Wants::Search }
    }
    /// Paths of records that have to leave the index.
    fn gone(&self, all: &Kept<'_>) -> Vec<String> {
        // Most changes take nothing out, and then there is nothing to go through.
        if self.was.index.is_none() || (!self.was.gone && all.known.iter().all(Option::is_some)) {
            return Vec::new();
        }
        let now: HashSet<&str> = all.each().map(|(file, _)| &*file.path).collect();
        self.was.old.in_index().into_iter().filter(|path| !now.contains(&**path)).collect()
    }
    /// The old index, in which what is in the book now, or gone, must not be found a second time.
    fn unchanged(&self, all: &Kept<'_>) -> Option<LargeShelf> {
        let open = self.was.index.as_ref()?;
        let current: HashSet<&str> = all.recalled().map(|file| &*file.path).collect();
        let is_stale = |path: &String| !current.contains(&**path) || self.was.old.bytes(path).is_some();
        let stale = self.was.old.in_index().into_iter().filter(is_stale).collect();
        Some(self.shelf(open.disk.clone(), self.was.old.clone(), stale))
    }
}

impl CacheWriter for LargeWriter<'_> {
    fn take(&mut self, read: &[Fresh<'_>]) -> bool {
        let is_begun = self.work.as_ref().is_none_or(|work| work.change.is_some());
        let more = read.iter().filter(|one| !self.beside.contains_key(one.path)).count();
        if !is_begun && self.beside.len() + more <= self.was.place.run.beside {
            self.beside.extend(read.iter().map(|one| (one.path.into(), Stored::of(one.record))));
            self.in_book.extend(read.iter().map(|one| Box::from(one.path)));
            return false;
        }
        let put = self.put(read);
        if put.is_none() {
            self.work = None;
        }
        put.is_some()
    }
    fn done(mut self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Done {
        let finished = self.finish(all, sum);
        let is_lost = finished.is_none();
        if is_lost {
            self.was.place.could_not_write();
        }
        let shelf = finished.or_else(|| self.unchanged(all));
        Done { shelf: shelf.map(|shelf| Arc::new(shelf) as _), is_lost }
    }
}
