//! The documents of the contract, and how an answer is read: bounded, closed, and never believed.

use super::fault::SandboxFault;
use super::limits;
use super::module::{Bytes, Operation, Session};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// What a module says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AboutAnswer {
    /// Its name.
    pub name: String,
    /// `importer` or `audit`.
    pub does: String,
}

/// What the user says about a file, for an importer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BeginInput<'a> {
    /// Name of the file.
    pub file: &'a str,
    /// Unit of the load, where it was said.
    pub load_unit: Option<&'a str>,
    /// Unit of the travel, where it was said.
    pub travel_unit: Option<&'a str>,
    /// Speed of the crosshead in mm/s.
    pub speed: Option<f64>,
    /// The cell counts pulling as negative.
    pub reversed: bool,
    /// Load of the unloaded cell, N.
    pub zero: f64,
}

/// The next bytes of the file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakeInput {
    /// Where they lie.
    pub bytes: Bytes,
    /// Whether the file ends behind them.
    pub last: bool,
}

/// What was read of the bytes so far.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TakeAnswer {
    /// Samples, 24 bytes each, least byte first: travel in mm and load in N as binary64, line or number as an integer.
    pub samples: Option<Bytes>,
    /// Rows of a table.
    pub rows: Vec<RowSaid>,
    /// What is odd; one of severity `error` ends the reading.
    pub findings: Vec<FileFinding>,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RowSaid {
    /// Its line.
    pub line: u64,
    /// Cells by heading.
    pub cells: BTreeMap<String, String>,
}

/// How the file was understood.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct EndAnswer {
    /// The last samples and rows, and what is odd.
    pub rest: TakeAnswer,
    /// Unit of the loads in the file.
    pub load_unit: Option<String>,
    /// In words, one fact each.
    pub facts: Vec<String>,
    /// Comments of a table.
    pub comments: Vec<String>,
}

/// Something odd in a file.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileFinding {
    /// `note`, `warning` or `error`.
    pub severity: SeveritySaid,
    /// Its line.
    #[serde(default)]
    pub line: Option<u64>,
    /// What is wrong.
    pub message: String,
    /// What to do.
    #[serde(default)]
    pub help: String,
}

/// A severity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SeveritySaid {
    /// Worth knowing.
    Note,
    /// Doubtful.
    Warning,
    /// Wrong.
    Error,
}

/// A record, for an audit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookInput<'a> {
    /// Today, `YYYY-MM-DD`.
    pub today: &'a str,
    /// Id of the record.
    pub id: &'a str,
    /// Its kind.
    pub kind: &'a str,
    /// The record as it is written.
    pub record: &'a Value,
}

/// What an audit found in a record.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LookAnswer {
    /// What is doubtful.
    pub findings: Vec<RecordFinding>,
}

/// Something doubtful in a record.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordFinding {
    /// JSON pointer into the record.
    pub at: String,
    /// `note` or `warning`; an error counts as a warning.
    pub severity: SeveritySaid,
    /// What is wrong.
    pub message: String,
    /// What to do.
    #[serde(default)]
    pub help: String,
}

/// Asks an operation and reads its answer.
///
/// # Errors
/// [`SandboxFault`] where the call fails or the answer is not the document of the contract.
pub fn ask<A: DeserializeOwned>(session: &mut Session, operation: Operation, input: &impl Serialize) -> Result<A, SandboxFault> {
    let input = serde_json::to_vec(input).map_err(|e| SandboxFault::NotTheDocument(e.to_string()))?;
    let place = session.call(operation, &input)?;
    let text = std::str::from_utf8(session.bytes(place)?).map_err(|_| SandboxFault::NotUtf8)?;
    if deep(text) > limits::ANSWER_DEEP {
        return Err(SandboxFault::NotTheDocument(format!("lists and maps nest more than {} deep", limits::ANSWER_DEEP)));
    }
    serde_json::from_str(text).map_err(|e| SandboxFault::NotTheDocument(super::printable(&e.to_string())))
}

/// How deep lists and maps of a JSON text nest; brackets in strings do not count.
fn deep(text: &str) -> usize {
    let (mut now, mut most, mut string, mut escaped) = (0usize, 0, false, false);
    for byte in text.bytes() {
        match (string, byte) {
            (true, _) if escaped => escaped = false,
            (true, b'\\') => escaped = true,
            (_, b'"') => string = !string,
            (false, b'[' | b'{') => {
                now += 1;
                most = most.max(now);
            }
            (false, b']' | b'}') => now = now.saturating_sub(1),
            _ => {}
        }
    }
    most
}

/// A text of an answer, cut to what may be shown.
pub fn said(text: &str) -> String {
    let end = text.char_indices().map(|(i, c)| i + c.len_utf8()).take_while(|end| *end <= limits::TEXT).last().unwrap_or(0);
    text[..end].chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_in_strings_are_no_depth() {
        assert_eq!(deep(r#"{"a":"[[[\"{{","b":[1,[2]]}"#), 3);
        assert_eq!(deep(""), 0);
    }

    #[test]
    fn a_text_is_cut_at_a_letter() {
        assert_eq!(said(&"ä".repeat(limits::TEXT)).len(), limits::TEXT);
        assert_eq!(said("a\u{1b}[31m\nb"), "a [31m b");
    }
}
