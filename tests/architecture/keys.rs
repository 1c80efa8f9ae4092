//! Fields of a record are read through its view; where a key stands as text all the same, it is a key of a schema.

use super::{code, root, rust_files};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;

/// The views, and the tree that is made from the file.
const VIEWS: &str = "src/book/view/";

/// Files that walk a record's tree by its keys, and why they cannot ask a view.
const TREES: [(&str, &str); 18] = [
    ("src/audit/review/changes.rs", "compares measurements and single results as they are written"),
    ("src/book/lost.rs", "finds entries with a source of their own, wherever they stand"),
    ("src/book/from_tree.rs", "makes head and claims of a record from its tree"),
    ("src/book/pack.rs", "looks whether a pack.yaml adds families"),
    ("src/check/curves.rs", "looks at records that may not fit their schema"),
    ("src/check/fingerprint.rs", "looks at claims that may not fit their schema"),
    ("src/check/methods.rs", "looks at records that may not fit their schema, and at schemas"),
    ("src/check/modules.rs", "looks at records that may not fit their schema"),
    ("src/check/packfile.rs", "looks at a pack.yaml that may not fit its schema, and at schemas of packs"),
    ("src/check/record.rs", "looks at records that may not fit their schema"),
    ("src/check/run.rs", "looks at records that may not fit their schema"),
    ("src/command/add/insert.rs", "changes the text of a file where a key stands"),
    ("src/command/amend/target.rs", "looks for the place of a value in the text of a file"),
    ("src/command/amend/text.rs", "changes the text of a file where a key stands"),
    ("src/command/amend/withdraw.rs", "changes the text of a file where a key stands"),
    ("src/command/import/destination.rs", "looks at a text before it becomes a record, and at the schema of series"),
    ("src/command/page/changes.rs", "finds the history of every value, wherever it stands"),
    ("src/series/write.rs", "adds to the text of a file where a key stands"),
];

/// Files that take something else than a record apart by its keys.
const NO_RECORDS: [(&str, &str); 27] = [
    ("src/audit/gaps/outlook.rs", "assumptions by their names"),
    ("src/book/kinds.rs", "schemas"),
    ("src/check/catalogue.rs", "schemas"),
    ("src/check/conformance.rs", "cases of a published suite"),
    ("src/check/limits.rs", "schemas, and records that may not fit them"),
    ("src/check/schemas.rs", "schemas"),
    ("src/check/view.rs", "schemas"),
    ("src/command/import/ladder.rs", "rows of a sheet"),
    ("src/command/import/results.rs", "rows of a sheet"),
    ("src/command/new/bibtex.rs", "citations in a file of another program"),
    ("src/command/new/citation.rs", "citations in a file of another program"),
    ("src/command/new/cited.rs", "citations in a file of another program"),
    ("src/command/new/csl.rs", "citations in a file of another program"),
    ("src/command/new/pack.rs", "fields that were typed"),
    ("src/command/new/skeleton.rs", "fields that were typed"),
    ("src/command/recheck.rs", "saved answers"),
    ("src/command/recheck/matters.rs", "saved answers"),
    ("src/command/series/published.rs", "an answer"),
    ("src/command/series/source.rs", "rows of a sheet"),
    ("src/command/suits.rs", "facts of a joint by their names"),
    ("src/command/thread.rs", "an answer"),
    ("src/command/trace/answered.rs", "saved answers"),
    ("src/command/trace/sheet.rs", "saved answers"),
    ("src/command/why.rs", "lines of a table"),
    ("src/joint/bonds.rs", "assumptions by their names"),
    ("src/joint/hole_shape.rs", "assumptions by their names"),
    ("src/series/conditions.rs", "schemas"),
];

/// Files that read all fields as written, without knowing any.
const AS_WRITTEN: [(&str, &str); 3] = [
    ("src/book/lost.rs", "entries with a source of their own, wherever they stand"),
    ("src/book/references.rs", "every text that names a record, wherever it stands"),
    ("src/command/show/show_page.rs", "every field that a record has"),
];

/// Keywords of schemas that `check` looks for beside keys of records, and the list of what the program brings itself.
const KEYWORDS: [&str; 3] = ["$id", "built_in", "enum"];

/// What stands between the first quote marks behind each of these openings, where `close` follows.
fn texts<'c>(code: &'c str, opening: &'c str, close: &'c str) -> impl Iterator<Item = &'c str> {
    code.match_indices(opening).filter_map(move |(at, _)| {
        let own = !opening.starts_with('[') || code[..at].ends_with(|c: char| c.is_alphanumeric() || "_)]".contains(c));
        let (text, after) = code[at + opening.len()..].split_once('"')?;
        (own && after.starts_with(close)).then_some(text)
    })
}

/// Texts that pick a member of a map; `answer["key"] = …` adds one to an answer.
fn picked(code: &str) -> BTreeSet<String> {
    let code = &code.replace("\"] = ", "\" ");
    let index = texts(code, "[\"", "]");
    let called = [".get(\"", ".entry(\"", ".pointer(\""].into_iter().flat_map(|call| texts(code, call, ")"));
    index.chain(called).map(str::to_owned).collect()
}

fn sources() -> Vec<(String, String)> {
    let shown = |path: &std::path::Path| path.strip_prefix(root()).expect("inside").to_string_lossy().replace('\\', "/");
    let all = rust_files(&root().join("src")).into_iter().map(|path| (shown(&path), code(&path)));
    all.filter(|(file, _)| !file.starts_with(VIEWS) && !file.ends_with("tests.rs")).collect()
}

/// Every key that some schema declares.
fn declared() -> BTreeSet<String> {
    fn gather(value: &Value, into: &mut BTreeSet<String>) {
        if let Some(fields) = value["properties"].as_object() {
            into.extend(fields.keys().cloned());
        }
        match value {
            Value::Object(map) => map.values().for_each(|inner| gather(inner, into)),
            Value::Array(list) => list.iter().for_each(|inner| gather(inner, into)),
            _ => {}
        }
    }
    let mut all = BTreeSet::new();
    let entries = fs::read_dir(root().join("schemas")).expect("schemas").map(|e| e.expect("an entry").path());
    for path in entries.filter(|p| p.is_file()) {
        let text = fs::read_to_string(path).expect("a schema");
        gather(&serde_json::from_str(&text).expect("JSON"), &mut all);
    }
    assert!(all.contains("hole_offset") && all.contains("knurl_depth"), "the schemas are read");
    all
}

#[test]
fn fields_of_a_record_are_read_through_its_view() {
    let listed = |list: &[(&str, &str)], file: &str| list.iter().any(|(name, _)| *name == file);
    let (mut seen, mut faults) = (BTreeSet::new(), Vec::new());
    for (file, code) in &sources() {
        let keys = picked(code);
        if !keys.is_empty() {
            seen.insert(file.clone());
            if !listed(&TREES, file) && !listed(&NO_RECORDS, file) {
                faults.push(format!("{file} names {keys:?}: ask the view of the record, or say here why not"));
            }
        }
        let raw = code.contains(".rest.json()");
        if raw != listed(&AS_WRITTEN, file) {
            faults.push(format!("{file} {} fields as written", if raw { "reads" } else { "no longer reads" }));
        }
    }
    for (file, _) in TREES.iter().chain(&NO_RECORDS) {
        if !seen.contains(*file) {
            faults.push(format!("{file} names no key any more: take it from the list"));
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
}

/// What no view can catch: keys in walks of a tree, places of findings, names of conditions and properties.
#[test]
fn every_key_in_text_is_declared_by_a_schema() {
    let declared = declared();
    let (mut seen, mut faults) = (0, Vec::new());
    for (file, code) in &sources() {
        let keys = picked(code);
        let mut named: Vec<&str> = Vec::new();
        if TREES.iter().any(|(name, _)| name == file) {
            named.extend(keys.iter().map(String::as_str));
            for call in ["text(\"", "spread(\"", "beside(\"", "end(\""] {
                named.extend(texts(code, call, ")"));
            }
        }
        if file.starts_with("src/audit/") || file.starts_with("src/plugins/audits/") {
            for place in ["spot(\"", "Part::Field(\"", "Part::Origin(\"", "Spot::field(record, \"", "wrong(\"/"] {
                named.extend(texts(code, place, ""));
            }
            named.extend(texts(code, "at.amount(\"", ")"));
        }
        named.extend(texts(code, ".condition(\"", ")"));
        named.extend(texts(code, ".claims(\"", ")"));
        for part in named.iter().flat_map(|text| text.split(['/', '.'])).filter(|part| !part.is_empty()) {
            seen += 1;
            if !declared.contains(part) && !KEYWORDS.contains(&part) {
                faults.push(format!("{file}: no schema has a key `{part}`"));
            }
        }
    }
    assert!(seen > 120, "the test reads the sources ({seen} keys)");
    assert!(faults.is_empty(), "{faults:#?}");
}
