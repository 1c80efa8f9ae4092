//! A line that was typed wrongly, answered in a sentence: what is wrong, the nearest right word, where to read on.

use super::arguments::program;
use super::card::Commands;
use super::{Fault, examples};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::error::Error;

/// The fault in our words.
pub fn told(refusal: &clap::Error, commands: Commands) -> Fault {
    use ErrorKind as K;
    let command = command_of(refusal);
    let of = |kind| words(refusal, kind);
    let argument = of(ContextKind::InvalidArg).iter().map(|a| bare(a)).collect::<Vec<_>>().join(", ");
    let value = of(ContextKind::InvalidValue).join(", ");
    let help = match of(ContextKind::Usage).is_empty() {
        true => "Add --help to the line to see what it takes.".to_owned(),
        false => format!("`{command} --help` lists what it takes."),
    };
    let (message, help) = match refusal.kind() {
        K::InvalidSubcommand | K::MissingSubcommand => {
            let typed = of(ContextKind::InvalidSubcommand).join(" ");
            let near = nearest(&of(ContextKind::SuggestedSubcommand));
            let message = match typed.is_empty() {
                true => format!("`{command}` wants to be told what to do"),
                false => format!("`{typed}` is not a command of `{command}`"),
            };
            (message, join(near, &format!("`{command} --help` lists the commands.")))
        }
        K::UnknownArgument => {
            let near = nearest(&of(ContextKind::SuggestedArg));
            let sort = if argument.starts_with('-') { "has no option" } else { "takes no further word, such as" };
            let near = near.or_else(|| below_zero(&argument));
            (format!("`{command}` {sort} `{argument}`"), join(near, &help))
        }
        K::InvalidValue if value.is_empty() => (format!("{argument} needs a value"), choice(&of(ContextKind::ValidValue), help)),
        K::InvalidValue => {
            let near = nearest(&of(ContextKind::SuggestedValue));
            let all = choice(&of(ContextKind::ValidValue), help);
            (format!("{argument} cannot be `{value}`"), join(near, &all))
        }
        K::ValueValidation => {
            let why = refusal.source().map(|source| of_a_number(&source.to_string()).to_owned());
            let message = match why {
                // A reason that begins with the value says it all.
                Some(why) if why.starts_with(&format!("`{value}`")) => format!("{argument}: {why}"),
                Some(why) => format!("{argument} cannot be `{value}`: {why}"),
                None => format!("{argument} cannot be `{value}`"),
            };
            (message, help)
        }
        K::MissingRequiredArgument => {
            let all: Vec<String> = of(ContextKind::InvalidArg).iter().map(|argument| needed(argument)).collect();
            let example = example(commands, &command).map_or(help.clone(), |line| format!("for example: {line}\n  {help}"));
            (format!("`{command}` also needs {}", all.join(", ")), example)
        }
        K::ArgumentConflict => {
            let other = of(ContextKind::PriorArg).iter().map(|a| bare(a)).collect::<Vec<_>>().join(", ");
            let message = match other.is_empty() || other == argument {
                true => format!("{argument} can be given once only"),
                false => format!("{argument} and {other} cannot be given together"),
            };
            (message, help)
        }
        K::TooManyValues | K::TooFewValues | K::WrongNumberOfValues => {
            let wanted = of(ContextKind::ExpectedNumValues).into_iter().chain(of(ContextKind::MinValues)).next();
            let wanted = wanted.map(|n| format!(": it takes {n}")).unwrap_or_default();
            (format!("{argument} was given a wrong number of values{wanted}"), help)
        }
        K::NoEquals => (format!("{argument} needs its value behind an equals sign"), help),
        K::InvalidUtf8 => ("the line holds bytes that are not UTF-8".to_owned(), "Type it in a UTF-8 terminal.".to_owned()),
        _ => {
            let text = refusal.render().to_string();
            let first = text.lines().next().unwrap_or_default();
            (first.strip_prefix("error: ").unwrap_or(first).to_owned(), help)
        }
    };
    Fault::usage(message).help(help)
}

/// How a number below zero is written: behind a space it reads as an option.
fn below_zero(argument: &str) -> Option<String> {
    let number = argument.strip_prefix('-').filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit() || c == '.'));
    number.map(|_| format!("A value below zero goes behind an equals sign, as in --NAME={argument}."))
}

/// What the standard library says of a text that is no number, in words for people.
fn of_a_number(why: &str) -> &str {
    match why {
        "invalid digit found in string" | "cannot parse integer from empty string" => "a whole number is expected",
        "number too large to fit in target type" => "the number is too large",
        "number too small to fit in target type" => "the number is too small",
        "invalid float literal" | "cannot parse float from empty string" => "a number is expected",
        other => other,
    }
}

/// The command the line is about: the words before the first option or argument of the usage.
fn command_of(refusal: &clap::Error) -> String {
    let usage = words(refusal, ContextKind::Usage).join(" ");
    let plain = |word: &&str| word.chars().all(|c| c.is_ascii_lowercase() || c == '-') && !word.starts_with('-');
    let below: Vec<&str> = usage.split_whitespace().skip_while(|w| *w == "Usage:").skip(1).take_while(plain).collect();
    std::iter::once("gripbook").chain(below).collect::<Vec<_>>().join(" ")
}

/// What is needed: `--because <TEXT>`, or `one of --value, --factor`.
fn needed(argument: &str) -> String {
    match argument.strip_prefix("<--").and_then(|rest| rest.strip_suffix('>')) {
        Some(choice) => {
            let options: Vec<String> = choice.split('|').map(|one| format!("--{}", bare(one).trim_start_matches("--"))).collect();
            format!("one of {}", options.join(", "))
        }
        None => argument.trim_end_matches("...").to_owned(),
    }
}

/// The first example in the help of a command.
fn example(commands: Commands, command: &str) -> Option<String> {
    let program = program(commands);
    let found = command.split(' ').skip(1).try_fold(&program, |at, name| at.find_subcommand(name))?;
    examples::first(&found.get_after_help()?.to_string())
}

fn words(refusal: &clap::Error, kind: ContextKind) -> Vec<String> {
    match refusal.get(kind) {
        Some(ContextValue::String(one)) => vec![one.clone()],
        Some(ContextValue::Strings(all)) => all.clone(),
        Some(ContextValue::StyledStr(text)) => vec![text.to_string()],
        Some(ContextValue::Number(n)) => vec![n.to_string()],
        _ => Vec::new(),
    }
}

/// `--need <FORCE>` without the name of its value.
fn bare(argument: &str) -> &str {
    argument.split([' ', '=']).next().unwrap_or(argument)
}

fn nearest(near: &[String]) -> Option<String> {
    let list: Vec<String> = near.iter().map(|word| format!("`{}`", bare(word))).collect();
    (!list.is_empty()).then(|| format!("Did you mean {}?", list.join(" or ")))
}

fn join(near: Option<String>, rest: &str) -> String {
    near.map_or_else(|| rest.to_owned(), |near| format!("{near} {rest}"))
}

fn choice(valid: &[String], help: String) -> String {
    match valid {
        [] => help,
        all => format!("It takes {}.", all.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::{Arguments, registry};

    fn refused(line: &str) -> Fault {
        match Arguments::read(registry::ALL, line.split(' ')) {
            Ok(_) => panic!("{line} is taken"),
            Err(refusal) => told(&refusal, registry::ALL),
        }
    }

    #[test]
    fn every_wrong_line_gets_a_sentence_of_ours_with_the_nearest_word() {
        for (line, parts) in [
            ("x fastn pla M3", &["`fastn` is not a command of `gripbook`", "Did you mean `fasten`?", "gripbook --help"][..]),
            ("x fasten --mateial pla", &["`gripbook fasten` has no option `--mateial`", "Did you mean `--material`?"]),
            ("x import curvs", &["`curvs` is not a command of `gripbook import`", "`curve`"]),
            ("x show --format xml", &["--format cannot be `xml`", "It takes text, json"]),
            ("x show pla --format sarif", &["--format cannot be `sarif`", "It takes text, json, markdown, csv, jsonl."]),
            ("x fasten --draws many", &["--draws cannot be `many`", "a whole number is expected"]),
            ("x fasten --seed=-1", &["--seed cannot be `-1`", "a whole number is expected"]),
            ("x fasten --factor two", &["--factor cannot be `two`", "a number is expected"]),
            ("x fasten --for fortnight", &["--for: `fortnight` is neither a kind of load nor a time"]),
            ("x fasten --need", &["--need needs a value"]),
            ("x fasten --through --blind", &["--through", "--blind", "cannot be given together"]),
            ("x compare", &["`gripbook compare` also needs", "ID|FILE", "for example: gripbook compare --a 812,857,790"]),
            (
                "x amend",
                &["also needs --because <BECAUSE>, one of --value, --factor, --unit, <WHAT>", "for example: gripbook amend"],
            ),
            ("x show a b", &["`gripbook show` takes no further word, such as `b`"]),
            ("x fasten pla M3 6mm --cycles -3", &["has no option `-3`", "behind an equals sign, as in --NAME=-3"]),
        ] {
            let fault = refused(line);
            let text = format!("{} {}", fault.message, fault.help.unwrap_or_default());
            assert!(parts.iter().all(|part| text.contains(part)), "{line}: {text}");
            assert!(!text.contains("error:") && !text.contains("tip:") && !text.contains("For more information"), "{text}");
            assert_eq!(fault.exit, 2);
        }
    }
}
