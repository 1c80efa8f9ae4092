//! `amend` and `withdraw`: correct without erasing. The old value is kept, dated, with the reason.

mod change;
mod revision;
mod target;
mod text;
mod withdraw;

pub(super) use text::scalar;
use withdraw::withdraw;

use super::audit::today;
use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::edit::Edit;
use super::{CommandOutcome, Context, Fault, Shared, headings, library};
use change::Amendment;
use gripbook::book::{Book, Record};
use revision::{CorrectedPlace, OpenedRecord, Revision, finish};
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
    about: "Take a record, claim, measurement or single result out of use, with what rests on it; the reason stays",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(withdraw),
};

/// Arguments of `amend`.
#[derive(Debug, Clone, clap::Args)]
#[command(group = clap::ArgGroup::new("new").required(true).args(["value", "factor", "unit"]), next_help_heading = headings::ASKED, override_usage = "gripbook amend [OPTIONS] [WHAT]... --because <BECAUSE>
       <--value <VALUE>|--factor <FACTOR>|--unit <WRITTEN=RIGHT>>", after_help = "Examples:
  gripbook amend resin/tough:tg --value '61 °C' --because 'read from the wrong row'
  gripbook amend polymer/pla:tg#1f2e3d4c --field conditions.temperature --value='-20 °C' --because …
  gripbook amend series/grey-m3:pull_out_load#a3 --value '812 N' --because …
  gripbook amend series/grey-m3:pull_out_load --all-specimens --unit lbf=kgf --because 'the display was set to kgf'
  gripbook amend series/grey-m3:pull_out_load series/grey-m4:pull_out_load --all-specimens --factor 0.4536 --because …
  gripbook amend --source pulls-2026-05 --all-specimens --unit lbf=kgf --because …
  gripbook amend --source pulls-2026-05 --field test.speed --value '5 mm/min' --because …
  gripbook amend series/grey-m3 --field joint.hole --value '2.6 mm' --because …
  gripbook amend source/own-2026-tests --field issued --value 2026-04 --because …")]
pub struct AmendArgs {
    /// Claim (resin/tough:tg, #key when there are several), measurement (series/ID:QUANTITY), single result
    /// (series/ID:QUANTITY#LABEL), or a record with --field; several of one record or of many. With --source: properties and
    /// quantities
    #[arg(required_unless_present = "source")]
    pub what: Vec<String>,
    /// Everything taken from this source: its series and the claims that cite it
    #[arg(long, value_name = "ID")]
    pub source: Option<String>,
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

/// Corrects values of records: all that are named, or none.
///
/// # Errors
/// What does not exist or stands in an embedded pack, a value that does not fit, a file that cannot be written.
pub fn run(args: &AmendArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let change = Amendment::of(args)?;
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let date = today(args.date.as_deref(), context)?;
    let mut revisions = Vec::new();
    let mut notes = Vec::new();
    for (record, targets) in named(book, args, &change, context)? {
        let opened = revision::open(book, record, context)?;
        let (edits, corrected) = corrections(&opened, &targets, &change, args, &date)?;
        if !corrected.is_empty() {
            notes.extend(renamed(book, record, &targets));
            revisions.push(Revision { opened, edits, corrected });
        }
    }
    let all: Vec<&CorrectedPlace> = revisions.iter().flat_map(|r| &r.corrected).collect();
    let what = match (&all[..], &revisions[..]) {
        ([], _) => {
            return Err(Fault::usage("nothing would change: the records say so already, or nothing has that unit"));
        }
        ([one], _) => format!("{}: {} → {}", one.at, one.old, one.new),
        (all, [one]) => format!("{}: {} values corrected", one.opened.record.id, all.len()),
        (all, several) => format!("{} values corrected in {} records", all.len(), several.len()),
    };
    finish(revisions, what, notes, args.dry_run, &loaded, context)
}

/// The records meant, each with its values.
fn named<'b>(
    book: &'b Book,
    args: &AmendArgs,
    change: &Amendment,
    context: &Context,
) -> Result<Vec<(&'b Record, Vec<Target>)>, Fault> {
    let mut found: Vec<(&Record, Vec<Target>)> = Vec::new();
    if let Some(source) = &args.source {
        let source = library::find(book, &format!("source/{}", source.strip_prefix("source/").unwrap_or(source)), &[])?;
        found = target::of_source(book, source, args, change, context)?;
    } else {
        for what in &args.what {
            let record = library::find(book, what.split_once(':').map_or(&**what, |(id, _)| id), &[])?;
            let opened = revision::open(book, record, context)?;
            let targets = target::targets(book, record, opened.node("")?, what, args, change)?;
            match found.iter_mut().find(|(known, _)| known.id == record.id) {
                Some((_, all)) => all.extend(targets),
                None => found.push((record, targets)),
            }
        }
    }
    for (_, targets) in &mut found {
        let mut seen = std::collections::BTreeSet::new();
        targets.retain(|target| seen.insert(target.pointer.clone()));
    }
    let words: std::collections::BTreeSet<&str> =
        found.iter().flat_map(|(_, all)| all).filter_map(|t| t.word.as_deref()).collect();
    if matches!(change, Amendment::Factor(_)) && words.len() > 1 {
        let words: Vec<&str> = words.into_iter().collect();
        return Err(Fault::usage(format!("one factor for {} would be a guess", words.join(", ")))
            .help("name the quantity or property it is for: `series/ID:QUANTITY`, or QUANTITY behind --source ID"));
    }
    Ok(found)
}

/// The edits of all targets: the new value in the place of the old one, and the old one in the history beside it.
fn corrections(
    opened: &OpenedRecord<'_>,
    targets: &[Target],
    change: &Amendment,
    args: &AmendArgs,
    date: &str,
) -> Result<(Vec<Edit>, Vec<CorrectedPlace>), Fault> {
    let (mut edits, mut corrected) = (Vec::new(), Vec::new());
    let mut history: Vec<(&str, &str, Vec<String>)> = Vec::new();
    for target in targets {
        let old = opened.node(&target.pointer)?;
        let written = old.written().unwrap_or_default().to_owned();
        let Some(new) = change.apply(&written).map_err(|f| Fault { message: format!("{}: {}", target.said, f.message), ..f })?
        else {
            continue;
        };
        if new == written {
            continue;
        }
        edits.push(text::replace(old, &new));
        let was = text::was(&target.field, &written, date, &args.because);
        match history.iter_mut().find(|(holder, ..)| *holder == target.holder) {
            Some((_, _, all)) => all.push(was),
            None => history.push((&target.holder, &target.field, vec![was])),
        }
        corrected.push(CorrectedPlace { at: target.said.clone(), old: written, new });
    }
    for (holder, field, was) in history {
        edits.push(text::add_was(opened.text(), opened.node(holder)?, field, &was));
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
