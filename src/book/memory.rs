//! What is known of packs from earlier runs, so that unchanged files need not be read again.

use super::files::PackFile;
use super::files::PackRoot;
use super::pack::Count;
use super::record::{Head, Record};
use crate::check::catalogue::Catalogue;
use std::fmt::Debug;
use std::sync::Arc;

/// Memory of earlier runs.
pub trait Memory: Sync {
    /// Called for a pack that is going to be recalled, while its files are listed.
    fn prepare(&self, _: &PackRoot) {}
    /// Called once per pack, with its files in the order of their paths and the hash of all schemas in force. An answer
    /// that knows nothing is always right.
    fn recall(&self, root: &PackRoot, files: &[PackFile], schemas: &[u8; 32]) -> Recalled;
    /// Called after [`Memory::recall`] when something of a pack has changed: who takes what is read now.
    fn keeper<'m>(
        &'m self,
        root: &PackRoot,
        files: &[PackFile],
        schemas: &[u8; 32],
        kinds: &'m Catalogue,
    ) -> Box<dyn Keeper + 'm>;
}

/// What is known of a pack.
#[derive(Debug, Default)]
pub struct Recalled {
    /// What is known of the file at the same place; `None` when it has to be read.
    pub known: Vec<Option<Known>>,
    /// The sum of all files, when none has changed, come or gone.
    pub same: Option<Sum>,
    /// Where the records of the known files are.
    pub shelf: Option<Arc<dyn Shelf>>,
}

/// A file whose content need not be read again.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Hash of its content.
    pub hash: [u8; 32],
    /// Claims in its record; 0 for schemas, curves and the manifest.
    pub claims: u32,
}

/// What the files of a pack amount to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sum {
    /// Records by kind, sorted by kind.
    pub counts: Vec<Count>,
    /// Claims in all records.
    pub claims: usize,
    /// Hash of the pack.
    pub hash: Box<str>,
}

/// Where records stay until they are asked for. Paths are those inside the pack.
pub trait Shelf: Debug + Send + Sync {
    /// The record of a file, with pack 0 and no path; `None` when it is not there undamaged.
    fn record(&self, path: &str) -> Option<Record>;
    /// What the record of a file is called.
    fn head(&self, path: &str) -> Option<Head>;
    /// Paths of the records that name an id which `is_meant`. Sorted.
    fn naming(&self, is_meant: &dyn Fn(&str) -> bool) -> Vec<String>;
    /// When its records are found by asking it, and so stay out of the book: the paths of those that come into the book
    /// all the same, sorted. `None` when all do.
    fn apart(&self) -> Option<Vec<&str>>;
}

/// Takes what is read of a pack.
pub trait Keeper {
    /// Takes files just read; true when their records need not stay in memory.
    fn take(&mut self, read: &[Fresh<'_>]) -> bool;
    /// Ends the work with the files as they are now, and what they amount to. What comes back holds all
    /// records taken, unless it is `None`, which after a [`Keeper::take`] that was true means that they have to be read
    /// once more.
    fn done(self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>>;
}

/// A record just read.
#[derive(Debug)]
pub struct Fresh<'a> {
    /// Path of its file inside the pack.
    pub path: &'a str,
    /// The record.
    pub record: &'a Record,
}

/// The files of a pack as they are now.
#[derive(Debug, Clone, Copy)]
pub struct Kept<'a> {
    /// All files.
    pub files: &'a [PackFile],
    /// What the next run may know of each; `None` when it has to read the file.
    pub known: &'a [Option<Known>],
    /// Places of the files that were read now, rising.
    pub read: &'a [usize],
}

impl<'a> Kept<'a> {
    /// The files the next run may know.
    pub fn each(&self) -> impl Iterator<Item = (&'a PackFile, &'a Known)> + use<'a> {
        self.files.iter().zip(self.known).filter_map(|(file, known)| Some((file, known.as_ref()?)))
    }
    /// The files of which nothing was read now.
    pub fn recalled(&self) -> impl Iterator<Item = &'a PackFile> + use<'a> {
        let read = self.read;
        let all = self.files.iter().zip(self.known).enumerate();
        let recalled = all.filter(|(place, (_, known))| known.is_some() && read.binary_search(place).is_err());
        recalled.map(|(_, (file, _))| file)
    }
}

/// Memory that forgets: every file is read.
pub struct NoMemory;

impl Memory for NoMemory {
    fn recall(&self, _: &PackRoot, files: &[PackFile], _: &[u8; 32]) -> Recalled {
        Recalled { known: vec![None; files.len()], ..Recalled::default() }
    }
    fn keeper<'m>(&'m self, _: &PackRoot, _: &[PackFile], _: &[u8; 32], _: &'m Catalogue) -> Box<dyn Keeper + 'm> {
        Box::new(NoKeeper)
    }
}

struct NoKeeper;

impl Keeper for NoKeeper {
    fn take(&mut self, _: &[Fresh<'_>]) -> bool {
        false
    }
    fn done(self: Box<Self>, _: &Kept<'_>, _: &(dyn Fn() -> Sum + Sync)) -> Option<Arc<dyn Shelf>> {
        None
    }
}
