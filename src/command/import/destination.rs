//! Where records go: a pack of the user's, checked, shown as a diff, agreed to, written whole.

use super::{Agree, NewSeries};
use crate::command::editor::Editor;
use crate::command::{Context, Fault, Shared, library, save};
use gripbook::book::view::Specimen;
use gripbook::book::{Book, Miss, PACK_FILE, holds_no_pack, kinds, standing_in};
use gripbook::check::{Checker, ids};
use gripbook::finding::Severity;
use gripbook::joint::methods::Methods;
use gripbook::present::{Page, writer};
use gripbook::read::tree::Node;
use gripbook::series::conditions;
use gripbook::series::write::{self, CannotAdd, Head};
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};

/// A record file that is to change.
#[derive(Debug, Clone)]
pub struct RecordChange {
    /// Full id.
    pub id: String,
    /// Its file.
    pub path: PathBuf,
    /// Text it has now; empty for a new one.
    pub old: String,
    /// Its bytes now.
    pub read: Vec<u8>,
    /// Text it is to have.
    pub new: String,
    /// Conditions that nobody gave and that the record lists as not stated.
    pub open: Vec<String>,
    /// Schemas for editors, where the pack has none yet.
    pub editor: Editor,
}

/// A raw file that is to be kept.
#[derive(Debug, Clone)]
pub struct RawFile {
    /// Where it is.
    pub from: PathBuf,
    /// Where it is to be kept.
    pub to: PathBuf,
    /// What is kept in its place, where a plug-in read it: the samples as plain text.
    pub made: Option<Vec<u8>>,
}

impl RawFile {
    fn bytes(&self) -> Result<Vec<u8>, Fault> {
        let read = || std::fs::read(&self.from).map_err(|e| Fault::environment(format!("{}: {e}", self.from.display())));
        self.made.clone().map_or_else(read, Ok)
    }
}

/// The folder of the pack that records are written to.
pub fn pack(shared: &Shared, context: &Context) -> Result<PathBuf, Fault> {
    let named = shared.pack.iter().find(|p| *p != "demo").map(|p| context.folder.join(p));
    let pack = named.or_else(|| standing_in(&context.folder, context.home.as_deref())).ok_or_else(|| {
        Fault::usage("no pack to write to")
            .help("name one with --pack DIR, or stand in one (a folder with pack.yaml: id, title, licence)")
    })?;
    if holds_no_pack(&pack) {
        return Err(Fault::data(format!("{} is not a pack: it has no {PACK_FILE}", pack.display())));
    }
    Ok(pack)
}

/// The file of a record; the id is checked, so that nothing outside the pack is reached.
pub fn record_file(pack: &Path, folder: &str, id: &str) -> Result<PathBuf, Fault> {
    match ids::fault(id) {
        None => Ok(pack.join(folder).join(format!("{id}.yaml"))),
        Some(_) => {
            Err(Fault::usage(format!("`{id}` is not a valid id")).help("small letters, digits and single hyphens, at most 64"))
        }
    }
}

/// Fields of a joint or a test that are records, with the roles those may have.
pub const RECORDS: [(&str, &[&str]); 7] = [
    ("material", &["material"]),
    ("other", &["material"]),
    ("adhesive", &["adhesive"]),
    ("insert", &["insert"]),
    ("process", &["process"]),
    ("primer", &["step"]),
    ("rig", &["rig"]),
];

/// What a new series is to say, with the method and the ids of the records it names, however their names were typed.
pub fn resolved(new: &NewSeries, book: &Book, methods: &Methods<'_>) -> Result<NewSeries, Fault> {
    let mut new = new.clone();
    if let Some(method) = &mut new.method {
        *method = library::method(method, &methods.names())?;
    }
    if let Some(material) = &mut new.material {
        *material = id_of("material", material, book)?;
    }
    for set in &mut new.set {
        let Some((key, value)) = set.split_once('=') else { continue };
        let field = ["joint.", "test."].iter().find_map(|part| key.strip_prefix(part)).unwrap_or(key);
        let named = format!("{key}={}", id_of(field.trim(), value.trim(), book)?);
        *set = named;
    }
    Ok(new)
}

/// The id of the record that a field names; any other value as it is.
fn id_of(field: &str, typed: &str, book: &Book) -> Result<String, Fault> {
    let roles = RECORDS.iter().find(|(name, _)| *name == field).map(|(_, roles)| *roles);
    let Some(roles) = roles else { return Ok(typed.to_owned()) };
    match book.resolve(typed, roles) {
        Ok(record) => Ok(record.id.to_string()),
        // A whole id that no record has is told with the series that would name it.
        Err(Miss::Unknown { .. }) if typed.contains('/') => Ok(typed.to_owned()),
        Err(miss) => Err(library::missed(book, &miss)),
    }
}

/// Specimens added to a series that exists, or a new one.
pub fn series_change(
    pack: &Path,
    id: &str,
    word: &str,
    specimens: &[Specimen],
    new: &NewSeries,
    joint: &[(String, String)],
) -> Result<RecordChange, Fault> {
    let path = record_file(pack, "series", id)?;
    let full = format!("series/{id}");
    if save::exists(&path)? {
        let bytes = gripbook::read::file::load(&path).map_err(|f| Fault::data(format!("{}: {}", path.display(), f.message)))?;
        let old = String::from_utf8_lossy(&bytes).into_owned();
        let longer =
            write::add_specimens(&old, word, specimens).map_err(|CannotAdd(why)| Fault::data(format!("{full}: {why}")))?;
        return Ok(RecordChange { id: full, path, old, read: bytes, new: longer, open: Vec::new(), editor: Editor::default() });
    }
    let editor = Editor::of(pack, SERIES);
    let head = Head { editor: editor.line.clone(), ..head(id, word, new, joint)? };
    let text = write::new_series(&head, word, specimens);
    let locator = head.locator.is_none().then(|| "locator".to_owned());
    let open = locator.into_iter().chain(head.not_stated).collect();
    Ok(RecordChange { id: full, path, old: String::new(), read: Vec::new(), new: text, open, editor })
}

/// The schema of the series, as embedded.
const SERIES: &str = "series.schema.json";

fn schema() -> serde_json::Value {
    let text = kinds::built_in_schemas().iter().find(|(name, _)| *name == SERIES).map_or("", |s| s.1);
    serde_json::from_str(text).unwrap_or_default()
}

fn head(id: &str, word: &str, new: &NewSeries, more: &[(String, String)]) -> Result<Head, Fault> {
    let test = match word {
        "push_out_load" => "push-out",
        "drive_torque" | "strip_torque" | "torque_out" => "torque",
        "cycles" => "life",
        "preload_left" | "preload_lost" => "relaxation",
        "hole_diameter" => "hole-size",
        "lap_shear_strength" => "lap-shear",
        _ => "pull-out",
    };
    let mut joint = vec![("test".to_owned(), test.to_owned())];
    let mut tests = Vec::new();
    let given = [("method", &new.method), ("material", &new.material)];
    let given = given.into_iter().filter_map(|(k, v)| Some((k.to_owned(), v.clone()?)));
    let mut set = Vec::new();
    for text in &new.set {
        let (k, v) = text.split_once('=').ok_or_else(|| Fault::usage(format!("--set {text}: write FIELD=VALUE")))?;
        set.push((k.trim().to_owned(), v.trim().to_owned()));
    }
    let schema = schema();
    let of = |part: &str, key: &str| !schema["properties"][part]["properties"][key].is_null();
    let of_test = |key: &str| of("test", key);
    let mut locator = None;
    for (key, value) in given.chain(more.iter().cloned()).chain(set) {
        if key == "locator" {
            locator = Some(value);
            continue;
        }
        let key = ["joint.", "test."].iter().find_map(|part| key.strip_prefix(part)).unwrap_or(&key).to_owned();
        if !of("joint", &key) && !of_test(&key) {
            return Err(unknown(&schema, &key));
        }
        let list = if of_test(&key) { &mut tests } else { &mut joint };
        match list.iter_mut().find(|(k, _)| *k == key) {
            Some(known) => known.1 = value,
            None => list.push((key, value)),
        }
    }
    let has = |part: &str, field: &str| {
        let list: &[(String, String)] = if part == "test" { &tests } else { &joint };
        list.iter().any(|(k, _)| k == field)
    };
    let open = conditions::of(&schema, word).into_iter().filter(|c| !c.fields.iter().any(|f| has(&c.part, f)));
    let not_stated = open.map(|c| c.word).collect();
    let name = new.name.clone().unwrap_or_else(|| id.replace('-', " "));
    Ok(Head { name, source: new.source.clone(), locator, joint, test: tests, not_stated, ..Head::default() })
}

/// A field that neither joint nor test have, with the nearest that is there.
fn unknown(schema: &serde_json::Value, key: &str) -> Fault {
    let parts = ["joint", "test"].into_iter().filter_map(|part| schema["properties"][part]["properties"].as_object());
    let all: Vec<&str> = parts.flat_map(|fields| fields.keys().map(String::as_str)).chain(["locator"]).collect();
    let close = gripbook::check::suggestion(&gripbook::check::similar(key, &all)).map_or_else(String::new, |text| text + " ");
    let help = format!("{close}`gripbook new series --words joint` and `--words test` list all");
    Fault::usage(format!("--set {key}: `{key}` is no field of a joint or a test")).help(help)
}

/// A record that names what no loaded pack holds would be left out of every answer.
fn references(change: &RecordChange, book: &Book) -> Result<(), Fault> {
    let reading = gripbook::read::read(change.new.as_bytes());
    let Some(tree) = reading.tree else { return Ok(()) };
    let mut named: Vec<String> = tree.get("source").and_then(Node::as_text).map(|s| format!("source/{s}")).into_iter().collect();
    for part in ["joint", "test"] {
        let fields = tree.get(part).and_then(Node::as_map).into_iter().flatten();
        let texts = fields.filter_map(|e| e.node.as_text()).filter(|t| !t.contains(' '));
        named.extend(
            texts.filter(|t| t.split_once('/').is_some_and(|(k, _)| book.catalogue().kind(k).is_some())).map(str::to_owned),
        );
    }
    match named.iter().find(|id| book.record(id).is_none()) {
        None => Ok(()),
        Some(id) => Err(Fault::data(format!("{} would name {id}, which no loaded pack holds", change.id)).help(
            "add that record first, or name its pack with --pack; a material no record describes goes to --set material_text=…",
        )),
    }
}

/// What new texts are checked with, each on its own.
pub fn checker() -> Result<Checker<'static>, Fault> {
    Ok(Checker::new(kinds::built_in_schemas(), &[])?)
}

/// Errors of `check` on the new texts.
fn checked(change: &RecordChange, book: &Book, checker: &Checker<'_>) -> Result<(), Fault> {
    references(change, book)?;
    let subject = change.id.split_once('/').unwrap_or_default();
    let checked = checker.record(0, subject, &change.path.display().to_string(), change.new.as_bytes());
    let open = ["reference-unknown", "source-unknown", "reference-role", "method-unknown"];
    match checked.findings.iter().find(|f| f.severity == Severity::Error && !open.contains(&f.rule)) {
        None => Ok(()),
        Some(f) => Err(Fault {
            exit: 3,
            message: format!("{} would not pass check: {} ({})", change.id, f.message, f.rule),
            help: f.help.clone(),
        }),
    }
}

/// Shows the diff, asks, writes: raw files and records together, so that no record names a file that is not there.
pub fn carry_out(
    page: &mut Page,
    changes: &[RecordChange],
    agree: &Agree,
    book: &Book,
    context: &Context,
) -> Result<bool, Fault> {
    carry_out_with(&checker()?, page, (changes, &[]), agree, book, context)
}

/// As [`carry_out`], with a checker that is ready.
pub fn carry_out_with(
    checker: &Checker<'_>,
    page: &mut Page,
    (changes, raw): (&[RecordChange], &[RawFile]),
    agree: &Agree,
    book: &Book,
    context: &Context,
) -> Result<bool, Fault> {
    for change in changes {
        checked(change, book, checker)?;
    }
    for file in raw {
        unused(file)?;
    }
    let mut shown = String::new();
    for change in changes {
        let what = if change.old.is_empty() { "new record" } else { "changed record" };
        let file = context.shown(&change.path);
        page.heading(format!("{what}: {file}"));
        let text = write::diff_text(&write::diff(&change.old, &change.new));
        page.blocks.push(gripbook::present::Block::Verbatim(text.clone()));
        shown += &format!("{what}: {file}\n{text}");
        if !change.open.is_empty() {
            let line = format!(
                "Not stated yet: {}. Give them with --set, or add them to the record: the audit asks for them in tests of your own.",
                change.open.join(", ")
            );
            page.line(line.clone());
            shown += &format!("{line}\n");
        }
    }
    for file in raw {
        let how = if file.made.is_some() { "samples kept" } else { "kept as it is" };
        let line = format!("{how}: {} as {}", context.shown(&file.from), context.shown(&file.to));
        page.line(line.clone());
        shown += &format!("{line}\n");
    }
    if agree.dry_run {
        page.blank().line("Nothing was written (--dry-run).");
        return Ok(false);
    }
    if !agree.yes && !asked(&shown)? {
        page.blank().line("Nothing was written.");
        return Ok(false);
    }
    let mut files = save::Batch::default();
    for file in raw {
        if !save::exists(&file.to)? {
            files.create(&file.to, file.bytes()?);
        }
    }
    let mut brought = false;
    for change in changes {
        if change.old.is_empty() {
            files.create(&change.path, change.new.as_str());
            if !brought {
                change.editor.add_to(&mut files);
                brought = change.editor.brings_schemas();
            }
        } else {
            // Somebody may have edited the record while the question stood: then nothing is written.
            files.edit(&change.path, change.read.as_slice(), change.new.as_str());
        }
    }
    files.commit(context)?;
    page.blank().line("Written. `gripbook check` and `gripbook audit` say what the record still lacks.");
    Ok(true)
}

/// A raw file never replaces another; the same bytes are an import that was cut short.
fn unused(file: &RawFile) -> Result<(), Fault> {
    if !save::exists(&file.to)? {
        return Ok(());
    }
    let there = std::fs::read(&file.to).map_err(|e| Fault::environment(format!("{}: {e}", file.to.display())))?;
    if file.bytes()? == there {
        return Ok(());
    }
    Err(Fault::environment(format!("{} exists with other content and is not replaced", file.to.display()))
        .help("rename the recording: its name is the label of the specimen"))
}

fn asked(shown: &str) -> Result<bool, Fault> {
    let mut input = std::io::stdin().lock();
    if !std::io::stdin().is_terminal() {
        return Err(Fault::usage("nothing was written: there is nobody to ask").help("--yes writes, --dry-run only shows"));
    }
    writer::notice(shown);
    writer::notice("write this? [y/N]");
    let mut line = String::new();
    input.read_line(&mut line).map_err(|e| Fault::environment(format!("standard input: {e}")))?;
    Ok(matches!(line.trim().to_lowercase().as_str(), "y" | "yes"))
}

/// A label that can name a file: small letters, digits, single hyphens.
pub fn file_name(label: &str) -> String {
    let plain: String = label.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    plain.split('-').filter(|w| !w.is_empty()).collect::<Vec<_>>().join("-")
}
