//! One thin file per subcommand: arguments in, a stage's answer out.
//!
//! A command reads its arguments, calls stages, and hands an [`Answer`] back. It neither computes nor prints.

pub mod amend;
pub mod audit;
pub mod check;
mod class;
mod clock;
pub mod compare;
pub mod context;
mod edit;
pub mod export;
pub mod fasten;
pub mod find;
pub mod formula;
pub mod gaps;
pub mod import;
pub mod library;
mod mistakes;
pub mod new;
pub mod plan;
pub mod recheck;
pub mod registry;
pub mod save;
pub mod series;
pub mod shell;
pub mod show;
pub mod suits;
pub mod thread;
pub mod tidy;
pub mod trace;
pub mod why;

use crate::present::{self, Answer, Format, Look, Stamp, writer};
use clap::Parser;
pub use context::Context;
use registry::Chosen;

/// The arguments of the program.
#[derive(Parser)]
#[command(name = "gripbook", version, about, propagate_version = true, arg_required_else_help = true)]
pub struct Arguments {
    /// Options of every command.
    #[command(flatten)]
    pub shared: Shared,
    /// The command.
    #[command(subcommand)]
    pub chosen: Chosen,
}

/// Options of every command.
#[derive(Debug, Clone, clap::Args)]
pub struct Shared {
    /// Add a pack: a folder with pack.yaml, or `demo` for the invented demo pack (repeatable)
    #[arg(long, global = true, value_name = "DIR|demo")]
    pub pack: Vec<String>,
    /// How the answer is written
    #[arg(long, global = true, value_enum, default_value = "text")]
    pub format: Format,
    /// When to colour: auto, always, never (NO_COLOR is honoured)
    #[arg(long, global = true, value_enum, default_value = "auto")]
    pub color: When,
    /// Read every record file again instead of trusting sizes and times
    #[arg(long, global = true)]
    pub rehash: bool,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum When {
    /// On a terminal.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What a command found, and whether the answer is no.
pub struct Outcome {
    /// The answer.
    pub answer: Box<dyn Answer>,
    /// Exit code: 0 done, 1 the answer is no, 3 some data could not be loaded.
    pub exit: u8,
}

/// A command could not do its work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Exit code: 2 usage, 3 data, 4 environment, 5 plugin.
    pub exit: u8,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: Option<String>,
}

impl Fault {
    /// Wrong use of the command.
    pub fn usage(message: impl Into<String>) -> Self {
        Fault { exit: 2, message: message.into(), help: None }
    }
    /// Data could not be loaded.
    pub fn data(message: impl Into<String>) -> Self {
        Fault { exit: 3, message: message.into(), help: None }
    }
    /// The surroundings do not allow it: disk full, permission, closed output.
    pub fn environment(message: impl Into<String>) -> Self {
        Fault { exit: 4, message: message.into(), help: None }
    }
    /// The same fault with advice.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Runs the command and writes its answer; returns the exit code.
pub fn run(arguments: &Arguments, context: &Context) -> u8 {
    match answer(arguments, context).and_then(|outcome| write(&outcome, arguments, context)) {
        Ok(exit) => exit,
        Err(fault) => {
            writer::notice(&format!("gripbook: {}", fault.message));
            if let Some(help) = &fault.help {
                writer::notice(&format!("  {help}"));
            }
            fault.exit
        }
    }
}

fn answer(arguments: &Arguments, context: &Context) -> Result<Outcome, Fault> {
    let Chosen { card, ready } = &arguments.chosen;
    // Before it runs: a command that writes shall not find out afterwards that it cannot say what it wrote.
    if !card.formats.contains(&arguments.shared.format) {
        return Err(no_such_format(arguments.shared.format));
    }
    ready.run(&arguments.shared, context)
}

fn no_such_format(format: Format) -> Fault {
    Fault::usage(format!("this answer has no {} form", format.word()))
}

fn write(outcome: &Outcome, arguments: &Arguments, context: &Context) -> Result<u8, Fault> {
    let format = arguments.shared.format;
    let look = Look { width: context.width, colour: context.colour(arguments.shared.color) };
    let stamp = Stamp { command: context.command_line.clone() };
    let text = present::render(&*outcome.answer, format, &stamp, look)
        .map_err(|present::NoSuchFormat(format)| no_such_format(format))?;
    writer::answer(text.as_bytes()).map_err(|e| Fault::environment(format!("standard output: {}", e.0)))?;
    Ok(outcome.exit)
}

/// Writes help and version to standard output, usage faults to standard error; returns the exit code.
pub fn refuse(refusal: &clap::Error) -> u8 {
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
