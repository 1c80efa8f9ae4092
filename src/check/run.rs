//! One run: every fault of every file.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::catalogue::listed_words;
use super::curves;
use super::desk::{self, Desk};
use super::packs::{Content, File, PackFrom, Part, shown, walk};
use super::record::{Surroundings, inspect};
use super::schemas::Schemas;
use super::setup::{Setting, bytes, setting};
use super::translate;
use crate::finding::{Finding, settle};
use crate::read;
use crate::read::tree::Node;

/// What to check, and against what.
#[derive(Debug, Clone)]
pub struct Request<'a> {
    /// Shared schema files: name and text.
    pub shared: &'a [(&'a str, &'a str)],
    /// Packs whose records references may name, and whose schemas count.
    pub packs: Vec<PackFrom<'a>>,
    /// What findings are wanted of.
    pub targets: Targets,
}

/// What findings are wanted of.
#[derive(Debug, Clone)]
pub enum Targets {
    /// Whole packs, by their place in [`Request::packs`].
    Packs(Vec<usize>),
    /// Files and folders; a file inside one of the packs is checked as part of it.
    Paths(Vec<PathBuf>),
    /// One text, as the record of this kind and id.
    Text {
        /// `kind/id`; `None` checks the record profile only.
        subject: Option<String>,
        /// Name shown for it.
        shown: String,
        /// Its bytes.
        bytes: Vec<u8>,
    },
}

/// What a run found.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// Findings in order of place, each once.
    pub findings: Vec<Finding>,
    /// Files looked at.
    pub files: usize,
    /// Records among them.
    pub records: usize,
}

/// A file to check, and where it belongs.
struct Task<'a, 'f> {
    file: &'f File<'a>,
    /// Kind and id, when the place of the file gives them.
    subject: Option<(&'f str, &'f str)>,
    /// Id of its pack.
    pack: &'f str,
}

/// Packs made ready, so that single records of them can be checked.
pub struct Checker<'a> {
    setting: Setting<'a>,
    words: Words,
}

/// A record that was looked at.
#[derive(Debug)]
pub struct Checked {
    /// Its tree; absent when a fault ended the reading early.
    pub tree: Option<Node>,
    /// Every finding on it.
    pub findings: Vec<Finding>,
}

impl<'a> Checker<'a> {
    /// Lists the packs and takes in what they declare.
    ///
    /// # Errors
    /// Only when the shared schemas are broken, which is a fault of the program.
    pub fn new(shared: &[(&str, &str)], packs: &[PackFrom<'a>]) -> Result<Self, String> {
        let setting = setting(shared, packs)?;
        let words = words(&setting.schemas);
        Ok(Checker { setting, words })
    }
    /// The schemas in force, those of the packs included.
    #[must_use]
    pub fn schemas(&self) -> &Schemas {
        &self.setting.schemas
    }
    /// Findings on a pack as such: names of files, pack.yaml, schemas.
    #[must_use]
    pub fn pack_findings(&self, place: usize) -> &[Finding] {
        self.setting.findings.get(place).map_or(&[], Vec::as_slice)
    }
    /// Reads and checks the record of a kind and id, as part of the pack at `place`.
    #[must_use]
    pub fn record(&self, place: usize, subject: (&str, &str), shown: &str, bytes: &[u8]) -> Checked {
        let pack = self.setting.packs.get(place).map_or("", |pack| &*pack.declared.id);
        look_at(&Place { shown, subject: Some(subject), pack }, bytes, &self.setting, &self.words)
    }
}

/// Checks what is asked for.
///
/// # Errors
/// Only when the shared schemas are broken, which is a fault of the program.
pub fn run(request: &Request<'_>) -> Result<Report, String> {
    let mut setting = setting(request.shared, &request.packs)?;
    let words = words(&setting.schemas);
    let mut report = Report::default();
    match &request.targets {
        Targets::Packs(places) => {
            for place in places {
                report.findings.append(&mut std::mem::take(&mut setting.findings[*place]));
            }
            let tasks: Vec<Task<'_, '_>> = places.iter().flat_map(|place| pack_tasks(&setting, *place)).collect();
            report.files = places.iter().map(|place| setting.packs[*place].files.len()).sum();
            all(&tasks, &setting, &words, &mut report);
        }
        Targets::Paths(paths) => self::paths(paths, request, &mut setting, &words, &mut report),
        Targets::Text { subject, shown, bytes } => {
            report.files = 1;
            let subject = subject.as_deref().and_then(|subject| subject.split_once('/'));
            let place = Place { shown, subject, pack: "" };
            report.records = usize::from(subject.is_some());
            report.findings = one(&place, bytes, &setting, &words);
        }
    }
    settle(&mut report.findings);
    Ok(report)
}

type Words = HashMap<String, HashMap<String, Vec<String>>>;

fn words(schemas: &Schemas) -> Words {
    schemas.kinds().iter().map(|kind| (kind.word.clone(), listed_words(schemas, &kind.file))).collect()
}

fn pack_tasks<'a, 'f>(setting: &'f Setting<'a>, place: usize) -> Vec<Task<'a, 'f>> {
    let pack = &setting.packs[place];
    let task = |(file, part): &'f (File<'a>, Part)| match part {
        Part::Record(kind, id) => Some(Task { file, subject: Some((kind, id)), pack: &pack.declared.id }),
        // A record in a wrong place is still read, so that its other faults show in the same run.
        Part::Wrong(..) if file.relative.ends_with(".yaml") => {
            let folder = file.relative.split('/').next().unwrap_or_default();
            let stem = file.relative.rsplit('/').next().and_then(|name| name.strip_suffix(".yaml")).unwrap_or_default();
            let kind = setting.schemas.kind_of_folder(folder);
            Some(Task { file, subject: kind.map(|kind| (kind.word.as_str(), stem)), pack: &pack.declared.id })
        }
        _ => None,
    };
    pack.files.iter().filter_map(task).collect()
}

fn all(tasks: &[Task<'_, '_>], setting: &Setting<'_>, words: &Words, report: &mut Report) {
    report.records += tasks.iter().filter(|task| task.subject.is_some()).count();
    // Findings only; no tree outlives its file.
    let found: Vec<Vec<Finding>> = tasks.par_iter().map(|task| check_file(task, setting, words)).collect();
    report.findings.extend(found.into_iter().flatten());
}

fn check_file(task: &Task<'_, '_>, setting: &Setting<'_>, words: &Words) -> Vec<Finding> {
    let place = Place { shown: &task.file.shown, subject: task.subject, pack: task.pack };
    match bytes(&task.file.content) {
        Ok(bytes) => one(&place, &bytes, setting, words),
        Err(fault) => vec![desk::unread(place.shown, place.name(), fault)],
    }
}

/// Where a text stands.
struct Place<'p> {
    shown: &'p str,
    subject: Option<(&'p str, &'p str)>,
    pack: &'p str,
}

impl Place<'_> {
    fn name(&self) -> Option<String> {
        self.subject.map(|(kind, id)| format!("{kind}/{id}"))
    }
}

/// Every finding of one record.
fn one(place: &Place<'_>, bytes: &[u8], setting: &Setting<'_>, words: &Words) -> Vec<Finding> {
    look_at(place, bytes, setting, words).findings
}

/// One record and every finding of it.
fn look_at(place: &Place<'_>, bytes: &[u8], setting: &Setting<'_>, words: &Words) -> Checked {
    let reading = read::read(bytes);
    let mut desk = Desk::new(place.shown, place.name(), &reading.source);
    desk.faults(reading.faults);
    let kind = place.subject.and_then(|(kind, _)| setting.schemas.kind(kind));
    if let (Some(tree), Some(kind)) = (&reading.tree, kind) {
        match setting.schemas.mismatches(&kind.file, tree) {
            Ok(mismatches) => translate::report(&setting.schemas, &kind.file, tree, &mismatches, &mut desk),
            Err(error) => desk.find_whole(
                "schema-broken",
                format!("the schema {} cannot be used: {error}", kind.file),
                "correct the schema",
            ),
        }
        schema_line(&reading.source, &kind.file, &mut desk);
        let none = HashMap::new();
        let words = words.get(&kind.word).unwrap_or(&none);
        let sourced = tree.get("source").is_some();
        let around = Surroundings { kind: &kind.word, pack: place.pack, sourced, index: &setting.index, words };
        inspect(tree, &around, &mut desk);
        if let Some((curves::KIND, id)) = place.subject.filter(|_| !place.pack.is_empty()) {
            curves::look(id, tree, &setting.index, &mut desk);
        }
    }
    let findings = desk.findings();
    Checked { tree: reading.tree, findings }
}

/// The line that tells an editor the schema must name the schema of this kind, beside the record.
fn schema_line(source: &read::source::Source, file: &str, desk: &mut Desk<'_>) {
    const MARK: &str = "# yaml-language-server: $schema=";
    let Some(named) = source.line(1).and_then(|line| line.strip_prefix(MARK)) else { return };
    let named = named.trim();
    let is_far = named.contains(':') || named.starts_with('/') || named.contains('\\');
    if is_far || named.rsplit('/').next() != Some(file) {
        let span = source.span(MARK.len(), MARK.len() + named.len());
        let message = format!("the editor is told the schema `{named}`, the record has {file}");
        desk.find("schema-line", span, message, format!("give the relative path to {file}"));
    }
}

/// Checks files and folders the user named.
fn paths(paths: &[PathBuf], request: &Request<'_>, setting: &mut Setting<'_>, words: &Words, report: &mut Report) {
    let roots: Vec<Option<PathBuf>> = request.packs.iter().map(root).collect();
    let mut loose = Vec::new();
    for path in paths {
        let whole = std::fs::canonicalize(path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")));
        let whole = whole.map(|folder| path.file_name().map_or(folder.clone(), |name| folder.join(name)));
        let whole = whole.ok().and_then(|p| if path.is_dir() { std::fs::canonicalize(&p).ok() } else { Some(p) });
        let home = whole.as_ref().and_then(|whole| {
            let place = roots.iter().position(|root| root.as_ref().is_some_and(|root| whole.starts_with(root)))?;
            Some((place, whole.strip_prefix(roots[place].as_ref()?).ok()?.to_str()?.replace('\\', "/")))
        });
        match home {
            Some((place, inside)) => within(place, &inside, path, setting, words, report),
            None => loose.push(path.clone()),
        }
    }
    for path in loose {
        outside(&path, setting, words, report);
    }
}

fn root(pack: &PackFrom<'_>) -> Option<PathBuf> {
    match pack {
        PackFrom::Folder(root) => std::fs::canonicalize(root).ok(),
        PackFrom::Embedded { .. } => None,
    }
}

/// The part of a pack that a path names.
fn within(place: usize, inside: &str, path: &Path, setting: &Setting<'_>, words: &Words, report: &mut Report) {
    let named = |relative: &str| inside.is_empty() || relative == inside || relative.starts_with(&format!("{inside}/"));
    let pack = &setting.packs[place];
    let files: Vec<&str> =
        pack.files.iter().filter(|(file, _)| named(&file.relative)).map(|(file, _)| file.shown.as_str()).collect();
    if files.is_empty() {
        outside(path, setting, words, report);
        return;
    }
    report.files += files.len();
    let tasks: Vec<Task<'_, '_>> = pack_tasks(setting, place).into_iter().filter(|task| named(&task.file.relative)).collect();
    let about: std::collections::HashSet<&str> = files.into_iter().collect();
    report.findings.extend(setting.findings[place].iter().filter(|f| about.contains(f.place.file.as_str())).cloned());
    all(&tasks, setting, words, report);
}

/// Files of no pack: the folder gives the kind, if it is the folder of one.
fn outside(path: &Path, setting: &Setting<'_>, words: &Words, report: &mut Report) {
    let (files, findings) = if path.is_dir() && !path.is_symlink() {
        walk(path)
    } else {
        (vec![File { shown: shown(path), relative: String::new(), content: Content::Disk(path.to_owned()) }], Vec::new())
    };
    report.findings.extend(findings);
    let is_record = |file: &&File<'_>| file.relative.is_empty() || file.relative.to_ascii_lowercase().ends_with(".yaml");
    let places: Vec<(&File<'_>, Option<(String, String)>)> =
        files.iter().filter(is_record).map(|file| (file, loose_subject(file, &setting.schemas))).collect();
    report.files += places.len();
    for (file, subject) in &places {
        if subject.is_none() {
            let message = "outside of a pack, and its folder is the folder of no kind";
            report.findings.push(super::rules::finding(
                "kind-unknown",
                &file.shown,
                message,
                "put it into the folder of its kind, or check it as text with --as KIND/ID",
            ));
        }
    }
    let tasks: Vec<Task<'_, '_>> = places
        .iter()
        .map(|(file, subject)| Task { file, subject: subject.as_ref().map(|(kind, id)| (kind.as_str(), id.as_str())), pack: "" })
        .collect();
    all(&tasks, setting, words, report);
}

fn loose_subject(file: &File<'_>, schemas: &Schemas) -> Option<(String, String)> {
    let Content::Disk(path) = &file.content else { return None };
    let whole = std::path::absolute(path).ok()?;
    let folder = whole.parent()?.file_name()?.to_str()?;
    let kind = schemas.kind_of_folder(folder)?;
    Some((kind.word.clone(), whole.file_stem()?.to_str()?.to_owned()))
}
