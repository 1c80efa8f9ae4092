//! Where the findings of one file come together.

use std::collections::HashSet;

use super::rules;
use crate::finding::{Finding, Location, Severity, Span};
use crate::read::source::Source;
use crate::read::{Fault, TOP};

/// Findings kept of one file; the rest is counted.
const MOST: usize = 2_000;
/// Lines longer than this are not quoted.
const LONGEST_EXCERPT: usize = 400;
/// Spelling suggestions looked for in one file; looking costs more than the rest of a finding.
const SUGGESTIONS: usize = 50;

/// Collects findings about one file and gives each its severity and its line.
pub(super) struct FileFindingList<'a> {
    file: &'a str,
    subject: Option<String>,
    source: &'a Source,
    findings: Vec<Finding>,
    left_out: usize,
    suggestions: usize,
    /// Where a fault of the profile stands already: what follows from it is not reported again.
    faulty: HashSet<u32>,
}

impl<'a> FileFindingList<'a> {
    pub fn new(file: &'a str, subject: Option<String>, source: &'a Source) -> Self {
        FileFindingList {
            file,
            subject,
            source,
            findings: Vec::new(),
            left_out: 0,
            suggestions: SUGGESTIONS,
            faulty: HashSet::new(),
        }
    }

    /// Takes over the faults of reading.
    pub fn faults(&mut self, faults: Vec<Fault>) {
        for fault in faults {
            self.faulty.insert(fault.span.start);
            self.put(fault.name, Some(fault.span), fault.message, fault.help);
        }
    }

    pub fn is_faulty(&self, span: Span) -> bool {
        self.faulty.contains(&span.start)
    }

    /// A finding at a place of the file.
    pub fn find(&mut self, rule: &'static str, span: Span, message: impl Into<String>, help: impl Into<String>) {
        self.put(rule, Some(span), message.into(), Some(help.into()));
    }

    /// A finding on the file as a whole.
    pub fn find_whole(&mut self, rule: &'static str, message: impl Into<String>, help: impl Into<String>) {
        self.put(rule, None, message.into(), Some(help.into()));
    }

    /// Whether another spelling suggestion may be looked for.
    pub fn may_suggest(&mut self) -> bool {
        let left = self.suggestions > 0;
        self.suggestions = self.suggestions.saturating_sub(1);
        left
    }

    fn put(&mut self, rule: &'static str, span: Option<Span>, message: String, help: Option<String>) {
        if self.findings.len() >= MOST {
            self.left_out += 1;
            return;
        }
        let span = span.filter(|_| !self.source.text().is_empty()).map(|span| self.first_line(span));
        let line = span.and_then(|span| self.source.line(span.line as usize));
        self.findings.push(Finding {
            rule,
            severity: rules::severity(rule),
            place: Location { file: self.file.to_owned(), span },
            message,
            help,
            subject: self.subject.clone(),
            excerpt: line.filter(|line| line.len() <= LONGEST_EXCERPT).map(str::to_owned),
        });
    }

    /// The part of a span that stands in its first line.
    fn first_line(&self, span: Span) -> Span {
        let covered = self.source.slice(span);
        let length = covered.find(['\n', '\r']).unwrap_or(covered.len());
        Span { end: span.start + u32::try_from(length).unwrap_or(0), ..span }
    }

    pub fn findings(mut self) -> Vec<Finding> {
        if self.left_out > 0 {
            let message = format!("{} more findings in this file are not shown", self.left_out);
            let cut = Finding::new("findings-cut", Severity::Error, self.file, message).help("correct the findings above first");
            self.findings.push(cut);
        }
        self.findings
    }
}

/// A finding of a file that could not be read at all.
pub(super) fn unread(file: &str, subject: Option<String>, fault: Fault) -> Finding {
    Finding {
        rule: fault.name,
        severity: rules::severity(fault.name),
        place: Location { file: file.to_owned(), span: (fault.span != TOP).then_some(fault.span) },
        message: fault.message,
        help: fault.help,
        subject,
        excerpt: None,
    }
}

/// The word of a list nearest in spelling, when one is near.
pub fn nearest<'w>(word: &str, list: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    const LONGEST: usize = 64;
    if word.len() > LONGEST {
        return None;
    }
    let lower = word.to_lowercase();
    let most = (lower.chars().count() / 3).clamp(1, 3);
    let near = |other: &str| other.len().abs_diff(lower.len()) <= most * 4;
    list.into_iter()
        .filter(|other| near(other))
        .map(|other| (crate::quantity::parse::edit_distance(&lower, &other.to_lowercase()), other))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, other)| other)
}

/// Words of a list that a word may stand for: the nearest in spelling, else those that share most of its parts (`stripped` and
/// `strip`, `thread-shear` and `part-thread-shear`). At most three, else none.
pub fn similar<'w>(word: &str, list: &[&'w str]) -> Vec<&'w str> {
    /// Letters two parts have to begin with alike.
    const ALIKE: usize = 4;
    if let Some(close) = nearest(word, list.iter().copied()) {
        return vec![close];
    }
    let lower = word.to_lowercase();
    let parts =
        |text: &'_ str| -> Vec<String> { text.split(['-', '_', ' ']).filter(|p| !p.is_empty()).map(str::to_owned).collect() };
    let shared = |a: &str, b: &str| a.bytes().zip(b.bytes()).take_while(|(x, y)| x == y).count();
    let score = |other: &str| -> usize {
        let theirs = parts(other);
        let best = |mine: &String| theirs.iter().map(|p| shared(mine, p)).max().filter(|n| *n >= ALIKE).unwrap_or(0);
        parts(&lower).iter().map(best).sum()
    };
    let most = list.iter().map(|other| score(other)).max().filter(|n| *n > 0);
    let close: Vec<&str> = list.iter().copied().filter(|other| Some(score(other)) == most).collect();
    if close.len() <= 3 { close } else { Vec::new() }
}

/// `did you mean …?` for words that are near; `None` when none is.
pub fn suggestion(close: &[&str]) -> Option<String> {
    let quoted: Vec<String> = close.iter().map(|word| format!("`{word}`")).collect();
    (!close.is_empty()).then(|| format!("did you mean {}?", quoted.join(" or ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_are_near_in_spelling_or_in_their_parts() {
        let list = ["part-thread-shear", "metal-thread-shear", "strip", "glue", "glue-to-part", "hoop-burst", "plate-split"];
        assert_eq!(similar("gleu", &list), ["glue"]);
        assert_eq!(similar("stripped", &list), ["strip"]);
        assert_eq!(similar("thread-shear", &list), ["part-thread-shear", "metal-thread-shear"]);
        assert_eq!(similar("boss-burst", &list), ["hoop-burst"]);
        assert!(similar("melted", &list).is_empty());
        assert_eq!(
            suggestion(&similar("shear", &["x-shear", "y-shear"])).as_deref(),
            Some("did you mean `x-shear` or `y-shear`?")
        );
        assert_eq!(suggestion(&[]), None);
    }
}
