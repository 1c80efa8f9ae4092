//! Revised records: the files opened, edited, judged by `check`, and written together or not at all.

use crate::command::edit::{self, Edit};
use crate::command::{CommandOutcome, Context, Fault, library, save};
use gripbook::book::{Book, PackRoot, Record};
use gripbook::finding::Severity;
use gripbook::present::{Answer, Block, Page};
use gripbook::read::tree::Node;
use gripbook::read::{self, ParsedFile};
use serde_json::{Value, json};
use std::path::Path;

/// A record's file, opened for a change.
pub(super) struct OpenedRecord<'b> {
    pub record: &'b Record,
    bytes: Vec<u8>,
    reading: ParsedFile,
}

/// A value that is corrected.
pub(super) struct CorrectedPlace {
    pub at: String,
    pub old: String,
    pub new: String,
}

/// What becomes of one record.
pub(super) struct Revision<'b> {
    pub opened: OpenedRecord<'b>,
    pub edits: Vec<Edit>,
    pub corrected: Vec<CorrectedPlace>,
}

/// Opens the file of a record.
///
/// # Errors
/// A record of an embedded pack, a file that cannot be read.
pub(super) fn open<'b>(book: &'b Book, record: &'b Record, context: &Context) -> Result<OpenedRecord<'b>, Fault> {
    if !is_writable(book, record) {
        let fault = Fault::data(format!("{} is in an embedded pack, which cannot be changed", record.id));
        return Err(fault.help("change into the folder of the pack, or name it with --pack"));
    }
    let bytes = library::bytes(book, record, context).ok_or_else(|| Fault::data(format!("{} cannot be read", record.file)))?;
    Ok(OpenedRecord { record, reading: read::read(&bytes), bytes })
}

/// Whether a record stands in a folder.
pub(super) fn is_writable(book: &Book, record: &Record) -> bool {
    matches!(book.pack_of(record).root, PackRoot::Folder { .. })
}

impl OpenedRecord<'_> {
    /// The text of the file.
    pub fn text(&self) -> &str {
        self.reading.source.text()
    }
    /// What stands at a pointer.
    ///
    /// # Errors
    /// A file that changed since the book was loaded.
    pub fn node(&self, pointer: &str) -> Result<&Node, Fault> {
        let found = self.reading.tree.as_ref().and_then(|t| t.at(pointer));
        found.ok_or_else(|| Fault::data(format!("{} has changed since it was loaded", self.record.file)))
    }
}

/// Notes told on the page.
const NOTES: usize = 10;

/// One file as it is now.
struct Revised {
    file: String,
    diff: String,
}

struct Changed {
    what: String,
    corrected: Vec<CorrectedPlace>,
    notes: Vec<String>,
    files: Vec<Revised>,
    written: bool,
}

/// Makes the edits, lets `check` judge each new text, and writes all files or none.
///
/// # Errors
/// A text that `check` refuses, files that cannot be written.
pub(super) fn finish(
    revisions: Vec<Revision<'_>>,
    what: String,
    notes: Vec<String>,
    dry_run: bool,
    loaded: &library::Loaded,
    context: &Context,
) -> Result<CommandOutcome, Fault> {
    let mut changed = Changed { what, corrected: Vec::new(), notes, files: Vec::new(), written: !dry_run };
    let mut batch = save::Batch::default();
    for Revision { opened, edits, corrected } in revisions {
        let before = opened.text();
        let after = edit::apply(before, edits);
        let record = opened.record;
        let findings = library::judge(&loaded.book, record.id.as_str(), &record.file, &after, context)?;
        if let Some(bad) = findings.iter().find(|f| f.severity == Severity::Error) {
            let line = bad.place.span.map_or(0, |s| s.line);
            let message =
                format!("{} would not pass check: {} ({}), line {line}; nothing was written", record.id, bad.message, bad.rule);
            return Err(Fault { help: bad.help.clone(), ..Fault::usage(message) });
        }
        batch.edit(Path::new(&*record.file), opened.bytes.as_slice(), after.as_str());
        changed.files.push(Revised { file: record.file.to_string(), diff: edit::diff(before, &after) });
        changed.corrected.extend(corrected);
    }
    if !dry_run {
        batch.commit(context)?;
    }
    Ok(CommandOutcome { answer: Box::new(changed), exit: 0 })
}

impl Answer for Changed {
    fn schema(&self) -> &'static str {
        "gripbook/amend/1"
    }
    fn json(&self) -> Value {
        let one = |c: &CorrectedPlace| json!({"at": c.at, "old": c.old, "new": c.new});
        let corrected: Vec<Value> = self.corrected.iter().map(one).collect();
        let files: Vec<Value> = self.files.iter().map(|f| json!({"file": f.file, "diff": f.diff})).collect();
        json!({
            "what": self.what,
            "corrected": corrected,
            "notes": self.notes,
            "file": self.files.first().map(|f| &f.file),
            "written": self.written,
            "diff": self.files.iter().map(|f| f.diff.as_str()).collect::<Vec<_>>().join("\n"),
            "files": files,
        })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(self.what.clone());
        if self.corrected.len() > 1 {
            page.blank();
            for c in &self.corrected {
                page.item(format!("{}: {} → {}", c.at, c.old, c.new));
            }
        }
        page.blank();
        // Of several files the list says what changes; the lines stand in their files and in the JSON.
        if let [one] = &self.files[..] {
            page.blocks.push(Block::Verbatim(one.diff.clone()));
            page.blank();
        }
        for note in self.notes.iter().take(NOTES) {
            page.item(note.clone());
        }
        if self.notes.len() > NOTES {
            page.item(format!("and {} more: --format json lists them", self.notes.len() - NOTES));
        }
        let done = if self.written { "written" } else { "not written (--dry-run)" };
        let names: Vec<&str> = self.files.iter().map(|f| f.file.as_str()).collect();
        page.line(format!("{} {done}", names.join(", ")));
        page
    }
}
