//! The files of packs: which are records, of which kind and id, and which have no place there.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use super::file_findings::nearest;
use super::ids::{self, IdFault};
use super::packfile::Declared;
use super::rules;
use super::schemas::{RecordKind, Schemas};
use crate::finding::Finding;
use crate::read::folder::{self, FolderEntry, Listing, Stamp};
use crate::read::{self, file};

/// Bytes by relative path with `/`.
pub type GivenFiles = Arc<BTreeMap<String, Arc<[u8]>>>;

/// A pack to look at.
#[derive(Debug, Clone)]
pub enum PackFrom<'a> {
    /// Files embedded in the program: name shown, relative paths and texts.
    Embedded {
        /// Path shown in front of the relative ones.
        shown: &'a str,
        /// Relative path with `/`, and bytes; sorted.
        files: &'a [(&'a str, &'a [u8])],
    },
    /// Files handed over by whoever uses the library.
    Given {
        /// Path shown in front of the relative ones.
        shown: String,
        /// Their bytes.
        files: GivenFiles,
    },
    /// A folder on disk, as the user named it.
    Folder(PathBuf),
    /// The same, when what stands in it is known already.
    Listed(PathBuf, Arc<Listing>),
}

/// A file of a pack.
#[derive(Debug, Clone)]
pub(super) struct File<'a> {
    /// Path inside the pack, with `/`.
    pub relative: Arc<str>,
    pub content: Content<'a>,
}

#[derive(Debug, Clone)]
pub(super) enum Content<'a> {
    Bytes(&'a [u8]),
    /// Handed over.
    Given(Arc<[u8]>),
    /// On disk, below the root of its pack.
    Inside(Stamp),
    /// On disk, wherever it is.
    Path(PathBuf),
}

/// Files that belong together, in the order of their paths.
#[derive(Debug, Clone, Default)]
pub(super) struct Files<'a> {
    /// Their folder; `None` for those that are not on disk.
    pub root: Option<PathBuf>,
    /// What stands in front of a relative path when it is shown.
    pub prefix: String,
    pub all: Vec<File<'a>>,
    /// Findings on names that cannot be read at all.
    pub findings: Vec<Finding>,
}

/// What a file of a pack is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PackFile {
    /// `pack.yaml`.
    Pack,
    /// A schema of the pack.
    Schema,
    /// A record of the kind at this place among the kinds.
    Record(u16),
    /// In the folder of a series.
    Curve,
    /// Nothing check reads: a text for people, a saved sheet.
    Other,
    /// In the wrong place or of the wrong name.
    Wrong,
}

/// What is wrong with the place or name of a file.
struct Misplaced {
    rule: &'static str,
    message: String,
    help: &'static str,
}

/// A pack with its files sorted into what they are.
pub(super) struct Pack<'a> {
    pub declared: Declared,
    pub files: Files<'a>,
    /// Of each file.
    pub parts: Vec<PackFile>,
}

impl<'a> Files<'a> {
    /// All files of a pack.
    pub fn of(from: &PackFrom<'a>) -> Self {
        match from {
            PackFrom::Embedded { shown, files } => {
                let file = |(path, text): &(&str, &'a [u8])| File { relative: (*path).into(), content: Content::Bytes(text) };
                let mut all: Vec<File<'a>> = files.iter().map(file).collect();
                all.sort_by(|a, b| (*a.relative).cmp(&b.relative));
                Files { root: None, prefix: format!("{shown}/"), all, findings: Vec::new() }
            }
            PackFrom::Given { shown, files } => {
                let file = |(path, bytes): (&String, &Arc<[u8]>)| File {
                    relative: Arc::from(&**path),
                    content: Content::Given(bytes.clone()),
                };
                Files { prefix: format!("{shown}/"), all: files.iter().map(file).collect(), ..Files::default() }
            }
            PackFrom::Folder(root) => Files::below(root, &folder::list(root)),
            PackFrom::Listed(root, listing) => Files::below(root, listing),
        }
    }
    /// The files below a folder: no hidden ones, no symbolic links followed.
    pub fn below(root: &Path, listing: &Listing) -> Self {
        let mut files = Files { root: Some(root.to_owned()), prefix: prefix(root), ..Files::default() };
        for closed in &listing.closed {
            let whole = shown(&root.join(&closed.path));
            let message = format!("the folder cannot be listed: {}", closed.error);
            files.findings.push(rules::finding(file::UNREADABLE, &whole, message, "check its permissions"));
        }
        for name in &listing.unnamed {
            let whole = shown(&root.join(name));
            let help = "use small letters, digits and hyphens";
            files.findings.push(rules::finding("file-name", &whole, "the file name is not UTF-8", help));
        }
        for link in listing.entries.iter().filter(|entry| entry.is_link) {
            let whole = format!("{}{}", files.prefix, link.path);
            let message = "symbolic links are not followed";
            files.findings.push(rules::finding("file-symlink", &whole, message, "put the file itself in its place"));
        }
        let file = |entry: &FolderEntry| File { relative: entry.path.clone(), content: Content::Inside(entry.stamp) };
        files.all = listing.entries.par_iter().with_min_len(2048).map(file).collect();
        if listing.entries.iter().any(|entry| entry.is_link) {
            let mut entries = listing.entries.iter();
            files.all.retain(|_| entries.next().is_some_and(|entry| !entry.is_link));
        }
        files
    }
    /// One file of no pack.
    pub fn single(path: &Path) -> Self {
        let file = File { relative: shown(path).into(), content: Content::Path(path.to_owned()) };
        Files { all: vec![file], ..Files::default() }
    }
    /// Path of a file as the user would name it, safe to print.
    pub fn shown(&self, file: &File<'_>) -> String {
        [&self.prefix, &*file.relative].concat()
    }
    /// Where a file is on disk; `None` for one that is not.
    pub fn path(&self, file: &File<'_>) -> Option<PathBuf> {
        match &file.content {
            Content::Bytes(_) | Content::Given(_) => None,
            Content::Inside(_) => self.root.as_ref().map(|root| root.join(&*file.relative)),
            Content::Path(path) => Some(path.clone()),
        }
    }
    /// The bytes of a file.
    pub fn bytes(&self, file: &File<'a>) -> Result<Cow<'a, [u8]>, read::Fault> {
        match (&file.content, self.path(file)) {
            (Content::Bytes(bytes), _) => Ok((*bytes).into()),
            (Content::Given(bytes), _) => Ok(bytes.to_vec().into()),
            (_, path) => file::load(&path.unwrap_or_default()).map(Into::into),
        }
    }
    /// The file with this path inside the pack.
    pub fn get(&self, relative: &str) -> Option<&File<'a>> {
        let at = self.all.binary_search_by(|file| (*file.relative).cmp(relative)).ok()?;
        self.all.get(at)
    }
    /// The file names in a folder.
    fn names<'f>(&'f self, folder: &'f str) -> impl Iterator<Item = &'f str> {
        let start = self.all.partition_point(|file| *file.relative < *folder);
        let names = self.all[start..].iter().map(move |file| file.relative.strip_prefix(folder));
        // `folder-more/` stands between `folder` and `folder/` in the order of paths.
        let names = names.skip_while(|rest| rest.is_some_and(|rest| rest < "/")).map_while(|rest| rest?.strip_prefix('/'));
        names.filter(|name| !name.contains('/'))
    }
}

/// What stands in front of the paths below a folder when they are shown.
fn prefix(root: &Path) -> String {
    let whole = shown(root);
    if whole == "." || whole.is_empty() { String::new() } else { format!("{}/", whole.trim_end_matches('/')) }
}

/// A path for people: `/` between parts, bytes that are no text escaped.
#[must_use]
pub fn shown(path: &Path) -> String {
    let text = match path.to_str() {
        Some(text) => text.to_owned(),
        None => escaped(path),
    };
    let text = if cfg!(windows) { text.replace('\\', "/") } else { text };
    text.strip_prefix("./").map_or(text.clone(), str::to_owned)
}

fn escaped(path: &Path) -> String {
    let mut out = String::new();
    for chunk in path.as_os_str().as_encoded_bytes().utf8_chunks() {
        out.push_str(chunk.valid());
        chunk.invalid().iter().for_each(|byte| out.push_str(&format!("\\x{byte:02x}")));
    }
    out
}

/// The id a file name gives, right or wrong.
pub(super) fn stem(relative: &str) -> &str {
    relative.rsplit('/').next().and_then(|name| name.strip_suffix(".yaml")).unwrap_or_default()
}

/// Sorts the files of a pack into what they are, with a finding on each that has no place there.
pub(super) fn sorted<'f, 'a>(files: &'f Files<'a>, schemas: &Schemas) -> (Vec<PackFile>, Vec<Finding>) {
    // Most files stand beside others of their kind.
    let sort = |(folder, place): &mut (&'f str, Option<usize>), file: &'f File<'a>| {
        let (now, rest) = file.relative.split_once('/').unwrap_or(("", &file.relative));
        if now != *folder {
            (*folder, *place) = (now, schemas.kinds().iter().position(|kind| kind.folder == now));
        }
        part(now, rest, *place, schemas).map_err(Box::new)
    };
    let all: Vec<Result<PackFile, Box<Misplaced>>> =
        files.all.par_iter().with_min_len(256).map_init(|| ("", None), sort).collect();
    let parts = all.iter().map(|part| *part.as_ref().unwrap_or(&PackFile::Wrong)).collect();
    let wrong = all.into_iter().zip(&files.all).filter_map(|(part, file)| Some((part.err()?, file)));
    let found = wrong.map(|(wrong, file)| rules::finding(wrong.rule, &files.shown(file), wrong.message, wrong.help)).collect();
    (parts, found)
}

/// Sorts a path of a pack, its first folder and the rest, into what it is. `place` is that of the kind the folder belongs to.
fn part(folder: &str, rest: &str, place: Option<usize>, schemas: &Schemas) -> Result<PackFile, Misplaced> {
    let wrong = |rule, message, help| Err(Misplaced { rule, message, help });
    let is_yaml = |name: &str| {
        let ending = |ending: &str| {
            name.len() >= ending.len()
                && name.is_char_boundary(name.len() - ending.len())
                && name[name.len() - ending.len()..].eq_ignore_ascii_case(ending)
        };
        ending(".yaml") || ending(".yml")
    };
    let slash = rest.rfind('/');
    let name = slash.map_or(rest, |at| &rest[at + 1..]);
    let depth = slash.map_or(0, |_| rest.matches('/').count());
    match (folder, depth) {
        ("", _) if name == "pack.yaml" => Ok(PackFile::Pack),
        ("", _) if is_yaml(name) => wrong(
            "file-place",
            format!("`{name}` lies beside pack.yaml, where no record can be"),
            "move the record into the folder of its kind",
        ),
        ("", _) => Ok(PackFile::Other),
        ("schemas", 0) if name.ends_with(".schema.json") => Ok(PackFile::Schema),
        ("schemas", 0) => {
            wrong("file-place", format!("`{name}` is not a schema"), "the name of a schema file ends in .schema.json")
        }
        // Modules of plug-ins lie beside their records, and below these what they were built from.
        (PLUGINS, 0) if name.ends_with(".wasm") => Ok(PackFile::Other),
        (PLUGINS, 1..) => Ok(PackFile::Other),
        (_, 0) => match place {
            Some(place) => record(place, &schemas.kinds()[place], name),
            None if is_yaml(name) => wrong(
                "kind-unknown",
                format!("no kind has the folder `{folder}`"),
                "`gripbook show` lists the kinds and their folders",
            ),
            None => Ok(PackFile::Other),
        },
        // Raw curves and whatever belongs to them stand in a folder of the series' name.
        ("series", 1) if !is_yaml(name) => Ok(PackFile::Curve),
        _ if place.is_some() || is_yaml(name) => wrong(
            "file-place",
            format!("`{name}` lies too deep in the folders"),
            "move the record directly into the folder of its kind",
        ),
        _ => Ok(PackFile::Other),
    }
}

fn record(place: usize, kind: &RecordKind, name: &str) -> Result<PackFile, Misplaced> {
    let wrong = |rule, message, help| Err(Misplaced { rule, message, help });
    let Some(id) = name.strip_suffix(".yaml") else {
        let message = format!("`{name}` in the folder of kind {} does not end in .yaml", kind.word);
        return wrong("file-name", message, "name record files ID.yaml");
    };
    match ids::fault(id) {
        // More kinds than that cannot be told apart by people either.
        None => Ok(u16::try_from(place).map_or(PackFile::Other, PackFile::Record)),
        Some(IdFault::Form) => {
            wrong("id-form", format!("`{id}` cannot be an id"), "use small letters, digits and single hyphens between them")
        }
        Some(IdFault::Long) => wrong("id-form", format!("`{id}` is longer than {} bytes", ids::LONGEST), "shorten the file name"),
        Some(IdFault::Reserved) => {
            wrong("id-reserved", format!("`{id}` is the name of a device on some systems"), "choose another name")
        }
    }
}

/// The folder of plug-ins: records, and modules beside them.
pub(super) const PLUGINS: &str = "plugins";

/// Names of the files directly in a folder, without this ending.
pub(super) fn ids_of_folder<'f>(files: &'f Files<'_>, folder: &'f str, ending: &str) -> Vec<&'f str> {
    let inside = files.names(folder);
    inside.filter_map(|name| name.strip_suffix(ending)).collect()
}

/// All ids of the loaded packs.
pub(super) struct Index<'a> {
    pub packs: Vec<Pack<'a>>,
    kinds: BTreeMap<String, OfKind>,
}

struct OfKind {
    folder: String,
    role: String,
    /// Gathered when first asked for: most kinds are never named by another record.
    ids: OnceLock<HashSet<Box<str>>>,
}

/// Kinds with more records than this get no spelling suggestions.
const SUGGEST_AMONG: usize = 5_000;

impl<'a> Index<'a> {
    pub fn new(packs: Vec<Pack<'a>>, schemas: &Schemas) -> Self {
        let of = |kind: &RecordKind| OfKind { folder: kind.folder.clone(), role: kind.role.clone(), ids: OnceLock::new() };
        Index { packs, kinds: schemas.kinds().iter().map(|kind| (kind.word.clone(), of(kind))).collect() }
    }

    fn ids(&self, kind: &str) -> Option<&HashSet<Box<str>>> {
        let kind = self.kinds.get(kind)?;
        let gathered = || {
            let names = self.packs.iter().flat_map(|pack| pack.files.names(&kind.folder));
            let ids = names.filter_map(|name| name.strip_suffix(".yaml")).filter(|id| ids::fault(id).is_none());
            ids.map(Box::from).collect()
        };
        Some(kind.ids.get_or_init(gathered))
    }

    /// Whether a record exists.
    #[must_use]
    pub fn contains(&self, kind: &str, id: &str) -> bool {
        self.ids(kind).is_some_and(|ids| ids.contains(id))
    }

    /// Names of the files in the folder of a series.
    pub fn curves(&self, series: &str) -> Vec<&str> {
        let below = format!("series/{series}/");
        let mut all = Vec::new();
        for pack in &self.packs {
            let from = pack.files.all.partition_point(|file| *file.relative < *below);
            let files = pack.files.all[from..].iter().zip(&pack.parts[from..]);
            let inside = files.map_while(|(file, part)| Some((file.relative.strip_prefix(&*below)?, part)));
            all.extend(inside.filter(|(_, part)| **part == PackFile::Curve).map(|(name, _)| name));
        }
        all
    }

    /// The role of a kind; `None` for an unknown kind.
    #[must_use]
    pub fn role(&self, kind: &str) -> Option<&str> {
        self.kinds.get(kind).map(|kind| kind.role.as_str())
    }

    /// Words of all kinds.
    #[must_use]
    pub fn kinds(&self) -> Vec<&str> {
        self.kinds.keys().map(String::as_str).collect()
    }

    /// The record of that kind with the nearest id, as `kind/id`.
    #[must_use]
    pub fn nearest(&self, kind: &str, id: &str) -> Option<String> {
        let kind = match self.kinds.contains_key(kind) {
            true => kind,
            false => nearest(kind, self.kinds())?,
        };
        let ids = self.ids(kind).filter(|ids| ids.len() <= SUGGEST_AMONG)?;
        if ids.contains(id) {
            return Some(format!("{kind}/{id}"));
        }
        // In order, so that equally near ids give the same answer every time.
        let sorted: std::collections::BTreeSet<&str> = ids.iter().map(|id| &**id).collect();
        nearest(id, sorted).map(|id| format!("{kind}/{id}"))
    }

    /// Records of each pack that an earlier pack holds too.
    pub fn twice(&self, schemas: &Schemas, found: &mut [Vec<Finding>]) {
        for (place, (later, found)) in self.packs.iter().zip(found).enumerate() {
            for earlier in &self.packs[..place] {
                // Each record of the smaller pack is looked up in the larger one.
                let is_few = later.files.all.len() < earlier.files.all.len();
                let (few, many) = if is_few { (later, earlier) } else { (earlier, later) };
                for (file, part) in few.files.all.iter().zip(&few.parts) {
                    if !matches!(part, PackFile::Record(_)) || many.files.get(&file.relative).is_none() {
                        continue;
                    }
                    let first = self.packs[..place].iter().find(|pack| pack.files.get(&file.relative).is_some());
                    if !first.is_some_and(|first| std::ptr::eq(first, earlier)) {
                        continue;
                    }
                    let id = subject(*part, &file.relative, schemas).map(|(kind, id)| format!("{kind}/{id}")).unwrap_or_default();
                    let message = format!("the record {id} already exists in {}", earlier.files.shown(file));
                    let whole = later.files.shown(file);
                    found.push(rules::finding("record-twice", &whole, message, "a pack may only add records; choose another id"));
                }
            }
        }
    }
}

/// Kind and id of a record.
pub(super) fn subject<'s>(part: PackFile, relative: &'s str, schemas: &'s Schemas) -> Option<(&'s str, &'s str)> {
    let PackFile::Record(place) = part else { return None };
    Some((&schemas.kinds().get(usize::from(place))?.word, stem(relative)))
}

/// Findings on files whose names some file system cannot tell apart.
pub(super) fn twins(files: &Files<'_>) -> Vec<Finding> {
    let is_plain = |b: u8| b.is_ascii() && !b.is_ascii_uppercase();
    // Paths of such characters fold to themselves, and no path stands twice.
    if files.all.par_iter().with_min_len(256).all(|file| file.relative.bytes().all(is_plain)) {
        return Vec::new();
    }
    let mut seen: HashMap<String, &File<'_>> = HashMap::with_capacity(files.all.len());
    let mut findings = Vec::new();
    for file in &files.all {
        let folded = ids::folded(&file.relative);
        match seen.get(folded.as_str()) {
            Some(first) => findings.push(rules::finding(
                "id-twin",
                &files.shown(file),
                format!("differs from {} only in ways some file systems do not keep", files.shown(first)),
                "rename one of the two",
            )),
            None => {
                seen.insert(folded, file);
            }
        }
    }
    findings
}
