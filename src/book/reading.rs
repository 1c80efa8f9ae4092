//! From the files of one pack to its records.

use super::files::PackRoot;
use super::files::{self, FileRole, PackFile};
use super::from_tree;
use super::kinds::Kinds;
use super::lazy::{Home, LazyRecord};
use super::memory::{CacheWriter, Fresh, Kept, Recalled, Shelf, Sum, UnchangedFile};
use super::pack::{Count, Manifest, Pack};
use super::record::{Record, RecordId};
use crate::check::{self, Checker};
use crate::finding::{Finding, Severity};
use crate::read;
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// Files read before their records are handed on, so that memory stays bounded.
const BATCH: usize = 2_048;

/// A pack whose files are listed and whose `pack.yaml` is read.
pub(super) struct Opened {
    pub root: PackRoot,
    /// Its folder; empty for one that is not on disk.
    pub folder: PathBuf,
    /// How paths of the pack begin when shown.
    pub prefix: String,
    pub manifest: Manifest,
    pub listing: files::Listing,
    /// What memory holds of it, until it is recalled.
    pub kept: Option<Vec<u8>>,
}

impl Opened {
    /// Whether its records are checked before they come into the book.
    pub fn is_checked(&self) -> bool {
        !self.root.is_built_in()
    }
}

/// What stands still while the files of all packs are loaded.
pub(super) struct Setting<'a> {
    pub kinds: &'a Kinds,
    /// Kind by folder.
    pub folders: HashMap<&'a str, &'a str>,
    /// Absent when nothing that is checked has to be read.
    pub checker: Option<&'a Checker<'a>>,
    /// The folder relative paths start from.
    pub here: &'a Path,
}

/// A pack, loaded.
pub(super) struct Taken {
    pub slots: Vec<LazyRecord>,
    pub summary: Pack,
    pub home: Home,
    pub left_out: Vec<Finding>,
}

/// The files of a pack while it is loaded.
struct PackLoad {
    /// What the next run may know of each.
    known: Vec<Option<UnchangedFile>>,
    /// Of each that was read and holds one.
    records: Vec<Option<Box<Record>>>,
    /// Hash of the content of those the next run may not know.
    unsound: BTreeMap<usize, [u8; 32]>,
    /// Places of those that were read, rising.
    read: Vec<usize>,
}

impl PackLoad {
    fn hash(&self, place: usize) -> Option<&[u8; 32]> {
        self.known[place].as_ref().map(|known| &known.hash).or_else(|| self.unsound.get(&place))
    }
}

/// One file, read.
struct Loaded {
    hash: Option<[u8; 32]>,
    record: Option<Box<Record>>,
    findings: Vec<Finding>,
}

/// Loads a pack.
pub(super) fn take(pack: &Opened, place: usize, recalled: Recalled<'_>, setting: &Setting<'_>) -> Taken {
    let files = &pack.listing.files;
    let mut left_out: Vec<Finding> = pack.listing.refused.iter().map(|r| refusal(r, &pack.prefix)).collect();
    left_out.extend(pack_findings(pack, place, setting));
    let Recalled { known, same, mut shelf, renewal, .. } = recalled;
    let home = |shelf| Home { root: pack.root.clone(), here: setting.here.into(), prefix: pack.prefix.clone(), shelf };
    if let (Some(sum), Some(shelf)) = (&same, &shelf)
        && let Some(apart) = shelf.apart()
    {
        let slots = apart.into_iter().filter_map(|path| shelved(path.into(), place, setting)).collect();
        return Taken { slots, summary: summary(pack, sum.clone()), home: home(Some(shelf.clone())), left_out };
    }
    let read = (0..files.len()).filter(|at| known[*at].is_none()).collect();
    let mut state = PackLoad { records: vec![None; files.len()], unsound: BTreeMap::new(), read, known };
    let sum = same.unwrap_or_else(|| {
        let mut writer = renewal.map(|renewal| renewal.begin(setting.kinds));
        let taker = writer.as_mut().map(|writer| &mut **writer as &mut dyn CacheWriter);
        let handed = read_all(pack, place, &mut state, taker, setting, &mut left_out);
        // Whoever keeps the sum can make it while the records are written.
        let summed = OnceLock::new();
        let sum = || summed.get_or_init(|| sum(files, &state, setting)).clone();
        let done = writer.map(|writer| writer.done(&Kept { files, known: &state.known, read: &state.read }, &sum));
        let (sum, done) = (sum(), done.unwrap_or_default());
        shelf = done.shelf.or(shelf.take());
        if handed && done.is_lost {
            read_all(pack, place, &mut state, None, setting, &mut Vec::new());
        }
        sum
    });
    let slots = slots(files, state, place, shelf.as_ref(), setting);
    Taken { slots, summary: summary(pack, sum), home: home(shelf), left_out }
}

/// Reads the files that have to be read; true when records were handed to the cache writer.
fn read_all(
    pack: &Opened,
    place: usize,
    state: &mut PackLoad,
    mut writer: Option<&mut (dyn CacheWriter + '_)>,
    setting: &Setting<'_>,
    left_out: &mut Vec<Finding>,
) -> bool {
    let files = &pack.listing.files;
    let mut handed = false;
    for batch in state.read.chunks(BATCH) {
        let loaded: Vec<Loaded> = batch.par_iter().map(|at| load_file(pack, &files[*at], place, setting)).collect();
        let fresh =
            batch.iter().zip(&loaded).filter_map(|(at, l)| Some(Fresh { path: &files[*at].path, record: l.record.as_deref()? }));
        let fresh: Vec<Fresh<'_>> = fresh.collect();
        let taken = !fresh.is_empty() && writer.as_mut().is_some_and(|writer| writer.take(&fresh));
        handed |= taken;
        for (at, one) in batch.iter().zip(loaded) {
            let claims = one.record.as_deref().map_or(0, Record::claim_count);
            // A broken record is read again each time, so that its findings are those of its present text.
            let is_sound = files[*at].part != FileRole::Record || one.record.is_some();
            state.known[*at] = one.hash.filter(|_| is_sound).map(|hash| UnchangedFile { hash, claims });
            state.unsound.extend(one.hash.filter(|_| !is_sound).map(|hash| (*at, hash)));
            state.records[*at] = one.record.filter(|_| !taken);
            left_out.extend(one.findings);
        }
    }
    handed
}

fn sum(files: &[PackFile], state: &PackLoad, setting: &Setting<'_>) -> Sum {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut folder, mut kind) = ("", None);
    for (file, _) in files.iter().zip(&state.known).filter(|(file, known)| file.part == FileRole::Record && known.is_some()) {
        // Most files stand beside others of their kind.
        if !file.path.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/')) {
            folder = file.folder();
            kind = setting.folders.get(folder);
        }
        if let Some(kind) = kind {
            *counts.entry(kind).or_default() += 1;
        }
    }
    let claims = state.known.iter().flatten().map(|known| known.claims as usize).sum();
    let hash = files::pack_hash(files.iter().enumerate().filter_map(|(at, file)| Some((&*file.path, state.hash(at)?))));
    let counts = counts.into_iter().map(|(kind, records)| Count { kind: kind.into(), records }).collect();
    Sum { counts, claims, hash: hash.into() }
}

fn slots(
    files: &[PackFile],
    state: PackLoad,
    place: usize,
    shelf: Option<&Arc<dyn Shelf>>,
    setting: &Setting<'_>,
) -> Vec<LazyRecord> {
    let apart = shelf.and_then(|shelf| shelf.apart());
    let comes = |path: &str| apart.as_ref().is_none_or(|apart| apart.binary_search(&path).is_ok());
    let one = |((file, record), known): ((&PackFile, Option<Box<Record>>), Option<UnchangedFile>)| match (record, known) {
        (Some(record), _) => Some(LazyRecord::read(record, file.path.clone())),
        (None, Some(_)) if file.part == FileRole::Record && comes(&file.path) => shelved(file.path.clone(), place, setting),
        _ => None,
    };
    files.iter().zip(state.records).zip(state.known).filter_map(one).collect()
}

/// The slot of a record that waits on the shelf.
fn shelved(path: Arc<str>, place: usize, setting: &Setting<'_>) -> Option<LazyRecord> {
    let (folder, name) = path.split_once('/')?;
    let id = RecordId::new(setting.folders.get(folder)?, files::stem(name));
    Some(LazyRecord::shelved(id, place, path))
}

/// Errors of a pack as such, with paths as the user would name them.
fn pack_findings(pack: &Opened, place: usize, setting: &Setting<'_>) -> Vec<Finding> {
    let Some(checker) = setting.checker.filter(|_| pack.is_checked()) else { return Vec::new() };
    let mut found: Vec<Finding> =
        checker.pack_findings(place).iter().filter(|f| f.severity == Severity::Error).cloned().collect();
    let whole = format!("{}/", files::shown(&pack.folder).trim_end_matches('/'));
    for finding in found.iter_mut().filter(|_| !pack.folder.as_os_str().is_empty()) {
        if let Some(inside) = finding.place.file.strip_prefix(&whole) {
            finding.place.file = format!("{}{inside}", pack.prefix);
        }
    }
    // A record that two packs hold was refused before.
    found.retain(|f| f.rule != "record-twice");
    found
}

fn load_file(pack: &Opened, file: &PackFile, place: usize, setting: &Setting<'_>) -> Loaded {
    let shown = format!("{}{}", pack.prefix, file.path);
    let bytes = match file.bytes(&pack.folder) {
        Ok(bytes) => bytes,
        Err(fault) => return Loaded { hash: None, record: None, findings: vec![finding(&fault, &shown)] },
    };
    let hash = Some(files::content_hash(&bytes));
    if file.part != FileRole::Record {
        return Loaded { hash, record: None, findings: Vec::new() };
    }
    match record(pack, file, &bytes, &shown, place, setting) {
        Ok(record) => Loaded { hash, record: Some(Box::new(record)), findings: Vec::new() },
        Err(findings) => Loaded { hash, record: None, findings },
    }
}

/// Reads one record file. Those of folders are checked; the built-in ones were, by our own tests.
fn record(
    pack: &Opened,
    file: &PackFile,
    bytes: &[u8],
    shown: &str,
    place: usize,
    setting: &Setting<'_>,
) -> Result<Record, Vec<Finding>> {
    let Some(kind) = setting.folders.get(file.folder()) else {
        let message = format!("no kind has its records in `{}/`", file.folder());
        return Err(vec![Finding::new("kind-unknown", Severity::Error, shown, message)]);
    };
    if check::ids::fault(file.stem()).is_some() || !file.path.ends_with(".yaml") {
        // The finding on its name is among those of the pack.
        return Err(Vec::new());
    }
    let id = RecordId::new(kind, file.stem());
    let (tree, findings) = match setting.checker.filter(|_| pack.is_checked()) {
        Some(checker) => {
            let checked = checker.record(place, (kind, file.stem()), shown, bytes);
            (checked.tree, checked.findings)
        }
        None => {
            let reading = read::read(bytes);
            let findings = reading.faults.iter().map(|f| finding(f, shown).about(id.as_str())).collect();
            (reading.tree, findings)
        }
    };
    let errors: Vec<Finding> = findings.into_iter().filter(|f| f.severity == Severity::Error).collect();
    if !errors.is_empty() {
        return Err(errors);
    }
    let nothing =
        || vec![Finding::new("record-unreadable", Severity::Error, shown, "the file holds no record").about(id.as_str())];
    let tree = tree.ok_or_else(nothing)?;
    from_tree::record(&tree, from_tree::TreeSource { id, pack: place, file: shown }, setting.kinds).map_err(|f| vec![*f])
}

fn summary(pack: &Opened, sum: Sum) -> Pack {
    Pack {
        id: pack.manifest.id.clone(),
        title: pack.manifest.title.clone(),
        description: pack.manifest.description.clone(),
        licence: pack.manifest.licence.clone(),
        origin: pack.root.origin().into(),
        counts: sum.counts,
        claims: sum.claims,
        hash: sum.hash,
        root: pack.root.clone(),
    }
}

/// A fault of reading as a finding.
pub(super) fn finding(fault: &read::Fault, file: &str) -> Finding {
    let found = Finding::new(fault.name, Severity::Error, file, fault.message.clone()).at(fault.span);
    match &fault.help {
        Some(help) => found.help(help.clone()),
        None => found,
    }
}

fn refusal(refused: &files::Refused, prefix: &str) -> Finding {
    Finding::new(refused.rule, Severity::Error, &format!("{prefix}{}", refused.path), refused.message.clone())
}
