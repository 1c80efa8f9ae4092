//! From the events of the YAML parser to the located tree.

use std::borrow::Cow;

use saphyr_parser::{Event, Parser, ScalarStyle, Span as Marks, StrInput};

use crate::finding::Span;

use super::scalar::Meaning;
use super::source::{Source, small};
use super::tree::{Entry, Key, Map, Node, Style, Value};
use super::{DEPTH_LIMIT, Fault, NODE_LIMIT, SCALAR_LIMIT, TOP, characters, scalar};

/// Reading ended early; the fault is recorded.
struct Stop;

/// Builds the tree and adds every fault of the profile; no tree when reading ended early.
pub(super) fn build(source: &Source, faults: &mut Vec<Fault>) -> Option<Node> {
    let mut builder = Builder { parser: Parser::new_from_str(source.text()), source, faults, nodes: 0 };
    builder.document().unwrap_or(None)
}

struct Builder<'s, 'f> {
    parser: Parser<'s, StrInput<'s>>,
    source: &'s Source,
    faults: &'f mut Vec<Fault>,
    nodes: usize,
}

impl<'s> Builder<'s, '_> {
    fn document(&mut self) -> Result<Option<Node>, Stop> {
        let mut top = None;
        loop {
            let (event, marks) = self.next()?;
            match event {
                Event::StreamEnd => break,
                Event::DocumentStart(_) if top.is_some() => {
                    let span = self.span(marks);
                    self.fault("document-several", span, "a second document begins here", "one file holds one record");
                    return Err(Stop);
                }
                Event::DocumentStart(explicit) => {
                    if explicit {
                        self.refuse_directives(marks);
                    }
                    let (event, marks) = self.next()?;
                    top = Some(self.node(event, marks, 1)?);
                }
                _ => {}
            }
        }
        match top {
            Some(node) if matches!(node.value, Value::Map(_)) => Ok(Some(node)),
            None | Some(Node { value: Value::Null, .. }) => {
                self.fault("document-empty", TOP, "the file holds no record", "write `name: …` and the rest of the record");
                Ok(None)
            }
            Some(node) => {
                let message = format!("a record is a map of keys, this is {}", node.kind());
                self.fault("top-not-map", node.span, &message, "begin with `name: …`");
                Ok(None)
            }
        }
    }

    /// The next event; a syntax error or the budget ends the reading.
    fn next(&mut self) -> Result<(Event<'s>, Marks), Stop> {
        match self.parser.next_event() {
            Some(Ok(event)) => Ok(event),
            Some(Err(error)) => {
                let at = self.source.byte_of_character(error.marker().index());
                let span = self.source.span(at, at);
                let message = format!("not readable as YAML: {}", error.info());
                self.fault("yaml-syntax", span, &message, syntax_help(error.info()));
                Err(Stop)
            }
            None => Err(Stop),
        }
    }

    fn node(&mut self, event: Event<'s>, marks: Marks, depth: usize) -> Result<Node, Stop> {
        let span = self.span(marks);
        self.count(span)?;
        match event {
            Event::Scalar(text, style, anchor, tag) => {
                self.refuse_anchor(anchor, span);
                self.refuse_tag(tag.is_some(), span);
                let value = self.scalar(text, style, span);
                Ok(Node { span, value })
            }
            Event::SequenceStart(anchor, tag) => {
                self.refuse_anchor(anchor, span);
                self.refuse_tag(tag.is_some(), span);
                self.list(span, depth)
            }
            Event::MappingStart(anchor, tag) => {
                self.refuse_anchor(anchor, span);
                self.refuse_tag(tag.is_some(), span);
                self.map(span, depth)
            }
            Event::Alias(_) => {
                self.fault("alias-used", span, "an alias repeats another part of the file", "write the value again");
                Ok(Node { span, value: Value::Null })
            }
            _ => Err(Stop),
        }
    }

    fn scalar(&mut self, text: Cow<'_, str>, style: ScalarStyle, span: Span) -> Value {
        if text.len() > SCALAR_LIMIT {
            let message = format!("a text of {} bytes, at most {SCALAR_LIMIT} are read", text.len());
            self.fault("text-too-long", span, &message, "shorten it");
            return Value::Text("".into(), Style::Quoted);
        }
        match style {
            ScalarStyle::Plain => match scalar::plain(&text) {
                Meaning::Null => Value::Null,
                Meaning::Bool(yes) => Value::Bool(yes),
                Meaning::Number => Value::Number(text.into()),
                Meaning::Text => Value::Text(text.into(), Style::Plain),
                Meaning::Refused(refused) => {
                    self.fault(refused.name, span, &refused.message, &refused.help);
                    Value::Text(text.into(), Style::Plain)
                }
            },
            ScalarStyle::SingleQuoted => Value::Text(text.into(), Style::Quoted),
            ScalarStyle::DoubleQuoted => {
                self.refuse_escaped(&text, span);
                Value::Text(text.into(), Style::Quoted)
            }
            ScalarStyle::Literal | ScalarStyle::Folded => Value::Text(text.into(), Style::Block),
        }
    }

    fn list(&mut self, mut span: Span, depth: usize) -> Result<Node, Stop> {
        self.limit_depth(depth, span)?;
        let flow = self.byte(span) == Some(b'[');
        let mut items = Vec::new();
        loop {
            let (event, marks) = self.next()?;
            if matches!(event, Event::SequenceEnd) {
                if flow {
                    span.end = self.span(marks).end;
                }
                break;
            }
            let mut item = self.node(event, marks, depth + 1)?;
            if is_empty_scalar(&item) {
                // The parser puts nothing at whatever comes next; it belongs to the list.
                item.span = Span { end: span.start, ..span };
            }
            span.end = span.end.max(item.span.end);
            items.push(item);
        }
        Ok(Node { span, value: Value::List(items) })
    }

    fn map(&mut self, mut span: Span, depth: usize) -> Result<Node, Stop> {
        self.limit_depth(depth, span)?;
        let flow = self.byte(span) == Some(b'{');
        let mut map = Map::default();
        let mut before: Option<Span> = None;
        loop {
            let (event, marks) = self.next()?;
            if matches!(event, Event::MappingEnd) {
                if flow {
                    span.end = self.span(marks).end;
                }
                break;
            }
            let key = self.key(event, marks, depth)?;
            let (event, marks) = self.next()?;
            let mut node = self.node(event, marks, depth + 1)?;
            if is_empty_scalar(&node) {
                node.span = key.as_ref().map_or(node.span, |key| key.span);
            }
            span.end = span.end.max(node.span.end);
            let Some(key) = key else { continue };
            span.end = span.end.max(key.span.end);
            if flow && matches!(node.value, Value::Null) && self.is_split_number(before, &key) {
                continue;
            }
            before = Some(node.span);
            if let Err(twin) = map.insert(Entry { key, node }) {
                self.key_twice(&map, &twin.key);
            }
        }
        Ok(Node { span, value: Value::Map(map) })
    }

    /// A key, or `None` when it was refused (its value is still read).
    fn key(&mut self, event: Event<'s>, marks: Marks, depth: usize) -> Result<Option<Key>, Stop> {
        let span = self.span(marks);
        let Event::Scalar(text, style, anchor, tag) = event else {
            self.node(event, marks, depth + 1)?;
            self.fault("key-not-text", span, "the key is not a plain word", "a key is a plain word");
            return Ok(None);
        };
        self.count(span)?;
        self.refuse_anchor(anchor, span);
        self.refuse_tag(tag.is_some(), span);
        if text == "<<" {
            self.fault("merge-key", span, "a merge key; readers disagree on what it merges", "write the keys again");
            return Ok(None);
        }
        if self.is_explicit_key(span) {
            self.fault("key-not-text", span, "a key marked with `?`", "write `key: value`");
            return Ok(None);
        }
        if text.len() > SCALAR_LIMIT {
            self.fault("text-too-long", span, "a key of this length", "shorten it");
            return Ok(None);
        }
        let is_text = match style {
            ScalarStyle::Plain => scalar::plain(&text) == Meaning::Text,
            ScalarStyle::DoubleQuoted => {
                self.refuse_escaped(&text, span);
                true
            }
            _ => true,
        };
        if !is_text {
            let message = format!("some programs would not read the key `{text}` as a word");
            self.fault("key-not-text", span, &message, "a key is a plain word");
            return Ok(None);
        }
        Ok(Some(Key { text: text.into(), span }))
    }

    fn key_twice(&mut self, map: &Map, twin: &Key) {
        let first = map.entry(&twin.text).map_or(0, |entry| entry.key.span.line);
        let message = format!("the key `{}` stands here again, first in line {first}", twin.text);
        self.fault("key-twice", twin.span, &message, "keep one of the two");
    }

    /// `{value: 46,5 MPa}` is split by YAML at the comma, which leaves a key without value.
    fn is_split_number(&mut self, before: Option<Span>, key: &Key) -> bool {
        let Some(span) = before else { return false };
        let left = self.source.slice(span).to_owned();
        let split = left.ends_with(|c: char| c.is_ascii_digit()) && key.text.starts_with(|c: char| c.is_ascii_digit());
        if split {
            let whole = Span { end: key.span.end, ..span };
            self.fault(
                "decimal-comma",
                whole,
                "the comma ends the value here",
                &format!("decimal comma? write {left}.{}", key.text),
            );
        }
        split
    }

    /// Whether `?` introduces the key.
    fn is_explicit_key(&self, span: Span) -> bool {
        let before = &self.source.text()[..span.start as usize];
        let trimmed = before.trim_end_matches([' ', '\t']);
        trimmed.len() < before.len()
            && trimmed.ends_with('?')
            && !trimmed[..trimmed.len() - 1].ends_with(|c: char| !c.is_whitespace() && !"{,[".contains(c))
    }

    fn refuse_directives(&mut self, marks: Marks) {
        let start = self.span(marks).start as usize;
        let mut at = 0;
        for line in self.source.text()[..start].split_inclusive('\n') {
            if line.starts_with('%') {
                let span = self.source.span(at, at + line.trim_end().len());
                self.fault("yaml-directive", span, "a directive changes how the file is read", "remove the line");
            }
            at += line.len();
        }
    }

    /// Escapes can bring in what is refused in plain sight.
    fn refuse_escaped(&mut self, text: &str, span: Span) {
        let refused = |c: &char| *c == '\r' || characters::trouble(*c).is_some();
        if let Some(c) = text.chars().find(refused)
            && self.source.slice(span).contains('\\')
            && !self.source.slice(span).contains(c)
        {
            self.faults.push(characters::forbidden(span, c, " by an escape"));
        }
    }

    fn refuse_anchor(&mut self, anchor: usize, span: Span) {
        if anchor != 0 {
            self.fault(
                "anchor-used",
                span,
                "an anchor stands before this",
                "remove `&name`; nothing in a record may be repeated by reference",
            );
        }
    }

    fn refuse_tag(&mut self, tagged: bool, span: Span) {
        if tagged {
            self.fault("tag-used", span, "a tag stands before this", "remove the word with `!`");
        }
    }

    fn limit_depth(&mut self, depth: usize, span: Span) -> Result<(), Stop> {
        if depth <= DEPTH_LIMIT {
            return Ok(());
        }
        let message = format!("nested deeper than {DEPTH_LIMIT} levels");
        self.fault("nesting-too-deep", span, &message, "flatten the record");
        Err(Stop)
    }

    fn count(&mut self, span: Span) -> Result<(), Stop> {
        self.nodes += 1;
        if self.nodes <= NODE_LIMIT {
            return Ok(());
        }
        let message = format!("more than {NODE_LIMIT} keys and values in one file");
        self.fault("nodes-too-many", span, &message, "split the record");
        Err(Stop)
    }

    fn byte(&self, span: Span) -> Option<u8> {
        self.source.text().as_bytes().get(span.start as usize).copied()
    }

    fn span(&self, marks: Marks) -> Span {
        let start = self.source.byte_of_character(marks.start.index());
        let end = self.source.byte_of_character(marks.end.index());
        Span {
            start: small(start),
            end: small(end.max(start)),
            line: small(marks.start.line()),
            column: small(marks.start.col() + 1),
        }
    }

    fn fault(&mut self, name: &'static str, span: Span, message: &str, help: &str) {
        self.faults.push(Fault { name, span, message: message.to_owned(), help: Some(help.to_owned()) });
    }
}

fn is_empty_scalar(node: &Node) -> bool {
    matches!(node.value, Value::Null) && node.span.start >= node.span.end
}

/// A second look at the commonest slips behind the parser's words.
fn syntax_help(info: &str) -> &'static str {
    if info.contains("tab") {
        "indent with spaces"
    } else if info.contains("mapping values") {
        "quote a text that contains `: `, and see that the indentation is right"
    } else if info.contains("cannot start any token") || info.contains("unexpected character") {
        "quote a text that begins with a sign such as @ ` % or &"
    } else {
        "see the indentation, quotes and brackets of this line and the one before"
    }
}

#[cfg(test)]
mod tests;
