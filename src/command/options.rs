//! Options of every command.

use super::headings;
use gripbook::present::Format;

/// Options of every command.
#[derive(Debug, Clone, clap::Args)]
pub struct Shared {
    /// Add a pack: a folder with pack.yaml, or `demo` for the invented demo pack (repeatable)
    #[arg(display_order = 1001, long, global = true, value_name = "DIR|demo", help_heading = headings::PACKS)]
    pub pack: Vec<String>,
    /// How the answer is written: text, json, jsonl, csv, markdown, github, sarif, as far as the command has them
    #[arg(display_order = 1002, long, global = true, value_enum, default_value = "text", hide_possible_values = true, help_heading = headings::OUTPUT)]
    pub format: Format,
    /// When to colour: auto, always, never (NO_COLOR is honoured)
    #[arg(display_order = 1003, long, global = true, value_enum, default_value = "auto", hide_possible_values = true, help_heading = headings::OUTPUT)]
    pub color: When,
    /// Replace a file that gripbook did not write itself; never one of a pack
    #[arg(display_order = 1004, long, global = true, help_heading = headings::OUTPUT)]
    pub force: bool,
    /// Read every record file again instead of trusting file sizes and times
    #[arg(display_order = 1005, long, global = true, help_heading = headings::PACKS)]
    pub rehash: bool,
    /// This help; `gripbook help COMMAND` explains every value too
    #[arg(display_order = 1006, long, short, global = true, action = clap::ArgAction::HelpShort, help_heading = headings::OUTPUT)]
    pub help: Option<bool>,
}

impl Shared {
    /// Whether the whole page is written: where it is asked for, and in every form but text.
    pub fn is_whole(&self, full: bool) -> bool {
        full || self.format != Format::Text
    }
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
