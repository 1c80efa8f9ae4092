//! What stands below a folder: every file with its state, asked in parallel and given in the order of paths.
//!
//! Nothing is opened and no link is followed. Names with a dot in front are left out.

use rayon::prelude::*;
use std::fs::{self, DirEntry, Metadata};
use std::io;
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

/// A file, link, pipe or device below a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FolderEntry {
    /// Path below the folder, with `/`.
    pub path: Arc<str>,
    /// Whether it is a symbolic link.
    pub is_link: bool,
    /// Its state; of a link its own. Zero when it vanished meanwhile.
    pub stamp: Stamp,
}

/// What stands below a folder.
#[derive(Debug, Default)]
pub struct Listing {
    /// Sorted by path.
    pub entries: Vec<FolderEntry>,
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

/// What stands in one folder, or part of it, in the order of the system.
#[derive(Default)]
struct Seen {
    files: Vec<FolderEntry>,
    folders: Vec<String>,
    unnamed: Vec<PathBuf>,
}

/// Names handed to another core at a time, which asks for their state while further names are read.
const BATCH: usize = 512;

/// Lists everything below a folder.
#[must_use]
pub fn list(root: &Path) -> Listing {
    let mut all = Listing::default();
    let mut level = vec![String::new()];
    // Level by level and not by recursion, so that no depth of folders is too deep.
    while !level.is_empty() {
        let listed: Vec<Result<Vec<Seen>, Closed>> =
            level.into_par_iter().map(|inside| one(root, &inside).map_err(|error| Closed { path: inside, error })).collect();
        level = Vec::new();
        for folder in listed {
            match folder {
                Ok(batches) => batches.into_iter().for_each(|seen| {
                    all.entries.extend(seen.files);
                    all.unnamed.extend(seen.unnamed);
                    level.extend(seen.folders);
                }),
                Err(closed) => all.closed.push(closed),
            }
        }
    }
    all.entries.par_sort_unstable_by(|a, b| a.path.cmp(&b.path));
    all.unnamed.sort();
    all.closed.sort_by(|a, b| a.path.cmp(&b.path));
    all
}

fn one(root: &Path, inside: &str) -> io::Result<Vec<Seen>> {
    loop {
        match listed(root, inside) {
            // A signal came in between; the folder is as it was.
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            done => return done,
        }
    }
}

fn listed(root: &Path, inside: &str) -> io::Result<Vec<Seen>> {
    let seen = Mutex::new(Vec::new());
    let mut names = fs::read_dir(root.join(inside))?.peekable();
    let mut outcome = Ok(());
    rayon::scope(|scope| {
        while names.peek().is_some() {
            // Asking for the state of each file costs more than listing them.
            match names.by_ref().take(BATCH).collect::<io::Result<Vec<DirEntry>>>() {
                Ok(batch) => scope.spawn(|_| {
                    let mut now = Seen::default();
                    batch.into_iter().for_each(|entry| look(&entry, inside, &mut now));
                    seen.lock().unwrap_or_else(PoisonError::into_inner).push(now);
                }),
                Err(error) => return outcome = Err(error),
            }
        }
    });
    outcome.map(|()| seen.into_inner().unwrap_or_else(PoisonError::into_inner))
}

fn look(entry: &DirEntry, inside: &str, seen: &mut Seen) {
    let name = entry.file_name();
    if name.as_encoded_bytes().first() == Some(&b'.') {
        return;
    }
    let Some(name) = name.to_str() else { return seen.unnamed.push(Path::new(inside).join(&name)) };
    let Ok(sort) = entry.file_type() else { return };
    let path = if inside.is_empty() { name.to_owned() } else { [inside, "/", name].concat() };
    if sort.is_dir() {
        return seen.folders.push(path);
    }
    let stamp = entry.metadata().map_or(Stamp::default(), |m| Stamp::of(&m));
    seen.files.push(FolderEntry { path: path.into(), is_link: sort.is_symlink(), stamp });
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
