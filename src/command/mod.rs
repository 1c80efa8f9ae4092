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
mod headings;
pub mod import;
pub mod library;
mod mistakes;
pub mod new;
pub mod plan;
pub mod recheck;
mod refusal;
pub mod save;
pub mod series;
pub mod shell;
pub mod show;
pub mod suits;
pub mod thread;
pub mod tidy;
pub mod trace;
mod waiting;
pub mod why;

use crate::present::{self, Answer, Format, Look, Stamp, writer};
use clap::{Parser, Subcommand};
pub use context::Context;
pub use refusal::refuse;

/// The arguments of the program.
#[derive(Debug, Parser)]
#[command(name = "gripbook", bin_name = "gripbook", version, about, propagate_version = true, arg_required_else_help = true)]
#[command(disable_help_flag = true)]
pub struct Arguments {
    /// Options of every command.
    #[command(flatten)]
    pub shared: Shared,
    /// The command.
    #[command(subcommand)]
    pub command: Command,
}

/// Options of every command.
#[derive(Debug, Clone, clap::Args)]
pub struct Shared {
    /// Add a pack: a folder with pack.yaml, or `demo` for the invented demo pack (repeatable)
    #[arg(long, global = true, value_name = "DIR|demo", help_heading = headings::PACKS)]
    pub pack: Vec<String>,
    /// How the answer is written
    #[arg(long, global = true, value_enum, default_value = "text", help_heading = headings::OUTPUT)]
    pub format: Format,
    /// When to colour: auto, always, never (NO_COLOR is honoured)
    #[arg(long, global = true, value_enum, default_value = "auto", help_heading = headings::OUTPUT)]
    pub color: When,
    /// Read every record file again instead of trusting file sizes and times
    #[arg(long, global = true, help_heading = headings::PACKS)]
    pub rehash: bool,
    /// This help; `gripbook help COMMAND` explains every value too
    #[arg(long, short, global = true, action = clap::ArgAction::HelpShort, help_heading = headings::OUTPUT)]
    pub help: Option<bool>,
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

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Check record files: every mistake, with line, column and remedy
    Check(check::CheckArgs),
    /// Does this glue suit this material? The verdict, with rules, sources and what is missing
    Suits(Box<suits::SuitsArgs>),
    /// Which thread will hold in this part, how strongly, how it fails, with which hole?
    Fasten(Box<fasten::FastenArgs>),
    /// Find records by words, family and properties
    Find(find::FindArgs),
    /// Show what is known about one thing; without an id, which packs are loaded
    Show(show::ShowArgs),
    /// What does a test series say? Mean, spread, bounds, failure modes, and what remains open
    Series(Box<series::SeriesArgs>),
    /// Sizes, limits, holes and shear areas of a screw thread
    Thread(thread::ThreadArgs),
    /// Look up a formula of the mechanics, or compute it
    Formula(formula::FormulaArgs),
    /// Do test series differ, and by how much?
    Compare(Box<compare::CompareArgs>),
    /// Plan a test: how many specimens, in which order; labels, results sheets, hole ladders
    Plan(Box<plan::PlanArgs>),
    /// Import curves, tables, results of a plan, readings of a hole ladder
    #[command(subcommand)]
    Import(Box<import::Import>),
    /// Audit records: what is doubtful in them, what was waived and why
    Audit(audit::AuditArgs),
    /// Explain a rule, an audit or a finding, with its source and an example
    Why(why::WhyArgs),
    /// Make a record to be filled in, with the unit and meaning of every property
    New(new::NewArgs),
    /// Bring record files into one form: units, order of keys, spacing; comments and meaning stay
    Tidy(tidy::TidyArgs),
    /// Where does this number come from? Down to claims, sources and pages
    Trace(trace::TraceArgs),
    /// What used this claim? Computed claims, series, saved sheets
    Affected(trace::AffectedArgs),
    /// Correct a claim; the old value is kept with date and reason
    Amend(amend::AmendArgs),
    /// Take a claim or a record out of use, with the reason
    Withdraw(amend::WithdrawArgs),
    /// Does a saved sheet still hold? Its claims first, then its numbers
    Recheck(recheck::RecheckArgs),
    /// What is worth testing next, and what is measured, published or known by rules only
    Gaps(gaps::GapsArgs),
    /// Export claims, measurements and sources for other programs: CSV, JSON Lines, BibTeX, CSL-JSON
    Export(export::ExportArgs),
    /// Make shell completions and manual pages
    #[command(subcommand)]
    Shell(shell::Shell),
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
        Err(fault) => complain(&fault),
    }
}

/// Tells a fault on standard error; returns its exit code.
fn complain(fault: &Fault) -> u8 {
    writer::notice(&format!("gripbook: {}", fault.message));
    if let Some(help) = &fault.help {
        writer::notice(&format!("  {help}"));
    }
    fault.exit
}

fn answer(arguments: &Arguments, context: &Context) -> Result<Outcome, Fault> {
    match &arguments.command {
        Command::Check(args) => check::run(args, &arguments.shared, context),
        Command::Suits(args) => suits::run(args, &arguments.shared, context),
        Command::Fasten(args) => fasten::run(args, &arguments.shared, context),
        Command::Find(args) => find::run(args, &arguments.shared, context),
        Command::Show(args) => show::run(args, &arguments.shared, context),
        Command::Series(args) => series::run(args, &arguments.shared, context),
        Command::Thread(args) => thread::run(args),
        Command::Formula(args) => formula::run(args),
        Command::Compare(args) => compare::run(args, &arguments.shared, context),
        Command::Plan(args) => plan::run(args, &arguments.shared, context),
        Command::Import(what) => import::run(what, &arguments.shared, context),
        Command::Audit(args) => audit::run(args, &arguments.shared, context),
        Command::Why(args) => why::run(args, &arguments.shared, context),
        Command::New(args) => new::run(args, &arguments.shared, context),
        Command::Tidy(args) => tidy::run(args, &arguments.shared, context),
        Command::Trace(args) => trace::run(args, &arguments.shared, context),
        Command::Affected(args) => trace::affected(args, &arguments.shared, context),
        Command::Amend(args) => amend::run(args, &arguments.shared, context),
        Command::Withdraw(args) => amend::withdraw(args, &arguments.shared, context),
        Command::Recheck(args) => recheck::run(args, &arguments.shared, context),
        Command::Gaps(args) => gaps::run(args, &arguments.shared, context),
        Command::Export(args) => export::run(args, &arguments.shared, context),
        Command::Shell(what) => shell::run(what),
    }
}

/// Whether a command only answers once the options that write files are taken off: running it again changes nothing anywhere.
fn only_answers(command: &Command) -> bool {
    use Command as C;
    matches!(
        command,
        C::Suits(_)
            | C::Find(_)
            | C::Show(_)
            | C::Thread(_)
            | C::Formula(_)
            | C::Compare(_)
            | C::Audit(_)
            | C::Why(_)
            | C::Trace(_)
            | C::Affected(_)
            | C::Series(_)
            | C::Fasten(_)
            | C::Plan(_)
            | C::Gaps(_)
            | C::Export(_)
    )
}

fn write(outcome: &Outcome, arguments: &Arguments, context: &Context) -> Result<u8, Fault> {
    let format = arguments.shared.format;
    let look = Look { width: context.width, colour: context.colour(arguments.shared.color) };
    let stamp = Stamp { command: context.command_line.clone() };
    let text = present::render(&*outcome.answer, format, &stamp, look)
        .map_err(|present::NoSuchFormat(f)| Fault::usage(format!("this answer is not available as {}", f.word())))?;
    writer::answer(text.as_bytes()).map_err(|e| Fault::environment(format!("standard output: {}", e.0)))?;
    Ok(outcome.exit)
}
