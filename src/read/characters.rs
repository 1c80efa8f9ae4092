//! Which characters a record may hold.
//!
//! Control characters drive terminals, bidirectional controls show a reviewer another order than
//! the program reads, invisible characters make two words look the same.

use crate::finding::Span;

use super::Fault;
use super::source::Source;

/// Why a character is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// C0, C1 or delete.
    Control,
    /// Changes the direction of text.
    Direction,
    /// Takes no room on screen, or is no character at all.
    Invisible,
}

/// Whether a character is refused in records and made visible on output. Tab and line feed are
/// fine, and so is a carriage return before a line feed (its reader checks that).
#[must_use]
pub fn trouble(c: char) -> Option<Trouble> {
    match c {
        '\t' | '\n' | '\r' => None,
        '\0'..='\u{1F}' | '\u{7F}'..='\u{9F}' => Some(Trouble::Control),
        ' '..='~' => None,
        '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => Some(Trouble::Direction),
        '\u{AD}'
        | '\u{34F}'
        | '\u{115F}'
        | '\u{1160}'
        | '\u{180E}'
        | '\u{200B}'..='\u{200D}'
        | '\u{2028}'
        | '\u{2029}'
        | '\u{2060}'..='\u{2065}'
        | '\u{206A}'..='\u{206F}'
        | '\u{3164}'
        | '\u{FEFF}'
        | '\u{FFA0}'
        | '\u{FFF9}'..='\u{FFFB}'
        | '\u{FFFE}'
        | '\u{FFFF}'
        | '\u{E0000}'..='\u{E007F}' => Some(Trouble::Invisible),
        _ => None,
    }
}

/// Faults of the raw text: refused characters (one per line), a lone carriage return, a missing
/// final line end.
pub(super) fn faults(source: &Source) -> Vec<Fault> {
    let text = source.text();
    let mut faults = Vec::new();
    let (mut last_line, mut from) = (0, 0);
    while let Some(ahead) = text.as_bytes()[from..].iter().position(|byte| suspicious(*byte)) {
        let at = from + ahead;
        let c = text[at..].chars().next().unwrap_or_default();
        from = at + c.len_utf8();
        let lone = c == '\r' && !text[from..].starts_with('\n');
        if !lone && trouble(c).is_none() {
            continue;
        }
        let span = source.span(at, from);
        if span.line != last_line {
            last_line = span.line;
            faults.push(if lone { lone_return(span) } else { forbidden(span, c, "") });
        }
    }
    if !text.is_empty() && !text.ends_with('\n') && !text.ends_with('\r') {
        faults.push(Fault {
            name: "newline-missing",
            span: source.span(text.len(), text.len()),
            message: "the last line has no line end".to_owned(),
            help: Some("end the file with a line end; without it a cut-off file could pass".to_owned()),
        });
    }
    faults
}

/// Bytes that make a closer look necessary: controls and everything beyond ASCII.
fn suspicious(byte: u8) -> bool {
    (byte < b' ' && byte != b'\n' && byte != b'\t') || byte >= 0x7F
}

fn lone_return(span: Span) -> Fault {
    Fault {
        name: "carriage-return-alone",
        span,
        message: "a carriage return without line feed".to_owned(),
        help: Some("end lines with a line feed".to_owned()),
    }
}

/// The fault for a refused character; `inside` says where it was found when not in plain sight.
pub(super) fn forbidden(span: Span, c: char, inside: &str) -> Fault {
    let what = match trouble(c) {
        Some(Trouble::Direction) => "changes the direction of text",
        Some(Trouble::Invisible) => "is invisible",
        _ => "is a control character",
    };
    Fault {
        name: "character-forbidden",
        span,
        message: format!("U+{:04X}{inside} {what}", u32::from(c)),
        help: Some("remove it".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Vec<(&'static str, u32, u32)> {
        faults(&Source::from_text(text.to_owned())).iter().map(|f| (f.name, f.span.line, f.span.column)).collect()
    }

    #[test]
    fn raw_text_is_searched_comments_included() {
        assert_eq!(found("a: µ °\tx\r\n"), []);
        assert_eq!(found("a: b # \u{202E}c\n"), [("character-forbidden", 1, 8)]);
        assert_eq!(found("a\u{7}\u{7}: b\nc: \u{1b}\n").len(), 2);
        assert_eq!(found("a: b\rc: d\n"), [("carriage-return-alone", 1, 5)]);
        assert_eq!(found("a: b"), [("newline-missing", 1, 5)]);
    }
}
