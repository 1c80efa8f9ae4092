//! What an audit is: its documentation, its cases and one function.

use super::context::{AuditContext, ClaimAt};
use super::findings::{AuditFindings, Bears};
use super::series::MeasurementAt;
use super::statement::Statement;
use crate::book::Record;
use crate::finding::Severity;

/// An audit. Every field must be given, so that none is without documentation.
pub struct Audit {
    /// Readable name of what it finds, e.g. `locator-missing`.
    pub name: &'static str,
    /// The gravest finding it gives; what a published source leaves out is a note whatever stands here.
    pub severity: Severity,
    /// Whether its findings concern the integrity of a record and cannot be waived.
    pub integrity: bool,
    /// What is wrong, one sentence.
    pub what: &'static str,
    /// Why it matters, one sentence.
    pub why: &'static str,
    /// When it may be waived.
    pub waive: &'static str,
    /// Where the rule or its numbers come from.
    pub source: &'static str,
    /// Its cases: prose, records, and the line each finding must stand on.
    pub cases: &'static str,
    /// What it does.
    pub look: Look,
}

/// What an audit looks at.
pub enum Look {
    /// Whole records.
    Record(fn(&Record, &AuditContext<'_>, &mut AuditFindings<'_>)),
    /// Claims of subjects, one at a time.
    Claim(fn(&ClaimAt<'_>, &AuditContext<'_>, &mut AuditFindings<'_>)),
    /// Measurements of test series, one at a time.
    Measurement(fn(&MeasurementAt<'_>, &AuditContext<'_>, &mut AuditFindings<'_>)),
    /// Claims and measurements alike.
    Statement(fn(&Statement<'_>, &AuditContext<'_>, &mut AuditFindings<'_>)),
}

/// A case out of the Markdown of an audit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example<'a> {
    /// Heading without its first word.
    pub title: &'a str,
    /// Whether findings are expected.
    pub wrong: bool,
    /// Files: path inside a pack and text.
    pub files: Vec<(&'a str, String)>,
}

/// Marks the line a finding must stand on.
pub const MARK: &str = "# <-";

impl Audit {
    pub(super) fn bears(&self) -> Bears {
        Bears { rule: self.name, severity: self.severity, integrity: self.integrity }
    }
    /// Its cases in the order of the Markdown: headings `## wrong…` and `## right…`, code blocks ```` ```yaml PATH ````.
    pub fn examples(&self) -> Vec<Example<'static>> {
        examples(self.cases)
    }
    /// The first wrong and the first right record, for people.
    pub fn shown_example(&self, wrong: bool) -> Option<String> {
        let one = self.examples().into_iter().find(|e| e.wrong == wrong)?;
        let marked = |(_, text): &&(&str, String)| !wrong || text.contains(MARK);
        one.files.iter().find(marked).map(|(path, text)| format!("# {path}\n{text}"))
    }
}

/// The cases of a Markdown text.
pub fn examples(text: &str) -> Vec<Example<'_>> {
    let mut all: Vec<Example<'_>> = Vec::new();
    let mut open: Option<(&str, String)> = None;
    for line in text.lines() {
        if let Some((path, mut body)) = open.take() {
            if line.starts_with("```") {
                if let Some(last) = all.last_mut() {
                    last.files.push((path, body));
                }
            } else {
                body.push_str(line);
                body.push('\n');
                open = Some((path, body));
            }
        } else if let Some(path) = line.strip_prefix("```yaml ") {
            open = Some((path.trim(), String::new()));
        } else if let Some(heading) = line.strip_prefix("## ") {
            let wrong = heading.starts_with("wrong");
            let title = heading.split_once(' ').map_or("", |(_, rest)| rest).trim();
            all.push(Example { title, wrong, files: Vec::new() });
        }
    }
    all
}
