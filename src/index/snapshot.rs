//! The snapshot: what is remembered of the files of a pack, in one file of the user's cache folder. Of a small pack it
//! holds the records too, so that unchanged YAML is not parsed again; those of a large one lie in its
//! index, but for a few that came after it.
//!
//! A file counts as unchanged when size, times and inode are those of the snapshot and its times are at least two
//! seconds older than the snapshot; otherwise its content hash decides. A damaged snapshot, or one of another version
//! or other schemas, is as good as none.

use crate::book::files::{PackFile, Part};
use crate::book::memory::{Kept, Known, Shelf, Sum};
use crate::book::{Count, Head, Record, blob};
use crate::read::compact::{Decoder, Encoder};
use crate::read::folder::Stamp;
use crate::read::paths::{self, Aligned, Paths};
use std::collections::BTreeMap;
use std::ops::Range;

/// First bytes of every snapshot: what it is, and the versions it can be read by.
const MAGIC: &str = concat!("gripbook snapshot ", env!("CARGO_PKG_VERSION"), "\n");

/// A snapshot in memory.
#[derive(Debug, Default)]
pub struct Snapshot {
    bytes: Vec<u8>,
    made: i64,
    /// The index beside it; absent for a small pack.
    pub index: Option<IndexState>,
    /// What the files amount to.
    pub sum: Sum,
    entries: Range<usize>,
    names: Range<usize>,
    records: Range<usize>,
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
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// Its state when it was read.
    pub stamp: Stamp,
    /// What need not be found out again.
    pub known: Known,
    /// Where its record is.
    pub held: Held,
}

/// Where the record of a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// The file is no record.
    Nowhere,
    /// In the snapshot.
    Here,
    /// In the index.
    InIndex,
}

impl Snapshot {
    /// A snapshot of these schemas from its bytes; empty when there is none that can be used.
    pub fn of(bytes: Option<Vec<u8>>, schemas: &[u8; 32]) -> Snapshot {
        bytes.and_then(|bytes| parse(bytes, schemas)).unwrap_or_default()
    }
    /// What is known of each of some files, as `judge` says from what it holds of them; nothing of any when it cannot be
    /// right.
    pub fn aligned(&self, files: &[PackFile], judge: impl Fn(Entry, &PackFile) -> Option<Known> + Sync) -> Aligned<Known> {
        let one = |from: &mut Decoder<'_>, file: Option<&PackFile>| {
            let entry = entry(from)?;
            Some(file.and_then(|file| judge(entry, file)))
        };
        let aligned = self.paths().and_then(|paths| paths.align(files, |file| &*file.path, one));
        aligned.unwrap_or_else(|| Aligned { kept: vec![None; files.len()], gone: true })
    }
    /// Every path with what it holds of it.
    pub fn each(&self, mut each: impl FnMut(&str, Entry)) {
        // A section that ends early is damaged, which the seal would have shown.
        let _ = self.paths().and_then(|paths| {
            paths.each(|path, from| {
                each(path, entry(from)?);
                Some(())
            })
        });
    }
    fn paths(&self) -> Option<Paths<'_>> {
        // An empty snapshot holds nothing, which is no damage.
        if self.entries.is_empty() {
            return Some(Paths::default());
        }
        Paths::take(&mut Decoder(&self.bytes[self.entries.clone()]))
    }
    /// Whether a stamp alone shows that the file is unchanged.
    pub fn believes(&self, entry: &Entry, now: &Stamp) -> bool {
        entry.stamp == *now && now.settled(self.made)
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
        let end = snapshot.records.end;
        let mut from = Decoder(&snapshot.bytes[snapshot.records.clone()]);
        let places = from.list(|from| {
            let path = from.text()?.into();
            let length = from.bytes()?.len();
            let after = end - from.0.len();
            Some((path, after - length..after))
        });
        // A section that ends early is damaged, which the seal would have shown.
        SmallShelf { places: places.unwrap_or_default(), snapshot }
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
        let mut all = Vec::new();
        self.snapshot.each(|path, entry| {
            if entry.held != Held::Nowhere {
                all.push(path.to_owned());
            }
        });
        all
    }
    /// Everything it holds, by path, to be put into the next snapshot.
    pub fn stored(&self) -> BTreeMap<&str, Stored> {
        let mut names: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        self.each_name(|id, place| names.entry(place).or_default().push(id.to_owned()));
        let stored = |(place, (_, range)): (usize, &(Box<str>, Range<usize>))| {
            let bytes = self.snapshot.bytes.get(range.clone()).unwrap_or_default().to_vec();
            Stored { bytes, names: names.remove(&place).unwrap_or_default() }
        };
        let all = self.places.iter().enumerate().map(stored);
        self.places.iter().map(|(path, _)| &**path).zip(all).collect()
    }
    /// Every id that is named, with the place of each record that names it.
    fn each_name(&self, mut each: impl FnMut(&str, usize)) -> Option<()> {
        let mut from = Decoder(self.snapshot.bytes.get(self.snapshot.names.clone())?);
        for _ in 0..from.count()? {
            let id = from.text()?;
            for _ in 0..from.count()? {
                each(id, from.count()?);
            }
        }
        Some(())
    }
}

impl Shelf for SmallShelf {
    fn record(&self, path: &str) -> Option<Record> {
        blob::decode(self.bytes(path)?)
    }
    fn head(&self, path: &str) -> Option<Head> {
        blob::decode_head(self.bytes(path)?)
    }
    fn naming(&self, is_meant: &dyn Fn(&str) -> bool) -> Vec<String> {
        let (mut last, mut meant) = (String::new(), false);
        let mut paths: Vec<String> = Vec::new();
        // A section that ends early is damaged, which the seal would have shown.
        let _ = self.each_name(|id, place| {
            if last != id {
                last = id.to_owned();
                meant = is_meant(id);
            }
            if let Some((path, _)) = self.places.get(place).filter(|_| meant) {
                paths.push(path.to_string());
            }
        });
        paths.sort();
        paths.dedup();
        paths
    }
    fn apart(&self) -> Option<Vec<&str>> {
        None
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

/// A snapshot without its end: the files, before it is known what they amount to.
pub struct Body(Encoder);

impl Body {
    /// With some records by path. The others are in an index, if there is one; else they have to be read again.
    pub fn of(all: &Kept<'_>, records: BTreeMap<&str, Stored>, is_indexed: bool, schemas: &[u8; 32]) -> Body {
        let mut to = Encoder(Vec::with_capacity(all.files.len() * 80 + 4096));
        to.0.extend(MAGIC.as_bytes());
        to.0.extend(blob::FORMAT.to_le_bytes());
        to.0.extend(schemas);
        let mut records = records.into_iter().peekable();
        let mut stored = Vec::new();
        let mut held: Vec<(u32, Held)> = Vec::with_capacity(all.files.len());
        for (place, file) in (0..).zip(all.files).filter(|(place, _)| all.known[*place as usize].is_some()) {
            while records.next_if(|(path, _)| *path < &*file.path).is_some() {}
            let record = records.next_if(|(path, _)| file.part == Part::Record && *path == &*file.path);
            let held_where = match (file.part, &record) {
                (Part::Record, Some(_)) => Held::Here,
                (Part::Record, None) if is_indexed => Held::InIndex,
                (Part::Record, None) => continue,
                _ => Held::Nowhere,
            };
            stored.extend(record);
            held.push((place, held_where));
        }
        let mut names: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
        for (place, (_, record)) in (0..).zip(&stored) {
            record.names.iter().for_each(|id| names.entry(id).or_default().push(place));
        }
        to.number(names.len() as u64);
        for (id, places) in names {
            to.text(id);
            to.list(&places, |to, place| to.number(*place));
        }
        to.list(&stored, |to, (path, record)| {
            to.text(path);
            to.bytes(&record.bytes);
        });
        paths::put(
            &mut to,
            &held,
            |(place, _)| &all.files[*place as usize].path,
            |to, (place, held)| {
                all.files[*place as usize].stamp.put(to);
                if let Some(known) = &all.known[*place as usize] {
                    to.0.extend(known.hash);
                    to.number(u64::from(known.claims));
                }
                to.0.push(*held as u8);
            },
        );
        Body(to)
    }
    /// The bytes of the snapshot. `made` is the time before the first file was looked at, in nanoseconds since 1970.
    pub fn bytes(self, sum: &Sum, made: i64, index: Option<&IndexState>) -> Vec<u8> {
        let mut to = self.0;
        to.wide(made.cast_unsigned());
        to.maybe(index, put_index);
        put_sum(&mut to, sum);
        to.sealed()
    }
}

fn put_sum(to: &mut Encoder, sum: &Sum) {
    to.text(&sum.hash);
    to.number(sum.claims as u64);
    to.list(&sum.counts, |to, count| {
        to.text(&count.kind);
        to.number(count.records as u64);
    });
}

fn put_index(to: &mut Encoder, index: &IndexState) {
    to.text(&index.folder);
    to.text(&index.state);
    to.list(&index.files, |to, (name, stamp)| {
        to.text(name);
        stamp.put(to);
    });
}

fn parse(bytes: Vec<u8>, schemas: &[u8; 32]) -> Option<Snapshot> {
    let mut from = Decoder::unsealed(&bytes)?;
    let whole = from.0.len();
    (from.take(MAGIC.len())? == MAGIC.as_bytes()).then_some(())?;
    (from.take(4)? == blob::FORMAT.to_le_bytes() && from.take(32)? == schemas).then_some(())?;
    let names = whole - from.0.len();
    from.list(|from| {
        from.bytes()?;
        from.list(Decoder::number).map(drop)
    })?;
    let names = names..whole - from.0.len();
    let begin = whole - from.0.len();
    from.list(|from| from.text().and(from.bytes()).map(drop))?;
    let records = begin..whole - from.0.len();
    Paths::take(&mut from)?;
    let entries = records.end..whole - from.0.len();
    let made = from.wide()?.cast_signed();
    let index = from.maybe(index)?;
    let hash = from.text()?.into();
    let claims = from.count()?;
    let counts = from.list(|from| Some(Count { kind: from.text()?.into(), records: from.count()? }))?;
    from.0.is_empty().then_some(())?;
    Some(Snapshot { made, index, sum: Sum { counts, claims, hash }, entries, names, records, bytes })
}

fn index(from: &mut Decoder<'_>) -> Option<IndexState> {
    let (folder, state) = (from.text()?.to_owned(), from.text()?.to_owned());
    let files = from.list(|from| Some((from.text()?.to_owned(), Stamp::take(from)?)))?;
    Some(IndexState { folder, state, files })
}

fn entry(from: &mut Decoder<'_>) -> Option<Entry> {
    let stamp = Stamp::take(from)?;
    let hash = from.take(32)?.try_into().ok()?;
    let claims = u32::try_from(from.number()?).ok()?;
    let held = from.byte()?;
    let held = [Held::Nowhere, Held::Here, Held::InIndex].into_iter().find(|known| *known as u8 == held)?;
    Some(Entry { stamp, known: Known { hash, claims }, held })
}

/// Whether what is kept of a file fits what the file is for.
pub fn fits(entry: &Entry, file: &PackFile) -> bool {
    (entry.held == Held::Nowhere) == (file.part != Part::Record)
}
