//! One thin file per subcommand: arguments in, a stage's answer out.
//!
//! A command reads its arguments, calls stages, and hands an [`Answer`] back. It neither computes nor prints.

pub mod add;
pub mod amend;
pub mod audit;
pub mod check;
mod class;
mod clock;
pub mod compare;
pub mod context;
mod edit;
mod editor;
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
mod question;
pub mod recheck;
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
use clap::{Parser, Subcommand};
pub use context::Context;

/// The arguments of the program.
#[derive(Debug, Parser)]
#[command(name = "gripbook", version, about, propagate_version = true, arg_required_else_help = true)]
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
    #[arg(long, global = true, value_name = "DIR|demo")]
    pub pack: Vec<String>,
    /// How the answer is written
    #[arg(long, global = true, value_enum, default_value = "text")]
    pub format: Format,
    /// When to colour: auto, always, never (NO_COLOR is honoured)
    #[arg(long, global = true, value_enum, default_value = "auto")]
    pub color: When,
    /// Replace a file that gripbook did not write itself; never one of a pack
    #[arg(long, global = true)]
    pub force: bool,
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

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Does every record say one thing? All faults of all files, with line and column
    Check(check::CheckArgs),
    /// Does this glue suit this material? With every rule, its source, and what is missing
    Suits(Box<suits::SuitsArgs>),
    /// Which thread will hold in this part, how strongly, how it fails, with which hole?
    Fasten(Box<fasten::FastenArgs>),
    /// Which records have these words, this family, these properties?
    Find(find::FindArgs),
    /// What is known of one thing; without an id, which packs are loaded
    Show(show::ShowArgs),
    /// What does a test series say? Mean, spread, bounds, failure modes, and what it cannot say
    Series(Box<series::SeriesArgs>),
    /// Sizes, limits, holes and shear areas of a screw thread
    Thread(thread::ThreadArgs),
    /// The mechanics as a handbook one can call: a formula's card, or its number
    Formula(formula::FormulaArgs),
    /// Do series differ, and by how much? Ratio with its interval first, tests second
    Compare(Box<compare::CompareArgs>),
    /// How many specimens, in which order, with what: plans, labels, results sheets, hole ladders
    Plan(Box<plan::PlanArgs>),
    /// Take in curves, tables, results of a plan, readings of a hole ladder
    #[command(subcommand)]
    Import(Box<import::Import>),
    /// Should I believe it? What is doubtful in records, with what was waived and why
    Audit(audit::AuditArgs),
    /// What does a rule, an audit or a finding mean? With its source and an example
    Why(why::WhyArgs),
    /// A record to be filled in, with every property's unit and meaning
    New(Box<new::NewArgs>),
    /// One claim into a record that exists; its place, units, order and comments stay
    Add(Box<add::AddArgs>),
    /// Record files in one form: units, order of keys, spacing; comments and meaning stay
    Tidy(tidy::TidyArgs),
    /// Where does this number come from? Down to claims, sources and pages; of a claim, a series or a saved sheet
    Trace(trace::TraceArgs),
    /// What used this claim? Claims computed from it, series, saved sheets
    Affected(trace::AffectedArgs),
    /// Correct a claim: the old value is kept, dated, with the reason
    Amend(amend::AmendArgs),
    /// Take a claim or a record out of use, with the reason
    Withdraw(amend::WithdrawArgs),
    /// Does a saved sheet still hold? Its claims first, its numbers second
    Recheck(recheck::RecheckArgs),
    /// What was measured, what was published, where only rules speak, what is worth testing next
    Gaps(gaps::GapsArgs),
    /// All claims, measurements and sources for other programs: CSV, JSON Lines, BibTeX, CSL-JSON
    Export(export::ExportArgs),
    /// Completions and manual pages
    #[command(subcommand, hide = true)]
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
    let context = &Context { force: arguments.shared.force, ..context.clone() };
    save::recover(&places(arguments), context);
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

/// Places a command line names, where an earlier run may have been cut short.
fn places(arguments: &Arguments) -> Vec<std::path::PathBuf> {
    let mut places: Vec<std::path::PathBuf> = arguments.shared.pack.iter().filter(|p| *p != "demo").map(Into::into).collect();
    match &arguments.command {
        Command::Check(args) => places.extend(args.paths.iter().cloned()),
        Command::Tidy(args) => places.extend(args.paths.iter().cloned()),
        Command::Audit(args) => places.extend(args.paths.iter().cloned()),
        Command::New(args) => places.extend(args.into.clone()),
        _ => {}
    }
    places
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
        Command::Add(args) => add::run(args, &arguments.shared, context),
        Command::Tidy(args) => tidy::run(args, &arguments.shared, context),
        Command::Trace(args) => trace::run(args, &arguments.shared, context),
        Command::Affected(args) => trace::affected(args, &arguments.shared, context),
        Command::Amend(args) => amend::run(args, &arguments.shared, context),
        Command::Withdraw(args) => amend::withdraw(args, &arguments.shared, context),
        Command::Recheck(args) => recheck::run(args, &arguments.shared, context),
        Command::Gaps(args) => gaps::run(args, &arguments.shared, context),
        Command::Export(args) => export::run(args, &arguments.shared, context),
        Command::Shell(what) => shell::run(what, context),
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
        .map_err(|present::NoSuchFormat(f)| Fault::usage(format!("this answer has no {} form", f.word())))?;
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
