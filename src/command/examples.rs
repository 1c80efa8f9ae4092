//! The examples of a command's help, laid out so that each can be pasted.

use gripbook::present::brief::COLUMNS;
use gripbook::present::fold::{continued, fold, wide};

/// Spaces from which on the rest of a line is a remark on its command.
const REMARK: &str = "   ";
/// What a line of an example begins with.
const COMMAND: &str = "  gripbook ";

/// The text behind the options: a command that does not fit its line goes on behind a backslash, between options; a remark
/// that does not fit beside its command stands above it.
pub fn laid_out(help: &str) -> String {
    let mut out: Vec<String> = Vec::new();
    for line in help.replace("\\\n", " ").lines() {
        if !line.starts_with(COMMAND) {
            out.push(fold(line, "", "", COLUMNS));
            continue;
        }
        let (command, remark) = parted(line);
        if wide(line) <= COLUMNS {
            out.push(line.to_owned());
            continue;
        }
        out.extend(remark.map(|remark| format!("  # {remark}")));
        out.push(continued(&words(command), "  ", COLUMNS));
    }
    out.join("\n")
}

/// The first example of a help text, on one line.
pub fn first(help: &str) -> Option<String> {
    let help = help.replace("\\\n", " ");
    let line = help.lines().find(|line| line.starts_with(COMMAND))?;
    Some(words(parted(line).0).join(" "))
}

fn parted(line: &str) -> (&str, Option<&str>) {
    let line = line.trim();
    match line.find(REMARK) {
        Some(at) if !line[at..].trim_start().starts_with('-') => (&line[..at], Some(line[at..].trim())),
        _ => (line, None),
    }
}

/// The words of a command; a quoted text is one, and an option keeps its value.
fn words(command: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut quote: Option<char> = None;
    let mut word = String::new();
    for c in command.chars().chain([' ']) {
        if c != ' ' || quote.is_some() {
            word.push(c);
        }
        match quote {
            None if matches!(c, '\'' | '"') => quote = Some(c),
            Some(open) if open == c => quote = None,
            None if c == ' ' && !word.is_empty() => words.push(std::mem::take(&mut word)),
            _ => {}
        }
    }
    let mut grouped: Vec<String> = Vec::new();
    for word in words {
        match grouped.last_mut() {
            Some(last) if takes_value(last) && !word.starts_with('-') => *last = format!("{last} {word}"),
            // The program and its command stay together.
            Some(last) if last == "gripbook" => *last = format!("{last} {word}"),
            _ => grouped.push(word),
        }
    }
    grouped
}

fn takes_value(word: &str) -> bool {
    word.starts_with("--") && !word.contains([' ', '='])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::arguments::program;
    use crate::command::registry;

    #[test]
    fn a_long_example_breaks_between_its_options_and_a_remark_goes_above() {
        let line = "  gripbook plan --matrix 'material=logger-grey,logger-clear' --thread M3 --length 6mm --out test-1     two materials";
        let text = laid_out(&format!("Examples:\n{line}\n  gripbook plan --ladder   short"));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[1], "  # two materials");
        assert!(lines[2].ends_with(" \\") && lines[3].trim_start().starts_with("--"), "{text}");
        assert_eq!(lines[4], "  gripbook plan --ladder   short");
        assert!(lines.iter().all(|l| wide(l) <= COLUMNS), "{text}");
        assert_eq!(first(&text).as_deref().map(|l| l.starts_with("gripbook plan --matrix")), Some(true));
    }

    /// Every command has examples; each is a line that the parser takes, and none is cut on 80 columns.
    #[test]
    fn every_command_has_examples_that_parse() {
        let mut lacking = Vec::new();
        check(&program(registry::ALL), "gripbook", &mut lacking);
        assert!(lacking.is_empty(), "{lacking:#?}");
    }

    fn check(command: &clap::Command, path: &str, lacking: &mut Vec<String>) {
        for inner in command.get_subcommands().filter(|c| c.get_name() != "help") {
            let path = format!("{path} {}", inner.get_name());
            check(inner, &path, lacking);
            let help = inner.get_after_help().map(ToString::to_string).unwrap_or_default();
            let plain = help.replace("\\\n", " ");
            let examples: Vec<&str> = plain.lines().filter(|line| line.starts_with(COMMAND)).collect();
            if examples.is_empty() {
                lacking.push(format!("{path}: no example"));
            }
            lacking.extend(help.lines().filter(|l| wide(l) > COLUMNS).map(|l| format!("{path}: too wide: {l}")));
            for example in examples {
                let typed: Vec<String> = split(parted(example).0);
                if let Err(refusal) = crate::command::Arguments::read(registry::ALL, &typed) {
                    lacking.push(format!("{example}: {}", refusal.kind()));
                }
            }
        }
    }

    /// As a shell splits a line without anything to expand.
    fn split(line: &str) -> Vec<String> {
        let mut words = vec![String::new()];
        let mut quote = None;
        for c in line.chars() {
            match (quote, c) {
                (None, '\'' | '"') => quote = Some(c),
                (Some(open), c) if open == c => quote = None,
                (None, ' ') => words.push(String::new()),
                _ => words.last_mut().expect("a word").push(c),
            }
        }
        words.retain(|w| !w.is_empty());
        words
    }
}
