//! What is wrong, where, what to do?
//!
//! One type for every fault and gap the program reports, whichever stage found it.

use serde::{Deserialize, Serialize};

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Shown to those who ask.
    Note,
    /// Needs a fix or a waiver with a reason.
    Warning,
    /// Blocks a contribution.
    Error,
}

impl Severity {
    /// The word on screen.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// A stretch of a source text. Lines and columns count from 1, columns in characters; offsets are bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// Byte after the last.
    pub end: u32,
    /// Line of the first character, from 1.
    pub line: u32,
    /// Column of the first character, from 1, in characters.
    pub column: u32,
}

/// Where a finding is: a file, and a stretch of it when there is one.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize)]
pub struct Location {
    /// Path as the user named it, with `/`; empty when the finding concerns no file.
    pub file: String,
    /// The stretch; `None` for a finding on the whole file.
    pub span: Option<Span>,
}

/// A fault or a gap.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// Readable name of the rule, e.g. `unit-unknown`.
    pub rule: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Where it is.
    pub place: Location,
    /// What is wrong, one sentence without a full stop.
    pub message: String,
    /// What to do.
    pub help: Option<String>,
    /// The record or claim it concerns, e.g. `resin/tough:tg#1f2e3d4c`.
    pub subject: Option<String>,
    /// The source lines the span covers (the first one only), for the excerpt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub excerpt: Option<String>,
}

impl Finding {
    /// A finding on a whole file or on nothing.
    pub fn new(rule: &'static str, severity: Severity, file: &str, message: impl Into<String>) -> Self {
        Finding {
            rule,
            severity,
            place: Location { file: file.into(), span: None },
            message: message.into(),
            help: None,
            subject: None,
            excerpt: None,
        }
    }
    /// The same finding at a stretch of its file.
    pub fn at(mut self, span: Span) -> Self {
        self.place.span = Some(span);
        self
    }
    /// The same finding with advice.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
    /// The same finding about a record or claim.
    pub fn about(mut self, subject: impl Into<String>) -> Self {
        self.subject = Some(subject.into());
        self
    }
}

/// Sorts by place and severity and drops repeats, so that one fault is reported once and in the order of the text.
pub fn settle(findings: &mut Vec<Finding>) {
    findings.sort_by(|a, b| {
        (&a.place, std::cmp::Reverse(a.severity), a.rule, &a.message).cmp(&(
            &b.place,
            std::cmp::Reverse(b.severity),
            b.rule,
            &b.message,
        ))
    });
    findings.dedup_by(|a, b| a.place == b.place && a.rule == b.rule && a.message == b.message);
}
