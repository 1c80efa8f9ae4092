//! The documents that cross the border fit the schemas in `schemas/plugin/`, judged by another library; and what the schemas
//! refuse the program refuses.

use super::demo::log;
use super::modules::{Text, answer};
use super::word::demo;
use gripbook::sandbox::{AuditPlugin, Module, Operation, Session};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

fn fits(schema: &str, document: &Value) -> Result<(), String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schemas/plugin").join(format!("{schema}.schema.json"));
    let schema: Value = serde_json::from_str(&fs::read_to_string(path).expect("a schema")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a right schema");
    validator.validate(document).map_err(|e| e.to_string())
}

fn session(name: &str) -> Session {
    let bytes = fs::read(demo(&format!("{name}.wasm"))).expect("a module");
    Module::new(&bytes).and_then(|module| module.instance()).unwrap_or_else(|f| panic!("{name}: {f}"))
}

/// Asks, and holds both documents against their schemas.
fn ask(session: &mut Session, operation: Operation, input: (&str, Value), output: &str) -> Value {
    if !input.0.is_empty() {
        fits(input.0, &input.1).unwrap_or_else(|e| panic!("{}: {e}: {}", input.0, input.1));
    }
    let place = session.call(operation, input.1.to_string().as_bytes()).expect("an answer");
    let text = String::from_utf8(session.bytes(place).expect("in memory").to_vec()).expect("UTF-8");
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    fits(output, &answer).unwrap_or_else(|e| panic!("{output}: {e}: {answer}"));
    answer
}

#[test]
fn what_importers_say_fits_the_schemas() {
    for name in ["river-log", "dial-counts"] {
        let session = &mut session(name);
        assert_eq!(ask(session, Operation::About, ("", json!({})), "about-answer")["name"], name);
        let begin = json!({"file": "a", "load_unit": null, "travel_unit": "mm", "speed": 0.1, "reversed": false, "zero": 0.0});
        ask(session, Operation::Begin, ("begin-input", begin), "take-answer");
        let place = session.place(&log(10)).expect("room");
        let take = json!({"bytes": place, "last": true});
        let taken = ask(session, Operation::Take, ("take-input", take), "take-answer");
        assert!(taken["samples"]["length"].as_u64().is_some_and(|n| n >= 240), "{taken}");
        ask(session, Operation::End, ("", json!({})), "end-answer");
    }
}

#[test]
fn what_an_audit_says_fits_the_schemas() {
    let record = json!({"source": "river-logger-2026-03", "measurements": [{"specimens": [{"label": "first"}]}]});
    let look = json!({"today": "2026-01-01", "id": "series/x", "kind": "series", "record": record});
    let answer = ask(&mut session("house-labels"), Operation::Look, ("look-input", look), "look-answer");
    assert_eq!(answer["findings"].as_array().map(Vec::len), Some(1), "{answer}");
}

#[test]
fn schemas_and_program_refuse_the_same_answers() {
    let book = super::super::joint::book(&[]);
    let record = book.record("polymer/pla").expect("a record");
    for (text, right) in [
        (r#"{"findings":[]}"#, true),
        (r#"{}"#, true),
        (r#"{"findings":[{"at":"/name","severity":"note","message":"m"}]}"#, true),
        (r#"{"findings":[{"at":"/name","severity":"note","message":"m","help":"h"}]}"#, true),
        (r#"{"findings":[{"at":"/name","severity":"note"}]}"#, false),
        (r#"{"findings":[{"at":"/name","severity":"fatal","message":"m"}]}"#, false),
        (r#"{"findings":[{"at":1,"severity":"note","message":"m"}]}"#, false),
        (r#"{"findings":[["/name","note","m","h"]]}"#, false),
        (r#"{"findings":[],"more":1}"#, false),
        (r#"{"findings":{}}"#, false),
        (r#"[]"#, false),
    ] {
        let document: Value = serde_json::from_str(text).expect("JSON");
        assert_eq!(fits("look-answer", &document).is_ok(), right, "{text}");
        let module = Text::audit().call(answer(text)).module().expect("a module");
        let plugin = AuditPlugin::new("odd", gripbook::finding::Severity::Warning, module).expect("an audit");
        let (_, stopped) = plugin.look([(record, json!({}))].into_iter(), "2026-01-01");
        assert_eq!(stopped.is_none(), right, "{text}: {stopped:?}");
    }
}
