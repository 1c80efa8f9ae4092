//! Breaking a text into lines.

use super::safe;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Columns of text that are left however far it is set in.
const ROOM: usize = 20;

/// Breaks a text at its spaces so that no line passes `width`; the first line starts with `first`, the others with `rest`.
pub fn fold(text: &str, first: &str, rest: &str, width: usize) -> String {
    let text = with_units(&safe::line(text));
    if text.is_empty() {
        return first.trim_end().to_owned();
    }
    let room = if rest.is_empty() { width } else { width.max(wide(rest) + ROOM) };
    let options = Options::new(room)
        .initial_indent(first)
        .subsequent_indent(rest)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    textwrap::wrap(&text, options).join("\n").replace(HELD, " ")
}

/// Columns a text takes on a screen.
pub fn wide(text: &str) -> usize {
    textwrap::core::display_width(text)
}

/// A space at which no line is broken.
pub(super) const HELD: char = '\u{a0}';

/// A text whose numbers hold on to their units: `812 N`, `95 %`.
pub(super) fn with_units(text: &str) -> String {
    const UNIT: usize = 8;
    let words: Vec<&str> = text.split(' ').collect();
    let mut out = String::with_capacity(text.len());
    for (at, word) in words.iter().enumerate() {
        if at > 0 {
            let is_number = words[at - 1].ends_with(|c: char| c.is_ascii_digit());
            let is_unit = word.starts_with(|c: char| !c.is_ascii_digit() && c != '(') && word.chars().count() <= UNIT;
            out.push(if is_number && is_unit { HELD } else { ' ' });
        }
        out.push_str(word);
    }
    out
}
