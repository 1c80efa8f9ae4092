//! The records of a book, each decoded when it is first asked for.

use super::files;
use super::files::PackRoot;
use super::from_tree;
use super::kinds::Kinds;
use super::memory::Shelf;
use super::record::{Head, Record, RecordId};
use crate::read;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

/// A record of a book, decoded or not.
#[derive(Debug)]
pub(super) struct LazyRecord {
    pub id: RecordId,
    /// Place of its pack.
    pub pack: usize,
    /// Path of its file inside the pack.
    pub path: Arc<str>,
    /// Whether it waits on the shelf of its pack.
    pub shelved: bool,
    /// `None` inside when it can be had neither from the shelf nor from its file.
    cell: OnceLock<Option<Box<Record>>>,
}

/// Where the records of a pack are.
#[derive(Debug)]
pub(super) struct Home {
    pub root: PackRoot,
    /// The folder relative paths start from.
    pub here: PathBuf,
    /// How paths of the pack begin when shown.
    pub prefix: String,
    pub shelf: Option<Arc<dyn Shelf>>,
}

impl LazyRecord {
    /// A record that was read.
    pub fn read(record: Box<Record>, path: Arc<str>) -> LazyRecord {
        let (id, pack) = (record.id.clone(), record.pack);
        LazyRecord { id, pack, path, shelved: false, cell: OnceLock::from(Some(record)) }
    }
    /// A record on the shelf of its pack.
    pub fn shelved(id: RecordId, pack: usize, path: Arc<str>) -> LazyRecord {
        LazyRecord { id, pack, path, shelved: true, cell: OnceLock::new() }
    }
    /// The record.
    pub fn record(&self, homes: &[Home], kinds: &Kinds) -> Option<&Record> {
        self.cell.get_or_init(|| self.fetch(homes.get(self.pack)?, kinds).map(Box::new)).as_deref()
    }
    /// The record, where it is decoded.
    pub fn loaded_mut(&mut self) -> Option<&mut Record> {
        self.cell.get_mut()?.as_deref_mut()
    }
    /// What it is called.
    pub fn head(&self, homes: &[Home], kinds: &Kinds) -> Option<Head> {
        if self.cell.get().is_none()
            && let Some(head) = homes.get(self.pack).and_then(|home| home.shelf.as_ref()?.head(&self.path))
        {
            return Some(head);
        }
        self.record(homes, kinds).map(Record::head)
    }
    /// The record as its file has it, whatever was withdrawn since.
    pub fn fetch(&self, home: &Home, kinds: &Kinds) -> Option<Record> {
        let kept = home.shelf.as_ref().and_then(|shelf| shelf.record(&self.path)).filter(|record| record.id == self.id);
        let file = format!("{}{}", home.prefix, self.path).into();
        match kept {
            Some(record) => Some(Record { pack: self.pack, file, ..record }),
            None => self.read_again(home, &file, kinds),
        }
    }
    /// What was remembered is damaged. The file passed `check` when it was kept, and has not changed since.
    fn read_again(&self, home: &Home, file: &str, kinds: &Kinds) -> Option<Record> {
        let reading = read::read(&files::bytes(&home.root, &home.here, &self.path)?);
        let tree = reading.tree.filter(|_| reading.faults.is_empty())?;
        from_tree::record(&tree, from_tree::TreeSource { id: self.id.clone(), pack: self.pack, file }, kinds).ok()
    }
}
