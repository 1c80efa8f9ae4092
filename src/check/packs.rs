//! The files of packs: which are records, of which kind and id, and which have no place there.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

use super::desk::nearest;
use super::ids::{self, IdFault};
use super::rules;
use super::schemas::{Kind, Schemas};
use crate::finding::Finding;

/// A pack to look at.
#[derive(Debug, Clone)]
pub enum PackFrom<'a> {
    /// Files embedded in the program: name shown, relative paths and texts.
    Embedded {
        /// Path shown in front of the relative ones.
        shown: &'a str,
        /// Relative path with `/`, and bytes.
        files: &'a [(&'a str, &'a [u8])],
    },
    /// A folder on disk, as the user named it.
    Folder(PathBuf),
}

/// A file of a pack.
#[derive(Debug, Clone)]
pub(super) struct File<'a> {
    /// Path as the user would name it, safe to print.
    pub shown: String,
    /// Path inside the pack, with `/`.
    pub relative: String,
    pub content: Content<'a>,
}

#[derive(Debug, Clone)]
pub(super) enum Content<'a> {
    Bytes(&'a [u8]),
    Disk(PathBuf),
}

/// What a file of a pack is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Part {
    /// `pack.yaml`.
    Pack,
    /// A schema of the pack.
    Schema(String),
    /// A record with kind and id.
    Record(String, String),
    /// In the folder of a series: id of the series and name of the file.
    Curve(String, String),
    /// Nothing check reads: a text for people, a saved sheet.
    Other,
    /// In the wrong place or of the wrong name.
    Wrong(&'static str, String, &'static str),
}

/// All files of a pack in order, and findings on names that cannot be read at all.
pub(super) fn list<'a>(from: &PackFrom<'a>) -> (Vec<File<'a>>, Vec<Finding>) {
    match from {
        PackFrom::Embedded { shown, files } => {
            let mut all: Vec<File<'a>> = files
                .iter()
                .map(|(path, text)| File {
                    shown: format!("{shown}/{path}"),
                    relative: (*path).to_owned(),
                    content: Content::Bytes(text),
                })
                .collect();
            all.sort_by(|a, b| a.relative.cmp(&b.relative));
            (all, Vec::new())
        }
        PackFrom::Folder(root) => walk(root),
    }
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

/// Walks a folder in order of names: no hidden files, no symbolic links followed.
pub(super) fn walk<'a>(root: &Path) -> (Vec<File<'a>>, Vec<Finding>) {
    let walker = ignore::WalkBuilder::new(root)
        .standard_filters(false)
        .hidden(true)
        .follow_links(false)
        .sort_by_file_name(|a, b| a.cmp(b))
        .build();
    let (mut files, mut findings) = (Vec::new(), Vec::new());
    for entry in walker {
        let entry = match entry {
            Ok(entry) => entry,
            Err(error) => {
                findings.push(rules::finding(
                    "file-unreadable",
                    &shown(root),
                    format!("cannot be listed: {error}"),
                    "see that it may be read",
                ));
                continue;
            }
        };
        let path = entry.path();
        let kind = entry.file_type();
        if kind.is_none_or(|kind| kind.is_dir()) {
            continue;
        }
        let name = shown(path);
        if kind.is_some_and(|kind| kind.is_symlink()) {
            findings.push(rules::finding("file-symlink", &name, "a symbolic link is not followed", "put the file itself here"));
            continue;
        }
        match path.strip_prefix(root).ok().and_then(Path::to_str) {
            Some(relative) => files.push(File {
                shown: name,
                relative: if cfg!(windows) { relative.replace('\\', "/") } else { relative.to_owned() },
                content: Content::Disk(path.to_owned()),
            }),
            None => findings.push(rules::finding(
                "file-name",
                &name,
                "the file name is not UTF-8",
                "use small letters, digits and hyphens",
            )),
        }
    }
    (files, findings)
}

/// Sorts a path of a pack into what it is.
pub(super) fn part(relative: &str, schemas: &Schemas) -> Part {
    let parts: Vec<&str> = relative.split('/').collect();
    let is_yaml = |name: &str| {
        let lower = name.to_ascii_lowercase();
        lower.ends_with(".yaml") || lower.ends_with(".yml")
    };
    match parts[..] {
        ["pack.yaml"] => Part::Pack,
        [name] if is_yaml(name) => {
            Part::Wrong("file-place", format!("`{name}` stands beside pack.yaml"), "a record stands in the folder of its kind")
        }
        ["schemas", name] if name.ends_with(".schema.json") => Part::Schema(name.to_owned()),
        ["schemas", name] => Part::Wrong("file-place", format!("`{name}` is no schema"), "schema files end in .schema.json"),
        [folder, name] => match schemas.kind_of_folder(folder) {
            Some(kind) => record(kind, name),
            None if is_yaml(name) => Part::Wrong(
                "kind-unknown",
                format!("no kind has the folder `{folder}`"),
                "see `gripbook show` for the kinds and their folders",
            ),
            None => Part::Other,
        },
        // Raw curves and whatever belongs to them stand in a folder of the series' name.
        ["series", id, name] if !is_yaml(name) => Part::Curve(id.to_owned(), name.to_owned()),
        [folder, .., name] if schemas.kind_of_folder(folder).is_some() || is_yaml(name) => {
            Part::Wrong("file-place", format!("`{name}` stands too deep"), "a record stands directly in the folder of its kind")
        }
        _ => Part::Other,
    }
}

fn record(kind: &Kind, name: &str) -> Part {
    let Some(id) = name.strip_suffix(".yaml") else {
        let message = format!("`{name}` in the folder of kind {} does not end in .yaml", kind.word);
        return Part::Wrong("file-name", message, "name record files ID.yaml");
    };
    match ids::fault(id) {
        None => Part::Record(kind.word.clone(), id.to_owned()),
        Some(IdFault::Form) => {
            Part::Wrong("id-form", format!("`{id}` cannot be an id"), "small letters, digits and single hyphens between them")
        }
        Some(IdFault::Long) => {
            Part::Wrong("id-form", format!("`{id}` is longer than {} bytes", ids::LONGEST), "shorten the file name")
        }
        Some(IdFault::Reserved) => {
            Part::Wrong("id-reserved", format!("`{id}` is the name of a device on some systems"), "choose another name")
        }
    }
}

/// All ids of the loaded packs.
#[derive(Debug, Default)]
pub struct Index {
    /// Per kind: ids with the file that holds each.
    ids: BTreeMap<String, HashMap<String, String>>,
    roles: BTreeMap<String, String>,
    /// Files in the folders of series, by id.
    curves: BTreeMap<String, Vec<String>>,
}

/// Kinds with more records than this get no spelling suggestions.
const SUGGEST_AMONG: usize = 5_000;

impl Index {
    pub(super) fn new(schemas: &Schemas) -> Self {
        let roles = schemas.kinds().iter().map(|kind| (kind.word.clone(), kind.role.clone())).collect();
        Index { ids: BTreeMap::new(), roles, curves: BTreeMap::new() }
    }

    /// Adds an id, or gives the file that holds it already.
    pub(super) fn add(&mut self, kind: &str, id: &str, file: &str) -> Result<(), String> {
        let ids = self.ids.entry(kind.to_owned()).or_default();
        match ids.get(id) {
            Some(first) => Err(first.clone()),
            None => {
                ids.insert(id.to_owned(), file.to_owned());
                Ok(())
            }
        }
    }

    /// Adds a file in the folder of a series.
    pub(super) fn add_curve(&mut self, series: &str, name: &str) {
        self.curves.entry(series.to_owned()).or_default().push(name.to_owned());
    }

    /// Files in the folder of a series.
    pub(super) fn curves(&self, series: &str) -> Vec<&str> {
        self.curves.get(series).into_iter().flatten().map(String::as_str).collect()
    }

    /// Whether a record exists.
    #[must_use]
    pub fn contains(&self, kind: &str, id: &str) -> bool {
        self.ids.get(kind).is_some_and(|ids| ids.contains_key(id))
    }

    /// The role of a kind; `None` for an unknown kind.
    #[must_use]
    pub fn role(&self, kind: &str) -> Option<&str> {
        self.roles.get(kind).map(String::as_str)
    }

    /// Words of all kinds.
    #[must_use]
    pub fn kinds(&self) -> Vec<&str> {
        self.roles.keys().map(String::as_str).collect()
    }

    /// The record of that kind with the nearest id, as `kind/id`.
    #[must_use]
    pub fn nearest(&self, kind: &str, id: &str) -> Option<String> {
        let kind = match self.roles.contains_key(kind) {
            true => kind,
            false => nearest(kind, self.kinds())?,
        };
        let ids = self.ids.get(kind).filter(|ids| ids.len() <= SUGGEST_AMONG)?;
        if ids.contains_key(id) {
            return Some(format!("{kind}/{id}"));
        }
        // In order, so that equally near ids give the same answer every time.
        let sorted: std::collections::BTreeSet<&str> = ids.keys().map(String::as_str).collect();
        nearest(id, sorted).map(|id| format!("{kind}/{id}"))
    }
}

/// Findings on files whose names some file system cannot tell apart.
pub(super) fn twins(files: &[File<'_>]) -> Vec<Finding> {
    let mut seen: HashMap<String, &File<'_>> = HashMap::with_capacity(files.len());
    let mut findings = Vec::new();
    for file in files {
        let folded = ids::folded(&file.relative);
        match seen.get(folded.as_str()) {
            Some(first) => findings.push(rules::finding(
                "id-twin",
                &file.shown,
                format!("differs from {} only in ways some file systems do not keep", first.shown),
                "rename one of the two",
            )),
            None => {
                seen.insert(folded, file);
            }
        }
    }
    findings
}
