//! Every key of a view is a key of its schema, and the other way round.

use super::*;
use crate::book::kinds::built_in_schemas;
use crate::book::{Book, PackRoot};
use serde::de::DeserializeOwned;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Keys that have a place of their own in [`Record`]; so has a map of `properties`, which holds claims.
const HEAD: [&str; 6] = ["name", "also", "family", "tags", "description", "note"];

/// Keys that no code reads by name: pages and exports tell them as they are written.
const GENERIC: [&str; 5] = ["trade_name", "supplier", "lot", "step", "was"];

/// The history of a value, which stands beside the value wherever that is.
const HISTORY: &str = ".was is in the schema and not in the view";

fn schemas() -> BTreeMap<&'static str, Json> {
    built_in_schemas().iter().map(|(file, text)| (*file, serde_json::from_str(text).expect("JSON"))).collect()
}

/// What a reference names.
fn target<'s>(all: &'s BTreeMap<&str, Json>, file: &'s str, reference: &'s str) -> (&'s str, &'s Json) {
    let (other, pointer) = reference.split_once('#').expect("a pointer");
    let file = if other.is_empty() { file } else { other };
    (file, all[file].pointer(pointer).unwrap_or_else(|| panic!("{file} has no {pointer}")))
}

/// A value that says everything a schema allows; a schema in itself is followed once, then there is nothing.
fn everything(all: &BTreeMap<&str, Json>, file: &str, schema: &Json, inside: &[String]) -> Json {
    if let Some(reference) = schema["$ref"].as_str().or_else(|| schema["allOf"][0]["$ref"].as_str()) {
        let known = format!("{file} {reference}");
        if inside.iter().filter(|r| **r == known).count() > 1 {
            return Json::Null;
        }
        let (file, found) = target(all, file, reference);
        let example = schema.get("examples").and_then(|e| e.get(0)).filter(|e| !e.is_object() && !e.is_array());
        let inside = [inside, &[known]].concat();
        return example.cloned().unwrap_or_else(|| everything(all, file, found, &inside));
    }
    if let Some(fields) = schema["properties"].as_object() {
        let fields = fields.iter().map(|(key, inner)| (key.clone(), everything(all, file, inner, inside)));
        return Json::Object(fields.collect());
    }
    // A list of plain texts has its example beside it.
    let told = |item: &Json| ["$ref", "properties", "enum", "examples"].iter().any(|key| item.get(key).is_some());
    if told(&schema["items"]) {
        let one = everything(all, file, &schema["items"], inside);
        return Json::Array(if one.is_null() { Vec::new() } else { vec![one] });
    }
    let word = schema.get("enum").and_then(|words| words.get(0));
    let example = schema.get("examples").and_then(|all| all.get(0));
    example.or(word).unwrap_or_else(|| panic!("{file}: neither example nor words: {schema}")).clone()
}

/// Where two values differ in their keys: `.joint.lenght`.
fn only_in_first(first: &Json, second: &Json, at: &str, into: &mut BTreeSet<String>) {
    match (first, second) {
        (Json::Object(a), b) => {
            for (key, inner) in a {
                match b.get(key).filter(|there| !there.is_null() || inner.is_null()) {
                    Some(there) => only_in_first(inner, there, &format!("{at}.{key}"), into),
                    None => drop(into.insert(format!("{at}.{key}"))),
                }
            }
        }
        (Json::Array(a), b) => {
            a.iter().enumerate().for_each(|(i, inner)| only_in_first(inner, &b[i], &format!("{at}.{i}"), into));
        }
        _ => {}
    }
}

/// What is wrong between a view and the value that says everything.
fn faults<V: DeserializeOwned + Serialize>(whole: &Json) -> Vec<String> {
    let read = |whole: &Json| serde_json::to_value(V::deserialize(whole).expect("fits")).expect("JSON");
    let (mut unread, mut unknown, read) = (BTreeSet::new(), BTreeSet::new(), read(whole));
    only_in_first(whole, &read, "", &mut unread);
    // A key of the view that the schema lacks is there without a value.
    only_in_first(&read, whole, "", &mut unknown);
    let unread = unread.into_iter().map(|key| format!("{key} is in the schema and not in the view"));
    unread.chain(unknown.into_iter().map(|key| format!("{key} is in the view and not in the schema"))).collect()
}

/// Faults of the own view of a kind; `None` where it has none.
fn own(kind: &str, whole: &Json) -> Option<Vec<String>> {
    Some(match kind {
        "source" => faults::<Source>(whole),
        "rule" => faults::<Rule>(whole),
        "series" => faults::<Series>(whole),
        "insert" => faults::<Insert>(whole),
        "screw" => faults::<Screw>(whole),
        "nut" => faults::<Nut>(whole),
        "process" => faults::<Process>(whole),
        "rig" => faults::<Rig>(whole),
        "plugin" => faults::<Plugin>(whole),
        "search" => faults::<Search>(whole),
        "method" => faults::<Method>(whole),
        _ => return None,
    })
}

fn whole(all: &BTreeMap<&str, Json>, file: &str) -> serde_json::Map<String, Json> {
    let fields = all[file]["properties"].as_object().expect("a map").iter();
    let claims = |key: &str, schema: &Json| key == "properties" && schema["type"] == "object";
    let fields = fields.filter(|(key, schema)| !HEAD.contains(&key.as_str()) && !claims(key, schema));
    fields.map(|(key, schema)| (key.clone(), everything(all, file, schema, &[]))).collect()
}

#[test]
fn views_and_schemas_have_the_same_keys() {
    let all = schemas();
    let common = serde_json::to_value(Common::default()).expect("JSON");
    let common: Vec<&str> = common.as_object().expect("a map").keys().map(String::as_str).collect();
    let (mut kinds, mut used, mut generic) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    for (file, schema) in &all {
        let Some(kind) = schema["kind"].as_str() else { continue };
        kinds.insert(kind);
        let (shared, rest): (serde_json::Map<_, _>, serde_json::Map<_, _>) =
            whole(&all, file).into_iter().partition(|(key, _)| common.contains(&key.as_str()));
        used.extend(shared.keys().cloned());
        // What the kind does not say is no fault of the common view.
        let wrong = faults::<Common>(&Json::Object(shared));
        let wrong: Vec<String> =
            wrong.into_iter().filter(|f| !common.iter().any(|key| f.starts_with(&format!(".{key} is in the view")))).collect();
        assert!(wrong.is_empty(), "{file}: {wrong:#?}");
        let (plain, rest): (serde_json::Map<_, _>, serde_json::Map<_, _>) =
            rest.into_iter().partition(|(key, _)| GENERIC.contains(&key.as_str()));
        generic.extend(plain.keys().cloned());
        let rest = Json::Object(rest);
        assert_eq!(own(kind, &rest).is_some(), KINDS.contains(&kind), "{kind}");
        match own(kind, &rest) {
            Some(wrong) => {
                let wrong: Vec<&String> = wrong.iter().filter(|fault| !fault.ends_with(HISTORY)).collect();
                assert!(wrong.is_empty(), "{file}: {wrong:#?}");
            }
            None => assert_eq!(rest, serde_json::json!({}), "{file} says more than any view reads"),
        }
    }
    assert_eq!(kinds, BUILT_IN.into_iter().collect(), "the kinds of the shared schemas");
    assert_eq!(used, common.iter().map(ToString::to_string).collect(), "each common key is in some schema");
    assert_eq!(generic, GENERIC.iter().map(ToString::to_string).collect(), "each generic key is in some schema");
}

/// The inputs of a formula have free names, so what one of them may say is compared by itself.
#[test]
fn an_input_of_a_method_says_what_its_schema_does() {
    let all = schemas();
    let file = "method.schema.json";
    let mut input = everything(&all, file, &all[file]["$defs"]["input"], &[]);
    input["inputs"] = serde_json::json!({});
    let wrong = faults::<method::Input>(&input);
    assert_eq!(wrong, [".inputs is in the schema and not in the view"], "left out where it is empty");
}

#[test]
fn a_misspelt_key_of_a_view_is_told() {
    #[derive(Default, Deserialize, Serialize)]
    #[serde(default)]
    struct Slip {
        lenght: Option<Box<str>>,
        hole: Option<Box<str>>,
    }
    let whole = serde_json::json!({"length": "6 mm", "hole": "2.5 mm"});
    let told = faults::<Slip>(&whole);
    assert_eq!(told, [".length is in the schema and not in the view", ".lenght is in the view and not in the schema"]);
}

#[test]
fn lists_of_names_are_keys_of_their_view() {
    let keys = |file: &str| whole(&schemas(), file);
    let source = keys("source.schema.json");
    assert!(Source::CSL.iter().all(|name| source.contains_key(*name)));
    let series = keys("series.schema.json");
    assert!(Joint::KNOWN_BY.iter().all(|name| series["joint"].get(name).is_some()));
    let insert = keys("insert.schema.json");
    let step: Step = Deserialize::deserialize(&insert["steps"][0]).expect("a step");
    assert_eq!(step.sizes().count(), 5, "each size is named once");
    for (name, size) in step.sizes() {
        assert_eq!(insert["steps"][0][name], *size.text, "{name}");
    }
}

/// Read from its tree and from its remembered fields a record says the same.
#[test]
fn a_view_is_the_same_from_the_tree_and_from_memory() {
    let book = Book::load(&[PackRoot::BuiltIn, PackRoot::Demo], Path::new(".")).expect("the book loads");
    let mut seen = BTreeSet::new();
    for record in book.records() {
        let kept: Fields = serde_json::from_str(&record.rest.to_string()).expect("JSON");
        let again = Record { rest: kept, ..record.clone() };
        assert_eq!(again.common(), record.common(), "{}", record.id);
        macro_rules! same {
            ($($view:ident)*) => {$(
                assert_eq!(again.$view(), record.$view(), "{}", record.id);
                assert_eq!(record.$view().is_some(), record.id.kind() == stringify!($view), "{}", record.id);
            )*};
        }
        same!(source rule series insert screw nut process rig method search);
        seen.insert(record.id.kind());
    }
    assert!(KINDS.iter().all(|kind| seen.contains(kind)), "{seen:?}");
}
