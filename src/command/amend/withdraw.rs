//! `withdraw`: takes records, claims, measurements or single results out of use, with the reason.

use super::revision::{OpenedRecord, Revision, finish, open};
use super::{scalar, target, text};
use crate::command::audit::today;
use crate::command::edit::Edit;
use crate::command::{CommandOutcome, Context, Fault, Shared, headings, library};
use gripbook::book::{Book, Record, Standing};
use gripbook::read::tree::Node;
use std::collections::BTreeSet;

/// Arguments of `withdraw`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook withdraw source/own-2026-tests --because 'the load cell was broken'
  gripbook withdraw resin/tough:tg --because 'another resin was tested' --replaced-by resin/tough:tg#1f2e3d4c
  gripbook withdraw 'series/grey-m3:pull_out_load#a3' --because 'the jaw slipped'")]
pub struct WithdrawArgs {
    /// A record id, a claim (resin/tough:tg), a measurement (series/ID:QUANTITY) or a single result
    /// (series/ID:QUANTITY#LABEL); several are withdrawn together or not at all
    #[arg(required = true)]
    pub what: Vec<String>,
    /// Why it may not be used any more
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

/// Takes something out of use.
///
/// # Errors
/// As for `amend`; something that is withdrawn already.
pub(in crate::command) fn withdraw(args: &WithdrawArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let date = today(args.date.as_deref(), context)?;
    if let (Some(_), [_, _, ..]) = (&args.replaced_by, &args.what[..]) {
        return Err(Fault::usage("one thing takes the place of one thing").help("withdraw them one by one"));
    }
    let mut revisions: Vec<Revision> = Vec::new();
    let (mut told, mut notes) = (Vec::new(), Vec::new());
    for (record, parts) in grouped(book, &args.what)? {
        let opened = open(book, record, context)?;
        let edits = match &parts[..] {
            [] => {
                told.push(record.id.to_string());
                notes.extend(goes_along(book, record, &[]));
                of_record(book, &opened, args, &date)?
            }
            parts => {
                let mut named = Vec::new();
                for rest in parts {
                    let one = target::one(book, record, opened.node("")?, rest)?;
                    if !named.contains(&one) {
                        named.push(one);
                    }
                }
                let addresses: Vec<String> = named.iter().map(|(_, address)| address.clone()).collect();
                notes.extend(goes_along(book, record, &addresses));
                let edits = of_parts(&opened, &named, args, &date, &mut notes)?;
                told.extend(addresses);
                edits
            }
        };
        revisions.push(Revision { opened, edits, corrected: Vec::new() });
    }
    finish(revisions, format!("{} withdrawn", told.join(", ")), notes, args.dry_run, &loaded, context)
}

/// The records, each with the parts of it that are meant; none of them for the record as a whole.
fn grouped<'b>(book: &'b Book, what: &[String]) -> Result<Vec<(&'b Record, Vec<String>)>, Fault> {
    let mut all: Vec<(&Record, Vec<String>)> = Vec::new();
    for text in what {
        let (id, part) = text.split_once(':').map_or((&**text, None), |(id, part)| (id, Some(part.to_owned())));
        let record = library::find(book, id, &[])?;
        match all.iter_mut().find(|(known, _)| known.id == record.id) {
            None => all.push((record, part.into_iter().collect())),
            Some((_, parts)) => match part.filter(|_| !parts.is_empty()) {
                Some(part) => parts.push(part),
                None => {
                    let message = format!("{} is named as a whole and in parts, or twice", record.id);
                    return Err(Fault::usage(message).help("the whole takes its parts along"));
                }
            },
        }
    }
    Ok(all)
}

fn of_record(book: &Book, opened: &OpenedRecord<'_>, args: &WithdrawArgs, date: &str) -> Result<Vec<Edit>, Fault> {
    let record = opened.record;
    if book.loss(record.id.as_str()).is_some_and(|loss| loss.through.is_none()) {
        return Err(Fault::usage(format!("{} is withdrawn already", record.id)));
    }
    if let Some(by) = &args.replaced_by
        && library::find(book, by, &[])?.id == record.id
    {
        return Err(Fault::usage("a record cannot replace itself"));
    }
    let by = args.replaced_by.as_deref().map(|b| format!(", replaced_by: {}", scalar(b))).unwrap_or_default();
    let line = format!("withdrawn: {{date: {date}, because: {}{by}}}\n", scalar(&args.because));
    let end = opened.text().len();
    let gap = if opened.text().ends_with('\n') { "" } else { "\n" };
    let status = match opened.node("")?.get("status") {
        Some(status) => Edit { start: status.span.start as usize, end: status.span.end as usize, text: "withdrawn".into() },
        None => Edit { start: end, end, text: format!("{gap}status: withdrawn\n") },
    };
    let gap = if status.start == end { "" } else { gap };
    Ok(vec![status, Edit { start: end, end, text: format!("{gap}{line}") }])
}

/// Marks parts as withdrawn; counts again what a measurement counts.
fn of_parts(
    opened: &OpenedRecord<'_>,
    named: &[(String, String)],
    args: &WithdrawArgs,
    date: &str,
    notes: &mut Vec<String>,
) -> Result<Vec<Edit>, Fault> {
    let mut edits = Vec::new();
    let mut measurements: Vec<(&str, usize)> = Vec::new();
    for (pointer, address) in named {
        let node = opened.node(pointer)?;
        if standing(node) == Standing::Withdrawn.word() {
            return Err(Fault::usage(format!("{address} is withdrawn already")));
        }
        let mut fields = vec![("standing", "withdrawn".to_owned()), ("because", format!("{} (withdrawn {date})", args.because))];
        if let Some((measurement, _)) = pointer.split_once("/specimens/") {
            if args.replaced_by.is_some() {
                return Err(Fault::usage("nothing takes the place of a single result").help("leave --replaced-by out"));
            }
            match measurements.iter_mut().find(|(known, _)| *known == measurement) {
                Some((_, n)) => *n += 1,
                None => measurements.push((measurement, 1)),
            }
        }
        fields.extend(args.replaced_by.clone().map(|by| ("replaced_by", by)));
        edits.extend(text::set_fields(opened.text(), node, &fields));
    }
    for (pointer, gone) in measurements {
        count_again(opened, pointer, gone, args, date, &mut edits, notes)?;
    }
    Ok(edits)
}

fn standing(node: &Node) -> &str {
    node.get("standing").and_then(Node::as_text).unwrap_or_default()
}

/// `n` of a measurement of which results go, where it counts them; and a word on what was computed from all of them.
fn count_again(
    opened: &OpenedRecord<'_>,
    pointer: &str,
    gone: usize,
    args: &WithdrawArgs,
    date: &str,
    edits: &mut Vec<Edit>,
    notes: &mut Vec<String>,
) -> Result<(), Fault> {
    let measurement = opened.node(pointer)?;
    let results = measurement.get("specimens").and_then(Node::as_list).unwrap_or(&[]);
    let counted = results.iter().filter(|result| standing(result).is_empty()).count();
    let left = counted.saturating_sub(gone);
    if let Some(n) = measurement.get("n").filter(|n| left > 0 && n.as_count() == Some(counted as u64)) {
        edits.push(text::replace(n, &left.to_string()));
        let was = text::was("n", &counted.to_string(), date, &args.because);
        edits.push(text::add_was(opened.text(), measurement, "n", &[was]));
    }
    let computed = ["mean", "sd", "cv", "min", "max", "modes"].into_iter().filter(|field| measurement.get(field).is_some());
    let computed: Vec<&str> = computed.collect();
    if !computed.is_empty() && left > 0 {
        let quantity = measurement.get("quantity").and_then(Node::as_text).unwrap_or_default();
        notes.push(format!(
            "{} of {}:{quantity} was stated for all {counted} results: correct it with `gripbook amend`",
            computed.join(", "),
            opened.record.id
        ));
    }
    Ok(())
}

/// What goes along when a record, or these parts of it, are withdrawn.
fn goes_along(book: &Book, record: &Record, parts: &[String]) -> Vec<String> {
    let lost = book.resting_on(record, parts);
    let others = lost.iter().filter(|l| l.record != record.id || !parts.is_empty());
    let others = others.map(|l| format!("{} goes with it: withdraw it too, or let it rest on something else", l.what));
    // A claim computed from a measurement stands without one result of it, and is no longer what that gives.
    let measurements: BTreeSet<&str> =
        parts.iter().filter(|_| record.series().is_some()).filter_map(|part| Some(part.split_once('#')?.0)).collect();
    let again = measurements.into_iter().flat_map(|of| book.computed_from(of).into_iter().map(move |claim| (claim, of)));
    let again = again.filter(|(claim, _)| lost.iter().all(|loss| loss.what != *claim));
    others.chain(again.map(|(claim, of)| format!("{claim} is computed from {of}: compute it again"))).collect()
}
