//! `amend` and `withdraw`: correct without erasing. The old value is kept, dated, with the reason.

mod change;
mod target;
mod text;
mod withdraw;

pub(super) use text::scalar;
use withdraw::withdraw;

use super::audit::today;
use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::edit::{self, Edit};
use super::{CommandOutcome, Context, Fault, Shared, headings, library, save};
use change::Amendment;
use gripbook::book::{Book, PackRoot, Record};
use gripbook::finding::Severity;
use gripbook::present::{Answer, Block, Page};
use gripbook::read::tree::Node;
use gripbook::read::{self, ParsedFile};
use serde_json::{Value, json};
use target::Target;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "amend",
    about: "Correct any value of a record, one or many: the old one is kept, dated, with the reason",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// The command.
pub const WITHDRAW: CommandCard = CommandCard {
    name: "withdraw",
    about: "Take a record, claim or measurement out of use, with what rests on it; the reason stays",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(withdraw),
};

/// Arguments of `amend`.
#[derive(Debug, Clone, clap::Args)]
#[command(group = clap::ArgGroup::new("new").required(true).args(["value", "factor", "unit"]), next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook amend resin/tough:tg --value '61 °C' --because 'read from the wrong row'
  gripbook amend polymer/pla:tg#1f2e3d4c --field conditions.temperature --value='-20 °C' --because …
  gripbook amend series/grey-m3:pull_out_load#a3 --value '812 N' --because …
  gripbook amend series/grey-m3:pull_out_load --all-specimens --unit lbf=kgf --because 'the display was set to kgf'
  gripbook amend series/grey-m3:pull_out_load --all-specimens --factor 0.4536 --because …
  gripbook amend series/grey-m3 --field joint.hole --value '2.6 mm' --because …
  gripbook amend source/own-2026-tests --field issued --value 2026-04 --because …")]
pub struct AmendArgs {
    /// Claim (resin/tough:tg, #key when there are several), measurement (series/ID:QUANTITY), single result
    /// (series/ID:QUANTITY#LABEL), or a record with --field; several of one record
    #[arg(required = true)]
    pub what: Vec<String>,
    /// The right value, with its unit and digits
    #[arg(long, allow_hyphen_values = true)]
    pub value: Option<String>,
    /// Multiply what is written by this; as many digits stay, three at least
    #[arg(long, allow_hyphen_values = true)]
    pub factor: Option<f64>,
    /// The numbers are right and their unit is not: lbf=kgf
    #[arg(long, value_name = "WRITTEN=RIGHT")]
    pub unit: Option<String>,
    /// Why the old one was wrong
    #[arg(long)]
    pub because: String,
    /// Which field (repeatable): sd, n, locator, conditions.temperature, joint.hole, mode …; the value unless given
    #[arg(long)]
    pub field: Vec<String>,
    /// Every single result of the measurement, or of the series
    #[arg(long)]
    pub all_specimens: bool,
    /// Date of the correction; today unless given
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Show what would change, but write nothing
    #[arg(long, help_heading = headings::OUTPUT)]
    pub dry_run: bool,
}

/// A record's file, opened for a change.
struct Opened<'b> {
    record: &'b Record,
    bytes: Vec<u8>,
    reading: ParsedFile,
}

/// A value that is corrected.
struct Corrected {
    at: String,
    old: String,
    new: String,
}

/// Notes told on the page.
const NOTES: usize = 10;

struct Changed {
    what: String,
    corrected: Vec<Corrected>,
    notes: Vec<String>,
    file: String,
    diff: String,
    written: bool,
}

/// Corrects values of a record.
///
/// # Errors
/// What does not exist or stands in an embedded pack, a value that does not fit, a file that cannot be written.
pub fn run(args: &AmendArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let change = Amendment::of(args)?;
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let record = one_record(book, &args.what)?;
    let date = today(args.date.as_deref())?;
    let opened = open(book, record, context)?;
    let tree = node(&opened, "")?;
    let mut targets: Vec<Target> = Vec::new();
    for what in &args.what {
        for target in target::targets(book, record, tree, what, args)? {
            if !targets.iter().any(|known| known.pointer == target.pointer) {
                targets.push(target);
            }
        }
    }
    let (edits, corrected) = corrections(&opened, &targets, &change, args, &date)?;
    let notes = renamed(book, record, &targets);
    let what = match &corrected[..] {
        [one] => format!("{}: {} → {}", one.at, one.old, one.new),
        all => format!("{}: {} values corrected", record.id, all.len()),
    };
    let changed = Changed { what, corrected, notes, file: record.file.to_string(), diff: String::new(), written: false };
    finish(&opened, edits, changed, args.dry_run, &loaded, context)
}

/// The one record that all addresses are of.
fn one_record<'b>(book: &'b Book, what: &[String]) -> Result<&'b Record, Fault> {
    let mut found: Option<&Record> = None;
    for text in what {
        let id = text.split_once(':').map_or(&**text, |(id, _)| id);
        let record = library::find(book, id, &[])?;
        if found.is_some_and(|known| known.id != record.id) {
            return Err(Fault::usage("one call amends one record").help("amend the other record by a call of its own"));
        }
        found = Some(record);
    }
    found.ok_or_else(|| Fault::usage("nothing is named"))
}

/// The edits of all targets: the new value in the place of the old one, and the old one in the history beside it.
fn corrections(
    opened: &Opened<'_>,
    targets: &[Target],
    change: &Amendment,
    args: &AmendArgs,
    date: &str,
) -> Result<(Vec<Edit>, Vec<Corrected>), Fault> {
    let source = opened.reading.source.text();
    let (mut edits, mut corrected) = (Vec::new(), Vec::new());
    let mut history: Vec<(&str, &str, Vec<String>)> = Vec::new();
    for target in targets {
        let old = node(opened, &target.pointer)?;
        let written = old.written().unwrap_or_default().to_owned();
        let Some(new) = change.apply(&written).map_err(|f| Fault { message: format!("{}: {}", target.said, f.message), ..f })?
        else {
            continue;
        };
        if new == written {
            continue;
        }
        edits.push(text::replace(old, &new));
        let field = if target.field == "value" { String::new() } else { format!("field: {}, ", scalar(&target.field)) };
        let was = format!("{{{field}value: {}, until: {date}, because: {}}}", scalar(&written), scalar(&args.because));
        match history.iter_mut().find(|(holder, ..)| *holder == target.holder) {
            Some((_, _, all)) => all.push(was),
            None => history.push((&target.holder, &target.field, vec![was])),
        }
        corrected.push(Corrected { at: target.said.clone(), old: written, new });
    }
    if corrected.is_empty() {
        return Err(Fault::usage("nothing would change: the record says so already, or nothing has that unit"));
    }
    for (holder, field, was) in history {
        edits.push(text::add_was(source, node(opened, holder)?, field, &was));
    }
    Ok((edits, corrected))
}

/// A claim is addressed by its origin: who names it by its key has to be told when that changes.
fn renamed(book: &Book, record: &Record, targets: &[Target]) -> Vec<String> {
    let is_key = |field: &str| matches!(field, "source" | "locator" | "method") || field.starts_with("conditions");
    let mut notes = Vec::new();
    for target in targets.iter().filter(|t| is_key(&t.field)) {
        let Some(address) = target.claim.as_ref().filter(|address| address.contains('#')) else { continue };
        notes.push(format!(
            "the key of {address} changes with its {}; `gripbook show {}` has the new one",
            target.field, record.id
        ));
        let resting = book.resting_on(record, std::slice::from_ref(address));
        let direct = resting.iter().filter(|loss| loss.through.as_ref() == Some(address));
        notes.extend(direct.map(|loss| format!("{} names it by the old key: correct its `from`", loss.what)));
    }
    notes
}

fn open<'b>(book: &'b Book, record: &'b Record, context: &Context) -> Result<Opened<'b>, Fault> {
    if !matches!(book.pack_of(record).root, PackRoot::Folder { .. }) {
        let fault = Fault::data(format!("{} is in an embedded pack, which cannot be changed", record.id));
        return Err(fault.help("change into the folder of the pack, or name it with --pack"));
    }
    let bytes = library::bytes(book, record, context).ok_or_else(|| Fault::data(format!("{} cannot be read", record.file)))?;
    Ok(Opened { record, reading: read::read(&bytes), bytes })
}

fn node<'o>(opened: &'o Opened<'_>, pointer: &str) -> Result<&'o Node, Fault> {
    let found = opened.reading.tree.as_ref().and_then(|t| t.at(pointer));
    found.ok_or_else(|| Fault::data(format!("{} has changed since it was loaded", opened.record.file)))
}

/// Makes the edits, lets `check` judge the new text, and writes it.
fn finish(
    opened: &Opened<'_>,
    edits: Vec<Edit>,
    changed: Changed,
    dry_run: bool,
    loaded: &library::Loaded,
    context: &Context,
) -> Result<CommandOutcome, Fault> {
    let before = opened.reading.source.text();
    let after = edit::apply(before, edits);
    let record = opened.record;
    let findings = library::judge(&loaded.book, record.id.as_str(), &record.file, &after, context)?;
    if let Some(bad) = findings.iter().find(|f| f.severity == Severity::Error) {
        let line = bad.place.span.map_or(0, |s| s.line);
        let fault = Fault::usage(format!("the record would not pass check: {} ({}), line {line}", bad.message, bad.rule));
        return Err(Fault { help: bad.help.clone(), ..fault });
    }
    if !dry_run {
        let mut files = save::Batch::default();
        files.edit(std::path::Path::new(&*record.file), opened.bytes.as_slice(), after.as_str());
        files.commit(context)?;
    }
    let answer = Changed { diff: edit::diff(before, &after), written: !dry_run, ..changed };
    Ok(CommandOutcome { answer: Box::new(answer), exit: 0 })
}

impl Answer for Changed {
    fn schema(&self) -> &'static str {
        "gripbook/amend/1"
    }
    fn json(&self) -> Value {
        let one = |c: &Corrected| json!({"at": c.at, "old": c.old, "new": c.new});
        let corrected: Vec<Value> = self.corrected.iter().map(one).collect();
        json!({
            "what": self.what,
            "corrected": corrected,
            "notes": self.notes,
            "file": self.file,
            "written": self.written,
            "diff": self.diff,
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
        page.blocks.push(Block::Verbatim(self.diff.clone()));
        page.blank();
        for note in self.notes.iter().take(NOTES) {
            page.item(note.clone());
        }
        if self.notes.len() > NOTES {
            page.item(format!("and {} more: --format json lists them", self.notes.len() - NOTES));
        }
        page.line(if self.written { format!("{} written", self.file) } else { format!("{} not written (--dry-run)", self.file) });
        page
    }
}
