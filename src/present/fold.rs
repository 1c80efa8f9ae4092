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

/// Lines for a terminal of so many columns; what is longer goes on below, set in. A line to be copied stays whole.
pub fn notice(text: &str, width: usize) -> String {
    let one = |line: &str| {
        let spaces = line.len() - line.trim_start().len();
        let is_command = ["gripbook ", "for example: ", "Repaired: "].iter().any(|start| line[spaces..].starts_with(start));
        if wide(line) <= width || is_command {
            return line.to_owned();
        }
        fold(&line[spaces..], &line[..spaces], &" ".repeat(spaces + 2), width)
    };
    text.lines().map(one).collect::<Vec<_>>().join("\n")
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

/// Words on lines of so many columns, each but the last ended by a backslash.
pub fn continued(words: &[String], indent: &str, width: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            // Two for the backslash and the space before it.
            Some(line) if line.chars().count() + 1 + word.chars().count() + 2 <= width => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) => lines.push(format!("{indent}  {word}")),
            None => lines.push(format!("{indent}{word}")),
        }
    }
    lines.join(" \\\n")
}

#[cfg(test)]
mod tests {
    use super::{continued, notice, wide};

    #[test]
    fn a_notice_folds_and_a_command_in_it_does_not() {
        let command = "  Repaired: gripbook fasten pla M3 6mm 300N --hottest 40°C --boss 9mm --pack demo";
        let text = format!("gripbook: `kg` is a unit of a mass, but a force or load is expected here\n{command}");
        let folded = notice(&text, 40);
        assert!(folded.ends_with(command) && folded.lines().take(2).all(|line| wide(line) <= 40), "{folded}");
        assert_eq!(notice(&text, 200), text);
    }

    #[test]
    fn a_long_command_goes_on_behind_a_backslash() {
        let words = ["gripbook plan --matrix material=abs", "method=captive-nut", "--thread M3", "--length 6mm"];
        let words = words.map(String::from);
        let text = continued(&words, "   ", 60);
        assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
        assert_eq!(text.lines().filter(|line| line.ends_with(" \\")).count(), text.lines().count() - 1, "{text}");
        let joined = text.replace("\\\n", " ");
        assert_eq!(joined.split_whitespace().collect::<Vec<_>>().join(" "), words.join(" "));
        assert_eq!(continued(&words[..1], "", 60), words[0]);
    }
}
