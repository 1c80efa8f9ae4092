//! From typed words to a command that is ready to run. The commands are handed in: `recheck` and `shell` ask here too.

use super::card::{CommandCard, Commands, HelpGroup, Ready};
use super::context::Context;
use super::options::Shared;
use super::outcome::{CommandOutcome, Fault, no_such_format};
use super::{examples, headings};
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Arg, ArgAction, CommandFactory, FromArgMatches, Parser};
use gripbook::present::Format;
use gripbook::present::brief::COLUMNS;
use gripbook::present::fold::fold;
use std::ffi::{OsStr, OsString};

/// The program, without its commands.
#[derive(Parser)]
#[command(name = "gripbook", bin_name = "gripbook", version, about, disable_help_flag = true)]
struct Program {
    #[command(flatten)]
    shared: Shared,
}

/// What was typed.
pub struct Arguments {
    /// Options of every command.
    pub shared: Shared,
    /// The command.
    pub card: &'static CommandCard,
    /// It with its arguments, ready to run.
    pub ready: Box<dyn Ready>,
}

/// The parser of the program: what help, completions and manual pages are made from.
pub fn program(commands: Commands) -> clap::Command {
    let bare = Program::command().subcommand_required(true).arg_required_else_help(true).help_template(overview(commands));
    commands.iter().fold(bare, |program, card| {
        let mut command = card.runs.define(clap::Command::new(card.name)).arg(format_of(card));
        if card.effect.only_answers() && card.outputs.is_empty() {
            command = command.arg(no_force());
        }
        program.subcommand(ordered(command.about(card.about).long_about(None)))
    })
}

/// The help tells first what is typed without a dash, then the options in the order they are written in, those of every
/// command last; examples are laid out.
fn ordered(command: clap::Command) -> clap::Command {
    const OPTIONS: usize = 100;
    let (mut words, mut options) = (0, OPTIONS);
    let place = |arg: Arg| {
        let count = if arg.is_positional() { &mut words } else { &mut options };
        *count += 1;
        arg.display_order(*count)
    };
    let command = command.mut_args(place).mut_subcommands(ordered);
    // `gripbook help COMMAND` tells of a command below another one too.
    let has_commands = command.has_subcommands();
    let command = command.disable_help_subcommand(has_commands);
    match command.get_after_help().map(|help| examples::laid_out(&help.to_string())) {
        Some(help) => command.after_help(help),
        None => command,
    }
}

/// The option `--force` of a command that writes no file: it is taken, and not told.
fn no_force() -> Arg {
    Arg::new("force").long("force").global(true).hide(true).action(ArgAction::SetTrue)
}

/// The option `--format` of a command: only the formats it has are offered.
fn format_of(card: &CommandCard) -> Arg {
    let words: Vec<&str> = card.formats.iter().map(|format| format.word()).collect();
    Arg::new("format")
        .long("format")
        .value_name("FORMAT")
        .help(format!("How the answer is written: {}", words.join(", ")))
        .help_heading(headings::OUTPUT)
        .default_value("text")
        .hide_possible_values(true)
        .global(true)
        .value_parser(Offered(card.formats))
}

/// Reads a format of those that a command has.
#[derive(Clone)]
struct Offered(&'static [Format]);

impl TypedValueParser for Offered {
    type Value = Format;
    fn parse_ref(&self, command: &clap::Command, arg: Option<&Arg>, value: &OsStr) -> Result<Format, clap::Error> {
        // The words that may stand here are checked first, so that the refusal names them and no others.
        let words: Vec<&'static str> = self.0.iter().map(|format| format.word()).collect();
        let word = PossibleValuesParser::new(words).parse_ref(command, arg, value)?;
        let format = self.0.iter().find(|format| format.word() == word);
        format.copied().ok_or_else(|| clap::Error::new(clap::error::ErrorKind::InvalidValue))
    }
    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(self.0.iter().map(|format| PossibleValue::new(format.word()))))
    }
}

/// The help of the program: its commands under their headings.
fn overview(commands: Commands) -> String {
    let widest = commands.iter().map(|card| card.name.len()).max().unwrap_or(0);
    let mut list = String::new();
    for group in HelpGroup::ALL {
        list.push_str(&format!("{}:\n", group.title()));
        for card in commands.iter().filter(|card| card.group == group) {
            let first = format!("  {:widest$}  ", card.name);
            list.push_str(&fold(card.about, &first, &" ".repeat(first.len()), COLUMNS));
            list.push('\n');
        }
        list.push('\n');
    }
    let more = "`gripbook COMMAND --help` shows the options of a command, with examples.";
    format!("{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{list}Options:\n{{options}}\n\n{more}\n")
}

impl Arguments {
    /// Reads the words of a command line, the program's name first.
    ///
    /// # Errors
    /// What is wrong with them; also the help and the version, which are written instead of an answer.
    pub fn read(commands: Commands, words: impl IntoIterator<Item = impl Into<OsString> + Clone>) -> Result<Self, clap::Error> {
        let mut parser = program(commands);
        let matches = parser.try_get_matches_from_mut(words)?;
        let read = || {
            let (name, inner) =
                matches.subcommand().ok_or_else(|| clap::Error::new(clap::error::ErrorKind::MissingSubcommand))?;
            let card = commands.iter().find(|card| card.name == name);
            let card = *card.ok_or_else(|| clap::Error::new(clap::error::ErrorKind::InvalidSubcommand))?;
            Ok(Arguments { shared: Program::from_arg_matches(&matches)?.shared, card, ready: card.runs.read(inner)? })
        };
        read().map_err(|fault: clap::Error| fault.format(&mut parser))
    }
    /// Runs the command.
    ///
    /// # Errors
    /// As the command; a format it does not have, before it runs: a command that writes shall not find out afterwards that it
    /// cannot say what it wrote.
    pub fn run(&self, commands: Commands, context: &Context) -> Result<CommandOutcome, Fault> {
        if !self.card.formats.contains(&self.shared.format) {
            return Err(no_such_format(self.shared.format));
        }
        self.ready.run(commands, &self.shared, context)
    }
}
