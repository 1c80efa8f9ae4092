//! One run: every fault of every file.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::catalogue::listed_words;
use super::curves;
use super::file_findings::{self, FileFindingList};
use super::limits;
use super::memory::{self, FileFindings, Memory, Past};
use super::methods;
use super::packs::{self, File, Files, Pack, PackFile, PackFrom};
use super::record::{Surroundings, WITHDRAWS, inspect};
use super::schemas::{SchemaFault, Schemas};
use super::setup::{CheckSetting, schemas_of, setting};
use super::translate;
use crate::finding::{Finding, settle};
use crate::read;
use crate::read::folder;
use crate::read::tree::Node;

/// What to check, and against what.
#[derive(Debug, Clone)]
pub struct CheckRequest<'a> {
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
    /// Whole packs, by their place in [`CheckRequest::packs`].
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
pub struct CheckReport {
    /// Findings in order of place, each once.
    pub findings: Vec<Finding>,
    /// Files looked at.
    pub files: usize,
    /// Records among them.
    pub records: usize,
    /// Whether a record withdraws something, so that the book has to be asked what still names it.
    pub withdraws: bool,
}

/// A file to check, and where it belongs.
struct Task<'a, 'f> {
    files: &'f Files<'a>,
    file: &'f File<'a>,
    /// Kind and id, when the place of the file gives them.
    subject: Option<(&'f str, &'f str)>,
    /// Id of its pack.
    pack: &'f str,
}

/// Packs made ready, so that single records of them can be checked.
pub struct Checker<'a> {
    setting: CheckSetting<'a>,
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
    pub fn new(shared: &[(&str, &str)], packs: &[PackFrom<'a>]) -> Result<Self, SchemaFault> {
        schemas_of(shared).map(|shared| Checker::with(shared, packs))
    }
    /// As [`Checker::new`], with shared schemas that were read before.
    #[must_use]
    pub fn with(shared: Schemas, packs: &[PackFrom<'a>]) -> Self {
        let setting = setting(shared, packs.iter().map(Files::of).collect());
        let words = words(&setting.schemas);
        Checker { setting, words }
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
        let pack = self.setting.index.packs.get(place).map_or("", |pack| &*pack.declared.id);
        look_at(&TextPosition { shown, subject: Some(subject), pack }, bytes, &self.setting, &self.words)
    }
}

/// Checks what is asked for.
///
/// # Errors
/// Only when the shared schemas are broken, which is a fault of the program.
pub fn run(request: &CheckRequest<'_>) -> Result<CheckReport, SchemaFault> {
    run_with(request, None)
}

/// As [`run`], remembering what is found in whole packs.
///
/// # Errors
/// As [`run`].
pub fn run_with(request: &CheckRequest<'_>, memory: Option<&dyn Memory>) -> Result<CheckReport, SchemaFault> {
    let listed: Vec<Files<'_>> = request.packs.iter().map(Files::of).collect();
    let mut report = CheckReport::default();
    match &request.targets {
        Targets::Packs(places) => whole(places, &[], request, listed, memory, &mut report)?,
        Targets::Paths(paths) => {
            let asked: Vec<RequestedPath<'_>> = asked(paths, &request.packs);
            let places: Vec<usize> = asked.iter().filter(|a| a.inside.is_empty()).filter_map(|a| a.place).collect();
            let parts: Vec<RequestedPath<'_>> =
                asked.into_iter().filter(|a| !a.place.is_some_and(|p| places.contains(&p))).collect();
            whole(&places, &parts, request, listed, memory, &mut report)?;
        }
        Targets::Text { subject, shown, bytes } => {
            let setting = setting(schemas_of(request.shared)?, listed);
            report.files = 1;
            let subject = subject.as_deref().and_then(|subject| subject.split_once('/'));
            let place = TextPosition { shown, subject, pack: "" };
            report.records = usize::from(subject.is_some());
            report.findings = look_at(&place, bytes, &setting, &words(&setting.schemas)).findings;
            // What cannot be listed may hold what the text names.
            let unlisted = setting.findings.iter().flatten().filter(|found| found.rule == read::file::UNREADABLE);
            report.findings.extend(unlisted.cloned());
        }
    }
    settle(&mut report.findings);
    report.withdraws = report.findings.iter().any(|found| found.rule == WITHDRAWS);
    report.findings.retain(|found| found.rule != WITHDRAWS);
    Ok(report)
}

/// Checks whole packs, then parts of packs and files outside of packs.
fn whole<'a>(
    places: &[usize],
    parts: &[RequestedPath<'_>],
    request: &CheckRequest<'a>,
    listed: Vec<Files<'a>>,
    memory: Option<&dyn Memory>,
    report: &mut CheckReport,
) -> Result<(), SchemaFault> {
    let places: std::collections::BTreeSet<usize> = places.iter().copied().collect();
    report.files = places.iter().map(|place| listed[*place].all.len()).sum();
    let recalled: HashMap<usize, Recalled> =
        places.iter().filter_map(|place| Some((*place, recalled(*place, request, &listed, memory?)?))).collect();
    let past = |place: usize| recalled.get(&place).and_then(|r| r.past(&listed[place], memory?.reads_all()));
    let mut pasts: HashMap<usize, Past<'_>> = places.iter().filter_map(|place| Some((*place, past(*place)?))).collect();
    let mut left = Vec::new();
    for place in &places {
        let settled = |past: &&Past<'_>| memory.is_none_or(|memory| !past.settles(&listed[*place], memory.began()));
        match pasts.get(place).filter(settled).and_then(|past| past.whole(&listed[*place])) {
            Some((findings, records)) => {
                report.findings.extend(findings);
                report.records += records;
            }
            None => left.push(*place),
        }
    }
    if left.is_empty() && parts.is_empty() {
        return Ok(());
    }
    let mut setting = setting(schemas_of(request.shared)?, listed);
    let words = words(&setting.schemas);
    for place in left {
        let own = std::mem::take(&mut setting.findings[place]);
        let past = pasts.remove(&place);
        let keep = recalled.get(&place).map(|recalled| &recalled.key).zip(memory);
        look_again(&setting.index.packs[place], own, past, &setting, &words, keep, report);
    }
    for part in parts {
        match part.place {
            Some(place) => within(place, part, &setting, &words, report),
            None => outside(part.path, &setting, &words, report),
        }
    }
    Ok(())
}

/// Checks what has changed in a pack since it was remembered, and remembers it as it is now.
fn look_again(
    pack: &Pack<'_>,
    own: Vec<Finding>,
    past: Option<Past<'_>>,
    setting: &CheckSetting<'_>,
    words: &Words,
    keep: Option<(&memory::Key, &dyn Memory)>,
    report: &mut CheckReport,
) {
    let files = &pack.files;
    let outcomes = all(pack, past.unwrap_or_else(|| Past::empty(files)), setting, words);
    let tasks = (0..files.all.len()).filter_map(|at| task(pack, at, &setting.schemas));
    let records = tasks.filter(|task| task.subject.is_some()).count();
    if let (Some((key, memory)), Some(root)) = (keep, &files.root) {
        memory.keep(root, &memory::bytes(key, memory.began(), records, &own, files, &outcomes));
    }
    report.records += records;
    report.findings.extend(own);
    report.findings.extend(outcomes.into_iter().zip(&files.all).flat_map(|(outcome, file)| found(outcome, files, file)));
}

/// What was kept of a pack.
struct Recalled {
    key: memory::Key,
    kept: Option<Vec<u8>>,
}

impl Recalled {
    fn past(&self, files: &Files<'_>, reads_all: bool) -> Option<Past<'_>> {
        memory::recall(self.kept.as_ref()?, &self.key, files, reads_all)
    }
}

/// What memory holds of a pack on disk.
fn recalled(place: usize, request: &CheckRequest<'_>, listed: &[Files<'_>], memory: &dyn Memory) -> Option<Recalled> {
    let root = listed[place].root.as_ref()?;
    Some(Recalled { key: memory::key(request.shared, listed, place), kept: memory.recall(root) })
}

type Words = HashMap<String, HashMap<String, Vec<String>>>;

fn words(schemas: &Schemas) -> Words {
    schemas.kinds().iter().map(|kind| (kind.word.clone(), listed_words(schemas, &kind.file))).collect()
}

/// The file at a place of a pack, when it has to be read.
fn task<'a, 'f>(pack: &'f Pack<'a>, at: usize, schemas: &'f Schemas) -> Option<Task<'a, 'f>> {
    let file = pack.files.all.get(at)?;
    let task = |subject| Some(Task { files: &pack.files, file, subject, pack: &pack.declared.id });
    match pack.parts.get(at)? {
        part @ PackFile::Record(_) => task(packs::subject(*part, &file.relative, schemas)),
        // A record in a wrong place is still read, so that its other faults show in the same run.
        PackFile::Wrong if file.relative.ends_with(".yaml") => {
            let folder = file.relative.split('/').next().unwrap_or_default();
            let kind = schemas.kind_of_folder(folder);
            task(kind.map(|kind| (kind.word.as_str(), packs::stem(&file.relative))))
        }
        _ => None,
    }
}

/// Every file of a pack, each by what is remembered of it or looked at. No tree outlives its file.
fn all<'m>(pack: &Pack<'_>, past: Past<'m>, setting: &CheckSetting<'_>, words: &Words) -> Vec<FileFindings<'m>> {
    let one = |(at, was): (usize, Option<memory::Was<'m>>)| match (task(pack, at, &setting.schemas), was) {
        (None, _) => FileFindings::Named,
        (Some(_), Some(was)) => FileFindings::Was(was),
        (Some(task), None) => check_file(&task, setting, words),
    };
    past.files.into_par_iter().enumerate().map(one).collect()
}

fn found(outcome: FileFindings<'_>, files: &Files<'_>, file: &File<'_>) -> Vec<Finding> {
    match outcome {
        FileFindings::Named => Vec::new(),
        FileFindings::Unread(found) | FileFindings::Fresh(_, found) => found,
        FileFindings::Was(was) if was.findings == memory::NONE => Vec::new(),
        // Its seal was intact, so it decodes.
        FileFindings::Was(was) => memory::findings(was.findings, &files.shown(file)).unwrap_or_default(),
    }
}

/// Findings on files that are not checked as parts of a whole pack.
fn some(tasks: &[Task<'_, '_>], setting: &CheckSetting<'_>, words: &Words, report: &mut CheckReport) {
    report.records += tasks.iter().filter(|task| task.subject.is_some()).count();
    let outcomes: Vec<FileFindings<'_>> = tasks.par_iter().map(|task| check_file(task, setting, words)).collect();
    report.findings.extend(outcomes.into_iter().zip(tasks).flat_map(|(o, task)| found(o, task.files, task.file)));
}

fn check_file<'m>(task: &Task<'_, '_>, setting: &CheckSetting<'_>, words: &Words) -> FileFindings<'m> {
    let shown = task.files.shown(task.file);
    let place = TextPosition { shown: &shown, subject: task.subject, pack: task.pack };
    match task.files.bytes(task.file) {
        Ok(bytes) => FileFindings::Fresh(memory::mark(&bytes), look_at(&place, &bytes, setting, words).findings),
        Err(fault) => FileFindings::Unread(vec![file_findings::unread(place.shown, place.name(), fault)]),
    }
}

/// Where a text stands.
struct TextPosition<'p> {
    shown: &'p str,
    subject: Option<(&'p str, &'p str)>,
    pack: &'p str,
}

impl TextPosition<'_> {
    fn name(&self) -> Option<String> {
        self.subject.map(|(kind, id)| format!("{kind}/{id}"))
    }
}

/// One record and every finding of it.
fn look_at(place: &TextPosition<'_>, bytes: &[u8], setting: &CheckSetting<'_>, words: &Words) -> Checked {
    let reading = read::read(bytes);
    let mut list = FileFindingList::new(place.shown, place.name(), &reading.source);
    list.faults(reading.faults);
    let kind = place.subject.and_then(|(kind, _)| setting.schemas.kind(kind));
    if let (Some(tree), Some(kind)) = (&reading.tree, kind) {
        match setting.schemas.mismatches(&kind.file, tree) {
            Ok(mismatches) => translate::report(&setting.schemas, &kind.file, tree, &mismatches, &mut list),
            Err(error) => list.find_whole(
                "schema-broken",
                format!("the schema {} cannot be used: {error}", kind.file),
                "correct the schema",
            ),
        }
        schema_line(&reading.source, &kind.file, &mut list);
        let none = HashMap::new();
        let words = words.get(&kind.word).unwrap_or(&none);
        let sourced = tree.get("source").is_some();
        let around = Surroundings { kind: &kind.word, pack: place.pack, sourced, index: &setting.index, words };
        inspect(tree, &around, &mut list);
        limits::look(tree, &setting.schemas, &kind.file, &mut list);
        limits::family(tree, &kind.word, &setting.schemas, &mut list);
        if let Some(subject) = place.subject {
            methods::look(subject, tree, &setting.schemas, &setting.index, &mut list);
        }
        if let Some((curves::KIND, id)) = place.subject.filter(|_| !place.pack.is_empty()) {
            curves::look(id, tree, &setting.index, &mut list);
        }
    }
    let findings = list.findings();
    Checked { tree: reading.tree, findings }
}

/// The line that tells an editor the schema must name the schema of this kind, beside the record.
fn schema_line(source: &read::source::Source, file: &str, list: &mut FileFindingList<'_>) {
    const MARK: &str = "# yaml-language-server: $schema=";
    let Some(named) = source.line(1).and_then(|line| line.strip_prefix(MARK)) else { return };
    let named = named.trim();
    let is_far = named.contains(':') || named.starts_with('/') || named.contains('\\');
    if is_far || named.rsplit('/').next() != Some(file) {
        let span = source.span(MARK.len(), MARK.len() + named.len());
        let message = format!("the first line tells editors to use the schema `{named}`, but this record's schema is {file}");
        list.find("schema-line", span, message, format!("give the relative path to {file}"));
    }
}

/// A path the user named.
struct RequestedPath<'p> {
    path: &'p Path,
    /// The pack it is in.
    place: Option<usize>,
    /// Its path inside that pack; empty for the pack as a whole.
    inside: String,
}

/// Which packs the paths of the user are in.
fn asked<'p>(paths: &'p [PathBuf], packs: &[PackFrom<'_>]) -> Vec<RequestedPath<'p>> {
    let roots: Vec<Option<PathBuf>> = packs.iter().map(root).collect();
    let one = |path: &'p PathBuf| {
        let whole = std::fs::canonicalize(path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")));
        let whole = whole.map(|folder| path.file_name().map_or(folder.clone(), |name| folder.join(name)));
        let whole = whole.ok().and_then(|p| if path.is_dir() { std::fs::canonicalize(&p).ok() } else { Some(p) });
        let home = whole.as_ref().and_then(|whole| {
            let place = roots.iter().position(|root| root.as_ref().is_some_and(|root| whole.starts_with(root)))?;
            Some((place, whole.strip_prefix(roots[place].as_ref()?).ok()?.to_str()?.replace('\\', "/")))
        });
        match home {
            Some((place, inside)) => RequestedPath { path, place: Some(place), inside },
            None => RequestedPath { path, place: None, inside: String::new() },
        }
    };
    paths.iter().map(one).collect()
}

fn root(pack: &PackFrom<'_>) -> Option<PathBuf> {
    match pack {
        PackFrom::Folder(root) | PackFrom::Listed(root, _) => std::fs::canonicalize(root).ok(),
        PackFrom::Embedded { .. } | PackFrom::Given { .. } => None,
    }
}

/// The part of a pack that a path names.
fn within(place: usize, asked: &RequestedPath<'_>, setting: &CheckSetting<'_>, words: &Words, report: &mut CheckReport) {
    let below = format!("{}/", asked.inside);
    let named = |file: &File<'_>| *file.relative == *asked.inside || file.relative.starts_with(&below);
    let pack = &setting.index.packs[place];
    let places: Vec<usize> = (0..pack.files.all.len()).filter(|at| named(&pack.files.all[*at])).collect();
    if places.is_empty() {
        outside(asked.path, setting, words, report);
        return;
    }
    report.files += places.len();
    let about: HashSet<String> = places.iter().map(|at| pack.files.shown(&pack.files.all[*at])).collect();
    report.findings.extend(setting.findings[place].iter().filter(|f| about.contains(&f.place.file)).cloned());
    let tasks: Vec<Task<'_, '_>> = places.into_iter().filter_map(|at| task(pack, at, &setting.schemas)).collect();
    some(&tasks, setting, words, report);
}

/// Files of no pack: the folder gives the kind, if it is the folder of one.
fn outside(path: &Path, setting: &CheckSetting<'_>, words: &Words, report: &mut CheckReport) {
    let is_folder = path.is_dir() && !path.is_symlink();
    let mut files = if is_folder { Files::below(path, &folder::list(path)) } else { Files::single(path) };
    report.findings.append(&mut files.findings);
    let is_record = |file: &&File<'_>| !is_folder || file.relative.to_ascii_lowercase().ends_with(".yaml");
    let places: Vec<(&File<'_>, Option<(String, String)>)> =
        files.all.iter().filter(is_record).map(|file| (file, loose_subject(&files, file, &setting.schemas))).collect();
    report.files += places.len();
    for (file, _) in places.iter().filter(|(_, subject)| subject.is_none()) {
        let message = "the file is outside a pack, and its folder belongs to no kind";
        let help = "move it into the folder of its kind, or check it as text with --as KIND/ID";
        report.findings.push(super::rules::finding("kind-unknown", &files.shown(file), message, help));
    }
    let tasks: Vec<Task<'_, '_>> = places
        .iter()
        .map(|(file, s)| Task {
            files: &files,
            file,
            subject: s.as_ref().map(|(kind, id)| (kind.as_str(), id.as_str())),
            pack: "",
        })
        .collect();
    some(&tasks, setting, words, report);
}

fn loose_subject(files: &Files<'_>, file: &File<'_>, schemas: &Schemas) -> Option<(String, String)> {
    let whole = std::path::absolute(files.path(file)?).ok()?;
    let folder = whole.parent()?.file_name()?.to_str()?;
    let kind = schemas.kind_of_folder(folder)?;
    Some((kind.word.clone(), whole.file_stem()?.to_str()?.to_owned()))
}
