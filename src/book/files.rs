//! The files of a pack, in memory or on disk, always in the order of their paths.

use crate::check::packs::{GivenFiles, PackFrom};
use crate::read::digest::hex;
use crate::read::file;
use crate::read::folder::{self, Stamp};
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Name of the file that makes a folder a pack.
pub const PACK_FILE: &str = "pack.yaml";

/// Where a pack comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PackRoot {
    /// The built-in book.
    BuiltIn,
    /// The built-in demo: invented data, loaded only by name.
    Demo,
    /// A folder with a `pack.yaml`.
    Folder {
        /// Path as the user would name it.
        path: PathBuf,
        /// Whether the run uses it because one stands in it.
        stood_in: bool,
    },
    /// Files handed over by whoever uses the library; nothing of them is remembered between runs.
    Given {
        /// The name shown in front of their paths.
        shown: String,
        /// Their bytes.
        files: GivenFiles,
    },
}

impl PackRoot {
    /// A pack of these bytes by path inside the pack, with `/`: `pack.yaml`, `resins/ID.yaml`, ….
    pub fn given(shown: &str, files: BTreeMap<String, Vec<u8>>) -> PackRoot {
        let files = files.into_iter().map(|(path, bytes)| (path, bytes.into())).collect();
        PackRoot::Given { shown: shown.into(), files: Arc::new(files) }
    }
    /// Whether it is embedded in the program; its records passed `check` before that.
    pub fn is_built_in(&self) -> bool {
        matches!(self, PackRoot::BuiltIn | PackRoot::Demo)
    }
    /// How people see it: `built in`, or the path with `/`.
    pub fn origin(&self) -> String {
        match self {
            PackRoot::BuiltIn | PackRoot::Demo => "built in".into(),
            PackRoot::Folder { path, .. } => shown(path),
            PackRoot::Given { shown, .. } => shown.clone(),
        }
    }
}

mod built_in {
    include!(concat!(env!("OUT_DIR"), "/packs.rs"));
}

/// Folder of the series; a folder inside of it holds the recordings of one.
pub const SERIES: &str = "series";
/// Largest curve file or schema read, in bytes.
const RAW_LIMIT: u64 = 64 * 1024 * 1024;

/// What a file of a pack is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileRole {
    /// `pack.yaml`.
    Manifest,
    /// `FOLDER/NAME.yaml`.
    Record,
    /// `schemas/NAME.json`.
    Schema,
    /// `series/ID/NAME.csv`.
    Curve,
    /// `plugins/NAME.wasm`.
    Module,
}

/// One file of a pack.
#[derive(Debug, Clone)]
pub struct PackFile {
    /// Path inside the pack, with `/`.
    pub path: Arc<str>,
    /// What it is for.
    pub part: FileRole,
    /// Its state on disk; zero for files that are not there.
    pub stamp: Stamp,
    /// Its bytes, when it is not on disk.
    held: Option<Held>,
}

/// The bytes of a file that is not on disk.
#[derive(Debug, Clone)]
enum Held {
    BuiltIn(&'static [u8]),
    Given(Arc<[u8]>),
}

impl Held {
    fn bytes(&self) -> Cow<'static, [u8]> {
        match self {
            Held::BuiltIn(bytes) => Cow::Borrowed(bytes),
            Held::Given(bytes) => Cow::Owned(bytes.to_vec()),
        }
    }
}

impl PackFile {
    /// Its bytes; `below` is the folder of its pack, as [`folder_of`] gives it.
    ///
    /// # Errors
    /// The fault of [`file::load`].
    pub fn bytes(&self, below: &Path) -> Result<Cow<'static, [u8]>, crate::read::Fault> {
        match (&self.held, self.part) {
            (Some(held), _) => Ok(held.bytes()),
            (None, FileRole::Record | FileRole::Manifest) => file::load(&below.join(&*self.path)).map(Cow::Owned),
            (None, FileRole::Schema | FileRole::Curve | FileRole::Module) => {
                file::load_at_most(&below.join(&*self.path), RAW_LIMIT).map(Cow::Owned)
            }
        }
    }
    /// The folder of a record file.
    pub fn folder(&self) -> &str {
        self.path.split_once('/').map_or("", |(folder, _)| folder)
    }
    /// The name of a record: its file name without ending.
    pub fn stem(&self) -> &str {
        stem(self.path.rsplit_once('/').map_or(&*self.path, |(_, name)| name))
    }
}

/// A file name without ending.
pub(super) fn stem(name: &str) -> &str {
    name.rsplit_once('.').map_or(name, |(stem, _)| stem)
}

/// The files of a pack and what could not be listed.
#[derive(Debug, Clone, Default)]
pub struct Listing {
    /// Files, sorted by path.
    pub files: Vec<PackFile>,
    /// Folders or names that could not be listed, each with the reason.
    pub refused: Vec<Refused>,
    /// Everything in the folder; empty for packs that are not on disk.
    pub whole: Arc<folder::Listing>,
}

impl Listing {
    /// The file with that path.
    pub fn get(&self, path: &str) -> Option<&PackFile> {
        self.files.get(self.place(path)?)
    }
    /// Its place in the list.
    pub fn place(&self, path: &str) -> Option<usize> {
        self.files.binary_search_by(|f| (*f.path).cmp(path)).ok()
    }
    /// Whether a file with that path is there.
    pub fn holds(&self, path: &str) -> bool {
        self.get(path).is_some()
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
    let files = match root {
        PackRoot::Folder { .. } => return on_disk(&folder_of(root, here)),
        PackRoot::BuiltIn | PackRoot::Demo => {
            built_in_files(root).iter().filter_map(|(path, bytes)| file_in_memory(path, Held::BuiltIn(bytes))).collect()
        }
        PackRoot::Given { files, .. } => {
            files.iter().filter_map(|(path, bytes)| file_in_memory(path, Held::Given(bytes.clone()))).collect()
        }
    };
    Listing { files, ..Listing::default() }
}

/// The folder of a pack; empty for one that is not on disk. `here` is the folder relative paths start from.
pub fn folder_of(root: &PackRoot, here: &Path) -> PathBuf {
    match root {
        PackRoot::BuiltIn | PackRoot::Demo | PackRoot::Given { .. } => PathBuf::new(),
        PackRoot::Folder { path, .. } => here.join(path),
    }
}

fn file_in_memory(path: &str, held: Held) -> Option<PackFile> {
    Some(PackFile { path: path.into(), part: part_of(path)?, stamp: Stamp::default(), held: Some(held) })
}

/// What a path inside a pack is for; `None` when it is not part of the pack.
fn part_of(path: &str) -> Option<FileRole> {
    // Asked for every file of every run, so bytes are looked at and not characters.
    let bytes = path.as_bytes();
    let Some(slash) = bytes.iter().position(|b| *b == b'/') else { return (path == PACK_FILE).then_some(FileRole::Manifest) };
    let depth = bytes[slash + 1..].iter().filter(|b| **b == b'/').count();
    let ends = |ending: &[u8]| bytes.ends_with(ending);
    match &bytes[..slash] {
        b"schemas" if depth == 0 && ends(b".json") => Some(FileRole::Schema),
        b"schemas" | b"sheets" => None,
        _ if depth == 0 && (ends(b".yaml") || ends(b".yml")) => Some(FileRole::Record),
        b"plugins" if depth == 0 && ends(b".wasm") => Some(FileRole::Module),
        folder if folder == SERIES.as_bytes() && depth == 1 && ends(b".csv") => Some(FileRole::Curve),
        _ => None,
    }
}

fn on_disk(root: &Path) -> Listing {
    let whole = folder::list(root);
    let parts: Vec<Option<FileRole>> = whole.entries.par_iter().with_min_len(1024).map(|entry| part_of(&entry.path)).collect();
    // Links, pipes and devices are listed too: reading them gives the fault that names them.
    let file = |(entry, part): (&folder::FolderEntry, FileRole)| PackFile {
        path: entry.path.clone(),
        part,
        stamp: entry.stamp,
        held: None,
    };
    let files = match parts.iter().copied().collect::<Option<Vec<FileRole>>>() {
        // Nearly always, and then all cores can put them in their places.
        Some(parts) => whole.entries.par_iter().zip(parts).with_min_len(2048).map(file).collect(),
        None => whole.entries.iter().zip(parts).filter_map(|(entry, part)| Some(file((entry, part?)))).collect(),
    };
    let unnamed = whole.unnamed.iter().map(|path| Refused {
        rule: "file-name",
        path: shown(path),
        message: "the file name is not UTF-8".to_owned(),
    });
    let closed = whole.closed.iter().map(|closed| Refused {
        rule: file::UNREADABLE,
        path: closed.path.clone(),
        message: format!("the folder cannot be listed: {}", closed.error),
    });
    let mut refused: Vec<Refused> = unnamed.chain(closed).collect();
    refused.sort_by(|a, b| a.path.cmp(&b.path));
    Listing { files, refused, whole: Arc::new(whole) }
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
    // Gathered, since a large pack is hundreds of thousands of small pieces.
    const PIECE: usize = 1 << 14;
    let (mut hash, mut piece) = (Sha256::new(), Vec::with_capacity(2 * PIECE));
    for (path, content) in files {
        piece.extend_from_slice(path.as_bytes());
        piece.push(0);
        piece.extend_from_slice(content);
        if piece.len() > PIECE {
            hash.update(&piece);
            piece.clear();
        }
    }
    hash.update(&piece);
    hex(&hash.finalize(), 12)
}

/// A pack as the stage `check` takes it; `folder` is where it is on disk, if it is.
pub fn for_check(root: &PackRoot, folder: &Path) -> PackFrom<'static> {
    match root {
        PackRoot::BuiltIn => PackFrom::Embedded { shown: "records/book", files: built_in_files(root) },
        PackRoot::Demo => PackFrom::Embedded { shown: "records/demo", files: built_in_files(root) },
        PackRoot::Folder { .. } => PackFrom::Folder(folder.to_path_buf()),
        PackRoot::Given { shown, files } => PackFrom::Given { shown: shown.clone(), files: files.clone() },
    }
}

/// The files of a pack embedded in the program: path inside the pack and bytes, sorted; none for others.
pub fn built_in_files(root: &PackRoot) -> &'static [(&'static str, &'static [u8])] {
    match root {
        PackRoot::BuiltIn => built_in::BOOK,
        PackRoot::Demo => built_in::DEMO,
        PackRoot::Folder { .. } | PackRoot::Given { .. } => &[],
    }
}

/// Whether an embedded pack may withdraw something.
pub fn mentions_withdrawal(root: &PackRoot) -> bool {
    const MARKS: [&[u8]; 3] = [b": withdrawn", b"withdrawn:", b"replaced_by:"];
    let holds = |bytes: &[u8], mark: &[u8]| bytes.windows(mark.len()).any(|part| part == mark);
    built_in_files(root).iter().any(|(_, bytes)| MARKS.iter().any(|mark| holds(bytes, mark)))
}

/// What tells the embedded files of one build from those of another; zero for others.
pub fn built_in_mark(root: &PackRoot) -> [u8; 8] {
    match root {
        PackRoot::BuiltIn | PackRoot::Demo => built_in::MARK.to_le_bytes(),
        PackRoot::Folder { .. } | PackRoot::Given { .. } => [0; 8],
    }
}

/// The bytes of one file of a pack; `None` when it is gone or cannot be read.
pub fn bytes(root: &PackRoot, here: &Path, path: &str) -> Option<Cow<'static, [u8]>> {
    match root {
        PackRoot::Folder { path: folder, .. } => file::load(&here.join(folder).join(path)).ok().map(Cow::Owned),
        PackRoot::BuiltIn | PackRoot::Demo => {
            let all = built_in_files(root);
            let at = all.binary_search_by(|(known, _)| (*known).cmp(path)).ok()?;
            Some(Cow::Borrowed(all[at].1))
        }
        PackRoot::Given { files, .. } => files.get(path).map(|bytes| Cow::Owned(bytes.to_vec())),
    }
}
