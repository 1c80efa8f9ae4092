//! A run at a terminal: its surroundings (clock, folders, columns, environment), and where the answer goes.

use crate::command::card::Commands;
use crate::command::context::command_line;
use crate::command::options::When;
use crate::command::outcome::no_such_format;
use crate::command::refusal::told;
use crate::command::{Arguments, CommandOutcome, Context, Fault, save};
use clap::error::ErrorKind;
use gripbook::index::Begun;
use gripbook::plugins::Registry;
use gripbook::present::{self, Look, Stamp, writer};
use std::env;
use std::path::PathBuf;

/// Columns of text that no terminal shows: the same on every machine.
const WIDTH_OF_FILES: usize = 100;
/// Columns of a terminal that does not say how many it has.
const WIDTH_OF_TERMINALS: usize = 80;
/// Lines longer than this nobody reads well.
const WIDEST: usize = 120;

/// Reads the surroundings.
pub fn surroundings(registry: Registry) -> Context {
    let now = time::OffsetDateTime::now_utc();
    let terminal = writer::to_terminal();
    let columns = env::var("COLUMNS").ok().and_then(|c| c.parse::<usize>().ok()).filter(|c| (20..=400).contains(c));
    let own = if terminal { writer::columns().unwrap_or(WIDTH_OF_TERMINALS) } else { WIDTH_OF_FILES };
    Context {
        registry,
        today: now.date().to_string(),
        begun: Begun { at: i64::try_from(now.unix_timestamp_nanos()).unwrap_or(i64::MAX), process: std::process::id() },
        book: None,
        handed: None,
        command_line: command_line(env::args_os().skip(1).map(|word| word.to_string_lossy().into_owned())),
        folder: env::current_dir().unwrap_or_else(|_| PathBuf::from(".")),
        home: etcetera::home_dir().ok(),
        cache: cache_folder(),
        force: false,
        width: columns.unwrap_or(own).min(WIDEST),
    }
}

/// Whether to colour what goes to standard output.
fn colour(when: When) -> bool {
    let plain = env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty()) || env::var_os("TERM").is_none_or(|t| t == "dumb");
    match when {
        When::Always => true,
        When::Never => false,
        When::Auto => writer::to_terminal() && !plain,
    }
}

/// `GRIPBOOK_CACHE`, else the platform's cache folder.
fn cache_folder() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    if let Some(folder) = env::var_os("GRIPBOOK_CACHE") {
        return (!folder.is_empty()).then(|| PathBuf::from(folder));
    }
    // HOME unset means no cache, even where the platform would guess one.
    env::var_os("HOME").filter(|h| !h.is_empty())?;
    etcetera::choose_base_strategy().ok().map(|s| s.cache_dir().join("gripbook"))
}

/// Runs the command and writes its answer; returns the exit code.
pub fn run(arguments: &Arguments, commands: Commands, context: &Context) -> u8 {
    let context = &Context { force: arguments.shared.force, ..context.clone() };
    let packs: Vec<PathBuf> = arguments.shared.pack.iter().filter(|pack| *pack != "demo").map(Into::into).collect();
    save::recover(&packs, context);
    match arguments.run(commands, context).and_then(|outcome| write(&outcome, arguments, context)) {
        Ok(exit) => exit,
        Err(fault) => complain(&fault),
    }
}

/// Tells a fault on standard error; returns its exit code.
fn complain(fault: &Fault) -> u8 {
    writer::notice(&format!("gripbook: {}", without_number(&fault.message)));
    if let Some(help) = &fault.help {
        writer::notice(&format!("  {help}"));
    }
    fault.exit
}

/// The system's words for a failed call without its number of the failure, which tells a person nothing.
fn without_number(message: &str) -> String {
    let message = message.replace("No such file or directory (os error 2)", "there is no such file or folder");
    match message.split_once(" (os error ") {
        Some((before, rest)) => format!("{before}{}", rest.split_once(')').map_or("", |(_, behind)| behind)),
        None => message,
    }
}

fn write(outcome: &CommandOutcome, arguments: &Arguments, context: &Context) -> Result<u8, Fault> {
    let format = arguments.shared.format;
    let look = Look { width: context.width, colour: colour(arguments.shared.color) };
    let stamp = Stamp { command: context.command_line.clone() };
    let text = present::render(&*outcome.answer, format, &stamp, look)
        .map_err(|present::NoSuchFormat(format)| no_such_format(format))?;
    writer::answer(text.as_bytes()).map_err(|e| Fault::environment(format!("standard output: {}", e.0)))?;
    Ok(outcome.exit)
}

/// Writes help and version to standard output, usage faults to standard error; returns the exit code.
pub fn refuse(refusal: &clap::Error, commands: Commands) -> u8 {
    if refusal.use_stderr() && refusal.kind() != ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        return complain(&told(refusal, commands));
    }
    let text = refusal.render().to_string();
    if refusal.use_stderr() {
        writer::notice(text.trim_end());
        return 2;
    }
    match writer::answer(text.as_bytes()) {
        Ok(()) => 0,
        Err(_) => 4,
    }
}
