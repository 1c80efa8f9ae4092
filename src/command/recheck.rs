//! `recheck`: does a saved sheet still hold? Its claims first, its numbers second, each as old → new.

mod matters;

use super::card::{CommandCard, Commands, Effect, HelpGroup, PAGE, RunAmong};
use super::trace::sheet;
use super::{Arguments, CommandOutcome, Context, Fault, Shared, headings, library};
use gripbook::audit::address;
use gripbook::book::{Book, Standing};
use gripbook::present::{Answer, Format, Page};
use gripbook::suit::Verdict;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "recheck",
    about: "Does a saved sheet still hold? Its claims first, then its numbers",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Repeats,
    outputs: &[],
    runs: &RunAmong(run),
};

/// Arguments of `recheck`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook recheck sheets/lid.json
  gripbook recheck sheets/lid.json --claims-only")]
pub struct RecheckArgs {
    /// A saved sheet
    pub sheet: PathBuf,
    /// Compare only the claims; do not run the command again
    #[arg(long)]
    pub claims_only: bool,
}

/// What became of a claim.
struct RecheckLine {
    address: String,
    state: &'static str,
    then: Option<String>,
    now: Option<String>,
}

/// A number or word that somebody acts on, then and now.
struct Turned {
    name: String,
    then: Option<String>,
    now: Option<String>,
}

/// A number of the answer that is another now.
struct Moved {
    at: String,
    then: Value,
    now: Value,
}

struct Rechecked {
    sheet: String,
    verdict: &'static str,
    claims: Vec<RecheckLine>,
    turned: Vec<Turned>,
    moved: Vec<Moved>,
    ran: Option<String>,
}

/// Compares a sheet with the book of today.
///
/// # Errors
/// A sheet that cannot be read.
pub fn run(args: &RecheckArgs, commands: Commands, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let sheet = sheet::read(&context.folder.join(&args.sheet))?;
    // A pack of then that is gone is told by what is missing of it.
    let mut with_packs = shared.clone();
    with_packs.pack.extend(packs_of(&sheet, commands).into_iter().filter(|pack| !shared.pack.contains(pack)));
    let loaded = library::open(&with_packs, context).or_else(|_| library::open(shared, context))?;
    let lost = sheet::lost(&sheet);
    let mut claims: Vec<RecheckLine> = sheet::used(&sheet).into_iter().flat_map(|u| look(&loaded.book, &u, &lost)).collect();
    let mut told = BTreeSet::new();
    claims.retain(|line| told.insert(line.address.clone()));
    let Again { ran, turned, moved } = match args.claims_only {
        true => Again { ran: Some("only the claims were asked about".into()), ..Again::default() },
        false => again(&sheet, commands, context),
    };
    let worst = |state: &str| claims.iter().any(|c| c.state == state);
    let verdict = if worst("withdrawn") || worst("missing") {
        "withdrawn"
    } else if worst("changed") || worst("disputed") || !moved.is_empty() {
        "changed"
    } else {
        "unchanged"
    };
    let exit = loaded.exit(u8::from(verdict != "unchanged"));
    let sheet = args.sheet.to_string_lossy().into_owned();
    Ok(CommandOutcome { answer: Box::new(Rechecked { sheet, verdict, claims, turned, moved, ran }), exit })
}

/// The packs that the stored command named: its claims are looked up where its numbers are.
fn packs_of(sheet: &Value, commands: Commands) -> Vec<String> {
    let words = split(sheet["command"].as_str().unwrap_or_default());
    Arguments::read(commands, without_files(commands, words)).map(|stored| stored.shared.pack).unwrap_or_default()
}

/// What became of something that a sheet used; `lost` is what its answer had lost by then.
fn look(book: &Book, used: &sheet::SheetClaim, lost: &BTreeSet<String>) -> Vec<RecheckLine> {
    let line = |address: String, state, now| RecheckLine { address, state, then: used.written.clone(), now };
    let found = address::resolve(book, &used.address);
    if found.is_empty() {
        let id = address::parse(&used.address).map_or(&*used.address, |a| a.record);
        let series = book.record(id).filter(|r| r.id.kind() == "series");
        let state = match series {
            Some(record) if !record.current => "withdrawn",
            Some(_) => "unchanged",
            None => "missing",
        };
        // A measurement or single result of it that the answer of then still had.
        let inside = format!("{id}:");
        let parts = book.losses().iter().filter(|loss| loss.what.starts_with(&inside) && loss.through.is_none());
        let parts = parts.filter(|loss| state == "unchanged" && !lost.contains(&loss.what));
        let parts: Vec<RecheckLine> = parts.map(|loss| line(loss.what.clone(), "withdrawn", None)).collect();
        return if parts.is_empty() { vec![line(used.address.clone(), state, None)] } else { parts };
    }
    let one = |named: &address::NamedClaim<'_>| {
        let now = named.claim.value.text();
        let state = match named.claim.standing {
            Standing::Withdrawn => "withdrawn",
            _ if !named.record.current => "withdrawn",
            Standing::Disputed => "disputed",
            Standing::Good if found.len() == 1 && used.written.as_ref().is_some_and(|then| *then != now) => "changed",
            Standing::Good => "unchanged",
        };
        line(named.address(), state, Some(now))
    };
    found.iter().map(one).collect()
}

/// What came of running the command again.
#[derive(Default)]
struct Again {
    /// Why it could not be run.
    ran: Option<String>,
    turned: Vec<Turned>,
    moved: Vec<Moved>,
}

/// Runs the stored command again and compares its numbers; says why when that is not possible.
fn again(sheet: &Value, commands: Commands, context: &Context) -> Again {
    let not_run = |why: String| Again { ran: Some(why), ..Again::default() };
    let Some(command) = sheet["command"].as_str() else {
        return not_run("the sheet does not say by which command it was made".into());
    };
    let words = without_files(commands, split(command));
    let mut arguments = match Arguments::read(commands, &words) {
        Ok(arguments) if arguments.card.effect.only_answers() => arguments,
        Ok(arguments) if arguments.card.effect == Effect::Repeats => {
            return not_run("its command runs another one again; it was not run again".into());
        }
        Ok(_) => return not_run("its command would write files; it was not run again".into()),
        Err(_) => return not_run("its command is no longer understood".into()),
    };
    // Its fields are compared, so they are asked for.
    arguments.shared.format = Format::Json;
    match arguments.run(commands, context) {
        Err(fault) => not_run(format!("its command now fails: {}", fault.message)),
        Ok(outcome) => {
            let now = outcome.answer.json();
            let mut moved = Vec::new();
            compare("", sheet, &now, &mut moved);
            Again { ran: None, turned: turned(sheet, &now), moved }
        }
    }
}

/// What is acted on and is another now, verdicts first.
fn turned(then: &Value, now: &Value) -> Vec<Turned> {
    let (then, now) = (matters::matters(then), matters::matters(now));
    let names: BTreeSet<&String> = then.keys().chain(now.keys()).collect();
    let one = |name: &String| Turned { name: name.clone(), then: then.get(name).cloned(), now: now.get(name).cloned() };
    let mut all: Vec<Turned> = names.into_iter().filter(|name| then.get(*name) != now.get(*name)).map(one).collect();
    // What is said of the whole comes before what is said of a part of it.
    all.sort_by_key(|t| (!t.name.ends_with("verdict"), t.name.contains(", ")));
    all
}

/// A value with its unit, as one thing.
fn amount(value: &Value) -> Option<String> {
    value["si"].as_f64()?;
    let written = value["written"].as_str().map(str::to_owned);
    written.or_else(|| Some(format!("{} {}", value["value"].as_f64()?, value["unit"].as_str()?)))
}

/// Numbers that differ by more than the last bits of arithmetic, and words that are others. Hashes, dates and files are let be.
fn compare(at: &str, then: &Value, now: &Value, into: &mut Vec<Moved>) {
    const SKIP: [&str; 12] =
        ["schema", "contract", "tool", "version", "command", "pack_hash", "hash", "book", "pack", "packs", "file", "line"];
    match (then, now) {
        _ if amount(then).is_some() && amount(now).is_some() => {
            let mut inside = Vec::new();
            compare(at, &then["si"], &now["si"], &mut inside);
            if !inside.is_empty() {
                into.push(Moved { at: at.into(), then: json!(amount(then)), now: json!(amount(now)) });
            }
        }
        (Value::Object(a), Value::Object(b)) => {
            for (key, value) in b.iter().filter(|(key, _)| !SKIP.contains(&key.as_str())) {
                let path = if at.is_empty() { key.clone() } else { format!("{at}.{key}") };
                // A field that the sheet of then does not have was added since: nothing of the answer changed by it.
                a.get(key).into_iter().for_each(|then| compare(&path, then, value, into));
            }
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().for_each(|(i, (x, y))| compare(&format!("{at}[{i}]"), x, y, into));
        }
        (Value::Number(a), Value::Number(b)) => {
            let (x, y) = (a.as_f64().unwrap_or(0.0), b.as_f64().unwrap_or(0.0));
            if (x - y).abs() > 1e-9 * x.abs().max(y.abs()) {
                into.push(Moved { at: at.into(), then: then.clone(), now: now.clone() });
            }
        }
        _ if then == now => {}
        _ => into.push(Moved { at: at.into(), then: then.clone(), now: now.clone() }),
    }
}

/// A command line without the options that name files it writes: the same answer, wherever it is put.
pub(super) fn without_output(commands: Commands, context: &Context) -> String {
    let words = without_files(commands, split(&context.command_line));
    words.iter().map(|w| super::context::quoted(w)).collect::<Vec<_>>().join(" ")
}

/// The command without what makes it write files.
fn without_files(commands: Commands, words: Vec<String>) -> Vec<String> {
    let outputs: Vec<&str> = commands.iter().flat_map(|card| card.outputs).copied().collect();
    let mut kept = Vec::new();
    let mut skip = false;
    for word in words {
        let option = word.split('=').next().unwrap_or_default();
        if skip {
            skip = false;
        } else if outputs.contains(&option) {
            skip = !word.contains('=');
        } else {
            kept.push(word);
        }
    }
    kept
}

/// The words of a command line as the program quotes them: single quotes, `'\''` for a quote.
fn split(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut chars = line.chars();
    while let Some(c) = chars.next() {
        match c {
            ' ' => words.extend(word.take()),
            '\'' => word.get_or_insert_with(String::new).extend(chars.by_ref().take_while(|c| *c != '\'')),
            '\\' => word.get_or_insert_with(String::new).extend(chars.next()),
            c => word.get_or_insert_with(String::new).push(c),
        }
    }
    words.extend(word);
    words
}

/// Lines listed for people.
const LISTED: usize = 20;

impl Answer for Rechecked {
    fn schema(&self) -> &'static str {
        "gripbook/recheck/1"
    }
    fn json(&self) -> Value {
        let claims: Vec<Value> =
            self.claims.iter().map(|c| json!({"address": c.address, "state": c.state, "then": c.then, "now": c.now})).collect();
        let moved: Vec<Value> = self.moved.iter().map(|m| json!({"at": m.at, "then": m.then, "now": m.now})).collect();
        let turned: Vec<Value> = self.turned.iter().map(|t| json!({"name": t.name, "then": t.then, "now": t.now})).collect();
        json!({
            "sheet": self.sheet, "verdict": self.verdict, "claims": claims, "matters": turned, "numbers": moved, "not_run": self.ran,
        })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{}: {}", self.sheet, self.verdict));
        page.blank();
        for c in self.claims.iter().filter(|c| c.state != "unchanged") {
            let then = c.then.as_deref().unwrap_or("");
            let now = match c.state {
                "changed" => c.now.as_deref().unwrap_or("gone"),
                state => state,
            };
            page.item(format!("{}: {then} → {now}", c.address).replace(":  →", ": →"));
        }
        let same = self.claims.iter().filter(|c| c.state == "unchanged").count();
        page.line(match self.claims.len() {
            0 => "It rests on no claim of a record.".to_owned(),
            1 => format!("Its claim is {}.", if same == 1 { "unchanged" } else { "another now" }),
            all => format!("{same} of {all} claims are unchanged."),
        });
        for t in self.turned.iter().take(LISTED) {
            let text = |side: &Option<String>| match side.as_deref() {
                Some(text) => Verdict::of_word(text).map_or(text, |verdict| verdict.text()).to_owned(),
                None => "none".to_owned(),
            };
            page.item(format!("{}: {} → {}", t.name, text(&t.then), text(&t.now)));
        }
        if self.turned.len() > LISTED {
            page.item(format!("and {} more (--format json lists them)", self.turned.len() - LISTED));
        }
        match &self.ran {
            Some(why) => page.line(format!("Numbers not compared: {why}")),
            None if self.moved.is_empty() => page.line("The same command gives the same numbers."),
            None if self.turned.is_empty() => {
                page.line("No number that is acted on has changed; --format json lists the others.")
            }
            None if self.moved.len() == 1 => page.line("1 number or word of the answer has changed."),
            None => {
                page.line(format!("{} numbers or words of the answer have changed; --format json lists all.", self.moved.len()))
            }
        };
        page
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_line_comes_apart_as_it_was_quoted() {
        assert_eq!(split("gripbook find --where 'tg < 70 °C' 'it'\\''s'"), ["gripbook", "find", "--where", "tg < 70 °C", "it's"]);
        assert_eq!(split("a '' b"), ["a", "", "b"]);
    }

    #[test]
    fn the_packs_of_the_stored_command_are_opened_too() {
        let sheet = json!({"command": "gripbook fasten petg M3 6mm --pack p"});
        assert_eq!(packs_of(&sheet, crate::command::registry::ALL), ["p"]);
        assert!(packs_of(&json!({}), crate::command::registry::ALL).is_empty());
    }

    #[test]
    fn what_writes_files_is_taken_off() {
        let words = split("gripbook fasten --out a.json --need 300N --plot=b.svg");
        assert_eq!(without_files(crate::command::registry::ALL, words), ["gripbook", "fasten", "--need", "300N"]);
    }

    #[test]
    fn numbers_that_moved_are_named_with_their_place() {
        let then = json!({"a": {"b": [1.0, 2.0]}, "hash": "x", "word": "suits"});
        let now = json!({"a": {"b": [1.0, 2.5]}, "hash": "y", "word": "suits"});
        let mut moved = Vec::new();
        compare("", &then, &now, &mut moved);
        assert_eq!(moved.len(), 1);
        assert_eq!(moved[0].at, "a.b[1]");
    }

    #[test]
    fn an_amount_that_moved_is_told_once_with_its_unit() {
        let of = |n: f64| json!({"load": {"value": n, "unit": "N", "si": n}});
        let mut moved = Vec::new();
        compare("", &of(870.0), &of(812.5), &mut moved);
        assert_eq!(moved.len(), 1);
        assert_eq!((&*moved[0].at, &moved[0].then, &moved[0].now), ("load", &json!("870 N"), &json!("812.5 N")));
    }
}
