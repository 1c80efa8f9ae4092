//! Loading: from pack folders to records, with everything left out named.

use super::files::{self, Listing, PackFile, Part};
use super::kinds::Kinds;
use super::pack::{Count, Manifest, Pack};
use super::record::{Record, RecordId};
use super::roots::{PACK_FILE, PackRoot};
use super::{Book, shape};
use crate::finding::{Finding, Severity};
use crate::read;
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;

/// What is known of a pack's files from an earlier run, so that unchanged ones need not be read again.
pub trait Memory: Sync {
    /// Called once per pack, with its files and the hash of all schemas in force; what is returned stands for the
    /// files it names. An empty answer is always right.
    fn recall(&self, root: &PackRoot, files: &[PackFile], schemas: &[u8; 32]) -> HashMap<String, Known>;
    /// Called once per pack after loading, with every record that may be remembered.
    fn keep(&self, root: &PackRoot, files: &[Kept<'_>], schemas: &[u8; 32]);
}

/// A file whose content need not be read again.
#[derive(Debug, Clone)]
pub struct Known {
    /// Hash of its content.
    pub hash: [u8; 32],
    /// Its record; `None` for schemas, curves and the manifest.
    pub record: Option<Record>,
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
    fn recall(&self, _: &PackRoot, _: &[PackFile], _: &[u8; 32]) -> HashMap<String, Known> {
        HashMap::new()
    }
    fn keep(&self, _: &PackRoot, _: &[Kept<'_>], _: &[u8; 32]) {}
}

/// A pack whose files are listed and whose `pack.yaml` is read.
struct Opened {
    root: PackRoot,
    prefix: String,
    manifest: Manifest,
    listing: Listing,
}

/// One file, loaded.
struct Loaded {
    hash: Option<[u8; 32]>,
    record: Option<Record>,
    findings: Vec<Finding>,
    recalled: bool,
}

/// Loads packs. `here` is the folder relative paths start from.
///
/// # Errors
/// A pack that cannot be opened, and a record id that two packs use.
pub fn load(roots: &[PackRoot], here: &Path, memory: &dyn Memory) -> Result<Book, Box<Finding>> {
    let opened = open(roots, here)?;
    let mut notices = Vec::new();
    let opened = replace_built_in(opened, &mut notices)?;
    let (kinds, schemas) = schemas(&opened);
    let mut book = Book::empty(kinds);
    book.notices = notices;
    for pack in &opened {
        let place = book.packs.len();
        let (records, summary, left_out) = records(pack, place, &book.kinds, memory, &schemas);
        book.packs.push(summary);
        book.left_out.extend(left_out);
        book.records.extend(records);
    }
    book.settle()?;
    Ok(book)
}

fn open(roots: &[PackRoot], here: &Path) -> Result<Vec<Opened>, Box<Finding>> {
    let open_one = |root: &PackRoot| {
        let listing = files::list(root, here);
        let prefix = prefix(root, here);
        let shown = format!("{prefix}{PACK_FILE}");
        let missing = || Box::new(Finding::new("pack-missing", Severity::Error, &shown, "the pack has no pack.yaml"));
        let Some(file) = listing.files.iter().find(|f| f.part == Part::Manifest) else {
            // A binary built before the demo pack was written has none; asking for it is then an error, not a bug.
            return Err(missing());
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
    let is_folder = |o: &Opened| matches!(o.root, PackRoot::Folder { .. });
    let folders: Vec<(Box<str>, String)> =
        opened.iter().filter(|o| is_folder(o)).map(|o| (o.manifest.id.clone(), format!("{}{PACK_FILE}", o.prefix))).collect();
    for (at, (id, file)) in folders.iter().enumerate() {
        if folders[..at].iter().any(|(earlier, _)| earlier == id) {
            return Err(Box::new(Finding::new("pack-twice", Severity::Error, file, format!("two packs have the id `{id}`"))));
        }
    }
    opened.retain(|o| {
        let replaced = !is_folder(o) && folders.iter().any(|(id, _)| *id == o.manifest.id);
        if replaced {
            let file = folders.iter().find(|(id, _)| *id == o.manifest.id).map_or("", |(_, file)| file);
            notices.push(format!("the pack `{}` is read from {file}, not the built-in copy", o.manifest.id));
        }
        !replaced
    });
    Ok(opened)
}

fn schemas(opened: &[Opened]) -> (Kinds, [u8; 32]) {
    let mut texts = Vec::new();
    for pack in opened.iter().filter(|o| matches!(o.root, PackRoot::Folder { .. })) {
        for file in pack.listing.files.iter().filter(|f| f.part == Part::Schema) {
            if let Ok(bytes) = file.bytes() {
                texts.push(String::from_utf8_lossy(&bytes).into_owned());
            }
        }
    }
    let kinds = Kinds::new(texts.iter().map(String::as_str));
    (kinds, Kinds::hash(texts.iter().map(String::as_str)))
}

fn records(
    pack: &Opened,
    place: usize,
    kinds: &Kinds,
    memory: &dyn Memory,
    schemas: &[u8; 32],
) -> (Vec<Record>, Pack, Vec<Finding>) {
    let files = &pack.listing.files;
    let mut known = memory.recall(&pack.root, files, schemas);
    let jobs: Vec<(&PackFile, Option<Known>)> = files.iter().map(|f| (f, known.remove(&f.path))).collect();
    let loaded: Vec<Loaded> = jobs.into_par_iter().map(|(file, known)| load_file(pack, file, known, place, kinds)).collect();
    let kept: Vec<Kept<'_>> = files.iter().zip(&loaded).filter_map(|(file, l)| kept(file, l)).collect();
    memory.keep(&pack.root, &kept, schemas);
    let hash = files::pack_hash(files.iter().zip(&loaded).filter_map(|(f, l)| Some((&*f.path, l.hash.as_ref()?))));
    let mut left_out: Vec<Finding> = pack.listing.refused.iter().map(|r| refusal(r, &pack.prefix)).collect();
    let mut records = Vec::new();
    for one in loaded {
        left_out.extend(one.findings);
        records.extend(one.record);
    }
    let summary = summary(pack, &records, hash);
    (records, summary, left_out)
}

fn kept<'a>(file: &'a PackFile, loaded: &'a Loaded) -> Option<Kept<'a>> {
    let broken = file.part == Part::Record && loaded.record.is_none();
    // A broken record is read again each time, so that its findings are those of its present text.
    (!broken).then_some(())?;
    Some(Kept { file, hash: loaded.hash?, record: loaded.record.as_ref(), recalled: loaded.recalled })
}

fn load_file(pack: &Opened, file: &PackFile, known: Option<Known>, place: usize, kinds: &Kinds) -> Loaded {
    let shown = format!("{}{}", pack.prefix, file.path);
    if let Some(Known { hash, record }) = known {
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
    match record(file, &bytes, &shown, place, kinds) {
        Ok(record) => Loaded { hash, record: Some(record), findings: Vec::new(), recalled: false },
        Err(findings) => Loaded { hash, record: None, findings, recalled: false },
    }
}

/// Reads one record file.
fn record(file: &PackFile, bytes: &[u8], shown: &str, place: usize, kinds: &Kinds) -> Result<Record, Vec<Finding>> {
    let Some(kind) = kinds.of_folder(file.folder()) else {
        let message = format!("no kind keeps its records in `{}/`", file.folder());
        return Err(vec![Finding::new("kind-unknown", Severity::Error, shown, message)]);
    };
    let id = RecordId::new(&kind.word, file.stem());
    let reading = read::read(bytes);
    let faults: Vec<Finding> = reading.faults.iter().map(|f| finding(f, shown).about(id.as_str())).collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let Some(tree) = &reading.tree else {
        return Err(vec![
            Finding::new("record-unreadable", Severity::Error, shown, "the file holds no record").about(id.as_str()),
        ]);
    };
    shape::record(tree, shape::Origin { id, pack: place, file: shown }, kinds).map_err(|f| vec![*f])
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
