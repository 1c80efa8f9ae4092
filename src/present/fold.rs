//! Breaking a text into lines.

use super::safe;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Columns of text that are left however far it is set in.
const ROOM: usize = 20;

/// Breaks a text at its spaces so that no line passes `width`; the first line starts with `first`, the others with `rest`.
pub fn fold(text: &str, first: &str, rest: &str, width: usize) -> String {
    let text = safe::line(text);
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
    textwrap::wrap(&text, options).join("\n")
}

/// Columns a text takes on a screen.
pub fn wide(text: &str) -> usize {
    textwrap::core::display_width(text)
}
