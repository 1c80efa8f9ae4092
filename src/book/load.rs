//! Loading: from pack folders to records, with everything left out named.

use super::files::{self, Listing, PackFile, Part};
use super::kinds::{Kinds, built_in_schemas};
use super::pack::{Count, Manifest, Pack};
use super::record::{Record, RecordId};
use super::roots::{PACK_FILE, PackRoot};
use super::{Book, references, shape};
use crate::check::catalogue::Catalogue;
use crate::check::packs::PackFrom;
use crate::check::{self, Checker, schemas_of};
use crate::finding::{Finding, Severity};
use crate::read;
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;

/// What is known of a pack's files from an earlier run, so that unchanged ones need not be read again.
pub trait Memory: Sync {
    /// Called once per pack, with its files in the order of their paths and the hash of all schemas in force; what is
    /// returned stands for the file at the same place. An answer full of `None` is always right.
    fn recall(&self, root: &PackRoot, files: &[PackFile], schemas: &[u8; 32]) -> Vec<Option<Known>>;
    /// Paths of files answered with [`Known::elsewhere`] whose records name something that `exists` denies.
    /// Sorted.
    fn lost(&self, root: &PackRoot, exists: &dyn Fn(&str) -> bool) -> Vec<String>;
    /// Called once per pack after loading, with every record that may be remembered.
    fn keep(&self, root: &PackRoot, files: &[Kept<'_>], schemas: &[u8; 32], catalogue: &Catalogue);
}

/// A file whose content need not be read again.
#[derive(Debug, Clone)]
pub struct Known {
    /// Hash of its content.
    pub hash: [u8; 32],
    /// Its record; `None` for schemas, curves and the manifest.
    pub record: Option<Record>,
    /// The file is a record, but its content stays where it is remembered: it is not among [`Book::records`].
    pub elsewhere: bool,
}

/// A file worth remembering.
pub struct Kept<'a> {
    /// The file.
    pub file: &'a PackFile,
    /// Hash of its content.
    pub hash: [u8; 32],
    /// Its record.
    pub record: Option<&'a Record>,
    /// Whether it came from memory unchanged.
    pub recalled: bool,
}

/// Memory that forgets: every file is read.
pub struct NoMemory;

impl Memory for NoMemory {
    fn recall(&self, _: &PackRoot, files: &[PackFile], _: &[u8; 32]) -> Vec<Option<Known>> {
        vec![None; files.len()]
    }
    fn lost(&self, _: &PackRoot, _: &dyn Fn(&str) -> bool) -> Vec<String> {
        Vec::new()
    }
    fn keep(&self, _: &PackRoot, _: &[Kept<'_>], _: &[u8; 32], _: &Catalogue) {}
}

/// A pack whose files are listed and whose `pack.yaml` is read.
struct Opened {
    root: PackRoot,
    prefix: String,
    manifest: Manifest,
    listing: Listing,
}

impl Opened {
    fn is_folder(&self) -> bool {
        matches!(self.root, PackRoot::Folder { .. })
    }
}

/// One file, loaded.
struct Loaded {
    hash: Option<[u8; 32]>,
    record: Option<Record>,
    findings: Vec<Finding>,
    recalled: bool,
}

/// What stands still while the files of all packs are loaded.
struct Setting<'a> {
    kinds: &'a Kinds,
    /// Kind by folder.
    folders: HashMap<&'a str, &'a str>,
    /// Absent when nothing of a folder pack has to be read.
    checker: Option<&'a Checker<'a>>,
}

/// Loads packs. `here` is the folder relative paths start from.
///
/// # Errors
/// A pack that cannot be opened, and a record id that two packs use.
pub fn load(roots: &[PackRoot], here: &Path, memory: &dyn Memory) -> Result<Book, Box<Finding>> {
    let opened = open(roots, here)?;
    let mut notices = Vec::new();
    let opened = replace_built_in(opened, &mut notices)?;
    let checker = || Checker::new(built_in_schemas(), &packs_from(&opened, here)).map_err(|e| broken_schemas(&e));
    let mut ready = None;
    if opened.iter().any(declares_more) {
        ready = Some(checker()?);
    }
    let kinds = match &ready {
        Some(ready) => Kinds::of(ready.schemas()),
        None => Kinds::of(&schemas_of(built_in_schemas()).map_err(|e| broken_schemas(&e))?),
    };
    let folders = kinds.catalogue.kinds.iter().map(|k| (&*k.folder, &*k.word)).collect();
    let known = recalled(&opened, &folders, memory, &kinds.hash)?;
    if ready.is_none() && opened.iter().zip(&known).any(|(pack, known)| pack.is_folder() && must_check(pack, known)) {
        ready = Some(checker()?);
    }
    let setting = Setting { kinds: &kinds, folders, checker: ready.as_ref() };
    let mut book = Book::empty();
    book.notices = notices;
    for (pack, known) in opened.iter().zip(known) {
        let place = book.packs.len();
        let (records, summary, left_out) = records(pack, place, known, &setting, memory, here);
        book.packs.push(summary);
        book.left_out.extend(left_out);
        book.records.extend(records);
    }
    drop(setting);
    book.kinds = kinds;
    book.settle();
    Ok(book)
}

fn broken_schemas(error: &str) -> Box<Finding> {
    Box::new(Finding::new("schema-broken", Severity::Error, "schemas", format!("the built-in schemas cannot be read: {error}")))
}

/// Whether a pack brings schemas or families.
fn declares_more(pack: &Opened) -> bool {
    pack.is_folder() && (pack.manifest.families || pack.listing.files.iter().any(|f| f.part == Part::Schema))
}

/// Whether a pack has to be looked at by `check`: a file is not known, or a name is out of order.
fn must_check(pack: &Opened, known: &[Option<Known>]) -> bool {
    let odd = |(f, known): (&PackFile, &Option<Known>)| {
        known.is_none() || (f.part == Part::Record && check::ids::fault(f.stem()).is_some())
    };
    !pack.listing.refused.is_empty() || pack.listing.files.iter().zip(known).any(odd)
}

fn packs_from(opened: &[Opened], here: &Path) -> Vec<PackFrom<'static>> {
    let from = |pack: &Opened| match &pack.root {
        PackRoot::BuiltIn => PackFrom::Embedded { shown: "records/book", files: files::built_in_files(&pack.root) },
        PackRoot::Demo => PackFrom::Embedded { shown: "records/demo", files: files::built_in_files(&pack.root) },
        PackRoot::Folder { path, .. } => PackFrom::Folder(here.join(path)),
    };
    opened.iter().map(from).collect()
}

/// Refuses a record id that two packs hold.
fn refuse_twins(opened: &[Opened]) -> Result<(), Box<Finding>> {
    for (at, later) in opened.iter().enumerate() {
        for earlier in &opened[..at] {
            // Each file of the smaller pack is looked up in the larger one.
            let (few, many) =
                if later.listing.files.len() < earlier.listing.files.len() { (later, earlier) } else { (earlier, later) };
            let is_record = |f: &&PackFile| f.part == Part::Record && f.path.ends_with(".yaml");
            let Some(twin) = few.listing.files.iter().filter(is_record).find(|f| many.listing.holds(&f.path)) else { continue };
            let (other, file) = (format!("{}{}", earlier.prefix, twin.path), format!("{}{}", later.prefix, twin.path));
            let message = format!("this record is in {other} too; a pack adds records, it never changes those of another");
            let found = Finding::new("record-twice", Severity::Error, &file, message);
            return Err(Box::new(found.help("give the record another id")));
        }
    }
    Ok(())
}

/// What memory knows of each pack. A record that names something no pack has now is read and judged again.
fn recalled(
    opened: &[Opened],
    folders: &HashMap<&str, &str>,
    memory: &dyn Memory,
    schemas: &[u8; 32],
) -> Result<Vec<Vec<Option<Known>>>, Box<Finding>> {
    refuse_twins(opened)?;
    let of_kind: HashMap<&str, &str> = folders.iter().map(|(folder, kind)| (*kind, *folder)).collect();
    let lost = |target: &str| {
        let Some((folder, name)) = target.split_once('/').and_then(|(kind, name)| Some((*of_kind.get(kind)?, name))) else {
            return false;
        };
        let path = format!("{folder}/{name}.yaml");
        !opened.iter().any(|pack| pack.listing.holds(&path))
    };
    let one = |pack: &Opened| {
        let mut known = memory.recall(&pack.root, &pack.listing.files, schemas);
        if pack.is_folder() {
            let lost_paths = memory.lost(&pack.root, &|target| !lost(target));
            for (file, known) in pack.listing.files.iter().zip(&mut known) {
                let record = known.as_ref().and_then(|k| k.record.as_ref());
                let names_lost = record.is_some_and(|r| references::of(r).iter().any(|(target, _)| lost(target)));
                if names_lost || lost_paths.binary_search(&file.path).is_ok() {
                    *known = None;
                }
            }
        }
        known
    };
    Ok(opened.iter().map(one).collect())
}

fn open(roots: &[PackRoot], here: &Path) -> Result<Vec<Opened>, Box<Finding>> {
    let open_one = |root: &PackRoot| {
        let listing = files::list(root, here);
        let prefix = prefix(root, here);
        let shown = format!("{prefix}{PACK_FILE}");
        let missing = || Box::new(Finding::new("pack-missing", Severity::Error, &shown, "the pack has no pack.yaml"));
        let Some(file) = listing.files.iter().find(|f| f.part == Part::Manifest) else {
            // A folder that cannot be listed may hold one all the same.
            let untold = listing.refused.iter().find(|r| r.path.is_empty());
            let unreadable = |r: &files::Refused| Box::new(Finding::new(r.rule, Severity::Error, &shown, r.message.clone()));
            // A binary built before the demo pack was written has none; asking for it is then an error, not a bug.
            return Err(untold.map_or_else(missing, unreadable));
        };
        let bytes = file.bytes().map_err(|fault| finding(&fault, &shown))?;
        let manifest = Manifest::read(&bytes, &shown)?;
        Ok(Opened { root: root.clone(), prefix, manifest, listing })
    };
    roots.iter().map(open_one).collect()
}

/// How paths of a pack begin when shown.
fn prefix(root: &PackRoot, here: &Path) -> String {
    match root {
        PackRoot::BuiltIn => "records/book/".into(),
        PackRoot::Demo => "records/demo/".into(),
        PackRoot::Folder { path, stood_in: false } => format!("{}/", files::shown(path).trim_end_matches('/')),
        PackRoot::Folder { path, stood_in: true } => {
            let below = here.strip_prefix(path).map_or(0, |rest| rest.components().count());
            "../".repeat(below)
        }
    }
}

/// A folder with the id of a built-in pack takes its place; two folders with one id are an error.
fn replace_built_in(mut opened: Vec<Opened>, notices: &mut Vec<String>) -> Result<Vec<Opened>, Box<Finding>> {
    let folders: Vec<(Box<str>, String)> =
        opened.iter().filter(|o| o.is_folder()).map(|o| (o.manifest.id.clone(), format!("{}{PACK_FILE}", o.prefix))).collect();
    for (at, (id, file)) in folders.iter().enumerate() {
        if folders[..at].iter().any(|(earlier, _)| earlier == id) {
            return Err(Box::new(Finding::new("pack-twice", Severity::Error, file, format!("two packs have the id `{id}`"))));
        }
    }
    opened.retain(|o| {
        let replaced = !o.is_folder() && folders.iter().any(|(id, _)| *id == o.manifest.id);
        if replaced {
            let file = folders.iter().find(|(id, _)| *id == o.manifest.id).map_or("", |(_, file)| file);
            notices.push(format!("the pack `{}` is read from {file}, not the built-in copy", o.manifest.id));
        }
        !replaced
    });
    Ok(opened)
}

fn records(
    pack: &Opened,
    place: usize,
    known: Vec<Option<Known>>,
    setting: &Setting<'_>,
    memory: &dyn Memory,
    here: &Path,
) -> (Vec<Record>, Pack, Vec<Finding>) {
    let files = &pack.listing.files;
    let loaded: Vec<Loaded> =
        files.par_iter().zip(known).map(|(file, known)| load_file(pack, file, known, place, setting)).collect();
    let kept: Vec<Kept<'_>> = files.iter().zip(&loaded).filter_map(|(file, l)| kept(file, l)).collect();
    memory.keep(&pack.root, &kept, &setting.kinds.hash, &setting.kinds.catalogue);
    let hash = files::pack_hash(files.iter().zip(&loaded).filter_map(|(f, l)| Some((&*f.path, l.hash.as_ref()?))));
    let mut left_out: Vec<Finding> = pack.listing.refused.iter().map(|r| refusal(r, &pack.prefix)).collect();
    left_out.extend(pack_findings(pack, place, setting, here));
    let mut records = Vec::new();
    for one in loaded {
        left_out.extend(one.findings);
        records.extend(one.record);
    }
    let summary = summary(pack, &records, hash);
    (records, summary, left_out)
}

/// Errors of a folder pack as such, with paths as the user would name them.
fn pack_findings(pack: &Opened, place: usize, setting: &Setting<'_>, here: &Path) -> Vec<Finding> {
    let (Some(checker), PackRoot::Folder { path, .. }) = (setting.checker, &pack.root) else { return Vec::new() };
    let whole = format!("{}/", files::shown(&here.join(path)).trim_end_matches('/'));
    let mut found: Vec<Finding> =
        checker.pack_findings(place).iter().filter(|f| f.severity == Severity::Error).cloned().collect();
    for finding in &mut found {
        if let Some(inside) = finding.place.file.strip_prefix(&whole) {
            finding.place.file = format!("{}{inside}", pack.prefix);
        }
    }
    // A record that two packs hold was refused before.
    found.retain(|f| f.rule != "record-twice");
    found
}

fn kept<'a>(file: &'a PackFile, loaded: &'a Loaded) -> Option<Kept<'a>> {
    let broken = file.part == Part::Record && loaded.record.is_none() && !loaded.recalled;
    // A broken record is read again each time, so that its findings are those of its present text.
    (!broken).then_some(())?;
    Some(Kept { file, hash: loaded.hash?, record: loaded.record.as_ref(), recalled: loaded.recalled })
}

fn load_file(pack: &Opened, file: &PackFile, known: Option<Known>, place: usize, setting: &Setting<'_>) -> Loaded {
    let shown = format!("{}{}", pack.prefix, file.path);
    if let Some(Known { hash, record, .. }) = known {
        let record = record.map(|r| Record { pack: place, file: shown.into(), ..r });
        return Loaded { hash: Some(hash), record, findings: Vec::new(), recalled: true };
    }
    let bytes = match file.bytes() {
        Ok(bytes) => bytes,
        Err(fault) => {
            return Loaded { hash: None, record: None, findings: vec![finding(&fault, &shown)], recalled: false };
        }
    };
    let hash = Some(files::content_hash(&bytes));
    if file.part != Part::Record {
        return Loaded { hash, record: None, findings: Vec::new(), recalled: false };
    }
    match record(pack, file, &bytes, &shown, place, setting) {
        Ok(record) => Loaded { hash, record: Some(record), findings: Vec::new(), recalled: false },
        Err(findings) => Loaded { hash, record: None, findings, recalled: false },
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
        let message = format!("no kind keeps its records in `{}/`", file.folder());
        return Err(vec![Finding::new("kind-unknown", Severity::Error, shown, message)]);
    };
    if check::ids::fault(file.stem()).is_some() || !file.path.ends_with(".yaml") {
        // The finding on its name is among those of the pack.
        return Err(Vec::new());
    }
    let id = RecordId::new(kind, file.stem());
    let (tree, findings) = match setting.checker.filter(|_| pack.is_folder()) {
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
    shape::record(&tree, shape::Origin { id, pack: place, file: shown }, setting.kinds).map_err(|f| vec![*f])
}

fn summary(pack: &Opened, records: &[Record], hash: String) -> Pack {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for record in records {
        *counts.entry(record.id.kind()).or_default() += 1;
    }
    let claims = records.iter().flat_map(|r| &r.properties).map(|p| p.claims.len()).sum();
    Pack {
        id: pack.manifest.id.clone(),
        title: pack.manifest.title.clone(),
        description: pack.manifest.description.clone(),
        licence: pack.manifest.licence.clone(),
        origin: pack.root.origin().into(),
        counts: counts.into_iter().map(|(kind, records)| Count { kind: kind.into(), records }).collect(),
        claims,
        hash: hash.into(),
        root: pack.root.clone(),
    }
}

fn finding(fault: &read::Fault, file: &str) -> Finding {
    let found = Finding::new(fault.name, Severity::Error, file, fault.message.clone()).at(fault.span);
    match &fault.help {
        Some(help) => found.help(help.clone()),
        None => found,
    }
}

fn refusal(refused: &files::Refused, prefix: &str) -> Finding {
    Finding::new(refused.rule, Severity::Error, &format!("{prefix}{}", refused.path), refused.message.clone())
}
