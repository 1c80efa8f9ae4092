//! `thread` and `formula` as commands: exit codes, streams and the shape of the JSON.

use serde_json::Value;
use std::process::{Command, Output};

fn gripbook(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_gripbook")).args(arguments).output().expect("the program starts")
}

fn json(arguments: &[&str], exit: i32) -> Value {
    let out = gripbook(&[arguments, &["--format", "json"]].concat());
    assert_eq!(out.status.code(), Some(exit), "{arguments:?}: {}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).expect("one JSON document")
}

/// What a refused call says on standard error; standard output stays empty.
fn refusal(arguments: &[&str]) -> String {
    let out = gripbook(arguments);
    assert_eq!((out.status.code(), out.stdout.len()), (Some(2), 0), "{arguments:?}");
    String::from_utf8_lossy(&out.stderr).into_owned()
}

/// 18.718 MPa: a boundary-value solve of the cylinder (hand).
#[test]
fn a_formula_answers_with_result_validity_source_and_inputs() {
    let answer = json(&["formula", "lame-hoop", "inner=1.3376mm", "outer=3mm", "pressure=12.51MPa"], 0);
    let value = answer["result"]["value"].as_f64().expect("a number");
    assert!((value - 18.718).abs() < 0.0005 && answer["result"]["unit"] == "MPa", "{value}");
    assert_eq!((&answer["schema"], &answer["inputs"]["inner"]["written"]), (&"gripbook/formula/1".into(), &"1.3376mm".into()));
    assert_eq!(answer["validity"]["kind"], "exact");
    assert!(answer["source"].as_str().is_some_and(|s| s.contains("Shigley")));
}

#[test]
fn outside_its_range_a_formula_answers_no_and_exits_one() {
    let refused = json(&["formula", "alexander-hole-thread", "strength_ratio=0.1"], 1);
    assert!(refused["result"].is_null() && refused["validity"]["inside"] == false, "{refused}");
    let beyond = json(&["formula", "alexander-hole-thread", "strength_ratio=0.1", "--beyond-range"], 0);
    assert_eq!((&beyond["result"]["si"], &beyond["validity"]["inside"]), (&1.0.into(), &false.into()));
}

#[test]
fn a_thread_sheet_has_both_threads_at_basic_middle_and_worst_sizes() {
    let sheet = json(&["thread", "M3", "--engaged", "5.7mm", "--offset", "0.05mm", "--hole", "2.6mm"], 0);
    let area = |path: &str| sheet.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path}"));
    // FED-STD-H28/2 with the printed limits of M3 6g/6H (published limits, areas by hand).
    for (path, expected) in [
        ("/engaged/basic/internal/value", 47.0061),
        ("/engaged/basic/external/value", 33.022),
        ("/engaged/worst/internal/value", 31.616),
        ("/engaged/worst/external/value", 22.249),
        ("/engaged/mid_zone/formed/value", 44.94),
        ("/printed/areas/internal/value", 40.803),
        ("/in_hole/bearing/value", 20.056),
    ] {
        assert!((area(path) / expected - 1.0).abs() < 1e-3, "{path}: {}", area(path));
    }
}

#[test]
fn wrong_calls_exit_two_and_say_what_to_write() {
    for (arguments, said) in [
        (vec!["thread", "M2.9"], "did you mean M3"),
        (vec!["thread", "M3x0.7"], "0.5 mm (coarse), 0.35 mm"),
        (vec!["thread", "M3", "--engaged", "-1mm"], "above zero"),
        (vec!["thread", "M3", "--engaged", "5,7mm"], "decimal comma"),
        (vec!["formula", "lame-hop"], "lame-hoop"),
        (vec!["formula", "lame-hoop", "inner=3mm", "outer=1mm", "pressure=1MPa"], "not above inner"),
        (vec!["formula", "lame-hoop", "inner=3kg", "outer=1mm", "pressure=1MPa"], "a unit of a mass"),
        (vec!["formula", "lame-hoop", "iner=3mm"], "did you mean `inner`"),
        (vec!["formula", "lame-hoop", "inner=3mm"], "missing: outer"),
    ] {
        let text = refusal(&arguments);
        assert!(text.contains(said), "{arguments:?}: {text}");
    }
}

/// Every worked example runs as a user would type it.
#[test]
fn the_card_of_every_formula_can_be_shown_and_its_example_runs() {
    let all = json(&["formula"], 0);
    let list = all["formulas"].as_array().expect("a list");
    assert!(list.len() > 80);
    for name in ["lame-hoop", "cure-depth", "strip-torque", "owens-wendt-total"] {
        let card = json(&["formula", name], 0);
        let example = card["example"]["call"].as_str().expect("an example");
        let words: Vec<&str> = std::iter::once("formula").chain(example.split(' ')).collect();
        assert!(json(&words, 0)["result"]["si"].is_f64(), "{example}");
    }
}
