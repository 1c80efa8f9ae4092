//! Findings as text with excerpt, as JSON, and as annotations of pull requests.
//!
//! Text of records is made safe before it is written: nothing in a record can move a cursor, hide a
//! word or speak to the program that reads the log.

use std::cmp::Reverse;
use std::fmt::Write;

use serde_json::{Value, json};

use super::{Answer, Block, Format, Page, safe};
use crate::finding::{Finding, Severity, Span};

/// Annotations of one level that a pull request shows; the rest is counted.
const SHOWN_PER_LEVEL: usize = 10;

/// The answer of a command that reports findings.
#[derive(Debug, Clone)]
pub struct Findings {
    /// Schema tag of the JSON document, e.g. `gripbook/check/1`.
    pub schema: &'static str,
    /// What was looked at, e.g. `214 files, 213 records`.
    pub scope: String,
    /// The findings, settled.
    pub findings: Vec<Finding>,
    /// Further fields of the JSON document.
    pub fields: Vec<(&'static str, Value)>,
}

impl Answer for Findings {
    fn schema(&self) -> &'static str {
        self.schema
    }
    fn json(&self) -> Value {
        let mut all = serde_json::Map::new();
        for (name, value) in &self.fields {
            all.insert((*name).into(), value.clone());
        }
        all.insert("counts".into(), counts_json(&self.findings));
        all.insert("findings".into(), json(&self.findings));
        Value::Object(all)
    }
    fn page(&self) -> Page {
        let mut page = page(&self.findings);
        page.line(format!("{}: {}", self.scope, summary(&self.findings)));
        page
    }
    fn special(&self, format: Format) -> Option<String> {
        (format == Format::Github).then(|| github(&self.findings))
    }
}

/// `2 errors, 1 warning`, or `no finding`.
#[must_use]
pub fn summary(findings: &[Finding]) -> String {
    let part = |severity: Severity| {
        let count = count(findings, severity);
        let plural = if count == 1 { "" } else { "s" };
        (count > 0).then(|| format!("{count} {}{plural}", severity.word()))
    };
    let parts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note].into_iter().filter_map(part).collect();
    if parts.is_empty() { "no finding".to_owned() } else { parts.join(", ") }
}

/// How many findings have this severity.
#[must_use]
pub fn count(findings: &[Finding], severity: Severity) -> usize {
    findings.iter().filter(|finding| finding.severity == severity).count()
}

fn counts_json(findings: &[Finding]) -> Value {
    json!({
        "error": count(findings, Severity::Error),
        "warning": count(findings, Severity::Warning),
        "note": count(findings, Severity::Note),
    })
}

/// Findings for people, an empty line behind each.
#[must_use]
pub fn page(findings: &[Finding]) -> Page {
    let mut page = Page::default();
    for finding in findings {
        onto(&mut page, finding);
        page.blank();
    }
    page
}

/// A finding for people: where, how grave, its name; what is wrong; the line with the wrong words between » and «; what to do.
pub fn onto(page: &mut Page, finding: &Finding) {
    let place = match finding.place.span {
        Some(span) if !finding.place.file.is_empty() => format!("{}:{}:{}", finding.place.file, span.line, span.column),
        _ => finding.place.file.clone(),
    };
    page.blocks.push(Block::Spot { place, severity: finding.severity, rule: finding.rule.to_owned() });
    page.sub(1, finding.message.clone());
    if let (Some(line), Some(span)) = (&finding.excerpt, finding.place.span) {
        page.subfield(1, "reads", marked(line, span));
    }
    if let Some(help) = &finding.help {
        page.subfield(1, "do", help.clone());
    }
}

/// Letters shown before and behind the marked ones, and most of these.
const AROUND: usize = 48;
const MARKED: usize = 96;

/// A line with the letters of the span between » and «, no more of it than helps to find them.
fn marked(line: &str, span: Span) -> String {
    let byte = |column: usize| line.char_indices().nth(column).map_or(line.len(), |(at, _)| at);
    let start = byte((span.column as usize).saturating_sub(1));
    let length = (span.end.saturating_sub(span.start)) as usize;
    let mut end = (start + length).min(line.len()).max(start);
    while !line.is_char_boundary(end) {
        end -= 1;
    }
    let (before, inside, after) = (line[..start].trim_start(), &line[start..end], line[end..].trim_end());
    let skip = before.chars().count().saturating_sub(AROUND);
    let lead = if skip > 0 { "…" } else { "" };
    let before: String = before.chars().skip(skip).collect();
    format!("{lead}{before}»{}«{}", first(inside, MARKED), first(after, AROUND))
}

fn first(text: &str, most: usize) -> String {
    if text.chars().count() <= most { text.to_owned() } else { text.chars().take(most).chain(['…']).collect() }
}

/// Findings for programs, in the same order.
#[must_use]
pub fn json(findings: &[Finding]) -> Value {
    let one = |finding: &Finding| {
        json!({
            "rule": finding.rule,
            "severity": finding.severity.word(),
            "file": finding.place.file,
            "line": finding.place.span.map(|span| span.line),
            "column": finding.place.span.map(|span| span.column),
            "subject": finding.subject,
            "message": finding.message,
            "help": finding.help,
        })
    };
    findings.iter().map(one).collect()
}

/// Annotations for a pull request, most severe first; what is not shown is counted.
#[must_use]
pub fn github(findings: &[Finding]) -> String {
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| Reverse(finding.severity));
    let mut out = String::new();
    let mut left = 0;
    for severity in [Severity::Error, Severity::Warning, Severity::Note] {
        let of_level: Vec<&&Finding> = sorted.iter().filter(|finding| finding.severity == severity).collect();
        of_level.iter().take(SHOWN_PER_LEVEL).for_each(|finding| out.push_str(&annotation(finding)));
        left += of_level.len().saturating_sub(SHOWN_PER_LEVEL);
    }
    if left > 0 {
        let _ = writeln!(out, "::notice::{left} more findings are not shown here; run the same check for all of them");
    }
    out
}

fn annotation(finding: &Finding) -> String {
    let command = match finding.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "notice",
    };
    let mut place = format!("title={}", property(finding.rule));
    if !finding.place.file.is_empty() {
        let _ = write!(place, ",file={}", property(&finding.place.file));
    }
    if let Some(span) = finding.place.span {
        let _ = write!(place, ",line={},col={}", span.line, span.column);
    }
    let help = finding.help.as_ref().map_or_else(String::new, |help| format!(" ({help})"));
    format!("::{command} {place}::{}\n", data(&format!("{}{help}", finding.message)))
}

/// Text of an annotation: no line end and no second command can come out of it.
fn data(text: &str) -> String {
    safe::line(text).replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A").replace("::", "%3A%3A")
}

/// A property of an annotation, where commas and colons part properties.
fn property(text: &str) -> String {
    safe::line(text).replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A").replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(message: &str, line: &str, column: u32, length: u32) -> Finding {
        let mut finding = Finding::new("unit-unknown", Severity::Error, "resins/tough.yaml", message).help("did you mean `MPa`?");
        finding.place.span = Some(Span { start: 40, end: 40 + length, line: 6, column });
        finding.excerpt = Some(line.to_owned());
        finding
    }

    fn text(findings: &[Finding]) -> String {
        crate::present::text::page(&page(findings), crate::present::Look { width: 80, colour: false })
    }

    #[test]
    fn the_words_of_the_line_that_are_wrong_are_marked() {
        let shown = text(&[finding("`Mpa` is not a known unit", "    - value: 46.5 Mpa µ", 14, 8)]);
        let right = "resins/tough.yaml:6:14  error  unit-unknown\n  `Mpa` is not a known unit\n  \
                     reads  - value: »46.5 Mpa« µ\n  do     did you mean `MPa`?\n\n";
        assert_eq!(shown, right);
    }

    #[test]
    fn of_a_long_line_only_the_neighbourhood_is_shown_and_a_bad_span_hurts_nothing() {
        let line = format!("{}wrong{}", "a ".repeat(5000), " b".repeat(5000));
        let shown = text(&[finding("x", &line, 10_001, 5)]);
        assert!(shown.contains("»wrong«") && shown.len() < 400, "{shown}");
        for (column, length) in [(0, 0), (1, 0), (9, 9), (400, 3), (2, u32::MAX - 40)] {
            assert!(text(&[finding("x", "µµ", column, length)]).contains('»'));
        }
    }

    // faults.md row 28: control, bidirectional and invisible characters of records never reach a terminal.
    #[test]
    fn row_28_record_text_is_shown_not_sent() {
        let evil = "a\u{1b}[2J\u{202e}b\u{200b}\u{7}";
        let mut one = finding(evil, &format!("name: {evil}"), 7, 6);
        one.place.file = format!("x{evil}.yaml");
        one.help = Some(evil.to_owned());
        for out in [text(&[one.clone()]), github(&[one])] {
            let bad = |c: char| crate::read::characters::trouble(c).is_some();
            assert!(!out.contains(bad), "{out:?}");
            assert!(out.contains("u{1b}"), "{out:?}");
        }
    }

    // faults.md row 29: record text cannot speak to the program that reads the log.
    #[test]
    fn row_29_no_workflow_command_comes_out_of_a_record() {
        let evil = "x\n::set-output name=a::b\r%0A::add-mask::y";
        let mut one = finding(evil, evil, 1, 3);
        one.place.file = "a,line=9::b%.yaml".to_owned();
        let out = github(&[one.clone()]);
        assert_eq!(out.lines().count(), 1, "{out}");
        assert_eq!(out.matches("::").count(), 2, "{out}");
        assert!(out.starts_with("::error title=unit-unknown,file=a%2Cline=9%3A%3Ab%25.yaml,line=6,col=1::"), "{out}");
        assert!(text(&[one]).lines().all(|line| !line.trim_start().starts_with("::")));
    }

    #[test]
    fn annotations_are_most_severe_first_and_the_rest_is_counted() {
        let mut all: Vec<Finding> = (0..12).map(|n| finding(&format!("fault {n}"), "x", 1, 1)).collect();
        let mut warning = finding("a warning", "x", 1, 1);
        warning.severity = Severity::Warning;
        all.insert(0, warning);
        let out = github(&all);
        assert!(out.starts_with("::error "), "{out}");
        assert_eq!(out.lines().filter(|line| line.starts_with("::error ")).count(), 10);
        assert!(out.contains("::warning "));
        assert!(out.ends_with("::notice::2 more findings are not shown here; run the same check for all of them\n"));
    }
}
