//! `amend` and `withdraw`: correct without erasing. The old value is kept, dated, with the reason.

use super::audit::today;
use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::edit::{self, Edit};
use super::{Context, Fault, Outcome, Shared, headings, library, save};
use crate::audit::address;
use crate::book::{Book, PackRoot, Record};
use crate::check::catalogue::Measures;
use crate::finding::Severity;
use crate::present::{Answer, Block, Page};
use crate::quantity;
use crate::read::tree::{Entry, Node};
use crate::read::{self, Reading};
use serde_json::{Value, json};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "amend",
    about: "Correct a claim: the old value is kept, dated, with the reason",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// The command.
pub const WITHDRAW: CommandCard = CommandCard {
    name: "withdraw",
    about: "Take a claim or a record out of use, with the reason",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(withdraw),
};

/// Arguments of `amend`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct AmendArgs {
    /// The claim: resin/tough:tg, with #key when there are several
    pub claim: String,
    /// The right value, with its unit and digits
    #[arg(long)]
    pub value: String,
    /// Why the old one was wrong
    #[arg(long)]
    pub because: String,
    /// Which field holds it
    #[arg(long, value_parser = ["value", "low", "high", "sd", "n"], default_value = "value")]
    pub field: String,
    /// Day of the correction; today unless given
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Show what would change, write nothing
    #[arg(long, help_heading = headings::OUTPUT)]
    pub dry_run: bool,
}

/// Arguments of `withdraw`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct WithdrawArgs {
    /// A record id, or a claim address
    pub what: String,
    /// Why
    #[arg(long)]
    pub because: String,
    /// The record or claim that takes its place
    #[arg(long, value_name = "ID")]
    pub replaced_by: Option<String>,
    /// Day of the withdrawal; today unless given
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Show what would change, write nothing
    #[arg(long, help_heading = headings::OUTPUT)]
    pub dry_run: bool,
}

/// A record's file, opened for a change.
struct Opened<'b> {
    record: &'b Record,
    bytes: Vec<u8>,
    reading: Reading,
}

struct Changed {
    what: String,
    file: String,
    diff: String,
    written: bool,
}

/// Corrects a claim.
///
/// # Errors
/// A claim that does not exist or stands in an embedded pack, a value of another quantity, a file that cannot be written.
pub fn run(args: &AmendArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let (record, word, index) = one_claim(book, &args.claim)?;
    let card = book.catalogue().property(record.id.kind(), word);
    if let (Some(Measures::Quantity(q)), "value" | "low" | "high") = (card.map(|c| &c.measures), args.field.as_str()) {
        quantity::parse(&args.value, *q).map_err(|f| Fault { exit: 2, message: f.message(), help: Some(f.help()) })?;
    }
    let opened = open(book, record, context)?;
    let claim = node(&opened, &format!("/properties/{word}/{index}"))?;
    let entry = claim.as_map().and_then(|m| m.entry(&args.field));
    let entry = entry.ok_or_else(|| {
        Fault::usage(format!("the claim states no `{}`", args.field)).help("`--field low` or `--field high` amends a range")
    })?;
    let old = entry.node.written().unwrap_or_default().to_owned();
    if old == args.value {
        return Err(Fault::usage(format!("the claim says {old} already")));
    }
    let date = today(args.date.as_deref())?;
    let was = format!("{{value: {}, until: {date}, because: {}}}", scalar(&old), scalar(&args.because));
    let text = opened.reading.source.text();
    let mut edits = vec![replace(&entry.node, &args.value)];
    edits.push(add_was(text, claim, entry, &was));
    finish(&opened, edits, format!("{}: {old} → {}", args.claim, args.value), args.dry_run, &loaded, context)
}

/// Takes a record or a claim out of use.
///
/// # Errors
/// As [`run`].
pub fn withdraw(args: &WithdrawArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let date = today(args.date.as_deref())?;
    if args.what.contains(':') {
        let (record, word, index) = one_claim(book, &args.what)?;
        let opened = open(book, record, context)?;
        let claim = node(&opened, &format!("/properties/{word}/{index}"))?;
        let reason = format!("{} (withdrawn {date})", args.because);
        let mut fields = vec![("standing", "withdrawn".to_owned()), ("because", reason)];
        fields.extend(args.replaced_by.clone().map(|by| ("replaced_by", by)));
        let edits = set_fields(opened.reading.source.text(), claim, &fields);
        return finish(&opened, edits, format!("{} withdrawn", args.what), args.dry_run, &loaded, context);
    }
    let record = library::find(book, &args.what, &[])?;
    if !record.current {
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
    let text = opened.reading.source.text();
    let by = args.replaced_by.as_deref().map(|b| format!(", replaced_by: {}", scalar(b))).unwrap_or_default();
    let line = format!("withdrawn: {{date: {date}, because: {}{by}}}\n", scalar(&args.because));
    let end = text.len();
    let mut edits = Vec::new();
    match top.get("status") {
        Some(status) => {
            edits.push(Edit { start: status.span.start as usize, end: status.span.end as usize, text: "withdrawn".into() })
        }
        None => edits.push(Edit { start: end, end, text: "status: withdrawn\n".into() }),
    }
    edits.push(Edit { start: end, end, text: line });
    finish(&opened, edits, format!("{} withdrawn", record.id), args.dry_run, &loaded, context)
}

/// Record, property and place of the one claim that an address names.
fn one_claim<'b>(book: &'b Book, text: &str) -> Result<(&'b Record, &'b str, usize), Fault> {
    let (id, rest) = text
        .split_once(':')
        .ok_or_else(|| Fault::usage(format!("`{text}` is no claim address")).help("for example resin/tough:tg"))?;
    let record = library::find(book, id, &[])?;
    let found = address::resolve(book, &format!("{}:{rest}", record.id));
    match found[..] {
        [] => Err(Fault {
            exit: 1,
            message: format!("`{text}` names no claim"),
            help: Some("`gripbook show` lists the claims of a record".into()),
        }),
        [only] => {
            let index = record.claims(only.property).iter().position(|c| std::ptr::eq(c, only.claim)).unwrap_or(0);
            Ok((record, only.property, index))
        }
        _ => {
            let all: Vec<String> = found.iter().map(|n| format!("{} ({})", n.address(), n.claim.value.text())).collect();
            Err(Fault::usage(format!("`{text}` names several claims")).help(all.join(", ")))
        }
    }
}

fn open<'b>(book: &'b Book, record: &'b Record, context: &Context) -> Result<Opened<'b>, Fault> {
    if !matches!(book.pack_of(record).root, PackRoot::Folder { .. }) {
        let fault = Fault::data(format!("{} stands in an embedded pack, which cannot be written", record.id));
        return Err(fault.help("stand in the folder of the pack, or name it with --pack"));
    }
    let bytes = library::bytes(book, record, context).ok_or_else(|| Fault::data(format!("{} cannot be read", record.file)))?;
    Ok(Opened { record, reading: read::read(&bytes), bytes })
}

fn node<'o>(opened: &'o Opened<'_>, pointer: &str) -> Result<&'o Node, Fault> {
    let found = opened.reading.tree.as_ref().and_then(|t| t.at(pointer));
    found.ok_or_else(|| Fault::data(format!("{} has changed since it was loaded", opened.record.file)))
}

fn replace(node: &Node, text: &str) -> Edit {
    Edit { start: node.span.start as usize, end: node.span.end as usize, text: scalar(text) }
}

fn is_flow(text: &str, node: &Node) -> bool {
    matches!(text.as_bytes().get(node.span.start as usize), Some(b'{' | b'['))
}

/// Adds an earlier value to a claim: into its list, or as a new field.
fn add_was(text: &str, claim: &Node, entry: &Entry, was: &str) -> Edit {
    let at = |at: usize, text: String| Edit { start: at, end: at, text };
    if let Some(list) = claim.get("was") {
        if is_flow(text, list) {
            return at(list.span.end as usize - 1, format!(", {was}"));
        }
        let column = text[..list.span.start as usize].rfind('\n').map_or(0, |n| list.span.start as usize - n - 1);
        return at(line_end(text, list.span.end as usize), format!("\n{}- {was}", " ".repeat(column)));
    }
    if is_flow(text, claim) {
        return at(claim.span.end as usize - 1, format!(", was: [{was}]"));
    }
    let indent = " ".repeat(entry.key.span.column as usize - 1);
    at(line_end(text, entry.node.span.end as usize), format!("\n{indent}was:\n{indent}  - {was}"))
}

/// Sets fields of a claim, each replaced where it stands or added at its end.
fn set_fields(text: &str, claim: &Node, fields: &[(&str, String)]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut added = String::new();
    let map = claim.as_map();
    let flow = is_flow(text, claim);
    let indent = map.and_then(|m| m.iter().next()).map_or(4, |e| e.key.span.column as usize - 1);
    for (key, value) in fields {
        match map.and_then(|m| m.get(key)) {
            Some(node) => edits.push(replace(node, value)),
            None if flow => added.push_str(&format!(", {key}: {}", scalar(value))),
            None => added.push_str(&format!("\n{}{key}: {}", " ".repeat(indent), scalar(value))),
        }
    }
    if !added.is_empty() {
        let end = claim.span.end as usize;
        let at = if flow { end - 1 } else { line_end(text, end) };
        edits.push(Edit { start: at, end: at, text: added });
    }
    edits
}

fn line_end(text: &str, from: usize) -> usize {
    // A block text ends behind its last line break.
    let from = if from > 0 && text.as_bytes().get(from - 1) == Some(&b'\n') { from - 1 } else { from };
    text[from..].find('\n').map_or(text.len(), |n| from + n)
}

/// A text as a scalar: plain where every reader takes it for this text, else in double quotes.
pub(super) fn scalar(text: &str) -> String {
    let plain =
        |c: char| c.is_alphanumeric() || matches!(c, ' ' | '.' | '-' | '/' | '(' | ')' | '%' | '°' | '·' | '√' | '+' | '_' | ';');
    let safe_start = text.starts_with(|c: char| c.is_alphanumeric());
    let words = ["yes", "no", "on", "off", "true", "false", "null"];
    let is_text = text.chars().all(plain) && safe_start && !text.ends_with(' ') && !words.contains(&text.to_lowercase().as_str());
    if is_text { text.to_owned() } else { json!(text).to_string() }
}

/// Makes the edits, lets `check` judge the new text, and writes it.
fn finish(
    opened: &Opened<'_>,
    edits: Vec<Edit>,
    what: String,
    dry_run: bool,
    loaded: &library::Loaded,
    context: &Context,
) -> Result<Outcome, Fault> {
    let before = opened.reading.source.text();
    let after = edit::apply(before, edits);
    let record = opened.record;
    let findings = library::judge(&loaded.book, record.id.as_str(), &record.file, &after, context)?;
    if let Some(bad) = findings.iter().find(|f| f.severity == Severity::Error) {
        let line = bad.place.span.map_or(0, |s| s.line);
        return Err(Fault::usage(format!("the record would not pass check: {} ({}), line {line}", bad.message, bad.rule)));
    }
    if !dry_run {
        let mut files = save::Batch::default();
        files.edit(std::path::Path::new(&*record.file), opened.bytes.as_slice(), after.as_str());
        files.commit(context)?;
    }
    let answer = Changed { what, file: record.file.to_string(), diff: edit::diff(before, &after), written: !dry_run };
    Ok(Outcome { answer: Box::new(answer), exit: 0 })
}

impl Answer for Changed {
    fn schema(&self) -> &'static str {
        "gripbook/amend/1"
    }
    fn json(&self) -> Value {
        json!({"what": self.what, "file": self.file, "written": self.written, "diff": self.diff})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(self.what.clone());
        page.blank();
        page.blocks.push(Block::Verbatim(self.diff.clone()));
        page.blank().line(if self.written {
            format!("{} written", self.file)
        } else {
            format!("{} not written (--dry-run)", self.file)
        });
        page
    }
}

#[cfg(test)]
mod tests {
    use super::scalar;

    #[test]
    fn texts_that_readers_take_differently_are_quoted() {
        for plain in ["47.1 MPa", "read from the wrong row", "25 µm/(m·K)", "2026-03-14"] {
            assert_eq!(scalar(plain), plain);
        }
        assert_eq!(scalar("no"), "\"no\"");
        assert_eq!(scalar("a: b"), "\"a: b\"");
        assert_eq!(scalar("x, y"), "\"x, y\"");
        assert_eq!(scalar("say \"hm\""), "\"say \\\"hm\\\"\"");
    }
}
