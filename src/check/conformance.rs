//! Our set-up of the validator against the JSON Schema test suite, draft 2020-12, required part; see
//! `tests/data/suites/README.md`. The instances go through our own reader, as records do.

use super::schemas::Schemas;
use crate::read;
use crate::read::tree::Node;
use serde_json::Value;
use std::collections::BTreeMap;

#[derive(serde::Deserialize)]
struct ConformanceGroup {
    file: String,
    group: String,
    schema: Value,
    tests: Vec<(String, Value, bool)>,
}

/// Groups whose schema names a document elsewhere: nothing is fetched, so they are refused.
const FAR: &[&str] = &[
    "dynamicRef: strict-tree schema, guards against misspelled properties",
    "dynamicRef: tests for implementation dynamic anchor and reference link",
    "dynamicRef: $ref and $dynamicAnchor are independent of order - $defs first",
    "dynamicRef: $ref and $dynamicAnchor are independent of order - $ref first",
    "dynamicRef: $ref to $dynamicRef finds detached $dynamicAnchor",
    "refRemote: remote ref",
    "refRemote: fragment within remote ref",
    "refRemote: anchor within remote ref",
    "refRemote: ref within remote ref",
    "refRemote: base URI change",
    "refRemote: base URI change - change folder",
    "refRemote: base URI change - change folder in subschema",
    "refRemote: root ref in remote ref",
    "refRemote: remote ref with ref to defs",
    "refRemote: Location-independent identifier in remote ref",
    "refRemote: retrieved nested refs resolve relative to their URI not $id",
    "refRemote: remote HTTP ref with different $id",
    "refRemote: remote HTTP ref with different URN $id",
    "refRemote: remote HTTP ref with nested absolute ref",
    "refRemote: $ref to $ref finds detached $anchor",
    "vocabulary: schema that uses custom metaschema with with no validation vocabulary",
    "vocabulary: ignore unrecognized optional vocabulary",
];

/// Cases whose instance no record can hold, with the fault of the reader.
const NOT_READ: &[(&str, &str)] = &[
    ("const: nul characters in strings: match string with nul", "character-forbidden"),
    ("dependentRequired: dependencies with escaped characters: CRLF", "character-forbidden"),
    ("enum: enum with escaped characters: member 2 is valid", "character-forbidden"),
    ("enum: nul characters in strings: match string with nul", "character-forbidden"),
    ("properties: properties with escaped characters: object with all numbers is valid", "character-forbidden"),
    ("properties: properties with escaped characters: object with strings is invalid", "character-forbidden"),
    ("required: required with escaped characters: object with all properties present is valid", "character-forbidden"),
];

/// An instance as part of a record: the record profile applies.
fn instance(data: &Value) -> Result<Node, &'static str> {
    let text = format!("{{\"instance\": {data}}}\n");
    let reading = read::read(text.as_bytes());
    match (reading.faults.first(), reading.tree) {
        (None, Some(tree)) => tree.get("instance").cloned().ok_or("empty"),
        (fault, _) => Err(fault.map_or("empty", |f| f.name)),
    }
}

#[test]
fn the_required_cases_come_out_as_they_should() {
    const FILE: &str = "case.schema.json";
    let groups: Vec<ConformanceGroup> =
        serde_json::from_str(include_str!("../../tests/data/suites/json-schema-2020-12.json")).expect("the suite is JSON");
    let (mut right, mut refused, mut not_read, mut wrong) = (0, Vec::new(), BTreeMap::new(), Vec::new());
    for group in &groups {
        let name = format!("{}: {}", group.file, group.group);
        let schemas = Schemas::new([(FILE.to_owned(), group.schema.clone())].into());
        if let Err(why) = schemas.build(FILE) {
            refused.push((name, why));
            continue;
        }
        for (test, data, valid) in &group.tests {
            let whole = format!("{name}: {test}");
            match instance(data) {
                Err(fault) => drop(not_read.insert(whole, fault)),
                Ok(node) => match schemas.mismatches(FILE, &node) {
                    Ok(found) if found.is_empty() == *valid => right += 1,
                    other => wrong.push(format!("{whole}: {other:?}")),
                },
            }
        }
    }
    assert_eq!((groups.len(), right), (368, 1201), "the suite is whole");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let far: Vec<&str> = refused.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(far, FAR, "{refused:#?}");
    let expected: BTreeMap<String, &str> = NOT_READ.iter().map(|(name, fault)| ((*name).to_owned(), *fault)).collect();
    assert_eq!(not_read, expected);
}
