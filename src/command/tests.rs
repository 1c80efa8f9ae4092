//! The cards of the commands say what the commands do.

use super::arguments;
use super::card::Effect;
use super::registry;
use gripbook::present::Format;
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

/// Each card in a file of this folder stands in the list once.
#[test]
fn every_card_is_listed() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/command");
    let files = fs::read_dir(folder).expect("a folder").map(|e| e.expect("an entry").path());
    let texts = files.filter(|p| p.extension().is_some_and(|e| e == "rs")).map(|p| fs::read_to_string(p).expect("a source file"));
    let cards: usize = texts.map(|text| text.matches(": CommandCard = CommandCard {").count()).sum();
    // The contract itself, and this line.
    assert_eq!(cards - 1, registry::ALL.len());
}

/// What answers from the book alone is on a page too, in the order of the help.
#[test]
fn a_page_has_the_commands_that_answer_without_a_folder() {
    let of_a_page: Vec<&str> = registry::OF_A_PAGE.iter().map(|c| c.name).collect();
    let all: Vec<&str> = registry::ALL.iter().filter(|c| c.effect == Effect::Answers).map(|c| c.name).collect();
    assert_eq!(of_a_page, all);
    assert!(all.contains(&"fasten") && !all.contains(&"check"), "{all:?}");
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

/// Every command that writes meets full disks, failing calls and kills, by each option that names a file.
#[test]
fn every_way_of_writing_meets_faults() {
    let scene = include_str!("../../tests/faults/scene.rs");
    for card in registry::ALL {
        let name = card.name;
        assert!(
            card.effect != Effect::Writes
                || scene.contains(&format!("writing(\n        \"{name}"))
                || scene.contains(&format!("writing(\"{name}")),
            "{name}"
        );
        for option in card.outputs {
            let tried = [format!("writing(\"{name} {option}\""), format!("writing(\n        \"{name} {option}\"")];
            assert!(tried.iter().any(|line| scene.contains(line)), "{name} {option}");
        }
    }
}
