//! Completions and manual pages, generated from the argument parser.

use super::arguments::program;
use super::card::{CommandCard, Commands, Effect, HelpGroup, PAGE, RunAmong};
use super::{CommandOutcome, Context, Fault, Shared, save};
use clap::{Command, Subcommand};
use gripbook::present::{Answer, Format, Page};
use std::path::{Path, PathBuf};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "shell",
    about: "Make shell completions and manual pages",
    group: HelpGroup::Program,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &RunAmong(run),
};

/// Arguments of `shell`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook shell completions bash
  gripbook shell man --dir man1")]
pub struct ShellArgs {
    /// What to generate.
    #[command(subcommand)]
    pub what: Shell,
}

/// What to generate.
#[derive(Debug, Subcommand)]
pub enum Shell {
    /// Completions for a shell, on standard output
    #[command(after_help = "Examples:
  gripbook shell completions bash
  gripbook shell completions zsh")]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Manual pages, one file per command
    #[command(after_help = "Examples:
  gripbook shell man --dir man1")]
    Man {
        /// Folder to write them to
        #[arg(long)]
        dir: PathBuf,
    },
}

struct Script(String);

impl Answer for Script {
    fn schema(&self) -> &'static str {
        "gripbook/shell/1"
    }
    fn json(&self) -> serde_json::Value {
        serde_json::json!({ "text": self.0 })
    }
    fn page(&self) -> Page {
        Page::titled(self.0.clone())
    }
    fn special(&self, format: Format) -> Option<String> {
        (format == Format::Text).then(|| self.0.clone())
    }
}

/// Runs the command.
pub fn run(args: &ShellArgs, commands: Commands, _: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let text = match &args.what {
        Shell::Completions { shell } => {
            let mut bytes = Vec::new();
            clap_complete::generate(*shell, &mut program(commands), "gripbook", &mut bytes);
            String::from_utf8_lossy(&bytes).into_owned()
        }
        Shell::Man { dir } => {
            let mut program = program(commands).disable_help_subcommand(true);
            program.build();
            let mut files = save::Batch::default();
            add_page(&program, dir, &mut files)?;
            files.commit(context)?;
            format!("manual pages written to {}\n", dir.display())
        }
    };
    Ok(CommandOutcome { answer: Box::new(Script(text)), exit: 0 })
}

/// Adds the page of a command and those of the commands below it.
fn add_page(command: &Command, dir: &Path, files: &mut save::Batch) -> Result<(), Fault> {
    let page = clap_mangen::Man::new(command.clone());
    let path = dir.join(page.get_filename());
    let mut bytes = Vec::new();
    page.render(&mut bytes).map_err(|e| Fault::environment(format!("{}: {e}", path.display())))?;
    files.output(&path, bytes);
    command.get_subcommands().filter(|below| !below.is_hide_set()).try_for_each(|below| add_page(below, dir, files))
}
