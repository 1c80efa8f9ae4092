//! One thin file per subcommand: arguments in, a stage's answer out.
//!
//! A command reads its arguments, calls stages, and hands an answer back. It neither computes nor prints.

mod add;
mod amend;
pub mod arguments;
mod audit;
pub mod card;
mod check;
mod choice;
mod class;
mod clock;
mod compare;
pub mod context;
mod edit;
mod editor;
mod examples;
mod export;
mod fasten;
mod find;
mod formula;
mod gaps;
mod headings;
mod import;
mod library;
mod lost;
mod mistakes;
mod new;
pub mod options;
pub mod outcome;
mod plan;
mod plugins;
mod question;
mod recheck;
mod refusal;
pub mod registry;
mod review;
mod save;
mod series;
mod shell;
mod show;
mod suits;
mod thread;
pub mod tidy;
mod trace;
mod waiting;
mod why;

pub use arguments::Arguments;
pub use context::Context;
pub use options::Shared;
pub use outcome::{CommandOutcome, Fault};
pub use refusal::refuse;

use card::Commands;
use gripbook::present::{self, Look, Stamp, writer};

/// Runs the command and writes its answer; returns the exit code.
pub fn run(arguments: &Arguments, commands: Commands, context: &Context) -> u8 {
    let context = &Context { force: arguments.shared.force, ..context.clone() };
    let packs: Vec<std::path::PathBuf> = arguments.shared.pack.iter().filter(|pack| *pack != "demo").map(Into::into).collect();
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
    let look = Look { width: context.width, colour: context.colour(arguments.shared.color) };
    let stamp = Stamp { command: context.command_line.clone() };
    let text = present::render(&*outcome.answer, format, &stamp, look)
        .map_err(|present::NoSuchFormat(format)| outcome::no_such_format(format))?;
    writer::answer(text.as_bytes()).map_err(|e| Fault::environment(format!("standard output: {}", e.0)))?;
    Ok(outcome.exit)
}

#[cfg(test)]
mod tests;
