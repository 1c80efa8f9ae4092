//! The snapshot: what is remembered of the files of a pack, in one file of the user's cache folder. Of a small pack it
//! holds the records too, so that unchanged YAML is not parsed again; those of a large one lie in its
//! index, but for a few that came after it.
//!
//! A file counts as unchanged when size, times and inode are those of the snapshot and its times are at least two
//! seconds older than the snapshot; otherwise its content hash decides. A damaged snapshot, or one of another version
//! or other schemas, is as good as none.

use crate::book::files::{self, FileRole, PackFile};
use crate::book::kinds::{Kinds, SchemasHash};
use crate::book::memory::{Kept, Shelf, Sum, UnchangedFile};
use crate::book::{Head, PackRoot, Record, codec, references};
use crate::read::folder::Stamp;
use crate::read::kept;
use serde::{Deserialize, Serialize};
use serde_bytes::Bytes;
use sha2::{Digest, Sha256};
use std::any::Any;
use std::collections::BTreeMap;
use std::ops::Range;

/// First bytes of every snapshot: what it is, and the version it can be read by.
const FORM: &str = concat!("gripbook snapshot ", env!("CARGO_PKG_VERSION"), "\n");

/// What a snapshot consists of; the long parts are decoded when they are asked for.
#[derive(Serialize, Deserialize)]
struct Parts<'b> {
    format: u32,
    schemas: [u8; 32],
    made: i64,
    index: Option<IndexState>,
    sum: Sum,
    #[serde(borrow)]
    kinds: &'b Bytes,
    files: &'b Bytes,
    names: &'b Bytes,
    records: &'b Bytes,
}

/// What must be equal for a snapshot to serve: the schemas in force and, for built-in packs, the embedded files.
pub fn key(root: &PackRoot, schemas: &SchemasHash) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(schemas);
    hash.update(files::built_in_mark(root));
    hash.finalize().into()
}

/// Whether what the schemas say is kept with a pack: with the one every book holds.
pub fn keeps_kinds(root: &PackRoot) -> bool {
    matches!(root, PackRoot::BuiltIn)
}

/// A snapshot in memory.
#[derive(Debug, Default)]
pub struct Snapshot {
    bytes: Vec<u8>,
    made: i64,
    /// The index beside it; absent for a small pack.
    pub index: Option<IndexState>,
    /// What the files amount to.
    pub sum: Sum,
    kinds: Range<usize>,
    files: Range<usize>,
    names: Range<usize>,
    records: Range<usize>,
}

/// The state of the index that belongs to a snapshot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct IndexState {
    /// Name of its folder.
    pub folder: String,
    /// What its last commit is called.
    pub state: String,
    /// Its files with their stamps, sorted by name: a file that differs was not written by the commit.
    pub files: Vec<(String, Stamp)>,
}

/// What a snapshot holds of one file.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct FileState<'b> {
    /// Its path inside the pack.
    pub path: &'b str,
    /// Its state when it was read.
    pub stamp: Stamp,
    /// What need not be found out again.
    pub known: UnchangedFile,
    /// Where its record is.
    pub held: Held,
}

/// Where the record of a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Held {
    /// The file is no record.
    Nowhere,
    /// In the snapshot.
    Here,
    /// In the index.
    InIndex,
}

impl FileState<'_> {
    /// Whether what is kept of a file fits what the file is for.
    pub fn fits(&self, file: &PackFile) -> bool {
        (self.held == Held::Nowhere) == (file.part != FileRole::Record)
    }
}

impl Snapshot {
    /// A snapshot of these schemas from its bytes; empty when there is none that can be used.
    pub fn of(bytes: Option<Vec<u8>>, schemas: &[u8; 32]) -> Snapshot {
        bytes.and_then(|bytes| Snapshot::whole(bytes, schemas)).unwrap_or_default()
    }
    fn whole(bytes: Vec<u8>, schemas: &[u8; 32]) -> Option<Snapshot> {
        let parts: Parts<'_> = kept::unseal(FORM, &bytes)?;
        (parts.format == codec::FORMAT && parts.schemas == *schemas).then_some(())?;
        let place = |part: &Bytes| {
            let from = part.as_ptr().addr() - bytes.as_ptr().addr();
            from..from + part.len()
        };
        let (kinds, files) = (place(parts.kinds), place(parts.files));
        let (names, records) = (place(parts.names), place(parts.records));
        let Parts { made, index, sum, .. } = parts;
        Some(Snapshot { made, index, sum, kinds, files, names, records, bytes })
    }
    /// A part of it; a part that does not decode is damaged, which the seal would have shown.
    fn part<'b, T: Deserialize<'b> + Default>(&'b self, place: &Range<usize>) -> T {
        self.bytes.get(place.clone()).and_then(kept::decode).unwrap_or_default()
    }
    /// What it holds of every file, in the order of their paths.
    pub fn files(&self) -> Vec<FileState<'_>> {
        self.part(&self.files)
    }
    /// What the schemas say, where it is kept with this pack.
    pub fn kinds(&self) -> Option<Kinds> {
        self.bytes.get(self.kinds.clone()).filter(|part| !part.is_empty()).and_then(kept::decode)
    }
    /// Every id that is named, with the places of the records that name it.
    fn names(&self) -> Vec<(&str, Vec<usize>)> {
        self.part(&self.names)
    }
    /// Whether a stamp alone shows that the file is unchanged.
    pub fn believes(&self, state: &FileState<'_>, now: &Stamp) -> bool {
        state.stamp == *now && now.settled(self.made)
    }
}

/// The records a snapshot holds: all of a small pack, of a large one those that came after its index.
#[derive(Debug, Default)]
pub struct SmallShelf {
    snapshot: Snapshot,
    /// Paths with the place of their record, in the order of paths.
    places: Vec<(Box<str>, Range<usize>)>,
}

impl SmallShelf {
    /// The records a snapshot holds.
    pub fn of(snapshot: Snapshot) -> SmallShelf {
        let records: Vec<(&str, &Bytes)> = snapshot.part(&snapshot.records);
        let begin = snapshot.bytes.as_ptr().addr();
        let place = |(path, record): (&str, &Bytes)| {
            let from = record.as_ptr().addr() - begin;
            (path.into(), from..from + record.len())
        };
        SmallShelf { places: records.into_iter().map(place).collect(), snapshot }
    }
    /// The paths of its records, sorted.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        self.places.iter().map(|(path, _)| &**path)
    }
    /// The bytes of a record.
    pub fn bytes(&self, path: &str) -> Option<&[u8]> {
        let at = self.places.binary_search_by(|(known, _)| (**known).cmp(path)).ok()?;
        self.snapshot.bytes.get(self.places[at].1.clone())
    }
    /// Paths of the records the index may hold, in whatever version.
    pub fn in_index(&self) -> Vec<String> {
        let held = self.snapshot.files().into_iter().filter(|file| file.held != Held::Nowhere);
        held.map(|file| file.path.to_owned()).collect()
    }
    /// Everything it holds, by path, to be put into the next snapshot.
    pub fn stored(&self) -> BTreeMap<&str, Stored> {
        let mut all: Vec<Stored> = self
            .places
            .iter()
            .map(|(_, range)| Stored { bytes: self.snapshot.bytes[range.clone()].to_vec(), names: Vec::new() })
            .collect();
        for (id, places) in self.snapshot.names() {
            places.iter().filter_map(|place| all.get_mut(*place).map(|s| s.names.push(id.to_owned()))).for_each(drop);
        }
        self.paths().zip(all).collect()
    }
}

impl Shelf for SmallShelf {
    fn record(&self, path: &str) -> Option<Record> {
        codec::decode(self.bytes(path)?)
    }
    fn head(&self, path: &str) -> Option<Head> {
        codec::decode_head(self.bytes(path)?)
    }
    fn naming(&self, is_meant: &dyn Fn(&str) -> bool) -> Vec<String> {
        let meant = self.snapshot.names().into_iter().filter(|(id, _)| is_meant(id)).flat_map(|(_, places)| places);
        let mut paths: Vec<String> = meant.filter_map(|at| Some(self.places.get(at)?.0.to_string())).collect();
        paths.sort();
        paths.dedup();
        paths
    }
    fn apart(&self) -> Option<Vec<&str>> {
        None
    }
    fn as_any(&self) -> &dyn Any {
        self
    }
}

/// A record of a small pack, as it is put into a snapshot.
#[derive(Debug, Clone)]
pub struct Stored {
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Ids it names, sorted.
    pub names: Vec<String>,
}

impl Stored {
    /// Of a record.
    pub fn of(record: &Record) -> Stored {
        Stored { bytes: codec::encode(record), names: references::names(record).into_iter().collect() }
    }
}

/// A snapshot without its end: the files, before it is known what they amount to.
pub struct Body {
    kinds: Vec<u8>,
    files: Vec<u8>,
    names: Vec<u8>,
    records: Vec<u8>,
}

impl Body {
    /// With some records by path. The others are in an index, if there is one; else they have to be read again.
    pub fn of(all: &Kept<'_>, mut records: BTreeMap<&str, Stored>, is_indexed: bool) -> Body {
        let mut stored: Vec<(&str, Stored)> = Vec::new();
        let mut files = Vec::with_capacity(all.files.len());
        for (file, known) in all.each() {
            let record = records.remove(&*file.path).filter(|_| file.part == FileRole::Record);
            let held = match (file.part, &record) {
                (FileRole::Record, Some(_)) => Held::Here,
                (FileRole::Record, None) if is_indexed => Held::InIndex,
                (FileRole::Record, None) => continue,
                _ => Held::Nowhere,
            };
            stored.extend(record.map(|record| (&*file.path, record)));
            files.push(FileState { path: &file.path, stamp: file.stamp, known: *known, held });
        }
        let mut names: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (place, (_, record)) in stored.iter().enumerate() {
            record.names.iter().for_each(|id| names.entry(id).or_default().push(place));
        }
        let names: Vec<(&str, Vec<usize>)> = names.into_iter().collect();
        let records: Vec<(&str, &Bytes)> = stored.iter().map(|(path, s)| (*path, Bytes::new(&s.bytes))).collect();
        Body { kinds: Vec::new(), files: kept::encode(&files), names: kept::encode(&names), records: kept::encode(&records) }
    }
    /// The same with what the schemas say.
    pub fn with(mut self, kinds: Option<&Kinds>) -> Body {
        self.kinds = kinds.map(kept::encode).unwrap_or_default();
        self
    }
    /// The bytes of the snapshot. `made` is the time before the first file was looked at, in nanoseconds since 1970.
    pub fn bytes(self, schemas: &[u8; 32], sum: &Sum, made: i64, index: Option<&IndexState>) -> Vec<u8> {
        let (kinds, files) = (Bytes::new(&self.kinds), Bytes::new(&self.files));
        let (names, records) = (Bytes::new(&self.names), Bytes::new(&self.records));
        let (sum, index) = (sum.clone(), index.cloned());
        kept::seal(FORM, &Parts { format: codec::FORMAT, schemas: *schemas, made, index, sum, kinds, files, names, records })
    }
}
