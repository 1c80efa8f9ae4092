//! The snapshot: what is remembered of the files of a pack, in one file of the user's cache folder. Of a small pack it
//! holds the records too, so that unchanged YAML is not parsed again; those of a large one lie in its index.
//!
//! A file counts as unchanged when size, times and inode are those of the snapshot and its times are at least two
//! seconds older than the snapshot; otherwise its content hash decides. A damaged snapshot, or one of another version
//! or other schemas, is as good as none.

use crate::book::files::{PackFile, Part, Stamp};
use crate::book::load::Kept;
use crate::book::{Record, blob};
use sha2::{Digest, Sha256};
use std::path::Path;

/// First bytes of every snapshot: what it is, and the versions it can be read by.
const MAGIC: &str = concat!("gripbook snapshot ", env!("CARGO_PKG_VERSION"), "\n");
/// Nanoseconds by which a file must be older than the snapshot for its stamp to be believed: clocks of file systems are
/// coarse, and an edit within one tick changes no stamp.
const SETTLED: i64 = 2_000_000_000;

/// A snapshot in memory.
#[derive(Debug, Default)]
pub struct Snapshot {
    bytes: Vec<u8>,
    made: i64,
    /// The index beside it; absent for a small pack.
    pub index: Option<IndexState>,
    /// By path.
    entries: Vec<Entry>,
}

/// The state of the index that belongs to a snapshot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IndexState {
    /// Name of its folder.
    pub folder: String,
    /// What its last commit is called.
    pub state: String,
    /// Its files with their stamps, sorted by name: a file that differs was not written by the commit.
    pub files: Vec<(String, Stamp)>,
}

/// What a snapshot holds of one file.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Place of its path in the snapshot.
    path: std::ops::Range<usize>,
    /// Its state when it was read.
    pub stamp: Stamp,
    /// Hash of its content.
    pub hash: [u8; 32],
    /// Where its record is.
    pub held: Held,
}

/// Where the record of a file is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Held {
    /// The file is no record.
    Nowhere,
    /// In the snapshot, at these bytes.
    Here(std::ops::Range<usize>),
    /// In the index.
    InIndex,
}

impl Snapshot {
    /// Reads a snapshot of these schemas; empty when there is none that can be used.
    pub fn read(file: &Path, schemas: &[u8; 32]) -> Snapshot {
        std::fs::read(file).ok().and_then(|bytes| parse(bytes, schemas)).unwrap_or_default()
    }
    /// How many files it holds.
    pub fn count(&self) -> usize {
        self.entries.len()
    }
    /// What it holds of a file.
    pub fn entry(&self, path: &str) -> Option<&Entry> {
        let at = self.entries.binary_search_by(|e| self.path(e).cmp(path.as_bytes())).ok()?;
        self.entries.get(at)
    }
    fn path(&self, entry: &Entry) -> &[u8] {
        &self.bytes[entry.path.clone()]
    }
    /// Whether a stamp alone shows that the file is unchanged.
    pub fn believes(&self, entry: &Entry, now: &Stamp) -> bool {
        entry.stamp == *now && now.latest().saturating_add(SETTLED) <= self.made
    }
    /// The record of an entry, when the snapshot holds it undamaged.
    pub fn record(&self, entry: &Entry) -> Option<Record> {
        match &entry.held {
            Held::Here(place) => blob::decode(self.bytes.get(place.clone())?),
            Held::Nowhere | Held::InIndex => None,
        }
    }
    /// Paths of the records the index holds.
    pub fn in_index(&self) -> impl Iterator<Item = &str> {
        let held = self.entries.iter().filter(|e| e.held == Held::InIndex);
        held.filter_map(|e| std::str::from_utf8(self.path(e)).ok())
    }
    /// Whether a file read now could be believed by its stamp from now on.
    pub fn settled(stamp: &Stamp, now: i64) -> bool {
        stamp.latest().saturating_add(SETTLED) <= now
    }
}

/// The bytes of a snapshot. `made` is the time before the first file was looked at, in nanoseconds since 1970.
/// With an index the records stay out of it.
pub fn bytes(files: &[Kept<'_>], schemas: &[u8; 32], made: i64, index: Option<&IndexState>) -> Vec<u8> {
    let mut to = Vec::with_capacity(files.len() * if index.is_some() { 160 } else { 1500 });
    to.extend(MAGIC.as_bytes());
    to.extend(blob::FORMAT.to_le_bytes());
    to.extend(schemas);
    to.extend(made.to_le_bytes());
    put_index(&mut to, index);
    to.extend((files.len() as u64).to_le_bytes());
    for kept in files {
        put(&mut to, kept.file.path.as_bytes());
        put_stamp(&mut to, &kept.file.stamp);
        to.extend(kept.hash);
        match (kept.file.part, kept.record, index) {
            (Part::Record, _, Some(_)) => to.push(2),
            (Part::Record, Some(record), None) => {
                to.push(1);
                put(&mut to, &blob::encode(record));
            }
            _ => to.push(0),
        }
    }
    let sum = Sha256::digest(&to);
    to.extend(sum);
    to
}

fn put_stamp(to: &mut Vec<u8>, stamp: &Stamp) {
    for number in [stamp.size, stamp.modified.cast_unsigned(), stamp.changed.cast_unsigned(), stamp.inode] {
        to.extend(number.to_le_bytes());
    }
}

fn put_index(to: &mut Vec<u8>, index: Option<&IndexState>) {
    let Some(index) = index else { return to.push(0) };
    to.push(1);
    put(to, index.folder.as_bytes());
    put(to, index.state.as_bytes());
    to.extend((index.files.len() as u64).to_le_bytes());
    for (name, stamp) in &index.files {
        put(to, name.as_bytes());
        put_stamp(to, stamp);
    }
}

fn put(to: &mut Vec<u8>, bytes: &[u8]) {
    to.extend((bytes.len() as u64).to_le_bytes());
    to.extend(bytes);
}

fn parse(bytes: Vec<u8>, schemas: &[u8; 32]) -> Option<Snapshot> {
    let body = bytes.len().checked_sub(32)?;
    (Sha256::digest(&bytes[..body])[..] == bytes[body..]).then_some(())?;
    let mut from = Cursor { bytes: &bytes[..body], at: 0 };
    (from.take(MAGIC.len())? == MAGIC.as_bytes()).then_some(())?;
    (from.take(4)? == blob::FORMAT.to_le_bytes() && from.take(32)? == schemas).then_some(())?;
    let made = from.number()?.cast_signed();
    let index = from.index()?;
    let count = usize::try_from(from.number()?).ok()?;
    let mut entries = Vec::with_capacity(count.min(body));
    for _ in 0..count {
        entries.push(from.entry()?);
    }
    // Written in the order of the listing, which is that of the paths; looking up relies on it.
    entries.is_sorted_by(|a: &Entry, b: &Entry| bytes[a.path.clone()] < bytes[b.path.clone()]).then_some(())?;
    Some(Snapshot { made, index, entries, bytes })
}

struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Cursor<'a> {
    fn take(&mut self, n: usize) -> Option<&'a [u8]> {
        let part = self.bytes.get(self.at..self.at.checked_add(n)?)?;
        self.at += n;
        Some(part)
    }
    fn number(&mut self) -> Option<u64> {
        self.take(8)?.try_into().ok().map(u64::from_le_bytes)
    }
    fn text(&mut self) -> Option<String> {
        let length = usize::try_from(self.number()?).ok()?;
        std::str::from_utf8(self.take(length)?).ok().map(str::to_owned)
    }
    fn stamp(&mut self) -> Option<Stamp> {
        Some(Stamp {
            size: self.number()?,
            modified: self.number()?.cast_signed(),
            changed: self.number()?.cast_signed(),
            inode: self.number()?,
        })
    }
    fn index(&mut self) -> Option<Option<IndexState>> {
        if self.take(1)? == [0] {
            return Some(None);
        }
        let (folder, state) = (self.text()?, self.text()?);
        let count = usize::try_from(self.number()?).ok()?;
        let mut files = Vec::new();
        for _ in 0..count {
            files.push((self.text()?, self.stamp()?));
        }
        Some(Some(IndexState { folder, state, files }))
    }
    fn entry(&mut self) -> Option<Entry> {
        let length = usize::try_from(self.number()?).ok()?;
        let start = self.at;
        self.take(length)?;
        let path = start..self.at;
        let stamp = self.stamp()?;
        let hash = self.take(32)?.try_into().ok()?;
        let held = match self.take(1)? {
            [0] => Held::Nowhere,
            [1] => {
                let length = usize::try_from(self.number()?).ok()?;
                let start = self.at;
                self.take(length)?;
                Held::Here(start..self.at)
            }
            [2] => Held::InIndex,
            _ => return None,
        };
        Some(Entry { path, stamp, hash, held })
    }
}

/// Whether what is kept of a file fits what the file is for.
pub fn fits(entry: &Entry, file: &PackFile) -> bool {
    (entry.held == Held::Nowhere) == (file.part != Part::Record)
}
