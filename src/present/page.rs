//! A page for people: headings, lines, fields, tables.

use super::Table;
use crate::finding::Severity;

/// One part of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The first line: what the answer is, in one sentence.
    Title(String),
    /// A section heading.
    Heading(String),
    /// A paragraph, wrapped; `indent` counts steps of two spaces.
    Line {
        /// Steps of two spaces.
        indent: usize,
        /// The text.
        text: String,
    },
    /// An item of a list, wrapped behind its dash.
    Item {
        /// Steps of two spaces.
        indent: usize,
        /// The text.
        text: String,
    },
    /// Label and text, aligned with the other fields of the run.
    Field {
        /// Steps of two spaces.
        indent: usize,
        /// The label.
        label: String,
        /// The text.
        text: String,
    },
    /// A table.
    Table(Table),
    /// The first line of a finding.
    Spot {
        /// File, line and column; empty where there is none.
        place: String,
        /// How much it matters.
        severity: Severity,
        /// Name of the rule.
        rule: String,
    },
    /// Text that keeps its lines (an excerpt, a file).
    Verbatim(String),
    /// An empty line.
    Blank,
}

/// A page.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Page {
    /// Its parts in order.
    pub blocks: Vec<Block>,
}

impl Page {
    /// An empty page with a title line.
    pub fn titled(title: impl Into<String>) -> Self {
        Page { blocks: vec![Block::Title(title.into())] }
    }
    /// Adds a heading, with an empty line before it.
    pub fn heading(&mut self, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Blank);
        self.blocks.push(Block::Heading(text.into()));
        self
    }
    /// Adds a paragraph.
    pub fn line(&mut self, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Line { indent: 0, text: text.into() });
        self
    }
    /// Adds an indented paragraph.
    pub fn sub(&mut self, indent: usize, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Line { indent, text: text.into() });
        self
    }
    /// Adds a list item.
    pub fn item(&mut self, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Item { indent: 0, text: text.into() });
        self
    }
    /// Adds an item of an inner list.
    pub fn subitem(&mut self, indent: usize, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Item { indent, text: text.into() });
        self
    }
    /// Adds a labelled field.
    pub fn field(&mut self, label: impl Into<String>, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Field { indent: 0, label: label.into(), text: text.into() });
        self
    }
    /// Adds a labelled field, set in.
    pub fn subfield(&mut self, indent: usize, label: impl Into<String>, text: impl Into<String>) -> &mut Self {
        self.blocks.push(Block::Field { indent, label: label.into(), text: text.into() });
        self
    }
    /// Adds a table.
    pub fn table(&mut self, table: Table) -> &mut Self {
        self.blocks.push(Block::Table(table));
        self
    }
    /// Adds an empty line.
    pub fn blank(&mut self) -> &mut Self {
        self.blocks.push(Block::Blank);
        self
    }
}
/// A number of things: `1 file`, `3 files`.
pub fn counted(n: usize, thing: &str) -> String {
    if n == 1 { format!("1 {thing}") } else { format!("{n} {}", plural(thing)) }
}

/// What is left of a list: `1 more test`, `3 more tests`.
pub fn more(n: usize, thing: &str) -> String {
    if n == 1 { format!("1 more {thing}") } else { format!("{n} more {}", plural(thing)) }
}

/// The plural of a noun: `series`, `searches`, `processes`, `resins`.
pub fn plural(thing: &str) -> String {
    match thing {
        "series" => thing.to_owned(),
        _ if ["s", "sh", "ch", "x"].iter().any(|end| thing.ends_with(end)) => format!("{thing}es"),
        _ => format!("{thing}s"),
    }
}
