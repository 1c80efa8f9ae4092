//! `gripbook show`: what is known of one thing, or which packs are loaded.

pub(super) mod claims;
mod first;
mod packs;
mod show_page;

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::library::{self, Loaded};
use super::plugins::{self, PluginArgs};
use super::{CommandOutcome, Context, Fault, Shared, headings};
use gripbook::book::disagree::disagreements;
use gripbook::book::gaps::gaps;
use gripbook::book::sought;
use gripbook::book::{Book, Claim, Record};
use gripbook::present::{Answer, Block, Page, Table, brief::fits, table::Cell};
use serde_json::{Value, json};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "show",
    about: "Show what is known about one thing; without an id, which packs are loaded",
    group: HelpGroup::Book,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `show`.
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "\
Examples:
  gripbook show                the packs and where they come from
  gripbook show pla            short id, when unique
  gripbook show polymer/pla    full id
  gripbook show pla --full     every claim with its source
  gripbook show \"tough grey\"   a synonym")]
#[command(next_help_heading = headings::ASKED)]
pub struct ShowArgs {
    /// Full id, short id, name or synonym; without it, the loaded packs
    id: Option<String>,
    /// Plug-ins that are allowed: `show` runs none, it says which would run
    #[command(flatten)]
    plugins: PluginArgs,
    /// The whole page: every claim with its conditions and source, every field and reference
    #[arg(long, help_heading = headings::OUTPUT)]
    full: bool,
}

/// Runs the command.
pub fn run(args: &ShowArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(&args.plugins.with_packs(shared), context)?;
    let exit = loaded.exit(0);
    let Some(id) = &args.id else {
        return Ok(CommandOutcome { answer: Box::new(packs::PacksAnswer::of(&loaded)), exit });
    };
    if let Some(listed) = library::members(&loaded, id, super::class::sheet) {
        return Ok(listed);
    }
    let record = library::find(&loaded.book, id, &[]).map_err(|fault| of_claim(&loaded.book, id).unwrap_or(fault))?;
    let permits = args.plugins.permits(context)?;
    let runs = record.plugin().map(|_| plugins::standing(&loaded.book, record, &permits, context));
    let record = record.id.to_string();
    Ok(CommandOutcome { answer: Box::new(RecordAnswer { loaded, record, runs, full: args.full }), exit })
}

/// What to do where the address of a claim was typed.
fn of_claim(book: &Book, text: &str) -> Option<Fault> {
    let record = library::find(book, text.split_once(':')?.0, &[]).ok()?;
    let fault = Fault { exit: 1, message: format!("`{text}` is the address of a claim, not a record"), help: None };
    Some(
        fault.help(format!("`gripbook trace {text}` shows where it comes from; `gripbook show {} --full` all claims", record.id)),
    )
}

/// The answer for one record.
struct RecordAnswer {
    loaded: Loaded,
    record: String,
    /// Of a plug-in: whether it may run.
    runs: Option<String>,
    full: bool,
}

impl RecordAnswer {
    /// The record, whose id was resolved in this very book.
    fn subject(&self) -> Option<(&Book, &Record)> {
        let book: &Book = &self.loaded.book;
        book.record(&self.record).map(|record| (book, record))
    }
    fn runs_line(&self) -> Option<Block> {
        self.runs.as_ref().map(|runs| Block::Line { indent: 0, text: format!("runs: {runs}") })
    }
}

impl Answer for RecordAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/show/1"
    }
    fn json(&self) -> Value {
        let mut all = self.subject().map_or(Value::Null, |(book, record)| document(book, record, &self.loaded));
        if let Some(runs) = &self.runs {
            all["runs"] = json!(runs);
        }
        all
    }
    fn page(&self) -> Page {
        let mut page = self.subject().map_or_else(Page::default, |(book, record)| show_page::page(book, record));
        page.blocks.extend(self.runs_line());
        page
    }
    fn brief(&self, width: usize) -> Option<Page> {
        let (book, record) = self.subject().filter(|_| !self.full)?;
        // What has no properties and is short needs no table and no second page.
        let whole = record.properties.is_empty().then(|| self.page()).filter(fits);
        Some(whole.unwrap_or_else(|| {
            let mut page = first::page(book, record, width);
            page.blocks.extend(self.runs_line());
            page
        }))
    }
    fn table(&self) -> Option<Table> {
        self.subject().map(|(book, record)| table(book, record))
    }
}

fn document(book: &Book, record: &Record, loaded: &Loaded) -> Value {
    let properties = record.properties.iter().map(|p| {
        let kind = book.catalogue().property(record.id.kind(), &p.word);
        let claims: Vec<Value> = p.claims.iter().map(|c| claims::json(book, record, &p.word, c)).collect();
        json!({"property": p.word, "title": kind.map(|k| k.title.as_str()), "claims": claims})
    });
    let address = |property: &str, claim: &Claim| record.address(property, claim);
    let disagreements = disagreements(record);
    let disagreements = disagreements
        .iter()
        .map(|d| json!({"property": d.property, "low": address(d.property, d.low), "high": address(d.property, d.high)}));
    let references: Vec<Value> =
        book.references_to(record.id.as_str()).iter().map(|r| json!({"id": r.record, "at": r.at})).collect();
    json!({
        "id": record.id, "kind": record.id.kind(), "role": book.role(record), "name": record.name, "also": record.also,
        "family": record.family, "families": book.family_chain(&record.family), "tags": record.tags,
        "description": record.description, "note": record.note, "current": record.current,
        "invented": record.invented(), "pack": book.pack_of(record).id, "file": record.file,
        "properties": properties.collect::<Vec<_>>(),
        "fields": record.rest,
        "disagreements": disagreements.collect::<Vec<_>>(),
        "gaps": gaps(book, record),
        "sought": sought::of_material(book, record),
        "references": references,
        "left_out": loaded.left_out_json(),
        "packs": book.hash_line([record]),
    })
}

/// One row per claim.
fn table(book: &Book, record: &Record) -> Table {
    let mut table = Table::new(&[
        "claim",
        "property",
        "written",
        "value",
        "unit",
        "si_low",
        "si_high",
        "sd",
        "n",
        "basis",
        "standing",
        "method",
        "conditions",
        "source",
        "locator",
        "note",
    ]);
    for property in &record.properties {
        for claim in &property.claims {
            table.row(row(book, record, &property.word, claim));
        }
    }
    table
}

fn row(book: &Book, record: &Record, property: &str, claim: &Claim) -> Vec<Cell> {
    let ends = claim.value.ends();
    let one = ends.filter(|(low, high)| low == high).map(|(low, _)| low);
    let text = |t: &Option<Box<str>>| Cell::from(t.as_deref());
    vec![
        record.address(property, claim).into(),
        property.into(),
        claim.value.text().into(),
        one.map(|w| w.value).into(),
        ends.map(|(low, _)| low.unit.symbol()).into(),
        ends.map(|(low, _)| low.si).into(),
        ends.map(|(_, high)| high.si).into(),
        claim.sd.as_ref().map(|w| w.text.to_string()).into(),
        claim.n.map(f64::from).into(),
        claim.basis.word().into(),
        claims::standing(claim).into(),
        text(&claim.method),
        claims::conditions(claim).into(),
        claim.source.as_deref().map(|s| book.cite(s)).into(),
        text(&claim.locator),
        text(&claim.note),
    ]
}
