//! Tables: text for people, CSV (RFC 4180) and JSON Lines for programs.

use super::safe;
use serde_json::{Map, Value, json};

/// A cell: text, or a number that machine formats leave as it is.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text.
    Text(String),
    /// A number.
    Number(f64),
    /// Nothing.
    Empty,
}

impl From<&str> for Cell {
    fn from(s: &str) -> Self {
        Cell::Text(s.into())
    }
}
impl From<String> for Cell {
    fn from(s: String) -> Self {
        Cell::Text(s)
    }
}
impl From<f64> for Cell {
    fn from(x: f64) -> Self {
        Cell::Number(x)
    }
}
impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(o: Option<T>) -> Self {
        o.map_or(Cell::Empty, Into::into)
    }
}

impl Cell {
    /// The text of a person's table.
    pub fn shown(&self) -> String {
        match self {
            Cell::Text(t) => safe::line(t).into_owned(),
            Cell::Number(x) => x.to_string(),
            Cell::Empty => String::new(),
        }
    }
    fn csv(&self) -> String {
        match self {
            Cell::Number(x) => x.to_string(),
            Cell::Empty => String::new(),
            Cell::Text(t) => quoted(&guarded(t)),
        }
    }
    fn json(&self) -> Value {
        match self {
            Cell::Text(t) => json!(t),
            Cell::Number(x) => json!(x),
            Cell::Empty => Value::Null,
        }
    }
}

/// A text cell that a spreadsheet would run as a formula gets a leading quote mark; spaces before the sign may be dropped on
/// the way in.
fn guarded(text: &str) -> String {
    let first = text.trim_start_matches([' ', '\n', '\u{A0}', '\u{FEFF}', '\u{200B}']);
    let risky = first.starts_with(['=', '+', '-', '@', '\t', '\r', '\u{FF1D}', '\u{FF0B}', '\u{FF0D}', '\u{FF20}']);
    if risky { format!("'{text}") } else { text.to_string() }
}

/// Quoted where RFC 4180 asks for it, and where a program that separates by semicolons or tabs would find a new cell.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r', ';', '\t']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_string() }
}

/// A table: columns with titles, rows of cells.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    /// Column titles (snake case, so that they serve machines too).
    pub columns: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table with these columns and no rows.
    pub fn new(columns: &[&str]) -> Self {
        Table { columns: columns.iter().map(|c| (*c).to_string()).collect(), rows: Vec::new() }
    }
    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) -> &mut Self {
        self.rows.push(cells);
        self
    }
    /// RFC 4180 with header, LF line ends, UTF-8 without BOM.
    pub fn csv(&self) -> String {
        let head = self.columns.iter().map(|c| quoted(&guarded(c))).collect::<Vec<_>>().join(",");
        let rows = self.rows.iter().map(|r| r.iter().map(Cell::csv).collect::<Vec<_>>().join(","));
        std::iter::once(head).chain(rows).map(|l| l + "\n").collect()
    }
    /// One object per row, a summary line last so that a cut stream shows.
    pub fn json_lines(&self, schema: &str) -> String {
        let line = |row: &Vec<Cell>| {
            let fields: Map<String, Value> = self.columns.iter().cloned().zip(row.iter().map(Cell::json)).collect();
            format!("{}\n", Value::Object(fields))
        };
        let mut text: String = self.rows.iter().map(line).collect();
        text.push_str(&format!("{}\n", json!({"schema": schema, "summary": {"rows": self.rows.len()}})));
        text
    }
    /// A Markdown table.
    pub fn markdown(&self) -> String {
        let cell = |s: &str| s.replace('|', "\\|").replace('\n', " ");
        let head: Vec<String> = self.columns.iter().map(|c| cell(&c.replace('_', " "))).collect();
        let mut out = format!("| {} |\n|{}\n", head.join(" | "), " --- |".repeat(head.len()));
        for row in &self.rows {
            let cells: Vec<String> = row.iter().map(|c| cell(&super::safe::escape_markdown(&c.shown()))).collect();
            out.push_str(&format!("| {} |\n", cells.join(" | ")));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_disarmed_and_numbers_left_alone() {
        let mut t = Table::new(&["text", "number"]);
        for bad in ["=1+1", "+1", "-2+3", "@SUM(A1)", "\tx", "＝1", " =1+1", "\u{FEFF}=1", "a;=1+1"] {
            t.row(vec![bad.into(), Cell::Number(-2.5)]);
        }
        for line in t.csv().lines().skip(1) {
            let is_kept_whole = line.starts_with('\'') || line.starts_with("\"'") || line == "\"a;=1+1\",-2.5";
            assert!(is_kept_whole && line.ends_with(",-2.5"), "{line}");
        }
        assert_eq!(Table::new(&["=x", "b"]).csv(), "'=x,b\n");
    }

    #[test]
    fn csv_quotes_by_rfc_4180() {
        let mut t = Table::new(&["a", "b"]);
        t.row(vec!["x,\"y\"".into(), "two\nlines".into()]);
        assert_eq!(t.csv(), "a,b\n\"x,\"\"y\"\"\",\"two\nlines\"\n");
    }
}
