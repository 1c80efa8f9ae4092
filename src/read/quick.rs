//! A short way through plain files, which most records are: block maps and lists, one-line flow maps and lists, one-line
//! scalars.
//!
//! It gives a tree only where every reader of YAML gives the same one, and then the very tree that the event parser's
//! events give, place by place; a test holds the two against each other over all records and many mutations of them.
//! Whatever is unusual, and everything that is a fault, is left to [`super::build`], which has the words for it.

use crate::finding::Span;

use super::scalar::{self, Meaning};
use super::source::{Source, small};
use super::tree::{Entry, Key, Map, Node, Style, Value};
use super::{DEPTH_LIMIT, NODE_LIMIT, SCALAR_LIMIT};

/// The tree of a plain text without faults of the raw text; `None` when the text is not plain enough.
pub(super) fn build(source: &Source) -> Option<Node> {
    let text = source.text();
    let mut quick = Quick { text, lines: lines(text)?, at: 0, nodes: 0 };
    let top = quick.lines.first().filter(|line| line.indent() == 0)?;
    key_end(&text[top.start..top.end])?;
    let node = quick.map(0, 1)?;
    (quick.at == quick.lines.len()).then_some(node)
}

struct Quick<'s> {
    text: &'s str,
    lines: Vec<Line>,
    /// The line that is read next.
    at: usize,
    nodes: usize,
}

/// A line that is neither empty nor a comment.
#[derive(Clone, Copy)]
struct Line {
    /// From 1.
    number: u32,
    /// First byte of the line.
    begin: usize,
    /// First byte of what stands in it, after the indentation and after the dashes that were read.
    start: usize,
    /// Byte after the last.
    end: usize,
    /// Whether every character takes one byte.
    narrow: bool,
}

impl Line {
    fn indent(&self) -> usize {
        self.start - self.begin
    }
}

fn lines(text: &str) -> Option<Vec<Line>> {
    if text.bytes().any(|b| b == b'\t' || b == b'\r') {
        return None;
    }
    let mut all = Vec::with_capacity(text.len() / 24);
    let mut begin = 0;
    for (number, whole) in text.split_inclusive('\n').enumerate() {
        let line = whole.strip_suffix('\n')?;
        let indent = line.len() - line.trim_start_matches(' ').len();
        let next = begin + whole.len();
        if !line[indent..].is_empty() && !line[indent..].starts_with('#') {
            if line.ends_with(' ') {
                return None;
            }
            let number = small(number + 1);
            all.push(Line { number, begin, start: begin + indent, end: begin + line.len(), narrow: line.is_ascii() });
        }
        begin = next;
    }
    Some(all)
}

/// Where the plain key at the start of a text ends, when its colon follows.
fn key_end(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let is_key = |b: &u8| b.is_ascii_alphanumeric() || matches!(b, b'_' | b'-');
    let end = bytes.iter().take_while(|b| is_key(b)).count();
    let is_word = bytes.first().is_some_and(|b| b.is_ascii_alphabetic() || *b == b'_');
    (is_word && bytes.get(end) == Some(&b':') && matches!(bytes.get(end + 1), None | Some(b' '))).then_some(end)
}

/// Whether a text without brackets is one plain scalar to every reader.
fn is_plain(text: &str) -> bool {
    let mut chars = text.chars();
    let begins = match chars.next() {
        Some('-') => chars.next().is_some_and(|c| c.is_ascii_alphanumeric()),
        Some('(' | '/' | '_') => true,
        Some(c) => c.is_alphanumeric(),
        None => false,
    };
    // The event parser refuses a dash before a comma or bracket where a word could begin.
    begins && !text.contains(": ") && !text.ends_with(':') && !text.contains(" #") && !text.ends_with(" -")
}

impl Quick<'_> {
    fn line(&self) -> Option<Line> {
        self.lines.get(self.at).copied()
    }
    /// Whether the line read next is indented deeper.
    fn is_deeper(&self, indent: usize) -> bool {
        self.line().is_some_and(|line| line.indent() > indent)
    }
    fn span(&self, line: &Line, start: usize, end: usize) -> Span {
        let column = if line.narrow { start - line.begin } else { self.text[line.begin..start].chars().count() };
        Span { start: small(start), end: small(end), line: line.number, column: small(column + 1) }
    }
    fn count(&mut self) -> Option<()> {
        self.nodes += 1;
        (self.nodes <= NODE_LIMIT).then_some(())
    }

    /// The block map or list that begins in this line.
    fn block(&mut self, depth: usize) -> Option<Node> {
        let line = self.line()?;
        if self.text[line.start..line.end].starts_with("- ") {
            self.list(line.indent(), depth)
        } else {
            self.map(line.indent(), depth)
        }
    }

    fn map(&mut self, indent: usize, depth: usize) -> Option<Node> {
        (depth <= DEPTH_LIMIT).then_some(())?;
        self.count()?;
        let first = self.line()?;
        let mut span = self.span(&first, first.start, first.start);
        let mut map = Map::default();
        while let Some(line) = self.line().filter(|line| line.indent() == indent) {
            let key = self.key(&line, line.start)?;
            let after = key.span.end as usize + 1;
            let node = if after >= line.end {
                self.at += 1;
                self.is_deeper(indent).then_some(())?;
                self.block(depth + 1)?
            } else {
                self.one_line(&line, after, indent, depth + 1)?
            };
            span.end = span.end.max(node.span.end);
            map.insert(Entry { key, node }).ok()?;
        }
        // A line that stands between two levels belongs to nothing.
        (!map.is_empty() && !self.is_deeper(indent)).then_some(Node { span, value: Value::Map(map) })
    }

    fn list(&mut self, indent: usize, depth: usize) -> Option<Node> {
        (depth <= DEPTH_LIMIT).then_some(())?;
        self.count()?;
        let first = self.line()?;
        let mut span = self.span(&first, first.start, first.start);
        let mut items = Vec::new();
        while let Some(line) = self.line().filter(|line| line.indent() == indent) {
            let rest = self.text[line.start..line.end].strip_prefix("- ")?;
            let start = line.end - rest.trim_start_matches(' ').len();
            let item = if key_end(&self.text[start..line.end]).is_some() {
                // A map whose first key stands behind the dash.
                self.lines[self.at].start = start;
                self.map(start - line.begin, depth + 1)?
            } else {
                self.one_line(&line, start, indent, depth + 1)?
            };
            span.end = span.end.max(item.span.end);
            items.push(item);
        }
        (!self.is_deeper(indent)).then_some(Node { span, value: Value::List(items) })
    }

    fn key(&mut self, line: &Line, start: usize) -> Option<Key> {
        let end = start + key_end(&self.text[start..line.end])?;
        let text = &self.text[start..end];
        (end - start <= SCALAR_LIMIT && scalar::plain(text) == Meaning::Text).then_some(())?;
        self.count()?;
        Some(Key { text: text.into(), span: self.span(line, start, end) })
    }

    /// A value that takes the rest of its line, and no more than that.
    fn one_line(&mut self, line: &Line, from: usize, indent: usize, depth: usize) -> Option<Node> {
        let start = line.end - self.text[from..line.end].trim_start_matches(' ').len();
        let (node, end) = match self.text.as_bytes()[start] {
            b'{' | b'[' | b'"' | b'\'' => self.inside(line, start, depth)?,
            _ => {
                let text = &self.text[start..line.end];
                is_plain(text).then_some(())?;
                (self.plain(line, start, line.end)?, line.end)
            }
        };
        self.at += 1;
        (end == line.end && !self.is_deeper(indent)).then_some(node)
    }

    fn plain(&mut self, line: &Line, start: usize, end: usize) -> Option<Node> {
        self.count()?;
        let text = &self.text[start..end];
        (text.len() <= SCALAR_LIMIT).then_some(())?;
        let value = match scalar::plain(text) {
            Meaning::Bool(yes) => Value::Bool(yes),
            Meaning::Number => Value::Number(text.into()),
            Meaning::Text => Value::Text(text.into(), Style::Plain),
            Meaning::Null | Meaning::Refused(_) => return None,
        };
        Some(Node { span: self.span(line, start, end), value })
    }

    fn quoted(&mut self, line: &Line, start: usize) -> Option<(Node, usize)> {
        self.count()?;
        let quote = self.text.as_bytes()[start];
        let rest = &self.text[start + 1..line.end];
        let length = rest.bytes().position(|b| b == quote)?;
        let text = &rest[..length];
        let end = start + length + 2;
        let is_simple = length <= SCALAR_LIMIT && !text.contains('\\') && self.text.as_bytes().get(end) != Some(&quote);
        let span = self.span(line, start, end);
        is_simple.then(|| (Node { span, value: Value::Text(text.into(), Style::Quoted) }, end))
    }

    /// A value inside of brackets, or the brackets themselves, with the byte after it.
    fn inside(&mut self, line: &Line, start: usize, depth: usize) -> Option<(Node, usize)> {
        match self.text.as_bytes().get(start)? {
            b'{' => self.flow_map(line, start, depth),
            b'[' => self.flow_list(line, start, depth),
            b'"' | b'\'' => self.quoted(line, start),
            _ => {
                let rest = &self.text[start..line.end];
                let length = rest.find([',', '}', ']', '{', '['])?;
                let text = rest[..length].trim_end_matches(' ');
                is_plain(text).then_some(())?;
                let end = start + text.len();
                Some((self.plain(line, start, end)?, end))
            }
        }
    }

    fn skip(&self, line: &Line, at: usize) -> usize {
        line.end - self.text[at..line.end].trim_start_matches(' ').len()
    }
    /// The byte after a value inside of brackets. The event parser counts blanks behind brackets and quotes as parts of
    /// what they close.
    fn after(&self, line: &Line, end: usize) -> Option<usize> {
        let at = self.skip(line, end);
        (at == end || !matches!(self.text.as_bytes()[end - 1], b'}' | b']' | b'"' | b'\'')).then_some(at)
    }
    fn is(&self, line: &Line, at: usize, byte: u8) -> bool {
        at < line.end && self.text.as_bytes()[at] == byte
    }

    fn flow_map(&mut self, line: &Line, start: usize, depth: usize) -> Option<(Node, usize)> {
        (depth <= DEPTH_LIMIT).then_some(())?;
        self.count()?;
        let mut map = Map::default();
        let mut at = start + 1;
        loop {
            at = self.skip(line, at);
            let key = self.key(line, at)?;
            at = self.skip(line, key.span.end as usize + 1);
            let (node, end) = self.inside(line, at, depth + 1)?;
            map.insert(Entry { key, node }).ok()?;
            at = self.after(line, end)?;
            if self.is(line, at, b'}') {
                return Some((Node { span: self.span(line, start, at + 1), value: Value::Map(map) }, at + 1));
            }
            self.is(line, at, b',').then_some(())?;
            at += 1;
        }
    }

    fn flow_list(&mut self, line: &Line, start: usize, depth: usize) -> Option<(Node, usize)> {
        (depth <= DEPTH_LIMIT).then_some(())?;
        self.count()?;
        let mut items = Vec::new();
        let mut at = start + 1;
        loop {
            at = self.skip(line, at);
            let (node, end) = self.inside(line, at, depth + 1)?;
            items.push(node);
            at = self.after(line, end)?;
            if self.is(line, at, b']') {
                return Some((Node { span: self.span(line, start, at + 1), value: Value::List(items) }, at + 1));
            }
            self.is(line, at, b',').then_some(())?;
            at += 1;
        }
    }
}

#[cfg(test)]
mod tests;
