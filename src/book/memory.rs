//! What is known of packs from earlier runs, so that unchanged files need not be read again.

use super::files::PackFile;
use super::files::PackRoot;
use super::kinds::{Kinds, SchemasHash};
use super::pack::Count;
use super::record::{Head, Record};
use serde::{Deserialize, Serialize};
use std::any::Any;
use std::fmt::Debug;
use std::sync::Arc;

/// Memory of earlier runs. Of each pack it goes through three states, each of which gives the next: its bytes, what they
/// say of the files as they are now, and who keeps what is read anew.
pub trait Memory: Sync {
    /// What was kept of a pack, unread; asked for while its files are listed.
    fn fetch(&self, root: &PackRoot) -> Option<Vec<u8>>;
    /// What it says of the files, which come in the order of their paths, under the hash of all schemas in force. An answer
    /// that knows nothing is always right.
    fn recall<'m>(&'m self, kept: Option<Vec<u8>>, root: &PackRoot, files: &[PackFile], schemas: &SchemasHash) -> Recalled<'m>;
}

/// What is known of a pack.
pub struct Recalled<'m> {
    /// What is known of the file at the same place; `None` when it has to be read.
    pub known: Vec<Option<UnchangedFile>>,
    /// The sum of all files, when none has changed, come or gone.
    pub same: Option<Sum>,
    /// Where the records of the known files are.
    pub shelf: Option<Arc<dyn Shelf>>,
    /// What the schemas in force say, where it was kept with the pack.
    pub kinds: Option<Kinds>,
    /// Who keeps what is read now; absent when nothing is kept.
    pub renewal: Option<Box<dyn Renewal + 'm>>,
}

impl Recalled<'_> {
    /// Nothing is known of so many files, and nothing is kept.
    pub fn nothing(files: usize) -> Self {
        Recalled { known: vec![None; files], same: None, shelf: None, kinds: None, renewal: None }
    }
}

/// The right to keep a pack anew.
pub trait Renewal {
    /// Begins: from here on it takes what is read.
    fn begin<'k>(self: Box<Self>, kinds: &'k Kinds) -> Box<dyn CacheWriter + 'k>
    where
        Self: 'k;
}

/// A file whose content need not be read again.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct UnchangedFile {
    /// Hash of its content.
    #[serde(with = "serde_bytes")]
    pub hash: [u8; 32],
    /// Claims in its record; 0 for schemas, curves and the manifest.
    pub claims: u32,
}

/// What the files of a pack amount to.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
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
    /// Itself, for whoever made it.
    fn as_any(&self) -> &dyn Any;
}

/// Takes what is read of a pack.
pub trait CacheWriter {
    /// Takes files just read; true when their records need not stay in memory.
    fn take(&mut self, read: &[Fresh<'_>]) -> bool;
    /// Ends the work with the files as they are now, and what they amount to.
    fn done(self: Box<Self>, all: &Kept<'_>, sum: &(dyn Fn() -> Sum + Sync)) -> Done;
}

/// What became of the work of a [`CacheWriter`].
#[derive(Debug, Default)]
pub struct Done {
    /// Where records are from now on; `None` when they are where they were.
    pub shelf: Option<Arc<dyn Shelf>>,
    /// Whether it could not hold the records it took, which have to be read once more.
    pub is_lost: bool,
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
    pub known: &'a [Option<UnchangedFile>],
    /// Places of the files that were read now, rising.
    pub read: &'a [usize],
}

impl<'a> Kept<'a> {
    /// The files the next run may know.
    pub fn each(&self) -> impl Iterator<Item = (&'a PackFile, &'a UnchangedFile)> + use<'a> {
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
    fn fetch(&self, _: &PackRoot) -> Option<Vec<u8>> {
        None
    }
    fn recall<'m>(&'m self, _: Option<Vec<u8>>, _: &PackRoot, files: &[PackFile], _: &SchemasHash) -> Recalled<'m> {
        Recalled::nothing(files.len())
    }
}
