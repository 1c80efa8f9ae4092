//! From a pointer to line and column: the file of a record is read again only when something was found in it.

use super::findings::{Raw, Spot};
use crate::book::Record;
use crate::finding::{Finding, Span};
use crate::read::{self, ParsedFile};

/// The findings of a record with their places.
pub(super) fn place(record: &Record, found: Vec<Raw>, bytes: Option<&[u8]>) -> Vec<Finding> {
    let reading = bytes.map(read::read);
    found.into_iter().map(|raw| one(record, raw, reading.as_ref())).collect()
}

fn one(record: &Record, raw: Raw, reading: Option<&ParsedFile>) -> Finding {
    let span = reading.and_then(|r| span(r, &raw.spot)).or_else(|| line_only(&raw.spot));
    let excerpt = reading.zip(span).and_then(|(r, s)| r.source.line(s.line as usize)).map(str::to_owned);
    let mut finding = Finding::new(raw.rule, raw.severity, &record.file, raw.message).help(raw.help).about(raw.spot.subject);
    finding.place.span = span;
    finding.excerpt = excerpt;
    finding
}

/// The node of the pointer, or of the nearest part of it that is there; its key's line where the value is a map or list.
fn span(reading: &ParsedFile, spot: &Spot) -> Option<Span> {
    let tree = reading.tree.as_ref()?;
    let mut pointer = spot.pointer.as_str();
    loop {
        if let Some(node) = tree.at(pointer) {
            if pointer.is_empty() {
                return Some(reading.source.span(node.span.start as usize, node.span.start as usize));
            }
            return Some(first_line(reading, node.span));
        }
        pointer = pointer.rsplit_once('/').map_or("", |(head, _)| head);
    }
}

/// The part of a span on its first line.
fn first_line(reading: &ParsedFile, span: Span) -> Span {
    let end = reading.source.slice(span).find('\n').map_or(span.end as usize, |at| span.start as usize + at);
    reading.source.span(span.start as usize, end)
}

fn line_only(spot: &Spot) -> Option<Span> {
    spot.line.map(|line| Span { start: 0, end: 0, line, column: 1 })
}
