//! `add`: one claim into a record that exists. Its place, its unit, the order of what is there and all comments stay.

mod insert;

use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::new::fields;
use super::new::skeleton::{Skeleton, unit};
use super::{CommandOutcome, Context, Fault, Shared, edit, headings, library, question, save};
use gripbook::audit::asked;
use gripbook::book::{Book, PackRoot, Record, kinds};
use gripbook::check::catalogue::{Measures, PropertyCard};
use gripbook::check::schemas::{RecordKind, Schemas, Step};
use gripbook::check::view::View;
use gripbook::check::{Checker, strengths_first};
use gripbook::finding::Severity;
use gripbook::present::{Block, Page, Sheet};
use gripbook::{quantity, read};
use serde_json::json;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "add",
    about: "One claim into a record that exists; its place, units, order and comments stay",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `add`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook add resin/tough-grey tg '61 °C' --source own-2026-05 --locator 'sheet 2' --basis measured --n 5 --sd '1.2 K' \\
      --set sd_kind=n-1 --method DSC --set conditions.post_cure='{time: 30 min, temperature: 60 °C}'
  gripbook add polymer/pla density --low '1.21 g/cm³' --high '1.25 g/cm³' --basis handbook --source ID --locator 'Table 3'")]
pub struct AddArgs {
    /// The record: resin/tough-grey
    pub record: String,
    /// The property; asked for at a terminal
    pub property: Option<String>,
    /// The value with its unit and its digits: '61 °C'
    #[arg(allow_hyphen_values = true)]
    pub value: Option<String>,
    /// Lower end of a range, in the place of a value
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub low: Option<String>,
    /// Upper end of a range
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub high: Option<String>,
    /// Standard deviation
    #[arg(long, value_name = "VALUE")]
    pub sd: Option<String>,
    /// How many results stand behind it
    #[arg(long, value_name = "NUMBER")]
    pub n: Option<String>,
    /// Where it comes from: a source record
    #[arg(long, value_name = "ID")]
    pub source: Option<String>,
    /// Page, table, figure or row in the source
    #[arg(long, value_name = "TEXT")]
    pub locator: Option<String>,
    /// How the source knows: measured, standard, handbook, computed, practice, recalled, invented
    #[arg(long, value_name = "WORD")]
    pub basis: Option<String>,
    /// Test standard or procedure
    #[arg(long, value_name = "TEXT")]
    pub method: Option<String>,
    /// Any other field of the claim: conditions.temperature='23 °C', note='…' (repeatable)
    #[arg(long = "set", value_name = "FIELD=VALUE")]
    pub set: Vec<String>,
    /// Show what would change, write nothing
    #[arg(long, help_heading = headings::OUTPUT)]
    pub dry_run: bool,
}

/// Adds a claim.
///
/// # Errors
/// A record, property or field that does not exist, a value of another quantity, a record of an embedded pack, a text that
/// `check` would refuse.
pub fn run(args: &AddArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let record = library::find(book, &args.record, &[])?;
    if !matches!(book.pack_of(record).root, PackRoot::Folder { .. }) {
        let fault = Fault::data(format!("{} stands in an embedded pack, which cannot be written", record.id));
        return Err(fault.help("stand in the folder of the pack, or name it with --pack"));
    }
    let checker = Checker::new(kinds::built_in_schemas(), &library::packs_for_check(book, context)).map_err(|e| Fault {
        exit: 70,
        message: format!("an embedded schema is broken: {e}"),
        help: None,
    })?;
    let schemas = checker.schemas();
    let kind = schemas.kind(record.id.kind()).ok_or_else(|| Fault::data(format!("{} has no schema", record.id)))?;
    let bytes = library::bytes(book, record, context).ok_or_else(|| Fault::data(format!("{} cannot be read", record.file)))?;
    let reading = read::read(&bytes);
    let before = reading.source.text();
    let top = View::top(schemas, &kind.file);
    let subject = (record.id.kind(), record.id.name());
    let against = |property: &str, fields: &[(String, String)], field: &str| {
        let text = insert::claim(&reading, property, fields, &top).ok()?;
        let pointer = format!("/properties/{property}/{}/{}", record.claims(property).len(), field.replace('.', "/"));
        question::against(&checker, record.pack, subject, &text, &pointer)
    };
    let claim = NewClaim::typed(args, record, book, schemas, kind, &against)?;
    let after = insert::claim(&reading, &claim.property, &claim.fields, &top).map_err(|why| {
        Fault::data(format!("{}: {why}", record.file)).help("`gripbook tidy` may bring the record into form, or edit it by hand")
    })?;
    let findings = library::judge(book, record.id.as_str(), &record.file, &after, context)?;
    if let Some(bad) = findings.iter().find(|f| f.severity == Severity::Error) {
        let fault = Fault::usage(format!("the record would not pass check: {} ({}); nothing was written", bad.message, bad.rule));
        return Err(bad.help.clone().map_or(fault.clone(), |help| fault.help(help)));
    }
    let diff = edit::diff(before, &after);
    if !args.dry_run {
        let mut files = save::Batch::default();
        files.edit(std::path::Path::new(&*record.file), bytes.as_slice(), after.as_str());
        files.commit(context)?;
    }
    let mut page = Page::titled(format!("{}:{}", record.id, claim.property));
    page.blank();
    page.blocks.push(Block::Verbatim(diff.clone()));
    let done = if args.dry_run { "not written (--dry-run)" } else { "written; it passes check" };
    page.blank().line(format!("{} {done}", record.file));
    if !claim.open.is_empty() {
        page.line(format!("An audit will ask for: {}.", claim.open.join(", ")));
    }
    let json = json!({
        "record": record.id.as_str(), "property": claim.property, "file": &*record.file, "written": !args.dry_run, "diff": diff,
        "asked": claim.open,
    });
    Ok(CommandOutcome { answer: Box::new(Sheet { schema: "gripbook/add/1", page, json, table: None }), exit: loaded.exit(0) })
}

/// A claim, ready to be written.
struct NewClaim {
    property: String,
    /// Fields in the order they were given, nested ones with a dot.
    fields: Vec<(String, String)>,
    /// What an audit would ask for and nobody gave.
    open: Vec<&'static str>,
}

impl NewClaim {
    /// From the options, and from answers where somebody is there to be asked.
    fn typed(
        args: &AddArgs,
        record: &Record,
        book: &Book,
        schemas: &Schemas,
        kind: &RecordKind,
        against: &Against<'_>,
    ) -> Result<Self, Fault> {
        let skeleton = Skeleton::of(schemas, kind);
        let can_ask = question::can_ask() && args.value.is_none() && args.low.is_none() && args.high.is_none();
        let card = book.catalogue().kind(&kind.word);
        let words = strengths_first(card.iter().flat_map(|c| &c.properties).map(|p| p.word.as_str()).collect());
        if can_ask {
            question::begin();
        }
        let property = match &args.property {
            Some(word) => word.clone(),
            None if can_ask => which(&kind.word, skeleton.view(), &words)?.unwrap_or_default(),
            None => String::new(),
        };
        if property.is_empty() {
            return Err(Fault::usage("which property?").help(format!("a {} has {}", kind.word, words.join(", "))));
        }
        let view = fields::property(&kind.word, skeleton.view(), &property)?;
        let mut given = typed_fields(args, &view, &kind.word)?;
        let card = card.and_then(|c| c.property(&property));
        let is_polyamide = book.catalogue().families.is_within(&record.family, "polyamide");
        let asked = card.map_or_else(Vec::new, |card| asked::of_claim(&kind.word, is_polyamide, card));
        if can_ask {
            let first = ["value", "source", "locator", "basis"];
            for field in first.iter().chain(&asked) {
                if has(&given, field) {
                    continue;
                }
                let refused = |answer: &str| {
                    let mut trial = given.clone();
                    trial.extend(stated(field, answer));
                    let of_quantity = quantities(&trial, card).err().filter(|_| *field == "value");
                    of_quantity.map(|f| f.said()).or_else(|| against(&property, &trial, trial.last().map_or(*field, |(f, _)| f)))
                };
                if let Some(answer) = question::ask(&ask(&skeleton, &view, field, card, book), refused)? {
                    given.extend(stated(field, &answer));
                }
            }
        }
        given = given.into_iter().flat_map(|(field, value)| stated(&field, &value)).collect();
        quantities(&given, card)?;
        let is_measured = given.iter().any(|(field, value)| field == "basis" && value == "measured");
        let lone = given.iter().any(|(field, value)| field == "n" && value == "1");
        let no_spread = |field: &str| field.starts_with("sd") && (lone || !has(&given, "value"));
        let open = asked.into_iter().filter(|field| is_measured && !has(&given, field) && !no_spread(field)).collect();
        Ok(NewClaim { property, fields: given, open })
    }
}

/// What `check` has against a field of a claim of a property, with the fields given so far.
type Against<'a> = dyn Fn(&str, &[(String, String)], &str) -> Option<String> + 'a;

/// Asks which property.
fn which(kind: &str, view: &View<'_>, words: &[&str]) -> Result<Option<String>, Fault> {
    let meaning = format!(
        "What the claim states, e.g. {}; {} in all.",
        words.iter().take(4).copied().collect::<Vec<_>>().join(", "),
        words.len()
    );
    let asked = question::TerminalQuestion { field: "property", meaning, words: words.to_vec() };
    question::ask(&asked, |answer| fields::property(kind, view, answer).err().map(|fault| fault.said()))
}

/// A field with its value; `60 to 65 °C` states both ends.
fn stated(field: &str, value: &str) -> Vec<(String, String)> {
    match quantity::parse::range_ends(value).filter(|_| field == "value") {
        Some((low, high)) => vec![("low".to_owned(), low), ("high".to_owned(), high)],
        None => vec![(field.to_owned(), value.to_owned())],
    }
}

fn has(given: &[(String, String)], field: &str) -> bool {
    given.iter().any(|(key, _)| key == field || key.strip_prefix(field).is_some_and(|rest| rest.starts_with('.')))
}

fn typed_fields(args: &AddArgs, view: &View<'_>, kind: &str) -> Result<Vec<(String, String)>, Fault> {
    let options = [
        ("value", &args.value),
        ("low", &args.low),
        ("high", &args.high),
        ("sd", &args.sd),
        ("n", &args.n),
        ("source", &args.source),
        ("locator", &args.locator),
        ("basis", &args.basis),
        ("method", &args.method),
    ];
    let mut given: Vec<(String, String)> =
        options.into_iter().filter_map(|(field, value)| Some((field.to_owned(), value.clone()?))).collect();
    for text in &args.set {
        let (field, value) = fields::pair("--set", text)?;
        fields::known(view, field, "a claim", kind)?;
        given.push((field.to_owned(), value.to_owned()));
    }
    Ok(given)
}

/// The question for a field of a claim.
fn ask<'q>(
    skeleton: &Skeleton<'q>,
    view: &View<'q>,
    field: &'q str,
    card: Option<&PropertyCard>,
    book: &'q Book,
) -> question::TerminalQuestion<'q> {
    let place = field.split('.').fold(view.clone(), |v, key| v.step(&Step::Key(key.to_owned())));
    let path = format!("properties.{}.{field}", card.map_or("", |c| &c.word));
    let words = if field == "source" { question::own_sources(book) } else { skeleton.words(&place, &path).unwrap_or_default() };
    let meaning = match (field, card) {
        ("value", Some(card)) => {
            format!("{} As {} or a range, with the digits of the source.", card.description, unit(card))
        }
        ("source", _) => skeleton.source(&words),
        _ => skeleton.meaning(&place, &path),
    };
    question::TerminalQuestion { field, meaning, words }
}

/// A number of another quantity is told before anything is written, with the unit it should have.
fn quantities(given: &[(String, String)], card: Option<&PropertyCard>) -> Result<(), Fault> {
    let Some(Measures::Quantity(wanted)) = card.map(|c| &c.measures) else { return Ok(()) };
    for (field, value) in given.iter().filter(|(field, _)| ["value", "low", "high"].contains(&field.as_str())) {
        quantity::parse(value, *wanted).map_err(|f| Fault {
            exit: 2,
            message: format!("{field}: {}", f.message()),
            help: Some(f.help()),
        })?;
    }
    if !given.iter().any(|(field, _)| ["value", "low", "high", "samples"].contains(&field.as_str())) {
        return Err(Fault::usage("a claim states a value").help("'61 °C', or --low and --high for a range"));
    }
    Ok(())
}
