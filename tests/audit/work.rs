//! The commands of a contributor and of an auditor, as typed: new, tidy, amend, withdraw, trace, affected, recheck, export, gaps.

use super::formats::{gripbook, text};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

pub fn pack() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "pack.yaml", "id: mine\ntitle: Mine\nlicence: CC0-1.0\n");
    write(folder.path(), "sources/own-2026-tests.yaml", "type: campaign\ntitle: Own tests\nissued: 2026-03\nby: bench\n");
    folder
}

pub fn write(folder: &Path, path: &str, text: &str) {
    let path = folder.join(path);
    fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
    fs::write(path, text).expect("a file");
}

fn json(output: &Output) -> Value {
    serde_json::from_str(&text(output)).unwrap_or_else(|e| panic!("{e}: {}{}", text(output), error(output)))
}

fn error(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

const MESSY: &str = "family: pla\nname:   Messy   \n# about the transition\nproperties:\n  tg:\n    - basis: measured\n      # read twice\n      value: 60.0 degC\n      source: own-2026-tests\n\n\n      locator: sheet 1   \n  cte:\n    - {basis: measured, value: 70 um/(m.K), locator: sheet 2, source: own-2026-tests}";
const TIDY: &str = "name: Messy\nfamily: pla\n# about the transition\nproperties:\n  tg:\n    - value: 60.0 °C\n      source: own-2026-tests\n\n      locator: sheet 1\n      basis: measured\n  cte:\n    - {value: 70 µm/(m·K), source: own-2026-tests, locator: sheet 2, basis: measured}\n";

#[test]
fn tidy_brings_a_file_into_form_once() {
    let folder = pack();
    write(folder.path(), "polymers/messy.yaml", MESSY);
    let look = gripbook(folder.path(), &["tidy", "--check"]);
    assert_eq!(look.status.code(), Some(1), "{}", error(&look));
    assert!(text(&look).contains("+ name: Messy"), "{}", text(&look));
    let unchanged = fs::read_to_string(folder.path().join("polymers/messy.yaml")).expect("the file");
    assert_eq!(unchanged, MESSY, "--check writes nothing");
    assert_eq!(gripbook(folder.path(), &["tidy"]).status.code(), Some(0));
    let tidy = fs::read_to_string(folder.path().join("polymers/messy.yaml")).expect("the file");
    // The comment inside the claim moves with its key, and the empty line stays one.
    assert_eq!(tidy.replace("      # read twice\n", ""), TIDY);
    assert!(tidy.contains("# read twice"));
    assert_eq!(gripbook(folder.path(), &["tidy", "--check"]).status.code(), Some(0));
    assert_eq!(gripbook(folder.path(), &["check"]).status.code(), Some(0));
}

#[test]
fn new_makes_a_skeleton_of_every_kind_and_check_names_what_is_open() {
    let kinds =
        ["polymer", "resin", "adhesive", "primer", "insert", "screw", "metal", "process", "rig", "series", "rule", "source"];
    for kind in kinds {
        let folder = pack();
        let made = gripbook(folder.path(), &["new", kind, "--name", "My thing", "--format", "json"]);
        assert_eq!(made.status.code(), Some(0), "{kind}: {}", error(&made));
        let all = json(&made);
        assert_eq!(all["written"], true);
        let open: Vec<&str> = all["to_fill_in"].as_array().expect("a list").iter().filter_map(|f| f["rule"].as_str()).collect();
        let checked = gripbook(folder.path(), &["check", all["file"].as_str().expect("a file"), "--format", "json"]);
        let again: Vec<Value> = json(&checked)["findings"].as_array().expect("a list").clone();
        assert_eq!(again.len(), open.len(), "{kind}: {again:#?}");
        let syntax = ["syntax-broken", "key-twice", "schema-broken"];
        assert!(open.iter().all(|rule| !syntax.contains(rule)), "{kind}: {open:?}");
    }
    let folder = pack();
    write(folder.path(), "polymers/my-thing.yaml", "name: My thing\nfamily: pla\n");
    let twice = gripbook(folder.path(), &["new", "polymer", "--name", "My thing"]);
    assert_eq!(twice.status.code(), Some(2), "nothing is overwritten");
}

#[test]
fn new_from_options_passes_check() {
    let folder = pack();
    let claim = "tg: 61 °C; source=own-2026-tests; locator=sheet 2; basis=measured; n=5";
    let made = gripbook(
        folder.path(),
        &[
            "new",
            "polymer",
            "--name",
            "Grey filament",
            "--set",
            "family=pla",
            "--set",
            "also=grey, dull",
            "--claim",
            claim,
            "--format",
            "json",
        ],
    );
    assert_eq!(json(&made)["to_fill_in"], serde_json::json!([]), "{}", text(&made));
    assert_eq!(gripbook(folder.path(), &["check"]).status.code(), Some(0));
    let shown = json(&gripbook(folder.path(), &["show", "grey-filament", "--format", "json"]));
    assert!(shown.to_string().contains("61 °C"), "{shown}");
    assert_eq!(gripbook(folder.path(), &["new", "no-kind", "--name", "x"]).status.code(), Some(2));
    assert_eq!(gripbook(folder.path(), &["new", "polymer", "--print"]).status.code(), Some(2), "a name is needed");
}

const RECORD: &str = "name: Grey\nfamily: pla\nproperties:\n  tg:\n    - value: 60 °C\n      source: own-2026-tests\n      locator: sheet 1\n      basis: measured\n  tensile_strength:\n    - {value: 52 MPa, source: own-2026-tests, locator: sheet 2, basis: measured}\n  shear_strength:\n    - {value: 30 MPa, source: own-2026-tests, locator: sheet 2, basis: computed, from: [\"polymer/grey:tensile_strength\"]}\n";

#[test]
fn a_claim_is_corrected_without_erasing_and_a_sheet_notices() {
    let folder = pack();
    let at = folder.path();
    write(at, "polymers/grey.yaml", RECORD);
    let trace = gripbook(at, &["trace", "grey:tensile_strength", "--format", "json"]);
    assert_eq!(trace.status.code(), Some(0), "{}", error(&trace));
    write(at, "sheets/one.json", &text(&trace));
    assert_eq!(json(&gripbook(at, &["recheck", "sheets/one.json", "--format", "json"]))["verdict"], "unchanged");
    // What was not run again is not called the same.
    let only = text(&gripbook(at, &["recheck", "sheets/one.json", "--claims-only"]));
    assert!(only.contains("Numbers not compared") && !only.contains("same numbers"), "{only}");
    let affected = json(&gripbook(at, &["affected", "grey:tensile_strength", "--format", "json"]));
    let used: Vec<&str> = affected["used_by"].as_array().expect("a list").iter().filter_map(|u| u["sort"].as_str()).collect();
    assert!(used.contains(&"claim") && used.contains(&"sheet"), "{affected}");

    let amend = [
        "amend",
        "grey:tensile_strength",
        "--value",
        "47.1 MPa",
        "--because",
        "read from the wrong row: 7",
        "--date",
        "2026-06-15",
    ];
    let done = gripbook(at, &amend);
    assert_eq!(done.status.code(), Some(0), "{}", error(&done));
    let file = fs::read_to_string(at.join("polymers/grey.yaml")).expect("the file");
    assert!(file.contains("value: 47.1 MPa") && file.contains("until: 2026-06-15"), "{file}");
    assert!(file.contains("value: 52 MPa"), "the old value is kept: {file}");
    let again = ["amend", "grey:tg", "--value", "61 °C", "--because", "slip", "--date", "2026-06-15"];
    assert_eq!(gripbook(at, &again).status.code(), Some(0));
    assert_eq!(
        gripbook(at, &["amend", "grey:tg", "--value", "62 °C", "--because", "slip", "--date", "2026-06-16"]).status.code(),
        Some(0)
    );
    assert_eq!(
        gripbook(at, &["check"]).status.code(),
        Some(0),
        "{}",
        fs::read_to_string(at.join("polymers/grey.yaml")).expect("the file")
    );
    let trace = text(&gripbook(at, &["trace", "grey:tg"]));
    assert!(trace.contains("was 60 °C until 2026-06-15") && trace.contains("was 61 °C until 2026-06-16"), "{trace}");

    let changed = gripbook(at, &["recheck", "sheets/one.json", "--format", "json"]);
    assert_eq!(changed.status.code(), Some(1));
    assert_eq!(json(&changed)["verdict"], "changed", "{}", text(&changed));
    let line = &json(&changed)["claims"][0];
    assert_eq!((line["then"].as_str(), line["now"].as_str()), (Some("52 MPa"), Some("47.1 MPa")), "{line}");

    assert_eq!(gripbook(at, &["withdraw", "grey:tensile_strength", "--because", "the sheet was lost"]).status.code(), Some(0));
    assert_eq!(json(&gripbook(at, &["recheck", "sheets/one.json", "--format", "json"]))["verdict"], "withdrawn");
    assert_eq!(gripbook(at, &["withdraw", "grey", "--because", "no such spool"]).status.code(), Some(0));
    assert_eq!(gripbook(at, &["check"]).status.code(), Some(0));
    let wrong = gripbook(at, &["amend", "grey:tg", "--value", "62 MPa", "--because", "x"]);
    assert_eq!(wrong.status.code(), Some(2), "a strength is no temperature");
    let built_in = gripbook(at, &["amend", "polymer/pp:density", "--value", "905 kg/m³", "--because", "x"]);
    assert_ne!(built_in.status.code(), Some(0), "the built-in pack cannot be written");
}

#[test]
fn trace_follows_a_shipped_claim_to_its_page() {
    let book = std::env::temp_dir();
    let shown = text(&gripbook(&book, &["trace", "polymer/pom:tg"]));
    for part in ["polymer/pom:tg#", "written in records/book/polymers/pom.yaml:", "from "] {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    assert_eq!(gripbook(&book, &["trace", "polymer/pom:no_such"]).status.code(), Some(1));
    let spoken = text(&gripbook(&book, &["trace", "pla:tensile strength"]));
    assert!(spoken.contains("polymer/pla:tensile_strength#"), "{spoken}");
    // A ratio is a bare number in its record, and a value all the same.
    let ratio = text(&gripbook(&book, &["trace", "series/inline-plasma-pet-helium-oxygen:strength_ratio"]));
    assert!(ratio.contains(":strength_ratio = 3"), "{ratio}");
    let series = text(&gripbook(&book, &["trace", "series/acee-2018-bulk-adhesive-1mmmin:tensile_strength"]));
    assert!(series.contains("specimen 1: 15.24 MPa"), "{series}");
}

#[test]
fn export_gives_the_same_bytes_twice_and_its_parts_hold_together() {
    let folder = tempfile::tempdir().expect("a folder");
    for out in ["a", "b"] {
        let done = gripbook(folder.path(), &["export", "--out", out]);
        assert_eq!(done.status.code(), Some(0), "{}", error(&done));
    }
    let names: Vec<_> = fs::read_dir(folder.path().join("a")).expect("a").map(|e| e.expect("an entry").file_name()).collect();
    assert_eq!(names.len(), 7, "{names:?}");
    for name in &names {
        let read = |side: &str| fs::read(folder.path().join(side).join(name)).expect("a file");
        assert_eq!(read("a"), read("b"), "{name:?}");
    }
    let written = folder.path().join("a").to_string_lossy().into_owned();
    let said = super::outside::helper("python3", "read_export.py", &[&written]);
    assert!(said.is_none_or(|s| s.contains("agree")));
}

#[test]
fn gaps_give_a_matrix_a_picture_and_tests_in_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let done = gripbook(folder.path(), &["gaps", "--by", "adhesive", "--need", "5MPa", "--plot", "gaps.svg", "--format", "json"]);
    let all = json(&done);
    let states: Vec<&str> = all["cells"].as_array().expect("cells").iter().filter_map(|c| c["state"].as_str()).collect();
    for state in ["published", "rules only", "nothing"] {
        assert!(states.contains(&state), "{state}");
    }
    let next = all["next"].as_array().expect("next");
    let worth: Vec<f64> = next.iter().map(|n| n["worth"].as_f64().unwrap_or(0.0)).collect();
    assert!(!worth.is_empty() && worth.windows(2).all(|w| w[0] >= w[1]), "{worth:?}");
    let ruled_out = |n: &Value| {
        let short = |id: &str| id.rsplit('/').next().unwrap_or_default().to_owned();
        let (m, c) = (short(n["material"].as_str().expect("an id")), short(n["column"].as_str().expect("an id")));
        let cell = all["cells"].as_array().expect("cells").iter().find(|x| x["material"] == m && x["column"] == c);
        !cell.expect("the cell")["ruled_out"].is_null()
    };
    assert!(!next.iter().any(ruled_out), "an impossible pair is proposed");
    let svg = fs::read_to_string(folder.path().join("gaps.svg")).expect("the picture");
    assert!(svg.starts_with("<svg") && svg.contains("published") && svg.contains(">r<"), "words as well as colour");
    // A need of the other matrix is refused with the line that asks it, and that line is right.
    for (asked, right) in [
        (&["gaps", "--by", "method", "--need", "5MPa"][..], &["gaps", "--need", "5MPa"][..]),
        (&["gaps", "--need", "300N"], &["gaps", "--by", "method", "--need", "300N"]),
    ] {
        let refused = gripbook(folder.path(), asked);
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_eq!(refused.status.code(), Some(2), "{said}");
        assert!(said.contains(&format!("gripbook {}", right.join(" "))), "{said}");
        assert_eq!(gripbook(folder.path(), right).status.code(), Some(0), "{right:?}");
    }
    let demo = json(&gripbook(
        folder.path(),
        &["gaps", "--by", "method", "--pack", "demo", "--material", "logger-grey", "--format", "json"],
    ));
    assert!(demo["cells"].to_string().contains("\"measured\""), "{demo}");
}

/// The tests in the order of their worth, each with a command that runs as it is printed; the matrix waits behind `--full`.
#[test]
fn gaps_open_with_what_to_test_next() {
    let folder = tempfile::tempdir().expect("a folder");
    for asked in [&["gaps", "--by", "method"][..], &["gaps", "--by", "adhesive", "--need", "5MPa"]] {
        let first = text(&gripbook(folder.path(), asked));
        assert!(first.starts_with("Worth testing next\n") && first.lines().count() <= 20, "{first}");
        assert!(first.lines().all(|line| line.chars().count() <= 100), "{first}");
        let next = json(&gripbook(folder.path(), &[asked, &["--format", "json"]].concat()))["next"].clone();
        let pasted = first.replace("\\\n", " ");
        let commands: Vec<String> = pasted
            .lines()
            .filter(|line| line.trim_start().starts_with("gripbook plan "))
            .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        let ranked: Vec<&str> = next.as_array().expect("next").iter().filter_map(|n| n["plan"].as_str()).collect();
        assert!((4..=10).contains(&commands.len()), "{first}");
        assert_eq!(commands, ranked[..commands.len()], "{first}");
        let words: Vec<&str> = commands[0].split(' ').skip(1).collect();
        let planned = gripbook(folder.path(), &words);
        assert_eq!(planned.status.code(), Some(0), "{}: {}", commands[0], error(&planned));
        let whole = text(&gripbook(folder.path(), &[asked, &["--full"]].concat()));
        let why: String = next[0]["because"].as_str().expect("why").chars().take(12).collect();
        assert!(whole.starts_with("What is known of ") && whole.contains(&why));
    }
}
