//! The packs a command works on, and the record somebody means.

use super::{CommandOutcome, Context, Fault, Shared, class};
use gripbook::book::{Book, Miss, PackRoot, Record, RecordId, files, kinds, plain};
use gripbook::check::packs::PackFrom;
use gripbook::check::{self, CheckRequest, Targets};
use gripbook::finding::Finding;
use gripbook::index::{Found, Query};
use gripbook::mechanics::call;
use gripbook::plugins::Registry;
use gripbook::present::{Look, Sheet, text};
use serde_json::{Value, json};
use std::sync::Arc;

#[cfg(feature = "large-packs")]
mod disk;
#[cfg(not(feature = "large-packs"))]
#[path = "library/bare.rs"]
mod disk;

pub use disk::Remembered;

/// The loaded packs of a run.
pub struct Loaded {
    /// The book.
    pub book: Arc<Book>,
    /// What is plugged in.
    pub registry: Registry,
    remembered: Remembered,
}

impl Loaded {
    /// Searches the packs; `None` when an index does not hold what it should: it is thrown away, and [`open_afresh`] does
    /// without it.
    pub fn search(&self, query: &Query) -> Option<Found> {
        self.remembered.search(&self.book, query)
    }
    /// The exit code of a query: 3 when a record had to be left out, whatever the answer.
    pub fn exit(&self, answer: u8) -> u8 {
        if self.book.left_out.is_empty() { answer } else { 3 }
    }
    /// The records left out, for the JSON document.
    pub fn left_out_json(&self) -> Value {
        let one = |f: &Finding| {
            let (line, column) = f.place.span.map(|s| (s.line, s.column)).unzip();
            json!({"rule": f.rule, "file": f.place.file, "line": line, "column": column, "message": f.message})
        };
        self.book.left_out.iter().map(one).collect()
    }
}

/// How the packs are to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reading {
    /// Every record.
    Whole,
    /// For a search: records of large packs stay in their index.
    ToSearch,
    /// Every file anew, for when what is remembered proved damaged.
    Afresh,
}

/// Loads the packs a command asks for; says on standard error what was left out and why.
pub fn open(shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    load(shared, context, Reading::Whole)
}

/// As [`open`], for a search: records of large packs stay in their index.
pub fn open_to_search(shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    load(shared, context, Reading::ToSearch)
}

/// As [`open`], reading every file: for when what is remembered proved damaged.
pub fn open_afresh(shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    load(shared, context, Reading::Afresh)
}

fn load(shared: &Shared, context: &Context, reading: Reading) -> Result<Loaded, Fault> {
    let (book, remembered) = match &context.book {
        Some(book) => (Arc::clone(book), Remembered::default()),
        None => disk::load(shared, context, reading)?,
    };
    Ok(Loaded { book, registry: context.registry, remembered })
}

/// What a person reads of each file with records that were left out: the first finding, and how many more there are.
pub fn left_out(book: &Book) -> Vec<String> {
    book.left_out.chunk_by(|a, b| a.place.file == b.place.file).map(left_out_line).collect()
}

fn left_out_line(of_one_file: &[Finding]) -> String {
    let Some(first) = of_one_file.first() else { return String::new() };
    let line = first.place.span.map(|s| format!(":{}:{}", s.line, s.column)).unwrap_or_default();
    let more = match of_one_file.len() - 1 {
        0 => String::new(),
        n => format!(", and {n} more findings; `gripbook check` lists them"),
    };
    format!("left out: {}{line}: {} ({}){more}", first.place.file, first.message, first.rule)
}

/// The record somebody means among those of these roles.
pub fn find<'b>(book: &'b Book, text: &str, roles: &[&str]) -> Result<&'b Record, Fault> {
    book.resolve(text, roles).map_err(|miss| missed(book, &miss))
}

/// The record, unless it was withdrawn or lost what it rests on.
pub fn still_held<'b>(book: &'b Book, record: &'b Record) -> Result<&'b Record, Fault> {
    if record.current {
        return Ok(record);
    }
    let miss = Miss::of_lost(book, &record.id);
    Err(Fault { exit: 1, message: miss.message(), help: Some(miss.help()) })
}

/// The members of a class as an answer, where a word names one and the question can be answered by them; of a class without
/// members the records that have the word among their names.
pub fn members(loaded: &Loaded, text: &str, list: fn(&Book, &str, &[RecordId]) -> Sheet) -> Option<CommandOutcome> {
    match loaded.book.resolve(text, &[]) {
        Err(Miss::Class { text, members }) if !members.is_empty() => {
            Some(CommandOutcome { answer: Box::new(list(&loaded.book, &text, &members)), exit: loaded.exit(0) })
        }
        Err(Miss::Ambiguous { text, candidates }) if loaded.book.names_class(&text) => {
            let answer = Box::new(class::named(&loaded.book, &text, &candidates));
            Some(CommandOutcome { answer, exit: loaded.exit(0) })
        }
        _ => None,
    }
}

/// A name that gives no record, as a fault; members of a class, and records of one name, are listed.
pub fn missed(book: &Book, miss: &Miss) -> Fault {
    let listed = match miss {
        Miss::Class { text, members } if !members.is_empty() => class::sheet(book, text, members).page,
        Miss::Ambiguous { text, candidates } => class::several(book, text, candidates),
        other => return Fault { exit: 1, message: other.message(), help: Some(other.help()) },
    };
    let text = text::page(&listed, Look { width: LIST_WIDTH, colour: false });
    Fault { exit: 1, message: text.trim_end().to_owned(), help: None }
}

/// The method of that name; spaces, hyphens and case do not count, and its beginning will do.
pub fn method(name: &str, names: &[&str]) -> Result<String, Fault> {
    let wanted = plain(name);
    if let Some(exact) = names.iter().find(|n| plain(n) == wanted) {
        return Ok((*exact).to_owned());
    }
    let begun: Vec<&&str> = names.iter().filter(|n| !wanted.is_empty() && plain(n).starts_with(&wanted)).collect();
    if let [only] = begun[..] {
        return Ok((**only).to_owned());
    }
    let near = call::nearest(name, names.iter().copied());
    let asked = near.first().map_or(String::new(), |n| format!("did you mean `{n}`? "));
    Err(Fault::usage(format!("no method is called `{name}`")).help(format!("{asked}methods: {}", names.join(", "))))
}

/// Columns of a list on standard error.
const LIST_WIDTH: usize = 80;

/// The bytes of a record's file, embedded or on disk; `None` when it is gone or unreadable.
pub fn bytes(book: &Book, record: &Record, context: &Context) -> Option<Vec<u8>> {
    let root = &book.pack_of(record).root;
    if let PackRoot::Folder { .. } = root {
        return gripbook::read::file::load(&context.folder.join(&*record.file)).ok();
    }
    let inside = record.file.splitn(3, '/').nth(2)?;
    let all = files::built_in_files(root);
    all.iter().find(|(path, _)| *path == inside).map(|(_, bytes)| bytes.to_vec())
}

/// The loaded packs as the stage `check` takes them.
pub fn packs_for_check(book: &Book, context: &Context) -> Vec<PackFrom<'static>> {
    let folder = |root: &PackRoot| context.way_from_here(&files::folder_of(root, &context.folder));
    book.packs().iter().map(|p| files::for_check(&p.root, &folder(&p.root))).collect()
}

/// What `check` says of a text as the record of this id, among the loaded packs.
pub fn judge(book: &Book, id: &str, shown: &str, text: &str, context: &Context) -> Result<Vec<Finding>, Fault> {
    let targets = Targets::Text { subject: Some(id.to_owned()), shown: shown.to_owned(), bytes: text.as_bytes().to_vec() };
    let request = CheckRequest { shared: kinds::built_in_schemas(), packs: packs_for_check(book, context), targets };
    let findings = check::run(&request)?.findings;
    match findings.iter().find(|found| found.rule == gripbook::read::file::UNREADABLE) {
        Some(found) => Err(Fault::data(format!("{}: {}", found.place.file, found.message))),
        None => Ok(findings),
    }
}
