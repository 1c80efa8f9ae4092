//! The recipes of DEVELOPERS.md hold: what was added is found, and what is missing is named with its file.

use gripbook::command::arguments;
use gripbook::command::card::Effect;
use gripbook::command::registry;
use gripbook::present::Format;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::process::Command;
use std::{env, fs};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn source(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Names of the Rust files and folders of a module, without their ending.
fn modules(folder: &str) -> BTreeSet<String> {
    let entries = fs::read_dir(root().join(folder)).expect("a folder").map(|e| e.expect("an entry").path());
    let names = entries.filter(|p| p.is_dir() || p.extension().is_some_and(|e| e == "rs"));
    names.filter_map(|p| Some(p.file_stem()?.to_str()?.to_owned())).filter(|n| n != "mod").collect()
}

#[test]
fn a_command_is_one_file_and_one_line() {
    let list = source("src/command/registry.rs");
    let declared = source("src/command/mod.rs");
    let mut missing = Vec::new();
    let mut cards = 0;
    for module in modules("src/command") {
        if !declared.contains(&format!("mod {module};")) {
            missing.push(format!("src/command/mod.rs: add `mod {module};`"));
        }
        let file = root().join(format!("src/command/{module}.rs"));
        let text = fs::read_to_string(&file).unwrap_or_default();
        for line in text.lines() {
            let Some(name) = line.strip_prefix("pub const ").and_then(|l| l.strip_suffix(": CommandCard = CommandCard {")) else {
                continue;
            };
            cards += 1;
            if !list.contains(&format!("    &super::{module}::{name},\n")) {
                missing.push(format!("src/command/registry.rs: add `&super::{module}::{name},` to ALL"));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
    assert_eq!(cards, registry::ALL.len(), "every command of the list has its card in a file of src/command");
}

#[test]
fn cards_of_commands_are_whole() {
    let names: BTreeSet<&str> = registry::ALL.iter().map(|c| c.name).collect();
    assert_eq!(names.len(), registry::ALL.len(), "a name is given once");
    let mut program = arguments::program(registry::ALL);
    program.build();
    for card in registry::ALL {
        assert!(card.about.len() > 10 && !card.about.ends_with('.'), "{}", card.name);
        assert!(card.formats.contains(&Format::Text) && card.formats.contains(&Format::Json), "{}", card.name);
        let command = program.find_subcommand(card.name).unwrap_or_else(|| panic!("{} is not in the parser", card.name));
        // An option that writes a file is listed, or `recheck` would write it again.
        for option in command.get_arguments() {
            let help = option.get_help().map(ToString::to_string).unwrap_or_default();
            let Some(long) = option.get_long() else { continue };
            let file = option.get_value_parser().type_id() == std::any::TypeId::of::<PathBuf>()
                || option.get_value_parser().type_id() == clap::builder::ValueParser::path_buf().type_id();
            if file
                && (help.starts_with("Write") || help.starts_with("Folder") || help.starts_with("Draw"))
                && long != "hole-table"
            {
                let listed = card.outputs.contains(&&*format!("--{long}")) || card.effect == Effect::Writes;
                assert!(listed, "src/command/{}.rs: add `--{long}` to `outputs` of its card", card.name);
            }
        }
        for output in card.outputs {
            let known = command.get_arguments().any(|a| a.get_long() == Some(&output[2..]));
            assert!(known, "{} has no option {output}", card.name);
        }
    }
}

/// A line for every command whose answers have more forms than the page.
const TABLES: &[(&str, &[&str])] = &[
    ("check", &["check", "records/demo/pack.yaml"]),
    ("suits", &["suits", "cyanoacrylate", "pla"]),
    ("fasten", &["fasten", "pla", "M3", "6mm", "--draws", "500"]),
    ("find", &["find", "pla"]),
    ("show", &["show"]),
    ("series", &["series", "--loads", "410,395,402", "--unit", "N"]),
    ("thread", &["thread", "M3"]),
    ("formula", &["formula"]),
    ("compare", &["compare", "--a", "410,395,402", "--b", "380,371,385", "--unit", "N"]),
    ("plan", &["plan", "--ladder"]),
    ("audit", &["audit", "records/demo/pack.yaml"]),
    ("why", &["why"]),
    ("gaps", &["gaps"]),
    ("export", &["export"]),
];

#[test]
fn a_command_has_the_formats_its_card_says() {
    for card in registry::ALL {
        let more: Vec<&Format> =
            card.formats.iter().filter(|f| !matches!(f, Format::Text | Format::Json | Format::Markdown)).collect();
        let line = TABLES.iter().find(|(name, _)| *name == card.name).map(|(_, line)| *line);
        assert!(more.is_empty() || line.is_some(), "tests/recipes.rs: add a line of `{}` to TABLES", card.name);
        for format in more {
            let out = Command::new(env!("CARGO_BIN_EXE_gripbook"))
                .current_dir(root())
                .args(line.unwrap_or_default())
                .args(["--format", format.word()])
                .output()
                .expect("runs");
            let said = String::from_utf8_lossy(&out.stderr);
            assert!(matches!(out.status.code(), Some(0 | 1)), "{} --format {}: {said}", card.name, format.word());
        }
    }
    let refused = Command::new(env!("CARGO_BIN_EXE_gripbook")).args(["trace", "polymer/pla:tg", "--format", "csv"]).output();
    let refused = refused.expect("runs");
    assert_eq!((refused.status.code(), refused.stdout.len()), (Some(2), 0), "{refused:?}");
}
