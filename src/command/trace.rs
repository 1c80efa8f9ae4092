//! `trace`: from a number down to its claims, sources and places; `affected`: from a claim up to all that used it.

mod affected;
mod answered;
mod asked;
mod bias;
pub mod sheet;

pub use affected::affected;

use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::{CommandOutcome, Context, Fault, Shared, headings, library};
use gripbook::audit::address::{self, NamedClaim};
use gripbook::book::{Book, Record, Standing};
use gripbook::present::{Answer, Page, counted};
use gripbook::series::vocabulary;
use serde_json::{Value, json};
use std::path::PathBuf;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "trace",
    about: "Where does this number come from? Down to claims, sources and pages",
    group: HelpGroup::Book,
    formats: PAGE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// The command.
pub const AFFECTED: CommandCard = CommandCard {
    name: "affected",
    about: "What used this claim? Computed claims, series, saved sheets",
    group: HelpGroup::Book,
    formats: PAGE,
    effect: Effect::Inspects,
    outputs: &[],
    runs: &Run(affected),
};

/// Arguments of `trace`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook trace polymer/pla:tg                                 a property
  gripbook trace series/bohl-2019-pla-infill-30:pull_out_load   a measurement
  gripbook trace sheet.json                                     a saved sheet")]
pub struct TraceArgs {
    /// A claim (resin/tough:tensile_strength, with #key if there are several), a quantity of a series, or a saved sheet (FILE.json)
    pub what: String,
    /// The whole way: of a sheet every method with its assumptions
    #[arg(long, help_heading = headings::OUTPUT)]
    pub full: bool,
}

/// Arguments of `affected`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook affected polymer/pla:tensile_strength sheets/   saved sheets too
  gripbook affected source/bohl-2019-vertebra              a whole source")]
pub struct AffectedArgs {
    /// A source, record, claim (resin/tough:tg), measurement (series/ID:QUANTITY) or single result (series/ID:QUANTITY#LABEL)
    pub claim: String,
    /// Saved sheets, or folders with them; the `sheets` folder of each pack is searched in any case
    pub paths: Vec<PathBuf>,
}

/// One step of the way down.
pub(super) struct TraceStep {
    /// How far down.
    pub(super) depth: usize,
    /// In words.
    pub(super) text: String,
    /// For programs.
    pub(super) json: Value,
}

struct TraceAnswer {
    what: String,
    steps: Vec<TraceStep>,
    full: bool,
}

/// Steps that are shown whole without being asked.
const FEW: usize = 30;

/// Follows a number to its origins.
///
/// # Errors
/// An address that names nothing (exit 1), a sheet that cannot be read.
pub fn run(args: &TraceArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let mut steps = Vec::new();
    if args.what.ends_with(".json") {
        let sheet = sheet::read(&context.folder.join(&args.what))?;
        answered::steps(book, &sheet, &mut steps);
        if steps.is_empty() {
            let text = "no claim of a record: all its numbers were typed with the command".to_owned();
            steps.push(TraceStep { depth: 0, text, json: json!({"claims": []}) });
        }
    } else {
        let what = full(book, &args.what)?;
        let found = address::resolve(book, &what);
        if found.is_empty() && !series(book, &what, &mut steps) {
            return Err(Fault { exit: 1, message: format!("there is no claim `{}`", args.what), help: Some(near(book, &what)) });
        }
        found.into_iter().for_each(|named| claim(book, named, 0, &mut Vec::new(), &mut steps));
    }
    Ok(CommandOutcome { answer: Box::new(TraceAnswer { what: args.what.clone(), steps, full: args.full }), exit: loaded.exit(0) })
}

/// An address with its record id in full.
fn full(book: &Book, text: &str) -> Result<String, Fault> {
    let (id, rest) = text.split_once(':').ok_or_else(|| {
        Fault::usage(format!("`{text}` is not the address of a claim"))
            .help("for example polymer/pla:tg, or polymer/pla:tg#1f2e3d4c; `gripbook show ID` lists them")
    })?;
    // A property is taken as it is spoken; a key or a label as it stands.
    let (property, key) = rest.split_at(rest.find('#').unwrap_or(rest.len()));
    let property = property.trim().to_lowercase().replace([' ', '-'], "_");
    Ok(format!("{}:{property}{key}", library::find(book, id, &[])?.id))
}

fn near(book: &Book, what: &str) -> String {
    let Some(address) = address::parse(what) else { return "for example polymer/pla:tg".into() };
    let words = book.record(address.record).map(|r| r.properties.iter().map(|p| p.word.to_string()).collect::<Vec<_>>());
    match words {
        Some(words) if words.iter().any(|w| w == address.property) => {
            "none of its claims has that key; `gripbook show ID --full` lists them".into()
        }
        Some(words) if !words.is_empty() => format!("it has {}", words.join(", ")),
        _ => "the record has no claims".into(),
    }
}

/// The steps from a claim down: its file, its source and place, what it was, what it was computed from.
pub(super) fn claim(book: &Book, named: NamedClaim<'_>, depth: usize, seen: &mut Vec<String>, steps: &mut Vec<TraceStep>) {
    let address = named.address();
    let c = named.claim;
    let standing = match c.standing {
        Standing::Good => "",
        Standing::Disputed => " (disputed, not used)",
        Standing::Withdrawn => " (withdrawn, not used)",
    };
    let text = format!("{address} = {} ({}){standing}", c.value.text(), c.basis.word());
    steps.push(TraceStep { depth, text, json: super::show::claims::json(book, named.record, named.property, c) });
    let mut say = |text: String, json: Value| steps.push(TraceStep { depth: depth + 1, text, json });
    let file = format!("written in {}:{}", named.record.file, c.line);
    say(
        file,
        json!({"file": named.record.file, "line": c.line, "pack": book.pack_of(named.record).id, "pack_hash": book.pack_of(named.record).hash}),
    );
    match c.source.as_deref() {
        Some(source) => {
            let place = c.locator.as_deref().map_or_else(|| ", no page or table given".to_owned(), |l| format!(", {l}"));
            let read = c.read.as_deref().map(|r| format!(" (read: {r})")).unwrap_or_default();
            say(
                format!("from {}{place}{read}", book.cite(source)),
                json!({"source": source, "cited": book.cite(source), "locator": c.locator, "read": c.read}),
            );
            for cited in cites(book, source) {
                say(format!("which takes numbers from {}", book.cite(&cited)), json!({"cites": cited}));
            }
        }
        None => say(format!("no source: {}", c.basis.word()), json!({"source": null, "basis": c.basis.word()})),
    }
    for was in &c.was {
        say(was.text(), json!({"was": was}));
    }
    if seen.contains(&address) {
        return;
    }
    seen.push(address);
    for from in &c.from {
        for next in address::resolve(book, from) {
            claim(book, next, depth + 1, seen, steps);
        }
    }
}

fn cites(book: &Book, source: &str) -> Vec<String> {
    let list = book.source(source).and_then(Record::source).map_or(&[][..], |s| &s.cites);
    list.iter().map(ToString::to_string).collect()
}

/// A quantity of a series (`series/id:pull_out_load`): its value, file, source, and its specimens.
fn series(book: &Book, what: &str, steps: &mut Vec<TraceStep>) -> bool {
    let Some(address) = address::parse(what) else { return false };
    let Some(record) = book.record(address.record) else { return false };
    let (Some(says), common) = (record.series(), record.common()) else { return false };
    let mine: Vec<_> = says.measurements.iter().enumerate().filter(|(_, m)| *m.quantity == *address.property).collect();
    for (at, m) in &mine {
        let value = [&m.mean, &m.low, &m.high, &m.min].into_iter().find_map(|v| v.as_ref().map(ToString::to_string));
        let value = value.unwrap_or_else(|| counted(m.specimens().count(), "single result"));
        steps.push(TraceStep { depth: 0, text: format!("{what} = {value}"), json: record.rest.measurement(*at).clone() });
        let source = common.source.as_deref();
        let cited = source.map_or_else(|| "no source".to_owned(), |s| book.cite(s));
        let place = common.locator.as_deref().unwrap_or("no page or table given");
        steps.push(TraceStep { depth: 1, text: format!("written in {}", record.file), json: json!({"file": record.file}) });
        steps.push(TraceStep {
            depth: 1,
            text: format!("from {cited}, {place}"),
            json: json!({"source": source, "locator": place}),
        });
        for (place, s) in m.all_specimens.iter().enumerate() {
            let part = |t: &Option<Box<str>>| t.as_ref().map(|t| format!(", {t}")).unwrap_or_default();
            let value = &s.value;
            let standing = s
                .standing
                .map(|standing| format!(", {}: {}", standing.word(), s.because.as_deref().unwrap_or("no reason given")));
            let mode = s.mode.as_ref().map(|mode| format!(", {} ({mode})", vocabulary::mode_means(mode))).unwrap_or_default();
            let (curve, standing) = (part(&s.curve), standing.unwrap_or_default());
            let text = format!("specimen {}: {value}{mode}{curve}{standing}", s.label.as_deref().unwrap_or("?"));
            steps.push(TraceStep { depth: 1, text, json: record.rest.specimen(*at, place).clone() });
        }
    }
    !mine.is_empty()
}

impl Answer for TraceAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/trace/1"
    }
    fn json(&self) -> Value {
        let steps: Vec<Value> = self.steps.iter().map(|s| json!({"depth": s.depth, "text": s.text, "facts": s.json})).collect();
        json!({"what": self.what, "steps": steps})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("Where {} comes from", self.what));
        page.blank();
        for step in &self.steps {
            page.subitem(step.depth, step.text.clone());
        }
        page
    }
    /// Of a long way what the sheet recommends and the first load below it, without assumptions.
    fn brief(&self, _: usize) -> Option<Page> {
        if self.full || self.steps.len() <= FEW {
            return None;
        }
        let tops: Vec<usize> = (0..self.steps.len()).filter(|&at| self.steps[at].depth == 0).collect();
        let end = tops.get(2).copied().unwrap_or(self.steps.len());
        let is_assumption = |s: &&TraceStep| s.text.starts_with(ASSUMPTION);
        let assumed = self.steps[..end].iter().filter(is_assumption).count();
        let mut page = Page::titled(format!("Where {} comes from", self.what));
        page.blank();
        for step in self.steps[..end].iter().filter(|s| !is_assumption(s)) {
            page.subitem(step.depth, step.text.clone());
        }
        let others = tops.len().saturating_sub(2);
        let left = [(assumed, "assumption"), (others, "further origin")];
        let left: Vec<String> = left.into_iter().filter(|(n, _)| *n > 0).map(|(n, what)| counted(n, what)).collect();
        if !left.is_empty() {
            page.blank().line(format!("--full: {}.", left.join(" and ")));
        }
        Some(page)
    }
}

/// How the step of an assumption begins.
pub(super) const ASSUMPTION: &str = "assumption ";
