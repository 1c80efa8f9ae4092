//! `export`: all claims, measurements and sources for other programs: JSON Lines, tidy CSV with a data-package descriptor,
//! BibTeX, CSL-JSON. The same book gives the same bytes.

mod cite;
mod geometry;
mod package;
mod rows;

use super::card::{CommandCard, Commands, Effect, HelpGroup, RunAmong, TABLE};
use super::library::Loaded;
use super::{CommandOutcome, Context, Fault, Shared, headings, library, lost, save};
use gripbook::book::{Book, Record};
use gripbook::present::{Answer, Format, Page, Table, writer};
use serde_json::{Value, json};
use std::path::PathBuf;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "export",
    about: "Export claims, measurements and sources: CSV, JSON Lines, BibTeX, CSL-JSON",
    group: HelpGroup::Book,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--out"],
    runs: &RunAmong(run),
};

/// Arguments of `export`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook export polymer/pla                     its claims as CSV
  gripbook export --what bibtex                   all sources
  gripbook export --what geometry --format json   inserts, nuts and threads
  gripbook export --out book-as-files             everything, as files")]
pub struct ExportArgs {
    /// Records; without them all that are not invented, or those of the packs named
    pub ids: Vec<String>,
    /// What to write to standard output: CSV, unless another format is asked for
    #[arg(long, value_enum, default_value = "claims")]
    pub what: ExportedPart,
    /// Write everything as files to this folder: claims, measurements, sources, citations, descriptor
    #[arg(long, value_name = "DIR", help_heading = headings::OUTPUT)]
    pub out: Option<PathBuf>,
}

/// A part of the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum ExportedPart {
    /// One row per claim (csv, jsonl).
    Claims,
    /// One row per measurement of a series (csv, jsonl).
    Measurements,
    /// One row per source (csv, jsonl).
    Sources,
    /// Shapes of inserts, sizes of nuts and threads, one dimension a row with its source (csv, jsonl).
    Geometry,
    /// Citations as BibTeX.
    Bibtex,
    /// Citations as CSL-JSON.
    Csl,
    /// The schemas of records, for editors; needs --out
    Schemas,
}

/// One part on its way to standard output.
struct Exported {
    what: ExportedPart,
    table: Table,
    text: Option<String>,
    hash: String,
}

/// Files that were written.
struct Files {
    folder: PathBuf,
    files: Vec<(String, usize)>,
    hash: String,
}

/// Exports records.
///
/// # Errors
/// An id that nothing has (exit 1), files that cannot be written.
pub fn run(args: &ExportArgs, commands: Commands, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let records = chosen(book, &args.ids)?;
    let is_wanted = |r: &Record| args.ids.is_empty() || records.iter().any(|known| known.id == r.id);
    lost::notice(book, is_wanted).iter().for_each(|told| writer::notice(told));
    let hash = book.hash_line(records.iter().copied());
    let sources = sources(book, &records);
    if let Some(folder) = &args.out {
        let files = match args.what {
            ExportedPart::Schemas => schemas(),
            _ => written(&loaded, &records, &sources, &hash, &super::recheck::without_output(commands, context)),
        };
        let mut batch = save::Batch::default();
        let put =
            if matches!(args.what, ExportedPart::Schemas) { save::Batch::exact::<&str> } else { save::Batch::output::<&str> };
        files.iter().for_each(|(name, text)| put(&mut batch, &folder.join(name), text.as_str()));
        batch.commit(context)?;
        let files = files.iter().map(|(name, text)| (name.clone(), text.len())).collect();
        return Ok(CommandOutcome { answer: Box::new(Files { folder: folder.clone(), files, hash }), exit: loaded.exit(0) });
    }
    let table = match args.what {
        ExportedPart::Claims => rows::claims(book, &records),
        ExportedPart::Measurements => rows::measurements(book, &records),
        ExportedPart::Geometry => geometry::table(&records, args.ids.is_empty()),
        ExportedPart::Sources | ExportedPart::Bibtex | ExportedPart::Csl => rows::sources(&sources),
        ExportedPart::Schemas => {
            return Err(Fault::usage("the schemas are several files").help("name a folder: --out ../schemas, beside the pack"));
        }
    };
    let text = match args.what {
        ExportedPart::Bibtex => Some(cite::bibtex(&sources)),
        ExportedPart::Csl => Some(cite::csl(&sources)),
        _ => None,
    };
    Ok(CommandOutcome { answer: Box::new(Exported { what: args.what, table, text, hash }), exit: loaded.exit(0) })
}

/// The records asked for, by id. Invented ones only when named or when nothing else is loaded beside the built-in book.
fn chosen<'b>(book: &'b Book, ids: &[String]) -> Result<Vec<&'b Record>, Fault> {
    if ids.is_empty() {
        return Ok(book.records().into_iter().filter(|r| r.current).collect());
    }
    let one = |id: &String| library::find(book, id, &[]).and_then(|record| library::still_held(book, record));
    let mut records = ids.iter().map(one).collect::<Result<Vec<_>, _>>()?;
    records.sort_by(|a, b| a.id.cmp(&b.id));
    records.dedup_by(|a, b| a.id == b.id);
    Ok(records)
}

/// The sources the records name, and those among the records, by id.
pub(super) fn sources<'b>(book: &'b Book, records: &[&'b Record]) -> Vec<&'b Record> {
    let named = records.iter().flat_map(|r| gripbook::book::references::of(r)).filter_map(|(target, _)| book.in_use(&target));
    let mut all: Vec<&Record> = named.chain(records.iter().copied()).filter(|r| r.id.kind() == "source").collect();
    all.sort_by(|a, b| a.id.cmp(&b.id));
    all.dedup_by(|a, b| a.id == b.id);
    all
}

/// The schemas of records by name, as editors want them.
fn schemas() -> Vec<(String, String)> {
    gripbook::book::kinds::built_in_schemas().iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
}

/// Every file by name.
fn written(loaded: &Loaded, records: &[&Record], sources: &[&Record], hash: &str, command: &str) -> Vec<(String, String)> {
    let book = &loaded.book;
    let tables = [
        ("claims", rows::claims(book, records)),
        ("measurements", rows::measurements(book, records)),
        ("sources", rows::sources(sources)),
    ];
    let mut files: Vec<(String, String)> = tables.iter().map(|(name, table)| (format!("{name}.csv"), table.csv())).collect();
    let descriptor = package::descriptor(loaded, records, &tables, &files, &[hash, command]);
    files.push(("claims.jsonl".into(), tables[0].1.json_lines("gripbook/claims/1")));
    files.push(("sources.bib".into(), cite::bibtex(sources)));
    files.push(("sources.csl.json".into(), cite::csl(sources)));
    files.push(("datapackage.json".into(), descriptor));
    files.sort();
    files
}

impl Answer for Exported {
    fn schema(&self) -> &'static str {
        match self.what {
            ExportedPart::Claims => "gripbook/claims/1",
            ExportedPart::Measurements => "gripbook/measurements/1",
            ExportedPart::Geometry => "gripbook/geometry/1",
            ExportedPart::Sources | ExportedPart::Bibtex | ExportedPart::Csl | ExportedPart::Schemas => "gripbook/sources/1",
        }
    }
    fn json(&self) -> Value {
        let lines = self.table.json_lines("");
        let all: Vec<Value> = lines.lines().filter_map(|l| serde_json::from_str(l).ok()).collect();
        let rows = &all[..all.len().saturating_sub(1)];
        json!({"book": self.hash, "rows": rows})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(gripbook::present::counted(self.table.rows.len(), "row") + " of " + &self.hash);
        page.table(self.table.clone());
        page
    }
    fn table(&self) -> Option<Table> {
        Some(self.table.clone())
    }
    fn special(&self, format: Format) -> Option<String> {
        // Citations have one form each; a table that is asked for without a format is its CSV.
        match format {
            Format::Text => Some(self.text.clone().unwrap_or_else(|| self.table.csv())),
            Format::Json => self.text.clone(),
            _ => None,
        }
    }
}

impl Answer for Files {
    fn schema(&self) -> &'static str {
        "gripbook/export/1"
    }
    fn json(&self) -> Value {
        let files: Vec<Value> = self.files.iter().map(|(name, bytes)| json!({"name": name, "bytes": bytes})).collect();
        json!({"folder": self.folder.to_string_lossy(), "book": self.hash, "files": files})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{} files in {}", self.files.len(), self.folder.display()));
        page.blank();
        for (name, bytes) in &self.files {
            page.field(name.clone(), format!("{bytes} bytes"));
        }
        page.blank().line(format!("From {}", self.hash));
        page
    }
}
