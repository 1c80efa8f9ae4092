//! What each measured quantity must say about its test: one good and several bad records each.

use super::gripbook;
use std::fs;
use std::process::Output;

/// A quantity with a value, the fields it needs (by the word for `not_stated`), and further lines of its measurement.
struct Case {
    quantity: &'static str,
    test: &'static str,
    value: &'static str,
    needs: &'static [Need],
    more: &'static str,
}

/// Part, field, value, word.
type Need = (&'static str, &'static str, &'static str, &'static str);

const THREAD: Need = ("joint", "thread", "M3", "thread");
const LENGTH: Need = ("joint", "length", "6 mm", "length");
const HOLE: Need = ("joint", "hole", "2.52 mm", "hole");
const BOSS: Need = ("joint", "boss", "9 mm", "boss");
const SPEED: Need = ("test", "speed", "6 mm/min", "speed");
const TEMPERATURE: Need = ("test", "temperature", "23 °C", "temperature");
const TORQUE: Need = ("test", "torque", "0.60 N·m", "torque");
const DURATION: Need = ("test", "duration", "1000 h", "duration");
const INSERT: Need = ("joint", "insert_text", "brass insert", "insert");
const PROCESS: Need = ("joint", "process", "process/screen", "process");

const PULL: &[Need] = &[THREAD, LENGTH, HOLE, BOSS, SPEED, TEMPERATURE];
const TURN: &[Need] = &[THREAD, LENGTH, HOLE];
const PRELOAD: &[Need] = &[THREAD, DURATION, TEMPERATURE];

/// The eight quantities of the list.
const CASES: &[Case] = &[
    Case { quantity: "pull_out_load", test: "pull-out", value: "812 N", needs: PULL, more: "" },
    Case { quantity: "push_out_load", test: "push-out", value: "812 N", needs: PULL, more: "" },
    Case { quantity: "drive_torque", test: "torque", value: "0.24 N·m", needs: TURN, more: "" },
    Case { quantity: "strip_torque", test: "torque", value: "0.85 N·m", needs: TURN, more: "" },
    Case { quantity: "torque_out", test: "torque", value: "1.2 N·m", needs: &[INSERT, HOLE], more: "" },
    Case { quantity: "cycles", test: "life", value: "97", needs: &[THREAD, TORQUE, TEMPERATURE], more: "" },
    Case { quantity: "preload_left", test: "relaxation", value: "62 %", needs: PRELOAD, more: "" },
    Case { quantity: "hole_diameter", test: "hole-size", value: "2.51 mm", needs: &[PROCESS], more: "    drawn: 2.6 mm\n" },
];

fn record(case: &Case, left_out: Option<&str>, not_stated: bool) -> String {
    let part = |name: &str| {
        let own = case.needs.iter().filter(|n| n.0 == name && Some(n.3) != left_out);
        own.map(|n| format!("  {}: {}\n", n.1, n.2)).collect::<String>()
    };
    let test = part("test");
    let test = if test.is_empty() { test } else { format!("test:\n{test}") };
    let open = left_out.filter(|_| not_stated).map(|w| format!("not_stated: [{w}]\n")).unwrap_or_default();
    format!(
        "name: A series\nsource: paper\nlocator: p. 2\nbasis: measured\njoint:\n  test: {}\n{}{test}measurements:\n  - quantity: {}\n{}    specimens:\n      - {{label: a, value: {}}}\n{open}",
        case.test,
        part("joint"),
        case.quantity,
        case.more,
        case.value
    )
}

fn checked(text: &str) -> Output {
    let folder = crate::import::pack();
    let put = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    put("sources/paper.yaml", "type: article-journal\ntitle: A paper\nauthor: [{family: Some, given: One}]\nissued: 2020\n");
    put("series/a.yaml", text);
    gripbook(folder.path(), &["check", "series/a.yaml"])
}

#[test]
fn a_whole_record_of_each_quantity_passes() {
    for case in CASES {
        let out = checked(&record(case, None, false));
        assert!(out.status.success(), "{}: {}", case.quantity, String::from_utf8_lossy(&out.stdout));
    }
}

#[test]
fn each_condition_left_out_is_named_with_what_to_do() {
    for case in CASES {
        for need in case.needs {
            let out = checked(&record(case, Some(need.3), false));
            let text = String::from_utf8_lossy(&out.stdout).into_owned();
            assert_eq!(out.status.code(), Some(1), "{} without {}: {text}", case.quantity, need.3);
            let once = text.matches("  error  ").count() == 1 && text.contains("  error  condition-missing");
            assert!(once && text.contains("does not say"), "{} without {}: {text}", case.quantity, need.3);
            let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(flat.contains(&format!("`{}` to `not_stated`", need.3)), "{text}");
        }
    }
}

#[test]
fn a_published_series_may_list_the_gap() {
    for case in CASES {
        for need in case.needs {
            let out = checked(&record(case, Some(need.3), true));
            assert!(out.status.success(), "{} without {}: {}", case.quantity, need.3, String::from_utf8_lossy(&out.stdout));
        }
    }
}

#[test]
fn a_printed_hole_says_what_was_drawn() {
    let case = CASES.iter().find(|c| c.quantity == "hole_diameter").unwrap();
    let out = checked(&record(case, None, false).replace("    drawn: 2.6 mm\n", ""));
    let text = String::from_utf8_lossy(&out.stdout);
    assert!(text.contains("condition-missing") && text.contains("`drawn`"), "{text}");
}
