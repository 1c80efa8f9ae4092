//! What a command says of itself, and the list of them. Everything that depends on which commands there are reads it here:
//! the help, which formats are refused, what `recheck` may run again.

use super::{Context, Fault, Outcome, Shared};
use crate::present::Format;
use clap::{ArgMatches, Args, FromArgMatches};

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
    /// For the shell; not listed.
    Hidden,
}

/// What running a command does, beside its answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// Nothing, once its [`CommandCard::outputs`] are taken off: it may be run again at any time.
    Answers,
    /// It runs a command that somebody saved.
    Repeats,
    /// It makes or changes files.
    Writes,
}

/// A page, JSON or Markdown: what every answer has.
pub const PAGE: &[Format] = &[Format::Text, Format::Json, Format::Markdown];
/// As [`PAGE`], and a table.
pub const TABLE: &[Format] = &[Format::Text, Format::Json, Format::Markdown, Format::Csv, Format::Jsonl];

/// The commands in the order of the help.
pub const ALL: &[&CommandCard] = &[
    &super::check::CARD,
    &super::suits::CARD,
    &super::fasten::CARD,
    &super::find::CARD,
    &super::show::CARD,
    &super::series::CARD,
    &super::thread::CARD,
    &super::formula::CARD,
    &super::compare::CARD,
    &super::plan::CARD,
    &super::import::CARD,
    &super::audit::CARD,
    &super::why::CARD,
    &super::new::CARD,
    &super::tidy::CARD,
    &super::trace::CARD,
    &super::trace::AFFECTED,
    &super::amend::CARD,
    &super::amend::WITHDRAW,
    &super::recheck::CARD,
    &super::gaps::CARD,
    &super::export::CARD,
    &super::shell::CARD,
];

/// The function that runs a command, as [`CommandCard::runs`] holds it: `&Run(run)`.
pub struct Run<A>(pub fn(&A, &Shared, &Context) -> Result<Outcome, Fault>);

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
    fn run(&self, shared: &Shared, context: &Context) -> Result<Outcome, Fault>;
}

struct Typed<A> {
    arguments: A,
    run: fn(&A, &Shared, &Context) -> Result<Outcome, Fault>,
}

impl<A> Ready for Typed<A> {
    fn run(&self, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
        (self.run)(&self.arguments, shared, context)
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

/// What was typed: which command, and its arguments.
pub struct Chosen {
    /// The command.
    pub card: &'static CommandCard,
    /// It, ready to run.
    pub ready: Box<dyn Ready>,
}

impl FromArgMatches for Chosen {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let typed = matches.subcommand().and_then(|(name, inner)| Some((*ALL.iter().find(|c| c.name == name)?, inner)));
        let (card, inner) = typed.ok_or_else(|| clap::Error::new(clap::error::ErrorKind::MissingSubcommand))?;
        Ok(Chosen { card, ready: card.runs.read(inner)? })
    }
    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl clap::Subcommand for Chosen {
    fn augment_subcommands(program: clap::Command) -> clap::Command {
        ALL.iter().fold(program, |program, card| {
            let command = card.runs.define(clap::Command::new(card.name));
            program.subcommand(command.about(card.about).long_about(None).hide(card.group == HelpGroup::Hidden))
        })
    }
    fn augment_subcommands_for_update(program: clap::Command) -> clap::Command {
        Self::augment_subcommands(program)
    }
    fn has_subcommand(name: &str) -> bool {
        ALL.iter().any(|card| card.name == name)
    }
}
