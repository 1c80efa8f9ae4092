//! The reader against an independent YAML reader, and against text that was changed at random.

use super::{repository, shipped};
use crate::fuzz::targets::agrees;
use gripbook::read::{self, tree::Node};
use proptest::prelude::*;

#[test]
fn an_independent_reader_sees_the_same_values_in_every_shipped_record() {
    let records = shipped();
    assert!(records.len() > 200, "{}", records.len());
    for (path, bytes) in records {
        let ours = read::read(bytes).tree.expect("a tree");
        let other: serde_yaml::Value = serde_yaml::from_slice(bytes).expect("readable");
        assert!(agrees(&ours, &other), "{path}");
    }
}

#[test]
fn schemas_read_as_yaml_are_the_json_they_are() {
    let entries = std::fs::read_dir(repository().join("schemas")).expect("schemas").map(|e| e.expect("an entry").path());
    for path in entries.filter(|p| p.is_file()) {
        let bytes = std::fs::read(&path).expect("readable");
        let reading = read::read(&bytes);
        assert_eq!(reading.faults, [], "{path:?}");
        let other: serde_yaml::Value = serde_json::from_slice(&bytes).expect("JSON");
        assert!(agrees(&reading.tree.expect("a tree"), &other), "{path:?}");
    }
}

/// A small generator of its own, so that every run changes the same bytes.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits") % n.max(1)
    }
}

const PIECES: [&str; 28] = [
    ": ", "- ", "{", "}", "[", "]", ",", "\n", "  ", "\t", "\r", "&a ", "*a", "!!str ", "<<: ", "? ", "|\n", ">\n", "\"", "'",
    "#", "---\n", "...\n", "%", "\u{202e}", "µ", "1e999", "\0",
];

fn changed(base: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = base.to_vec();
    for _ in 0..=dice.below(4) {
        let at = dice.below(bytes.len() + 1);
        match dice.below(5) {
            0 if at < bytes.len() => bytes[at] ^= 1 << dice.below(8),
            1 if at < bytes.len() => drop(bytes.remove(at)),
            2 => {
                let end = (at + dice.below(40)).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = dice.below(bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            3 => bytes.truncate(at),
            _ => drop(bytes.splice(at..at, PIECES[dice.below(PIECES.len())].bytes())),
        }
    }
    bytes
}

#[test]
fn changed_records_never_bring_the_program_down_nor_mean_something_else_to_the_other_reader() {
    let bases: Vec<(&str, &[u8])> = shipped().into_iter().filter(|(_, b)| b.len() < 3000).collect();
    let mut dice = Dice(20_260_301);
    let mut mutants: Vec<(String, Vec<u8>)> = Vec::new();
    for n in 0..4000 {
        let (path, base) = bases[dice.below(bases.len())];
        let folder = path.split('/').next().expect("a folder");
        mutants.push((format!("{folder}/m{n}.yaml"), changed(base, &mut dice)));
    }
    let mut taken = 0;
    for (path, bytes) in &mutants {
        let reading = read::read(bytes);
        if let (true, Some(tree)) = (reading.faults.is_empty(), &reading.tree) {
            taken += 1;
            if let Ok(other) = serde_yaml::from_slice::<serde_yaml::Value>(bytes) {
                assert!(agrees(tree, &other), "{path}\n{}", String::from_utf8_lossy(bytes));
            }
        }
        for fault in &reading.faults {
            assert!(fault.span.line >= 1 && fault.span.column >= 1 && fault.span.start <= fault.span.end, "{fault:?}");
        }
    }
    assert!(taken > 300, "only {taken} of the mutants were taken");
    let files: Vec<(&str, &[u8])> = mutants.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice())).collect();
    let found = super::pack_of(&files);
    assert!(found.len() > 1000, "{}", found.len());
    // What is shown of them is safe for a terminal, whatever they hold.
    let shown = gripbook::present::text::page(
        &gripbook::present::findings::page(&found),
        gripbook::present::Look { width: 100, colour: false },
    );
    assert!(!shown.contains(|c| gripbook::read::characters::trouble(c).is_some()));
}

proptest! {
    #[test]
    fn any_bytes_can_be_read(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let reading = read::read(&bytes);
        prop_assert!(reading.tree.is_some() || !reading.faults.is_empty());
    }

    #[test]
    fn text_written_by_the_other_library_is_read_back(text in "\\PC{0,40}", number in -1e6f64..1e6) {
        prop_assume!(!text.chars().any(|c| gripbook::read::characters::trouble(c).is_some()));
        let mut map = serde_yaml::Mapping::new();
        map.insert("text".into(), text.clone().into());
        map.insert("number".into(), number.into());
        let written = serde_yaml::to_string(&map).expect("written");
        let reading = read::read(written.as_bytes());
        // The other library leaves some words unquoted that are refused here (yes, 1_0, 1:30).
        prop_assume!(reading.faults.is_empty());
        let tree = reading.tree.expect("a tree");
        prop_assert_eq!(tree.get("text").and_then(Node::as_text), Some(text.as_str()));
        prop_assert_eq!(tree.get("number").and_then(Node::as_number), Some(number));
    }
}
