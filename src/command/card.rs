//! The contract of a command: what it says of itself, and what runs it. What depends on which commands there are reads their
//! cards: the help, which formats are refused, what `recheck` may run again.

use super::context::Context;
use super::options::Shared;
use super::outcome::{CommandOutcome, Fault};
use clap::{ArgMatches, Args};
use gripbook::present::Format;

/// A command.
pub struct CommandCard {
    /// What is typed.
    pub name: &'static str,
    /// The question it answers, or what it does: a line of the help.
    pub about: &'static str,
    /// Where it stands in the help.
    pub group: HelpGroup,
    /// The formats that one of its answers has at least.
    pub formats: &'static [Format],
    /// What running it does.
    pub effect: Effect,
    /// Options that name a file or folder the answer is also written to.
    pub outputs: &'static [&'static str],
    /// Its arguments and what runs them.
    pub runs: &'static dyn Runs,
}

/// A heading of the help over commands; the order of the words is the order of the headings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HelpGroup {
    /// What holds, with which hole.
    Joints,
    /// What is known, and who says so.
    Book,
    /// What was measured, and what to measure.
    Measurements,
    /// Records are made, judged and mended.
    Contributions,
    /// The program on this machine.
    Program,
}

impl HelpGroup {
    /// The groups in their order.
    pub const ALL: [HelpGroup; 5] = [Self::Joints, Self::Book, Self::Measurements, Self::Contributions, Self::Program];
    /// The heading.
    pub fn title(self) -> &'static str {
        match self {
            HelpGroup::Joints => "Joints and glues",
            HelpGroup::Book => "What is known",
            HelpGroup::Measurements => "Tests and measurements",
            HelpGroup::Contributions => "Records and contributions",
            HelpGroup::Program => "The program",
        }
    }
}

/// What running a command does, beside its answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// Nothing, once its [`CommandCard::outputs`] are taken off: it may be run again at any time, and a page has it.
    Answers,
    /// As [`Effect::Answers`], but it looks at files of a folder, which a page has not.
    Inspects,
    /// It runs a command that somebody saved.
    Repeats,
    /// It makes or changes files.
    Writes,
}

impl Effect {
    /// Whether it may be run again at any time.
    pub fn only_answers(self) -> bool {
        matches!(self, Effect::Answers | Effect::Inspects)
    }
}

/// A page, JSON or Markdown: what every answer has.
pub const PAGE: &[Format] = &[Format::Text, Format::Json, Format::Markdown];
/// As [`PAGE`], and a table.
pub const TABLE: &[Format] = &[Format::Text, Format::Json, Format::Markdown, Format::Csv, Format::Jsonl];
/// As [`TABLE`], and the forms in which findings stand beside the lines of a change.
pub const FINDINGS: &[Format] =
    &[Format::Text, Format::Json, Format::Markdown, Format::Csv, Format::Jsonl, Format::Github, Format::Sarif];

/// The commands there are, in the order of the help.
pub type Commands = &'static [&'static CommandCard];

/// The function that runs a command, as [`CommandCard::runs`] holds it: `&Run(run)`.
pub struct Run<A>(pub fn(&A, &Shared, &Context) -> Result<CommandOutcome, Fault>);

/// As [`Run`], for a command that speaks of the others: `&RunAmong(run)`.
pub struct RunAmong<A>(pub fn(&A, Commands, &Shared, &Context) -> Result<CommandOutcome, Fault>);

/// Arguments of some type with the function that takes them.
pub trait Runs: Sync {
    /// Adds the arguments to the parser's command.
    fn define(&self, command: clap::Command) -> clap::Command;
    /// Reads the arguments.
    ///
    /// # Errors
    /// What the parser finds wrong with them.
    fn read(&self, matches: &ArgMatches) -> Result<Box<dyn Ready>, clap::Error>;
}

/// A command with its arguments.
pub trait Ready {
    /// Runs it.
    ///
    /// # Errors
    /// As the command.
    fn run(&self, commands: Commands, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault>;
}

struct Typed<A, F> {
    arguments: A,
    run: F,
}

impl<A> Ready for Typed<A, fn(&A, &Shared, &Context) -> Result<CommandOutcome, Fault>> {
    fn run(&self, _: Commands, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
        (self.run)(&self.arguments, shared, context)
    }
}

impl<A> Ready for Typed<A, fn(&A, Commands, &Shared, &Context) -> Result<CommandOutcome, Fault>> {
    fn run(&self, commands: Commands, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
        (self.run)(&self.arguments, commands, shared, context)
    }
}

impl<A: Args + 'static> Runs for Run<A> {
    fn define(&self, command: clap::Command) -> clap::Command {
        A::augment_args(command)
    }
    fn read(&self, matches: &ArgMatches) -> Result<Box<dyn Ready>, clap::Error> {
        Ok(Box::new(Typed { arguments: A::from_arg_matches(matches)?, run: self.0 }))
    }
}

impl<A: Args + 'static> Runs for RunAmong<A> {
    fn define(&self, command: clap::Command) -> clap::Command {
        A::augment_args(command)
    }
    fn read(&self, matches: &ArgMatches) -> Result<Box<dyn Ready>, clap::Error> {
        Ok(Box::new(Typed { arguments: A::from_arg_matches(matches)?, run: self.0 }))
    }
}
