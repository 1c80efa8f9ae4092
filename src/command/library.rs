//! The packs a command works on, and the record somebody means.

use super::{CommandOutcome, Context, Fault, Shared, class, waiting::Waiting};
use gripbook::book::{Book, Miss, PackRoot, Record, RecordId, WantedPacks, files, kinds};
use gripbook::check::packs::PackFrom;
use gripbook::check::{self, CheckRequest, Targets};
use gripbook::finding::Finding;
use gripbook::index::{Cache, Damaged, Found, Query, Wants, search};
use gripbook::plugins::Registry;
use gripbook::present::{Look, Sheet, text, writer};
use serde_json::{Value, json};

/// The loaded packs of a run.
pub struct Loaded {
    /// The book.
    pub book: Book,
    /// What is plugged in.
    pub registry: Registry,
    cache: Option<Cache>,
}

impl Loaded {
    /// Searches the packs.
    ///
    /// # Errors
    /// [`Damaged`] when an index does not hold what it should; it is thrown away, and [`open_afresh`] does without it.
    pub fn search(&self, query: &Query) -> Result<Found, Damaged> {
        match &self.cache {
            Some(cache) => cache.search(&self.book, query).inspect_err(|_| cache.forget(&self.book)),
            None => Ok(search(&self.book, query)),
        }
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

/// Loads the packs a command asks for; says on standard error what was left out and why.
pub fn open(shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    load(shared, context, Wants::Everything, true)
}

/// As [`open`], for a search: records of large packs stay in their index.
pub fn open_to_search(shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    load(shared, context, Wants::Search, true)
}

/// As [`open`], reading every file: for when what is remembered proved damaged.
pub fn open_afresh(shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    load(shared, context, Wants::Everything, false)
}

fn load(shared: &Shared, context: &Context, wants: Wants, memory: bool) -> Result<Loaded, Fault> {
    let asked = WantedPacks { packs: shared.pack.clone(), here: context.folder.clone(), home: context.home.clone() };
    let roots = asked.roots().map_err(|f| refused(&f))?;
    let here = &context.folder;
    let cache = context.cache.as_ref().filter(|_| memory).map(|folder| {
        let cache = Cache::new(folder, here, shared.rehash, context.begun);
        if wants == Wants::Search { cache.for_search() } else { cache }
    });
    // The first run over a large pack makes its index; later ones are much shorter.
    let waiting = Waiting::on("reading the records; the next run will be faster");
    let book = match &cache {
        Some(cache) => Book::load_with(&roots, here, cache),
        None => Book::load(&roots, here),
    };
    drop(waiting);
    let book = book.map_err(|f| refused(&f))?;
    let forgetful = "there is no cache folder (HOME and GRIPBOOK_CACHE are unset), so every run reads all records again";
    let notice = if context.cache.is_none() { Some(forgetful.to_owned()) } else { cache.as_ref().and_then(Cache::notice) };
    notice.iter().for_each(|n| writer::notice(&format!("note: {n}")));
    for notice in &book.notices {
        writer::notice(&format!("note: {notice}"));
    }
    for of_one_file in book.left_out.chunk_by(|a, b| a.place.file == b.place.file) {
        writer::notice(&left_out_line(of_one_file));
    }
    Ok(Loaded { book, registry: context.registry, cache })
}

/// What a person reads of a record that was left out: the first finding, and how many more there are.
fn left_out_line(of_one_file: &[Finding]) -> String {
    let Some(first) = of_one_file.first() else { return String::new() };
    let line = first.place.span.map(|s| format!(":{}:{}", s.line, s.column)).unwrap_or_default();
    let more = match of_one_file.len() - 1 {
        0 => String::new(),
        n => format!(", and {n} more findings; `gripbook check` lists them"),
    };
    format!("left out: {}{line}: {} ({}){more}", first.place.file, first.message, first.rule)
}

fn refused(finding: &Finding) -> Fault {
    let place = if finding.place.file.is_empty() { String::new() } else { format!("{}: ", finding.place.file) };
    Fault { exit: 3, message: format!("{place}{}", finding.message), help: finding.help.clone() }
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
    let folder = |root: &PackRoot| context.from_here(&files::folder_of(root, &context.folder));
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
