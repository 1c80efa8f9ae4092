//! The text of one file, with a table from lines and columns to bytes.

use super::{Fault, TOP};
use crate::finding::Span;

/// Text of a file after the byte order mark is taken off. Offsets count from there.
#[derive(Debug, Clone, Default)]
pub struct Source {
    text: String,
    /// Byte offset of the start of each line.
    lines: Vec<u32>,
    /// The characters that take more than one byte: number of the character after each, and its byte offset.
    wide: Vec<(u32, u32)>,
    byte_order_mark: bool,
}

impl Source {
    pub(super) fn empty() -> Self {
        Source::from_text(String::new())
    }

    /// Takes UTF-8 bytes, with or without byte order mark.
    ///
    /// # Errors
    /// `encoding-not-utf8` at the first byte that is not UTF-8, and for UTF-16.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, Fault> {
        let looks_utf16 =
            matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) || matches!(bytes, [0, b, ..] | [b, 0, ..] if *b != 0);
        if looks_utf16 {
            return Err(not_utf8(TOP, "the file is UTF-16, records are UTF-8"));
        }
        let (body, byte_order_mark) = match bytes {
            [0xEF, 0xBB, 0xBF, rest @ ..] => (rest, true),
            all => (all, false),
        };
        match std::str::from_utf8(body) {
            Ok(text) => {
                let mut source = Source::from_text(text.to_owned());
                source.byte_order_mark = byte_order_mark;
                Ok(source)
            }
            Err(error) => {
                let good = String::from_utf8_lossy(&body[..error.valid_up_to()]).into_owned();
                let end = good.len();
                let place = Source::from_text(good).span(end, end);
                Err(not_utf8(place, "the file is not UTF-8 from here on"))
            }
        }
    }

    /// Takes text that is known to be UTF-8 and has no byte order mark.
    #[must_use]
    pub fn from_text(text: String) -> Self {
        let bytes = text.as_bytes();
        let mut lines = vec![0];
        for (at, byte) in bytes.iter().enumerate() {
            let ends = match byte {
                b'\n' => true,
                b'\r' => bytes.get(at + 1) != Some(&b'\n'),
                _ => false,
            };
            if ends {
                lines.push(small(at + 1));
            }
        }
        let wide = wide(&text);
        Source { text, lines, wide, byte_order_mark: false }
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether a byte order mark stood before the text.
    #[must_use]
    pub fn has_byte_order_mark(&self) -> bool {
        self.byte_order_mark
    }

    /// Number of lines; text after the last line end counts as a line, nothing after it does not.
    #[must_use]
    pub fn line_count(&self) -> usize {
        let open = self.lines.last().copied() != Some(small(self.text.len()));
        self.lines.len() - usize::from(!open)
    }

    /// Line `number` (from 1) without its line end.
    #[must_use]
    pub fn line(&self, number: usize) -> Option<&str> {
        let start = *self.lines.get(number.checked_sub(1)?)? as usize;
        let end = self.lines.get(number).map_or(self.text.len(), |at| *at as usize);
        Some(self.text[start..end].trim_end_matches(['\n', '\r']))
    }

    /// Byte offset of a line and column, both from 1, the column in characters.
    #[must_use]
    pub fn byte_at(&self, line: usize, column: usize) -> Option<usize> {
        let start = *self.lines.get(line.checked_sub(1)?)? as usize;
        let text = self.line(line)?;
        let within = text.char_indices().map(|(at, _)| at).chain(std::iter::once(text.len())).nth(column.checked_sub(1)?)?;
        Some(start + within)
    }

    /// Byte offset of the character with this number; past the end it is the end.
    pub(super) fn byte_of_character(&self, index: usize) -> usize {
        let before = self.wide.partition_point(|(after, _)| *after as usize <= index);
        let (number, byte) = before.checked_sub(1).map_or((0, 0), |at| self.wide[at]);
        (byte as usize + (index - number as usize)).min(self.text.len())
    }

    /// The span from one byte offset to another, with line and column of its start.
    /// Offsets inside a character are moved to its start.
    #[must_use]
    pub fn span(&self, start: usize, end: usize) -> Span {
        let start = self.floor(start);
        let end = self.floor(end).max(start);
        let line = self.lines.partition_point(|at| *at as usize <= start);
        let begin = self.lines[line - 1] as usize;
        let column = if self.wide.is_empty() { start - begin } else { self.text[begin..start].chars().count() };
        Span { start: small(start), end: small(end), line: small(line), column: small(column + 1) }
    }

    /// The text a span covers.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start as usize..span.end as usize).unwrap_or("")
    }

    fn floor(&self, mut at: usize) -> usize {
        at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }
}

/// Where characters of more than one byte end: number of the next character and its byte offset.
fn wide(text: &str) -> Vec<(u32, u32)> {
    let bytes = text.as_bytes();
    let (mut all, mut extra, mut at) = (Vec::new(), 0, 0);
    while let Some(ahead) = bytes[at..].iter().position(|byte| *byte >= 0x80) {
        at += ahead;
        let length = text[at..].chars().next().map_or(1, char::len_utf8);
        at += length;
        extra += length - 1;
        all.push((small(at - extra), small(at)));
    }
    all
}

fn not_utf8(span: Span, message: &str) -> Fault {
    Fault { name: "encoding-not-utf8", span, message: message.to_owned(), help: Some("save the file as UTF-8".to_owned()) }
}

/// Offsets fit because a file is refused above [`super::FILE_LIMIT`]; longer text is clamped.
pub(super) fn small(offset: usize) -> u32 {
    u32::try_from(offset).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_offsets_bytes() {
        let source = Source::from_text("a: 1\nµm: 5 µm\r\nlast".to_owned());
        assert_eq!(source.line(2), Some("µm: 5 µm"));
        let at = source.byte_at(2, 7).expect("line 2 has a seventh column");
        assert_eq!(&source.text()[at..at + 3], "µm");
        let span = source.span(at, at + 3);
        assert_eq!((span.line, span.column), (2, 7));
        assert_eq!(source.slice(span), "µm");
        assert_eq!(source.line(3), Some("last"));
        assert_eq!(source.line_count(), 3);
        assert_eq!(source.byte_at(9, 1), None);
    }

    #[test]
    fn a_final_line_end_does_not_start_a_line() {
        assert_eq!(Source::from_text("a\nb\n".to_owned()).line_count(), 2);
        assert_eq!(Source::from_text(String::new()).line_count(), 0);
    }

    #[test]
    fn utf16_and_broken_utf8_are_refused_with_their_place() {
        let fault = Source::from_bytes(b"\xFF\xFEa\0:\0").expect_err("UTF-16");
        assert_eq!(fault.name, "encoding-not-utf8");
        assert!(Source::from_bytes(b"a\0:\0 \0").is_err());
        let fault = Source::from_bytes("name: é\nalso: \u{e9}".as_bytes());
        assert!(fault.is_ok());
        let fault = Source::from_bytes(b"name: a\nalso: \xE9\n").expect_err("Latin-1");
        assert_eq!((fault.span.line, fault.span.column), (2, 7));
    }
}
