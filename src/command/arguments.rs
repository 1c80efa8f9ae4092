//! From typed words to a command that is ready to run. The commands are handed in: `recheck` and `shell` ask here too.

use super::card::{CommandCard, Commands, HelpGroup, Ready};
use super::context::Context;
use super::options::Shared;
use super::outcome::{Fault, Outcome, no_such_format};
use clap::{CommandFactory, FromArgMatches, Parser};
use std::ffi::OsString;

/// The program, without its commands.
#[derive(Parser)]
#[command(name = "gripbook", version, about, propagate_version = true, disable_help_flag = true)]
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
    let bare = Program::command().subcommand_required(true).arg_required_else_help(true);
    commands.iter().fold(bare, |program, card| {
        let command = card.runs.define(clap::Command::new(card.name));
        program.subcommand(command.about(card.about).long_about(None).hide(card.group == HelpGroup::Hidden))
    })
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
    pub fn run(&self, commands: Commands, context: &Context) -> Result<Outcome, Fault> {
        if !self.card.formats.contains(&self.shared.format) {
            return Err(no_such_format(self.shared.format));
        }
        self.ready.run(commands, &self.shared, context)
    }
}
