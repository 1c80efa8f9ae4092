//! The commands in a page: one call in, one document out. Built for WebAssembly by `tools/page`.
//!
//! The page hands in a command line's words and gets what the program would print, to the byte: it is the same code with other
//! surroundings. There is no disk, no clock and no network: packs and the date are given, files are handed back. The contract
//! has three functions of integers, so the module asks for nothing from where it runs:
//!
//! - `gripbook_allocate(length)`: room for a document.
//! - `gripbook_call(operation, at, length)`: address and length of the answer, in the upper and lower half.
//! - `gripbook_contract()`: the version, 1.
//!
//! Operation 1 opens the book: `{"today", "demo", "packs": [{"name", "files": {PATH: TEXT}}]}`; operation 2 asks:
//! `{"words": [...], "forms": [...], "width"}`, where a form is `text` (in the format the words ask for), `json` (the fields of
//! the document), `brief` (the first screen) or `page`, the last two part by part; operation 3 tells the options of a
//! `{"command"}`. Documents in and out are JSON. Operation 4, before the book is opened, hands over what the program read of the
//! packs when it wrote the page, in bytes of its own ([`Carried`]), so that opening parses no record.

#![deny(unsafe_code)]

mod command;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use command::arguments::program;
use command::context::{Handed, command_line};
use command::{Arguments, Context, Fault, registry};
use gripbook::book::{Book, PackRoot};
use gripbook::index::Carried;
use gripbook::plugins::BUILT_IN;
use gripbook::present::blocks::{blocks, word};
use gripbook::present::{self, Look, Stamp, tone};
use gripbook::suit::Verdict;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Version of the contract.
const CONTRACT: i32 = 1;
/// Columns of text where the page does not say how many it has.
const WIDTH: usize = 80;

#[derive(Deserialize)]
struct Pack {
    name: String,
    files: BTreeMap<String, String>,
}

/// What the page holds.
#[derive(Deserialize)]
struct Opening {
    today: String,
    demo: bool,
    packs: Vec<Pack>,
}

#[derive(Deserialize)]
struct Question {
    words: Vec<String>,
    forms: Vec<Form>,
    width: Option<usize>,
}

/// How an answer is wanted.
#[derive(Deserialize, PartialEq)]
#[serde(rename_all = "kebab-case")]
enum Form {
    Text,
    Json,
    Brief,
    Page,
}

/// A command.
#[derive(Deserialize)]
struct Named {
    command: String,
}

/// A file of an answer: as text, or where it is none in base64.
#[derive(Serialize)]
struct HandedFile {
    name: PathBuf,
    text: Option<String>,
    base64: Option<String>,
}

/// The loaded book and the date.
struct Opened {
    book: Arc<Book>,
    today: String,
    demo: bool,
}

/// The module's memory between calls; it has one thread.
#[derive(Default)]
struct Desk {
    given: Vec<Vec<u8>>,
    answer: Vec<u8>,
    carried: Carried,
    opened: Option<Opened>,
}

impl Desk {
    fn call(&mut self, operation: i32, at: usize, length: usize) -> Value {
        let given = std::mem::take(&mut self.given);
        let block = given.iter().find(|block| block.as_ptr() as usize == at);
        let document = block.and_then(|block| block.get(..length)).unwrap_or_default();
        match operation {
            1 => match serde_json::from_slice::<Opening>(document) {
                Ok(opening) => self.open(opening),
                Err(e) => json!({"exit": 2, "message": format!("the packs cannot be read: {e}")}),
            },
            2 => match serde_json::from_slice::<Question>(document) {
                Ok(question) => self.ask(&question),
                Err(e) => json!({"exit": 2, "message": format!("the question cannot be read: {e}")}),
            },
            3 => match serde_json::from_slice::<Named>(document) {
                Ok(named) => options(&named.command),
                Err(e) => json!({"exit": 2, "message": format!("the name cannot be read: {e}")}),
            },
            4 => {
                self.carried = Carried::read(document);
                json!({"exit": 0})
            }
            other => json!({"exit": 2, "message": format!("there is no operation {other}")}),
        }
    }
    fn open(&mut self, opening: Opening) -> Value {
        let mut roots = vec![PackRoot::BuiltIn];
        roots.extend(opening.demo.then_some(PackRoot::Demo));
        let bytes = |files: BTreeMap<String, String>| files.into_iter().map(|(path, text)| (path, text.into_bytes())).collect();
        roots.extend(opening.packs.into_iter().map(|pack| PackRoot::given(&pack.name, bytes(pack.files))));
        match Book::load_with(&roots, Path::new("."), &self.carried) {
            Ok(book) => {
                let said = opened(&book);
                self.opened = Some(Opened { book: Arc::new(book), today: opening.today, demo: opening.demo });
                said
            }
            Err(f) => json!({"exit": 3, "message": format!("{}: {}", f.place.file, f.message), "help": f.help}),
        }
    }
    fn ask(&self, question: &Question) -> Value {
        let Some(opened) = &self.opened else { return json!({"exit": 3, "message": "the book is not open"}) };
        let handed = Handed::default();
        let context = context(opened, question, Arc::clone(&handed));
        match answer(question, &context) {
            Ok(mut said) => {
                said["files"] = json!(files(&handed));
                said
            }
            Err(fault) => json!({"exit": fault.exit, "message": fault.message, "help": fault.help}),
        }
    }
}

/// What the page wants to know once: notices, the words that have a tone, the kinds of records.
fn opened(book: &Book) -> Value {
    let tones: BTreeMap<&str, &str> = tone::words().map(|(text, tone)| (text, word(tone))).collect();
    let kinds: BTreeSet<&str> = book.records().into_iter().map(|record| record.id.kind()).collect();
    let verdicts: BTreeMap<&str, &str> = Verdict::ALL.into_iter().map(|verdict| (verdict.word(), verdict.text())).collect();
    let left_out = command::library::left_out(book);
    json!({"exit": 0, "notices": book.notices, "left_out": left_out, "tones": tones, "verdicts": verdicts, "kinds": kinds})
}

/// The options of a command with what they mean and the words they take.
fn options(name: &str) -> Value {
    let program = program(registry::OF_A_PAGE);
    let Some(command) = program.find_subcommand(name) else {
        return json!({"exit": 2, "message": format!("`{name}` is no command")});
    };
    let one = |argument: &clap::Arg| {
        let words: Vec<String> = argument.get_possible_values().iter().map(|value| value.get_name().to_owned()).collect();
        let means = argument.get_help().map(ToString::to_string);
        Some(json!({"name": argument.get_long()?, "means": means, "takes": argument.get_action().takes_values(), "words": words}))
    };
    json!({"exit": 0, "options": command.get_arguments().filter(|a| !a.is_hide_set()).filter_map(one).collect::<Vec<_>>()})
}

fn context(opened: &Opened, question: &Question, handed: Handed) -> Context {
    // The line that gives the same answer at a terminal.
    let demo: &[&str] = if opened.demo { &["--pack", "demo"] } else { &[] };
    let words = question.words.iter().map(String::as_str).chain(demo.iter().copied());
    Context {
        registry: BUILT_IN,
        command_line: command_line(words),
        today: opened.today.clone(),
        book: Some(Arc::clone(&opened.book)),
        handed: Some(handed),
        folder: PathBuf::from("."),
        home: None,
        cache: None,
        force: false,
        width: question.width.unwrap_or(WIDTH),
    }
}

fn answer(question: &Question, context: &Context) -> Result<Value, Fault> {
    let words = std::iter::once("gripbook").chain(question.words.iter().map(String::as_str));
    let arguments = match Arguments::read(registry::OF_A_PAGE, words) {
        Ok(arguments) => arguments,
        // A help that was asked for.
        Err(help) if !help.use_stderr() => {
            let page = json!([{"is": "verbatim", "text": help.render().to_string()}]);
            return Ok(json!({"exit": 0, "command": context.command_line, "brief": page, "page": page, "json": null}));
        }
        Err(refusal) => return Err(command::refusal::told(&refusal, registry::OF_A_PAGE)),
    };
    let outcome = arguments.run(registry::OF_A_PAGE, context)?;
    let answer = &*outcome.answer;
    let mut said = json!({"exit": outcome.exit, "command": context.command_line});
    for form in &question.forms {
        match form {
            Form::Text => {
                let stamp = Stamp { command: context.command_line.clone() };
                let look = Look { width: context.width, colour: false };
                let text = present::render(answer, arguments.shared.format, &stamp, look);
                said["text"] = text.map_err(|present::NoSuchFormat(format)| command::outcome::no_such_format(format))?.into();
            }
            Form::Json => said["json"] = answer.json(),
            Form::Brief => said["brief"] = blocks(&answer.brief(context.width).unwrap_or_else(|| answer.page())),
            Form::Page => said["page"] = blocks(&answer.page()),
        }
    }
    Ok(said)
}

fn files(handed: &Handed) -> Vec<HandedFile> {
    let files = handed.lock().map(|mut files| std::mem::take(&mut *files)).unwrap_or_default();
    let one = |(name, bytes): (PathBuf, Vec<u8>)| match String::from_utf8(bytes) {
        Ok(text) => HandedFile { name, text: Some(text), base64: None },
        Err(binary) => HandedFile { name, text: None, base64: Some(STANDARD.encode(binary.as_bytes())) },
    };
    files.into_iter().map(one).collect()
}

std::thread_local! {
    static DESK: RefCell<Desk> = RefCell::default();
}

/// Hash maps ask for numbers that nobody foresees, against keys made to collide. A module without imports has none; the keys
/// here are those of the packs in the file, whose author gains nothing by a slow page of his own.
#[allow(unsafe_code, reason = "the crate that asks names the function so")]
#[unsafe(no_mangle)]
unsafe extern "Rust" fn __getrandom_v03_custom(to: *mut u8, length: usize) -> Result<(), getrandom::Error> {
    // SAFETY: the caller hands over so many bytes of its own; that is the contract of the crate `getrandom`.
    unsafe { std::slice::from_raw_parts_mut(to, length) }.fill(0x5a);
    Ok(())
}

/// The version of the contract.
#[allow(unsafe_code, reason = "a page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn gripbook_contract() -> i32 {
    CONTRACT
}

/// Room for a document of so many bytes, until the next call ends; its address.
#[allow(unsafe_code, reason = "a page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn gripbook_allocate(length: i32) -> i32 {
    DESK.with_borrow_mut(|desk| {
        let block = vec![0; usize::try_from(length).unwrap_or(0)];
        let at = block.as_ptr() as usize;
        desk.given.push(block);
        at as i32
    })
}

/// An operation on a document; where its answer stands, until the next call.
#[allow(unsafe_code, reason = "a page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn gripbook_call(operation: i32, at: i32, length: i32) -> i64 {
    DESK.with_borrow_mut(|desk| {
        let said = desk.call(operation, at as u32 as usize, length as u32 as usize);
        desk.answer = said.to_string().into_bytes();
        ((desk.answer.as_ptr() as u64) << 32 | desk.answer.len() as u64) as i64
    })
}

fn main() {}
