//! The files of a pack, in memory or on disk, always in the order of their paths.

use super::key::hex;
use super::roots::{PACK_FILE, PackRoot};
use crate::read::file;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

mod built_in {
    include!(concat!(env!("OUT_DIR"), "/packs.rs"));
}

/// Largest curve file or schema read, in bytes.
const RAW_LIMIT: u64 = 64 * 1024 * 1024;
/// Deepest folder below the pack: `series/ID/curve.csv`.
const DEPTH: usize = 3;

/// What a file system says about a file without reading it. Times in nanoseconds since 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
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

impl Stamp {
    /// From what the platform tells.
    pub fn of(metadata: &std::fs::Metadata) -> Stamp {
        let modified = metadata.modified().map_or(0, nanoseconds);
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            let changed = metadata.ctime().saturating_mul(1_000_000_000).saturating_add(metadata.ctime_nsec());
            Stamp { size: metadata.len(), modified, changed, inode: metadata.ino() }
        }
        #[cfg(not(unix))]
        Stamp { size: metadata.len(), modified, changed: 0, inode: 0 }
    }
    /// The later of the two times.
    pub fn latest(&self) -> i64 {
        self.modified.max(self.changed)
    }
}

fn nanoseconds(time: SystemTime) -> i64 {
    match time.duration_since(UNIX_EPOCH) {
        Ok(after) => i64::try_from(after.as_nanos()).unwrap_or(i64::MAX),
        Err(before) => i64::try_from(before.duration().as_nanos()).map_or(i64::MIN, |n| -n),
    }
}

/// What a file of a pack is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// `pack.yaml`.
    Manifest,
    /// `FOLDER/NAME.yaml`.
    Record,
    /// `schemas/NAME.json`.
    Schema,
    /// `series/ID/NAME.csv`.
    Curve,
}

/// One file of a pack.
#[derive(Debug, Clone)]
pub struct PackFile {
    /// Path inside the pack, with `/`.
    pub path: String,
    /// What it is for.
    pub part: Part,
    /// Its state on disk; zero for built-in files.
    pub stamp: Stamp,
    place: Place,
}

#[derive(Debug, Clone)]
enum Place {
    BuiltIn(&'static [u8]),
    Disk(PathBuf),
}

impl PackFile {
    /// Its bytes.
    ///
    /// # Errors
    /// The fault of [`file::load`].
    pub fn bytes(&self) -> Result<Cow<'static, [u8]>, crate::read::Fault> {
        match (&self.place, self.part) {
            (Place::BuiltIn(bytes), _) => Ok(Cow::Borrowed(bytes)),
            (Place::Disk(path), Part::Record | Part::Manifest) => file::load(path).map(Cow::Owned),
            (Place::Disk(path), Part::Schema | Part::Curve) => file::load_at_most(path, RAW_LIMIT).map(Cow::Owned),
        }
    }
    /// The folder of a record file.
    pub fn folder(&self) -> &str {
        self.path.split_once('/').map_or("", |(folder, _)| folder)
    }
    /// The name of a record: its file name without ending.
    pub fn stem(&self) -> &str {
        let name = self.path.rsplit_once('/').map_or(&*self.path, |(_, name)| name);
        name.rsplit_once('.').map_or(name, |(stem, _)| stem)
    }
}

/// The files of a pack and what could not be listed.
#[derive(Debug, Clone, Default)]
pub struct Listing {
    /// Files, sorted by path.
    pub files: Vec<PackFile>,
    /// Folders or names that could not be listed, each with the reason.
    pub refused: Vec<Refused>,
}

impl Listing {
    /// Whether a file with that path is there.
    pub fn holds(&self, path: &str) -> bool {
        self.files.binary_search_by(|f| f.path.as_str().cmp(path)).is_ok()
    }
}

/// Something in a pack's folder that cannot be one of its files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Name of the finding.
    pub rule: &'static str,
    /// Path inside the pack, made printable.
    pub path: String,
    /// What is wrong.
    pub message: String,
}

/// Lists the files of a pack. `here` is the folder relative paths start from.
pub fn list(root: &PackRoot, here: &Path) -> Listing {
    let built_in = |files: &'static [(&'static str, &'static [u8])]| Listing {
        files: files.iter().filter_map(|(path, bytes)| built_in_file(path, bytes)).collect(),
        refused: Vec::new(),
    };
    match root {
        PackRoot::BuiltIn => built_in(built_in::BOOK),
        PackRoot::Demo => built_in(built_in::DEMO),
        PackRoot::Folder { path, .. } => on_disk(&here.join(path)),
    }
}

fn built_in_file(path: &str, bytes: &'static [u8]) -> Option<PackFile> {
    let part = part_of(path)?;
    Some(PackFile { path: path.into(), part, stamp: Stamp::default(), place: Place::BuiltIn(bytes) })
}

/// What a path inside a pack is for; `None` when it is not part of the pack.
fn part_of(path: &str) -> Option<Part> {
    let parts: Vec<&str> = path.split('/').collect();
    let ending = path.rsplit_once('.').map_or("", |(_, e)| e);
    match (&parts[..], ending) {
        ([PACK_FILE], _) => Some(Part::Manifest),
        (["schemas", _], "json") => Some(Part::Schema),
        (["schemas" | "sheets", ..], _) => None,
        ([_, _], "yaml" | "yml") => Some(Part::Record),
        (["series", _, _], "csv") => Some(Part::Curve),
        _ => None,
    }
}

fn on_disk(root: &Path) -> Listing {
    let mut listing = Listing::default();
    walk(root, "", 1, &mut listing);
    // Asking for the state of each file costs more than listing them.
    listing.files.par_iter_mut().for_each(|file| {
        if let Place::Disk(path) = &file.place {
            file.stamp = std::fs::symlink_metadata(path).map_or(Stamp::default(), |m| Stamp::of(&m));
        }
    });
    listing.files.sort_by(|a, b| a.path.cmp(&b.path));
    listing.refused.sort_by(|a, b| a.path.cmp(&b.path));
    listing
}

fn walk(folder: &Path, inside: &str, depth: usize, into: &mut Listing) {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => return into.refused.push(unlistable(inside, &error)),
    };
    for entry in entries {
        match entry {
            Ok(entry) => visit(&entry, inside, depth, into),
            Err(error) => into.refused.push(unlistable(inside, &error)),
        }
    }
}

fn visit(entry: &std::fs::DirEntry, inside: &str, depth: usize, into: &mut Listing) {
    let name = entry.file_name();
    let Some(name) = name.to_str() else {
        let path = join(inside, &shown(Path::new(&name)));
        let message = "the file name is not UTF-8".to_owned();
        return into.refused.push(Refused { rule: "file-name", path, message });
    };
    if name.starts_with('.') {
        return;
    }
    let path = join(inside, name);
    let Ok(kind) = entry.file_type() else { return };
    if kind.is_dir() && depth < DEPTH {
        return walk(&entry.path(), &path, depth + 1, into);
    }
    // Links, pipes and devices are listed too: reading them gives the fault that names them.
    if let Some(part) = part_of(&path)
        && !kind.is_dir()
    {
        into.files.push(PackFile { path, part, stamp: Stamp::default(), place: Place::Disk(entry.path()) });
    }
}

fn unlistable(inside: &str, error: &std::io::Error) -> Refused {
    Refused { rule: "file-unreadable", path: inside.into(), message: format!("the folder cannot be listed: {error}") }
}

fn join(inside: &str, name: &str) -> String {
    if inside.is_empty() { name.into() } else { format!("{inside}/{name}") }
}

/// A path for people: `/` between parts, bytes that are no text escaped.
pub fn shown(path: &Path) -> String {
    let text = path.to_string_lossy();
    if std::path::MAIN_SEPARATOR == '/' { text.into_owned() } else { text.replace(std::path::MAIN_SEPARATOR, "/") }
}

/// SHA-256 of a file's content as the pack hash counts it: without byte order mark and carriage returns before line ends.
pub fn content_hash(bytes: &[u8]) -> [u8; 32] {
    let body = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    if !body.contains(&b'\r') {
        return Sha256::digest(body).into();
    }
    let mut hash = Sha256::new();
    for (at, byte) in body.iter().enumerate() {
        if *byte != b'\r' || body.get(at + 1) != Some(&b'\n') {
            hash.update([*byte]);
        }
    }
    hash.finalize().into()
}

/// The hash of a pack over its sorted paths and content hashes, as 12 hex digits.
pub fn pack_hash<'a>(files: impl Iterator<Item = (&'a str, &'a [u8; 32])>) -> String {
    let mut hash = Sha256::new();
    for (path, content) in files {
        hash.update(path);
        hash.update([0]);
        hash.update(content);
    }
    hex(&hash.finalize(), 12)
}

/// The files of a pack embedded in the program: path inside the pack and bytes, sorted; none for a folder.
pub fn built_in_files(root: &PackRoot) -> &'static [(&'static str, &'static [u8])] {
    match root {
        PackRoot::BuiltIn => built_in::BOOK,
        PackRoot::Demo => built_in::DEMO,
        PackRoot::Folder { .. } => &[],
    }
}

/// What tells the embedded files of one build from those of another; empty for folders.
pub fn built_in_mark(root: &PackRoot) -> [u8; 8] {
    match root {
        PackRoot::BuiltIn | PackRoot::Demo => built_in::MARK.to_le_bytes(),
        PackRoot::Folder { .. } => [0; 8],
    }
}
