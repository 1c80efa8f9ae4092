//! A single result, or a measurement, is withdrawn: answers, calibration, export and saved sheets go on without it.

use super::amend::yaml;
use super::formats::{gripbook, text};
use super::lost::{json, shipped};
use super::work::{pack, write};
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::fs;
use std::path::Path;

const SERIES: &str = "series/logger-grey-cut-m3";
const FILE: &str = "series/logger-grey-cut-m3.yaml";

fn withdrawn(at: &Path, what: &[&str]) -> String {
    let done = gripbook(at, &[&["withdraw"], what, &["--because", "the jaw slipped", "--date", "2026-06-15"]].concat());
    assert_eq!(done.status.code(), Some(0), "{what:?}: {}", String::from_utf8_lossy(&done.stderr));
    let checked = gripbook(at, &["check"]);
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked));
    text(&done)
}

/// Loads of the first measurement by label, as another reader of YAML sees them; those in use only.
fn loads(at: &Path) -> Vec<(String, String)> {
    let series = yaml(at, FILE);
    let all = series["measurements"][0]["specimens"].as_sequence().expect("results").clone();
    let used = all.iter().filter(|s| s["standing"].is_null());
    let text = |s: &Yaml, key: &str| s[key].as_str().expect(key).to_owned();
    used.map(|s| (text(s, "label"), text(s, "value"))).collect()
}

#[test]
fn a_withdrawn_result_is_in_no_answer_and_each_says_so() {
    let folder = shipped("demo");
    let at = folder.path();
    fs::create_dir_all(at.join("sheets")).expect("a folder");
    let ask = ["fasten", "--material", "logger-grey", "--thread", "M3", "--length", "6mm", "--draws", "500"];
    assert!(gripbook(at, &[&ask[..], &["--out", "sheets/joint.json"]].concat()).status.code() < Some(2));
    assert_eq!(gripbook(at, &["series", SERIES, "--out", "sheets/series.json"]).status.code(), Some(0));
    let before = loads(at);
    let results = |of: &Value| -> Vec<f64> {
        let values = of["values"].as_array().unwrap_or_else(|| panic!("values: {of}"));
        values.iter().filter_map(|v| v["value"]["si"].as_f64()).collect()
    };
    let n = |all: &Value| -> u64 {
        let used = all["calibration"]["used"].as_array().expect("a list").iter().find(|u| u["series"] == SERIES);
        used.and_then(|u| u["n"].as_u64()).unwrap_or_else(|| panic!("{}", all["calibration"]["used"]))
    };
    assert_eq!(results(&json(at, &["series", SERIES])).len(), before.len());
    let calibrated = n(&json(at, &ask));
    let [one, two] = [&before[0].0, &before[1].0].map(|label| format!("{SERIES}:pull_out_load#{label}"));

    let said = withdrawn(at, &[&one, &two]);
    assert!(said.contains(&format!("{one}, {two} withdrawn")), "{said}");
    let after = loads(at);
    assert_eq!(after, before[2..], "the others stand");
    let newtons = |load: &String| load.strip_suffix(" N").expect("newtons").parse::<f64>().expect("a number");
    let mut expected: Vec<f64> = after.iter().map(|(_, load)| newtons(load)).collect();
    let series = json(at, &["series", SERIES]);
    let mut shown = results(&series);
    expected.sort_by(f64::total_cmp);
    shown.sort_by(f64::total_cmp);
    assert_eq!(shown, expected);
    assert!(series["lost"].to_string().contains(&one), "{}", series["lost"]);
    let answer = json(at, &ask);
    assert_eq!(n(&answer), calibrated - 2, "the calibration goes on with the others");
    assert!(answer["lost"].to_string().contains("the jaw slipped (withdrawn 2026-06-15)"), "{}", answer["lost"]);
    let rows = text(&gripbook(at, &["export", "--what", "measurements", "--format", "csv"]));
    let row = rows.lines().find(|l| l.starts_with(SERIES)).expect("the series");
    let listed = after.iter().map(|(_, load)| load.as_str()).collect::<Vec<_>>().join("; ");
    assert!(row.contains(&format!("\"{listed}\"")) || row.ends_with(&format!(",{listed}")), "{row}");
    // Saved sheets are told apart from the book of today, result by result.
    for sheet in ["sheets/joint.json", "sheets/series.json"] {
        let checked = gripbook(at, &["recheck", sheet]);
        assert_eq!(checked.status.code(), Some(1), "{sheet}: {}", text(&checked));
        assert!(text(&checked).contains(&format!("{one}: → withdrawn")), "{sheet}: {}", text(&checked));
    }
    // A sheet written now has them among what it lost, and rests on nothing withdrawn.
    assert_eq!(gripbook(at, &["series", SERIES, "--out", "sheets/now.json"]).status.code(), Some(0));
    assert_eq!(gripbook(at, &["recheck", "sheets/now.json"]).status.code(), Some(0));
    let again = gripbook(at, &["withdraw", &one, "--because", "twice"]);
    assert!(String::from_utf8_lossy(&again.stderr).contains("withdrawn already"));
    let traced = text(&gripbook(at, &["trace", &format!("{SERIES}:pull_out_load")]));
    // On whatever line the words stand.
    let words = traced.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("withdrawn: the jaw slipped"), "{traced}");
}

const GREY: &str = "name: Pulls\nsource: own-2026-tests\nlocator: sheet 4\nbasis: measured\njoint: {test: pull-out, method: cut-thread, material: polymer/grey, thread: M3, length: 6 mm, hole: 2.5 mm, boss: 9 mm}\ntest: {speed: 6 mm/min, temperature: 23 °C}\nmeasurements:\n  - quantity: pull_out_load\n    n: 3\n    specimens:\n      - {label: a, value: 1240 N, mode: part-thread-shear}\n      - label: b  # the last one\n        value: 1195 N\n        mode: part-thread-shear\n      - {label: c, value: 1260 N, mode: part-thread-shear}\n  - quantity: strip_torque\n    mean: 1.2 N·m\n    n: 2\n";

fn bench() -> tempfile::TempDir {
    let folder = pack();
    let at = folder.path();
    write(at, "series/pulls.yaml", GREY);
    let claims = "name: Grey\nfamily: pla\nproperties:\n  shear_strength:\n    - {value: 30 MPa, basis: computed, from: [\"series/pulls:pull_out_load\"]}\n  yield_strength:\n    - {value: 40 MPa, basis: computed, from: [\"polymer/grey:shear_strength\"]}\n  tensile_modulus:\n    - {value: 2 GPa, basis: computed, from: [\"series/pulls:strip_torque\"]}\n";
    write(at, "polymers/grey.yaml", claims);
    let checked = gripbook(at, &["check"]);
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked));
    folder
}

/// Exported claims of the material.
fn exported(at: &Path) -> String {
    let all = text(&gripbook(at, &["export", "--what", "claims", "--format", "csv"]));
    all.lines().filter(|l| l.starts_with("polymer/grey:")).map(|l| format!("{l}\n")).collect()
}

/// One result less: the count follows, with its history, and a claim computed from all is named. The last result takes the
/// measurement along, and what was computed from it.
#[test]
fn a_measurement_goes_with_the_last_of_its_results() {
    let folder = bench();
    let at = folder.path();
    let affected = text(&gripbook(at, &["affected", "series/pulls:pull_out_load#b"]));
    assert!(affected.contains("polymer/grey:shear_strength: computed from series/pulls:pull_out_load"), "{affected}");
    assert!(!affected.contains("tensile_modulus") && !affected.contains("yield_strength"), "{affected}");
    let said = withdrawn(at, &["series/pulls:pull_out_load#b"]);
    assert!(said.contains("polymer/grey:shear_strength is computed from series/pulls:pull_out_load: compute it again"), "{said}");
    let series = yaml(at, "series/pulls.yaml");
    let loads = &series["measurements"][0];
    assert_eq!(
        (loads["n"].as_u64(), loads["was"][0]["field"].as_str(), loads["was"][0]["value"].as_u64()),
        (Some(2), Some("n"), Some(3))
    );
    assert_eq!(loads["specimens"][1]["because"].as_str(), Some("the jaw slipped (withdrawn 2026-06-15)"));
    assert!(fs::read_to_string(at.join("series/pulls.yaml")).expect("it").contains("label: b  # the last one"));
    let standing = |address: &str| json(at, &["trace", address])["steps"].to_string().contains("withdrawn");
    assert!(!standing("polymer/grey:shear_strength"));

    let done = gripbook(
        at,
        &["withdraw", "series/pulls:pull_out_load#a", "series/pulls:pull_out_load#c", "--because", "the cell was broken"],
    );
    assert!(text(&done).contains("polymer/grey:shear_strength goes with it"), "{}", text(&done));
    let checked = gripbook(at, &["check"]);
    assert_eq!(checked.status.code(), Some(1));
    assert!(text(&checked).contains("`series/pulls:pull_out_load` is withdrawn"), "{}", text(&checked));
    let shown = text(&gripbook(at, &["show", "polymer/grey", "--full"]));
    assert!(shown.contains("2 GPa"), "{shown}");
    let claims = exported(at);
    assert!(
        claims.contains("tensile_modulus") && !claims.contains("shear_strength") && !claims.contains("yield_strength"),
        "{claims}"
    );
    let measured = text(&gripbook(at, &["export", "--what", "measurements", "--format", "csv"]));
    let measured: Vec<&str> = measured.lines().filter(|l| l.starts_with("series/pulls,")).collect();
    assert!(matches!(measured[..], [one] if one.contains("strip_torque")), "{measured:?}");
}

/// A withdrawn measurement takes along what was computed from it, and only that.
#[test]
fn a_withdrawn_measurement_takes_along_what_was_computed_from_it() {
    let folder = bench();
    let at = folder.path();
    let done = gripbook(at, &["withdraw", "series/pulls:strip_torque", "--because", "the wrench slipped"]);
    assert!(text(&done).contains("polymer/grey:tensile_modulus goes with it"), "{}", text(&done));
    let checked = text(&gripbook(at, &["check"]));
    assert!(checked.contains("`series/pulls:strip_torque` is withdrawn") && checked.contains("withdrawn-cited"), "{checked}");
    let claims = exported(at);
    assert!(!claims.contains("tensile_modulus") && claims.contains("shear_strength"), "{claims}");
}

/// New results join those in use: the count leaves the withdrawn one out.
#[test]
fn results_added_later_are_counted_with_those_in_use() {
    let folder = bench();
    let at = folder.path();
    withdrawn(at, &["series/pulls:pull_out_load#b"]);
    write(at, "more.csv", "label,load,mode\nd,1250 N,part-thread-shear\n");
    let done = gripbook(at, &["import", "table", "more.csv", "--series", "pulls", "--source", "own-2026-tests", "--yes"]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let series = yaml(at, "series/pulls.yaml");
    assert_eq!(series["measurements"][0]["n"].as_u64(), Some(3));
    let audit = text(&gripbook(at, &["audit", "--full"]));
    assert!(!audit.contains("summary-not-reproduced"), "{audit}");
}
