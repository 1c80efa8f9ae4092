//! The short way against the event parser: the same tree, place by place, or no tree.

use crate::read::quick;
use crate::read::source::Source;
use crate::read::tree::{Node, Value};
use crate::read::{build, characters};
use std::fs;
use std::path::{Path, PathBuf};

/// A tree with all places.
fn dump(node: &Node, to: &mut String) {
    to.push_str(&format!("\n{:?} ", node.span));
    match &node.value {
        Value::Map(map) => map.iter().for_each(|entry| {
            to.push_str(&format!("\n{:?} {}:", entry.key.span, entry.key.text));
            dump(&entry.node, to);
        }),
        Value::List(items) => items.iter().for_each(|item| dump(item, to)),
        scalar => to.push_str(&format!("{scalar:?}")),
    }
}

fn dumped(node: &Node) -> String {
    let mut text = String::new();
    dump(node, &mut text);
    text
}

/// What the event parser says: its tree with all places, when it finds no fault.
fn slow(source: &Source) -> Option<String> {
    let mut faults = characters::faults(source);
    let tree = build::build(source, &mut faults);
    tree.filter(|_| faults.is_empty()).map(|tree| dumped(&tree))
}

/// Whether the short way took the text; it must then agree with the long one.
fn agrees(text: &str) -> bool {
    let source = Source::from_text(text.to_owned());
    if !characters::faults(&source).is_empty() {
        return false;
    }
    let Some(tree) = quick::build(&source) else { return false };
    assert_eq!(Some(dumped(&tree)), slow(&source), "{text}");
    true
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            all.extend(files(&path));
        } else if path.extension().is_some_and(|e| e == "yaml") {
            all.push(path);
        }
    }
    all.sort();
    all
}

/// Every record of the repository and every deliberately bad one.
fn texts() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let all = ["records", "tests/data"].iter().flat_map(|folder| files(&root.join(folder)));
    all.filter_map(|path| fs::read_to_string(path).ok()).collect()
}

#[test]
fn every_record_reads_the_same_both_ways() {
    let texts = texts();
    let taken = texts.iter().filter(|text| agrees(text)).count();
    assert!(taken * 2 > texts.len(), "only {taken} of {} took the short way", texts.len());
}

#[test]
fn what_is_unusual_is_left_to_the_long_way() {
    let plain = "name: a\nlist:\n  - {a: 1, b: [x, 'y']}\n  - c: 2\n    d: e f\nnested:\n  deep: \"q\"\n";
    assert!(agrees(plain));
    for text in [
        "name: a\n  b\n",
        "name: |\n  a\n",
        "name: >\n  a\n",
        "a: b: c\n",
        "a: b #c\n",
        "a: &x b\n",
        "a: *b\n",
        "a: !t b\n",
        "? a\n: b\n",
        "a: yes\n",
        "a: ~\n",
        "a:\n",
        "a:\nb: 1\n",
        "a:\n- b\n",
        "- a\n",
        "a: {b: 1\n",
        "a: {b: 1}}\n",
        "a: {b: 1} c\n",
        "a: {b: 46,5 MPa}\n",
        "a: {b: }\n",
        "a: [b, ]\n",
        "a: [b: c]\n",
        "a: 'b''c'\n",
        "a: \"b\\n\"\n",
        "a: \"b\n  c\"\n",
        "a: b \n",
        "a: b",
        "\ta: b\n",
        " a: b\n",
        "a: b\n c: d\n",
        "a:\n    b: c\n  d: e\n",
        "a: b\na: c\n",
        "---\na: b\n",
        "%YAML 1.2\n---\na: b\n",
        "a: b\n...\n",
        "no: a\n",
        "1: a\n",
        "a: - b\n",
        "a: [[[[[[[[[[[[[[[[[b]]]]]]]]]]]]]]]]]\n",
        "a: - \n",
        "a:\n  - - b\n",
        "a:b\n",
        "a: {b:c}\n",
        "a: @b\n",
        "a: `b`\n",
        "a: %b\n",
        "a: ,b\n",
        "a: {b: 1 -, c: d}\n",
        "a: {b: [c] }\n",
        "a: {b: 'c' , d: e}\n",
        "a: 010\n",
        "",
    ] {
        assert!(!agrees(text), "{text}");
    }
}

/// A row of numbers that look random and are the same in every run.
fn next(state: &mut u64) -> usize {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    usize::try_from(*state >> 33).unwrap_or_default()
}

#[test]
fn mutations_read_the_same_both_ways() {
    const PIECES: [&str; 30] = [
        " ", "  ", "\n", ":", ": ", "- ", "-", "#", " #", ",", "{", "}", "[", "]", "'", "\"", "\\", "&a ", "*a", "!t ", "|", ">",
        "?", "%", "yes", "0", "µ", "\t", "a: b\n", "\n  ",
    ];
    let texts: Vec<String> = texts().into_iter().filter(|text| text.len() < 3_000).collect();
    let (mut state, mut taken) = (7, 0);
    for round in 0..24_000 {
        let mut text = texts[round % texts.len()].clone();
        for _ in 0..1 + next(&mut state) % 3 {
            let mut at = next(&mut state) % (text.len() + 1);
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            let mut end = (at + next(&mut state) % 4).min(text.len());
            while !text.is_char_boundary(end) {
                end += 1;
            }
            let piece = PIECES[next(&mut state) % PIECES.len()];
            match next(&mut state) % 3 {
                0 => text.insert_str(at, piece),
                1 => text.replace_range(at..end, piece),
                _ => text.replace_range(at..end, ""),
            }
        }
        taken += usize::from(agrees(&text));
    }
    assert!(taken > 2_000, "only {taken} mutations took the short way");
}
