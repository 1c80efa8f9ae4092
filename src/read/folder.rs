//! What stands below a folder: every file with its state, asked in parallel and given in the order of paths.
//!
//! Nothing is opened and no link is followed. Names with a dot in front are left out.

use rayon::prelude::*;
use std::fmt;
use std::fs::{self, DirEntry, Metadata};
use std::io;
use std::ops::Deref;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// What a file system says about a file without reading it. Times in nanoseconds since 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize)]
pub struct Stamp {
    /// Bytes.
    pub size: u64,
    /// Last change of the content.
    pub modified: i64,
    /// Last change of the entry (where the platform has it).
    pub changed: i64,
    /// Number of the file (where the platform has it).
    pub inode: u64,
}

/// Nanoseconds by which a file must be older than the look at it for its stamp to be believed: clocks of file systems
/// are coarse, and an edit within one tick changes no stamp.
const SETTLED: i64 = 2_000_000_000;

impl Stamp {
    /// From what the platform tells.
    pub fn of(metadata: &Metadata) -> Stamp {
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            let time = |seconds: i64, rest: i64| seconds.saturating_mul(1_000_000_000).saturating_add(rest);
            Stamp {
                size: metadata.len(),
                modified: time(metadata.mtime(), metadata.mtime_nsec()),
                changed: time(metadata.ctime(), metadata.ctime_nsec()),
                inode: metadata.ino(),
            }
        }
        #[cfg(not(unix))]
        Stamp { size: metadata.len(), modified: metadata.modified().map_or(0, nanoseconds), changed: 0, inode: 0 }
    }
    /// Whether the stamp alone shows, to a look at this time, that the file is as it was.
    pub fn settled(&self, looked: i64) -> bool {
        self.modified.max(self.changed).saturating_add(SETTLED) <= looked
    }
}

#[cfg(not(unix))]
fn nanoseconds(time: std::time::SystemTime) -> i64 {
    match time.duration_since(std::time::UNIX_EPOCH) {
        Ok(after) => i64::try_from(after.as_nanos()).unwrap_or(i64::MAX),
        Err(before) => i64::try_from(before.duration().as_nanos()).map_or(i64::MIN, |n| -n),
    }
}

/// A path whose bytes stand beside those of its neighbours, so that going through many of them in order is cheap.
#[derive(Clone)]
pub struct PathText {
    neighbours: Arc<str>,
    from: u32,
    length: u32,
}

impl Deref for PathText {
    type Target = str;

    fn deref(&self) -> &str {
        &self.neighbours[self.from as usize..][..self.length as usize]
    }
}

impl From<&str> for PathText {
    fn from(path: &str) -> PathText {
        // No system takes a path of so many bytes.
        let length = u32::try_from(path.len()).unwrap_or(u32::MAX);
        PathText { neighbours: path.into(), from: 0, length }
    }
}

impl PartialEq for PathText {
    fn eq(&self, other: &PathText) -> bool {
        **self == **other
    }
}

impl Eq for PathText {}

impl fmt::Display for PathText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self)
    }
}

impl fmt::Debug for PathText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&**self, f)
    }
}

/// A file, link, pipe or device below a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Path below the folder, with `/`.
    pub path: PathText,
    /// Whether it is a symbolic link.
    pub is_link: bool,
    /// Its state; of a link its own. Zero when it vanished meanwhile.
    pub stamp: Stamp,
}

/// What stands below a folder.
#[derive(Debug, Default)]
pub struct Listing {
    /// Sorted by path.
    pub entries: Vec<Entry>,
    /// Paths below the folder that are not UTF-8; such folders are not entered. Sorted.
    pub unnamed: Vec<PathBuf>,
    /// Folders that cannot be listed, sorted by path.
    pub closed: Vec<Closed>,
}

/// A folder that cannot be listed.
#[derive(Debug)]
pub struct Closed {
    /// Path below the folder asked for; empty for that folder itself.
    pub path: String,
    /// Why.
    pub error: io::Error,
}

/// Some of what stands in one folder, in the order of the system.
#[derive(Default)]
struct Seen {
    /// The paths of the files, one after the other.
    paths: String,
    files: Vec<SeenFile>,
    folders: Vec<String>,
    unnamed: Vec<PathBuf>,
}

struct SeenFile {
    /// Where its path ends; it begins at the end of the one before.
    end: usize,
    is_link: bool,
    stamp: Stamp,
}

/// What stands in one folder.
struct Inside {
    /// Sorted by path.
    files: Vec<Entry>,
    folders: Vec<String>,
    unnamed: Vec<PathBuf>,
}

/// Names handed to another core at a time, which asks for their state while further names are read.
const BATCH: usize = 512;
/// Files whose paths stand side by side.
const NEIGHBOURS: usize = 2048;

/// Lists everything below a folder.
#[must_use]
pub fn list(root: &Path) -> Listing {
    let mut all = Listing::default();
    let mut files = Vec::new();
    let mut level = vec![String::new()];
    // Level by level and not by recursion, so that no depth of folders is too deep.
    while !level.is_empty() {
        let listed: Vec<Result<Inside, Closed>> =
            level.into_par_iter().map(|inside| one(root, &inside).map_err(|error| Closed { path: inside, error })).collect();
        level = Vec::new();
        for folder in listed {
            match folder {
                Ok(inside) => {
                    files.push(inside.files);
                    all.unnamed.extend(inside.unnamed);
                    level.extend(inside.folders);
                }
                Err(closed) => all.closed.push(closed),
            }
        }
        level.sort();
    }
    all.entries = joined(files);
    all.unnamed.sort();
    all.closed.sort_by(|a, b| a.path.cmp(&b.path));
    all
}

/// The files of all folders in one order; those of each folder are in order already.
fn joined(mut folders: Vec<Vec<Entry>>) -> Vec<Entry> {
    folders.retain(|files| !files.is_empty());
    folders.sort_by(|a, b| (*a[0].path).cmp(&b[0].path));
    // Folders that stand inside each other, or whose names begin alike, may have to be mingled.
    let is_apart = |pair: &[Vec<Entry>]| pair[0].last().map(|file| &*file.path) < pair[1].first().map(|file| &*file.path);
    let are_apart = folders.windows(2).all(is_apart);
    let mut all = folders.into_iter().reduce(|mut all, files| {
        all.extend(files);
        all
    });
    if !are_apart && let Some(all) = &mut all {
        all.sort_by(|a, b| (*a.path).cmp(&b.path));
    }
    all.unwrap_or_default()
}

fn one(root: &Path, inside: &str) -> io::Result<Inside> {
    loop {
        match listed(root, inside) {
            // A signal came in between; the folder is as it was.
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            done => return done,
        }
    }
}

fn listed(root: &Path, inside: &str) -> io::Result<Inside> {
    let seen = Mutex::new(Vec::new());
    let mut names = fs::read_dir(root.join(inside))?.peekable();
    let mut outcome = Ok(());
    rayon::scope(|scope| {
        while names.peek().is_some() {
            // Asking for the state of each file costs more than listing them.
            match names.by_ref().take(BATCH).collect::<io::Result<Vec<DirEntry>>>() {
                Ok(batch) => scope.spawn(|_| {
                    let batch = look_at_all(batch, inside);
                    seen.lock().unwrap_or_else(PoisonError::into_inner).push(batch);
                }),
                Err(error) => return outcome = Err(error),
            }
        }
    });
    outcome?;
    let mut seen = seen.into_inner().unwrap_or_else(PoisonError::into_inner);
    let mut found = Inside { files: in_order(&seen), folders: Vec::new(), unnamed: Vec::new() };
    for batch in &mut seen {
        found.folders.append(&mut batch.folders);
        found.unnamed.append(&mut batch.unnamed);
    }
    Ok(found)
}

impl Seen {
    fn path(&self, place: usize) -> &str {
        let from = place.checked_sub(1).map_or(0, |before| self.files[before].end);
        &self.paths[from..self.files[place].end]
    }
}

/// The files of one folder, sorted. Their paths begin alike, so the bytes in which they begin to differ are compared as
/// one number first.
fn in_order(seen: &[Seen]) -> Vec<Entry> {
    let all_of = |batch: &Seen| 0..batch.files.len();
    let Some(first) = seen.iter().find(|batch| !batch.files.is_empty()).map(|batch| batch.path(0)) else { return Vec::new() };
    let alike = |path: &str| path.bytes().zip(first.bytes()).take_while(|(a, b)| a == b).count();
    let shared = seen.par_iter().flat_map_iter(|batch| all_of(batch).map(|place| alike(batch.path(place)))).min().unwrap_or(0);
    let key = |path: &str| {
        let mut bytes = [0; 16];
        let rest = &path.as_bytes()[shared..];
        let length = rest.len().min(bytes.len());
        bytes[..length].copy_from_slice(&rest[..length]);
        u128::from_be_bytes(bytes)
    };
    let keyed = seen.par_iter().enumerate();
    let keyed = keyed.flat_map_iter(|(at, batch)| all_of(batch).map(move |place| (key(batch.path(place)), at, place)));
    let mut keyed: Vec<(u128, usize, usize)> = keyed.collect();
    keyed.par_sort_unstable_by(|a, b| a.0.cmp(&b.0).then_with(|| seen[a.1].path(a.2).cmp(seen[b.1].path(b.2))));
    keyed
        .par_chunks(NEIGHBOURS)
        .flat_map_iter(|some| neighbours(some.iter().map(|(_, at, place)| (&seen[*at], *place))))
        .collect()
}

/// Files whose paths are put side by side.
fn neighbours<'s>(files: impl Iterator<Item = (&'s Seen, usize)> + Clone) -> Vec<Entry> {
    let paths: String = files.clone().map(|(batch, place)| batch.path(place)).collect();
    let paths: Arc<str> = paths.into();
    let mut from = 0;
    let entry = |(batch, place): (&Seen, usize)| {
        let SeenFile { is_link, stamp, .. } = batch.files[place];
        // So many files with paths too long for this number no system can have.
        let length = u32::try_from(batch.path(place).len()).unwrap_or(u32::MAX);
        let path = PathText { neighbours: paths.clone(), from, length };
        from += length;
        Entry { path, is_link, stamp }
    };
    files.map(entry).collect()
}

fn look_at_all(batch: Vec<DirEntry>, inside: &str) -> Seen {
    let mut seen = Seen { files: Vec::with_capacity(batch.len()), ..Seen::default() };
    batch.iter().for_each(|entry| look(entry, inside, &mut seen));
    seen
}

fn look(entry: &DirEntry, inside: &str, seen: &mut Seen) {
    let name = entry.file_name();
    if name.as_encoded_bytes().first() == Some(&b'.') {
        return;
    }
    let Some(name) = name.to_str() else { return seen.unnamed.push(Path::new(inside).join(&name)) };
    let Ok(sort) = entry.file_type() else { return };
    let slash = if inside.is_empty() { "" } else { "/" };
    if sort.is_dir() {
        return seen.folders.push([inside, slash, name].concat());
    }
    let stamp = entry.metadata().map_or(Stamp::default(), |m| Stamp::of(&m));
    seen.paths.extend([inside, slash, name]);
    seen.files.push(SeenFile { end: seen.paths.len(), is_link: sort.is_symlink(), stamp });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_all_depths_come_in_the_order_of_paths() {
        let folder = tempfile::tempdir().expect("folder");
        for path in ["b/x.yaml", "a/deep/er/y.csv", "a/x.yaml", "pack.yaml", ".hidden/z.yaml", "a/.z.yaml", "a-b/x.yaml"] {
            let whole = folder.path().join(path);
            fs::create_dir_all(whole.parent().expect("below")).expect("folder");
            fs::write(whole, path).expect("file");
        }
        let listing = list(folder.path());
        let paths: Vec<&str> = listing.entries.iter().map(|e| &*e.path).collect();
        assert_eq!(paths, ["a-b/x.yaml", "a/deep/er/y.csv", "a/x.yaml", "b/x.yaml", "pack.yaml"]);
        assert!(listing.entries.iter().all(|e| e.stamp.size == e.path.len() as u64));
        assert!(listing.closed.is_empty() && listing.unnamed.is_empty());
    }

    #[test]
    fn files_of_one_folder_are_sorted_as_texts_are() {
        let mut names: Vec<String> = (0..5_000u32).map(|n| format!("f/gen-{}", n.wrapping_mul(2_654_435_761) % 90_000)).collect();
        names.extend(["f/gen", "f/gen-", "f/gen-00000000000000000001", "f/gen-00000000000000000000", "f/geµ"].map(str::to_owned));
        let batch = |some: &[String]| {
            let mut seen = Seen::default();
            for path in some {
                seen.paths.push_str(path);
                seen.files.push(SeenFile { end: seen.paths.len(), is_link: false, stamp: Stamp::default() });
            }
            seen
        };
        let files = in_order(&names.chunks(70).map(batch).collect::<Vec<_>>());
        names.sort();
        assert_eq!(files.iter().map(|e| &*e.path).collect::<Vec<_>>(), names);
    }

    #[test]
    fn a_folder_that_is_none_is_closed() {
        let listing = list(Path::new("/does/not/exist"));
        assert_eq!(listing.closed.iter().map(|c| &*c.path).collect::<Vec<_>>(), [""]);
    }

    #[cfg(unix)]
    #[test]
    fn links_and_names_of_other_bytes_are_told_apart() {
        use std::os::unix::ffi::OsStrExt;
        let folder = tempfile::tempdir().expect("folder");
        std::os::unix::fs::symlink("/etc", folder.path().join("link")).expect("link");
        let name = std::ffi::OsStr::from_bytes(b"no\xFFtext");
        fs::write(folder.path().join(name), "").expect("file");
        let listing = list(folder.path());
        assert_eq!(listing.entries.iter().map(|e| (&*e.path, e.is_link)).collect::<Vec<_>>(), [("link", true)]);
        assert_eq!(listing.unnamed, [PathBuf::from(name)]);
    }

    #[test]
    fn a_stamp_is_believed_after_two_seconds() {
        let stamp = Stamp { size: 1, modified: 5_000_000_000, changed: 6_000_000_000, inode: 1 };
        assert!(!stamp.settled(7_999_999_999));
        assert!(stamp.settled(8_000_000_000));
    }
}
