//! From an answer to bytes.
//!
//! Every answer implements one trait; the formats are made from it here, so no command knows a format.
//! The one writer stands in [`writer`]; nothing else in the program prints.

pub mod blocks;
pub mod brief;
pub mod drawing;
pub mod findings;
pub mod fold;
mod grid;
pub mod html;
mod look;
pub mod page;
pub mod safe;
pub mod sarif;
pub mod sheet;
pub mod stl;
pub mod svg;
pub mod table;
pub mod text;
pub mod tone;
pub mod writer;

pub use look::Look;
pub use page::{Block, Page, counted, more, plural};
pub use sheet::{Opened, Sheet};
pub use table::Table;

use serde_json::{Map, Value, json};

/// How an answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "commands", derive(clap::ValueEnum))]
pub enum Format {
    /// A page for people.
    Text,
    /// One JSON document.
    Json,
    /// One JSON value per line, a summary line last.
    Jsonl,
    /// The table of the answer as CSV (RFC 4180).
    Csv,
    /// The page as Markdown.
    Markdown,
    /// Annotations for pull requests.
    Github,
    /// SARIF 2.1.0.
    Sarif,
}

impl Format {
    /// The word of the option.
    pub fn word(self) -> &'static str {
        match self {
            Format::Text => "text",
            Format::Json => "json",
            Format::Jsonl => "jsonl",
            Format::Csv => "csv",
            Format::Markdown => "markdown",
            Format::Github => "github",
            Format::Sarif => "sarif",
        }
    }
}

/// What a command found out, independent of how it is written.
pub trait Answer {
    /// Schema tag, e.g. `gripbook/suits/1`.
    fn schema(&self) -> &'static str;
    /// The fields of the JSON document after those that every document has.
    fn json(&self) -> Value;
    /// The page for people: what they read first.
    fn page(&self) -> Page;
    /// The first screen of so many columns, where the page for a terminal is a short one; every other form is always whole.
    fn brief(&self, _width: usize) -> Option<Page> {
        None
    }
    /// The table for CSV and JSON Lines, when the answer is one.
    fn table(&self) -> Option<Table> {
        None
    }
    /// Formats an answer writes itself (github, sarif); `None` where the shared ones serve.
    fn special(&self, _format: Format) -> Option<String> {
        None
    }
}

/// What every sheet carries: the command it came from.
#[derive(Debug, Clone, Default)]
pub struct Stamp {
    /// The command line, quoted for a shell.
    pub command: String,
}

/// The answer does not come in that format.
#[derive(Debug)]
pub struct NoSuchFormat(pub Format);

/// Writes an answer in a format.
pub fn render(answer: &dyn Answer, format: Format, stamp: &Stamp, look: Look) -> Result<String, NoSuchFormat> {
    if let Some(own) = answer.special(format) {
        return Ok(own);
    }
    match format {
        Format::Text => Ok(text::page(&answer.brief(look.width.max(brief::COLUMNS)).unwrap_or_else(|| answer.page()), look)),
        Format::Markdown => Ok(text::markdown(&answer.page())),
        Format::Json => Ok(document(answer, stamp)),
        Format::Csv => answer.table().map(|t| t.csv()).ok_or(NoSuchFormat(format)),
        Format::Jsonl => answer.table().map(|t| t.json_lines(answer.schema())).ok_or(NoSuchFormat(format)),
        Format::Github | Format::Sarif => Err(NoSuchFormat(format)),
    }
}

/// Number of the contract of JSON documents: fields may be added under the same number, never renamed or taken away.
pub const CONTRACT: u32 = 1;

/// The JSON document of an answer: schema, contract, tool, version, command, then its fields.
pub fn document(answer: &dyn Answer, stamp: &Stamp) -> String {
    let mut all = Map::new();
    all.insert("schema".into(), json!(answer.schema()));
    all.insert("contract".into(), json!(CONTRACT));
    all.insert("tool".into(), json!("gripbook"));
    all.insert("version".into(), json!(env!("CARGO_PKG_VERSION")));
    all.insert("command".into(), json!(stamp.command));
    match answer.json() {
        Value::Object(fields) => all.extend(fields),
        other => {
            all.insert("result".into(), other);
        }
    }
    let mut text = serde_json::to_string_pretty(&Value::Object(all)).unwrap_or_default();
    text.push('\n');
    text
}
