//! `withdraw`: takes a record, a claim or a measurement out of use, with the reason.

use super::{Changed, Opened, finish, node, open, scalar, target, text};
use crate::command::audit::today;
use crate::command::edit::Edit;
use crate::command::{CommandOutcome, Context, Fault, Shared, headings, library};
use gripbook::audit::address;
use gripbook::book::Book;

/// Arguments of `withdraw`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook withdraw resin/tough:tg --because 'the bottle was mixed up'
  gripbook withdraw source/old-2019-tests --because 'load cell broken' --replaced-by source/new-2026-tests")]
pub struct WithdrawArgs {
    /// A record id, a claim (resin/tough:tg) or a measurement (series/ID:QUANTITY)
    pub what: String,
    /// Why
    #[arg(long)]
    pub because: String,
    /// The record or claim that takes its place
    #[arg(long, value_name = "ID")]
    pub replaced_by: Option<String>,
    /// Date of the withdrawal; today unless given
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Show what would change, but write nothing
    #[arg(long, help_heading = headings::OUTPUT)]
    pub dry_run: bool,
}

/// Takes a record or a claim out of use.
///
/// # Errors
/// As [`run`].
pub(in crate::command) fn withdraw(args: &WithdrawArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let date = today(args.date.as_deref())?;
    if let Some((id, rest)) = args.what.split_once(':') {
        let record = library::find(book, id, &[])?;
        let opened = open(book, record, context)?;
        let claim = node(&opened, &target::one(book, record, node(&opened, "")?, rest)?)?;
        let reason = format!("{} (withdrawn {date})", args.because);
        let mut fields = vec![("standing", "withdrawn".to_owned()), ("because", reason)];
        fields.extend(args.replaced_by.clone().map(|by| ("replaced_by", by)));
        let edits = text::set_fields(opened.reading.source.text(), claim, &fields);
        return finish(&opened, edits, taken(book, &opened, &args.what), args.dry_run, &loaded, context);
    }
    let record = library::find(book, &args.what, &[])?;
    if book.loss(record.id.as_str()).is_some_and(|loss| loss.through.is_none()) {
        return Err(Fault::usage(format!("{} is withdrawn already", record.id)));
    }
    if let Some(by) = &args.replaced_by {
        let by = library::find(book, by, &[])?;
        if by.id == record.id {
            return Err(Fault::usage("a record cannot replace itself"));
        }
    }
    let opened = open(book, record, context)?;
    let top = node(&opened, "")?;
    let written = opened.reading.source.text();
    let by = args.replaced_by.as_deref().map(|b| format!(", replaced_by: {}", scalar(b))).unwrap_or_default();
    let line = format!("withdrawn: {{date: {date}, because: {}{by}}}\n", scalar(&args.because));
    let end = written.len();
    let mut edits = Vec::new();
    match top.get("status") {
        Some(status) => {
            edits.push(Edit { start: status.span.start as usize, end: status.span.end as usize, text: "withdrawn".into() })
        }
        None => edits.push(Edit { start: end, end, text: "status: withdrawn\n".into() }),
    }
    edits.push(Edit { start: end, end, text: line });
    finish(&opened, edits, taken(book, &opened, record.id.as_str()), args.dry_run, &loaded, context)
}

/// What is told: what goes along, and what still names it.
fn taken(book: &Book, opened: &Opened<'_>, what: &str) -> Changed {
    let record = opened.record;
    let address = what.split_once(':').map(|(_, rest)| format!("{}:{rest}", record.id));
    let claims: Vec<String> = address.iter().flat_map(|a| address::resolve(book, a)).map(|named| named.address()).collect();
    let is_measurement = address.is_some() && claims.is_empty();
    let lost = if is_measurement { Vec::new() } else { book.resting_on(record, &claims) };
    let others = lost.iter().filter(|l| l.record != record.id || !claims.is_empty());
    let notes = others.map(|l| format!("{} goes with it: withdraw it too, or let it rest on something else", l.what)).collect();
    Changed {
        what: format!("{what} withdrawn"),
        corrected: Vec::new(),
        notes,
        file: record.file.to_string(),
        diff: String::new(),
        written: false,
    }
}
