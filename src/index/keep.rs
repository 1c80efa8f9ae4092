//! Writing what is remembered: a snapshot of a small pack, index and snapshot of a large one.

use super::cache::{Cache, Wants, replace};
use super::disk::{Change, Disk, LargeShelf};
use super::large::{self, OpenIndex};
use super::snapshot::{Body, IndexState, Stored};
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
    let names: BTreeSet<String> = references::of(record).into_iter().map(|(target, _)| target).collect();
    Stored { bytes: blob::encode(record), names: names.into_iter().collect() }
}

impl Keeper for SmallKeeper<'_> {
    fn take(&mut self, read: &[Fresh<'_>]) -> bool {
        self.fresh.extend(read.iter().map(|one| ((*one.file.path).into(), stored(one.record))));
        false
    }
    fn done(self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>> {
        let Place { cache, folder, key, .. } = &self.place;
        let old = cache.before.lock().ok().and_then(|before| before.get(folder).map(|b| b.old.clone()));
        let mut records = old.as_ref().map(|old| old.stored()).unwrap_or_default();
        records.extend(self.fresh.iter().map(|(path, stored)| (&**path, stored.clone())));
        let bytes = Body::with_records(all, records, key).bytes(&sum(), cache.began, None);
        let written = std::fs::create_dir_all(folder).and_then(|()| replace(folder, "snapshot", &bytes));
        if written.is_err() {
            self.place.could_not_write();
        }
        None
    }
}

/// Keeps the records of a large pack in its index.
pub(super) struct LargeKeeper<'c> {
    place: Place<'c>,
    kinds: &'c Catalogue,
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
        LargeKeeper { place, kinds, work }
    }
    fn finish(&mut self, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>> {
        let mut work = self.work.take()?;
        let Place { cache, folder, key, .. } = &self.place;
        for path in self.gone(all) {
            work.change()?.take_out(&path);
        }
        // The index waits for the disk most of the time.
        let (state, (sum, body)) = rayon::join(|| work.commit(folder), || (sum(), Body::of_indexed(all, key)));
        let state = state?;
        let bytes = body.bytes(&sum, cache.began, Some(&state));
        match replace(folder, "snapshot", &bytes) {
            Ok(()) => large::sweep(folder, &state),
            Err(_) => cache.unwritable.store(true, Ordering::Relaxed),
        }
        if let Some(before) = cache.before.lock().ok()?.get_mut(folder) {
            before.index = Some(OpenIndex { disk: work.disk.clone(), stale: Vec::new(), state });
        }
        Some(Arc::new(LargeShelf { disk: work.disk, is_asked: cache.wants == Wants::Search }))
    }
    /// Paths of records that have to leave the index.
    fn gone(&self, all: &Kept<'_>) -> Vec<String> {
        let Ok(known) = self.place.cache.before.lock() else { return Vec::new() };
        let Some(before) = known.get(&self.place.folder).filter(|before| before.index.is_some()) else { return Vec::new() };
        // Most changes take nothing out, and then there is nothing to go through.
        if !before.gone && all.known.iter().all(Option::is_some) {
            return Vec::new();
        }
        let now: HashSet<&str> = all.each().map(|(file, _)| &*file.path).collect();
        before.old.snapshot().in_index().into_iter().filter(|path| !now.contains(&**path)).collect()
    }
    /// What is in the book now, or gone, must not be found in the old index a second time.
    fn mark_stale(&self, all: &Kept<'_>) {
        let Ok(mut known) = self.place.cache.before.lock() else { return };
        let Some(before) = known.get_mut(&self.place.folder) else { return };
        let current: HashSet<&str> = all.recalled().map(|file| &*file.path).collect();
        let stale = before.old.snapshot().in_index().into_iter().filter(|path| !current.contains(&**path)).collect();
        if let Some(open) = &mut before.index {
            open.stale = stale;
        }
    }
}

impl Keeper for LargeKeeper<'_> {
    fn take(&mut self, read: &[Fresh<'_>]) -> bool {
        let put = self.work.as_mut().and_then(|work| work.change()?.put(read, self.kinds));
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
