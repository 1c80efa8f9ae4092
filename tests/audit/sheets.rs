//! Saved sheets of every sort, through a correction: what used a claim, whether a sheet still holds, where its numbers come
//! from. The pack is a copy of the demo pack (invented).

use super::formats::{gripbook, text};
use serde_json::Value;
use std::fs;
use std::path::Path;

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("the pack").map(|e| e.expect("an entry")) {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target)
        } else {
            fs::copy(entry.path(), target).map(|_| ()).expect("a copy")
        }
    }
}

/// The demo pack with four sheets.
fn workshop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("records/demo"), at);
    fs::create_dir_all(at.join("sheets")).expect("a folder");
    let asked: [(&str, &[&str]); 4] = [
        (
            "fasten",
            &["fasten", "--material", "logger-grey", "--thread", "M3", "--length", "6mm", "--need", "300N", "--draws", "2000"],
        ),
        ("suits", &["suits", "cyanoacrylate-thick", "logger-grey", "--gap", "0.1mm"]),
        ("series", &["series", "logger-grey-cut-m3"]),
        ("plan", &["plan", "--cv", "10%", "--tell", "20%"]),
    ];
    for (name, words) in asked {
        let sheet = format!("sheets/{name}.json");
        let said = gripbook(at, &[words, &["--out", &sheet]].concat());
        let written = fs::read_to_string(at.join(&sheet)).unwrap_or_else(|e| panic!("{name}: {e} {}", text(&said)));
        assert!(written.contains("\"tool\": \"gripbook\""), "{name}: {written}");
    }
    folder
}

fn json(at: &Path, words: &[&str]) -> Value {
    let output = gripbook(at, &[words, &["--format", "json"]].concat());
    serde_json::from_str(&text(&output)).unwrap_or_else(|e| panic!("{words:?}: {e} {}", String::from_utf8_lossy(&output.stderr)))
}

fn names(all: &Value, sort: &str) -> Vec<String> {
    let uses = all["used_by"].as_array().expect("a list").iter().filter(|u| u["sort"] == sort);
    uses.filter_map(|u| u["name"].as_str().map(str::to_owned)).collect()
}

#[test]
fn every_sort_of_sheet_is_run_again_and_holds() {
    let folder = workshop();
    for name in ["fasten", "suits", "series", "plan"] {
        let again = json(folder.path(), &["recheck", &format!("sheets/{name}.json")]);
        assert_eq!(again["verdict"], "unchanged", "{name}: {again}");
        assert!(again["not_run"].is_null(), "{name}: {again}");
    }
}

#[test]
fn what_rests_on_a_series_is_named_down_to_bias_estimates_and_sheets() {
    let folder = workshop();
    let at = folder.path();
    let all = json(at, &["affected", "logger-grey-cut-m3"]);
    let sheets = names(&all, "sheet");
    assert!(sheets.contains(&"sheets/fasten.json".into()) && sheets.contains(&"sheets/series.json".into()), "{all}");
    assert!(!sheets.contains(&"sheets/plan.json".into()), "{all}");
    // Its specimens sheared the plastic thread, so the bias of that limit state rests on them.
    assert!(names(&all, "bias").iter().any(|n| n.contains("part-thread-shear")), "{all}");
    let quantity = json(at, &["affected", "logger-grey-cut-m3:pull_out_load"]);
    assert!(!names(&quantity, "bias").is_empty(), "{quantity}");
    // A strength enters the prediction that the series is held against.
    let strength = json(at, &["affected", "resin/logger-grey:tensile_strength"]);
    assert!(names(&strength, "sheet").contains(&"sheets/fasten.json".into()), "{strength}");
    assert!(!names(&strength, "bias").is_empty(), "{strength}");
    let density = json(at, &["affected", "resin/logger-grey:density"]);
    assert!(names(&density, "bias").is_empty(), "no prediction reads the density: {density}");
}

#[test]
fn a_corrected_specimen_changes_the_sheets_that_rest_on_it() {
    let folder = workshop();
    let at = folder.path();
    let path = at.join("series/logger-grey-cut-m3.yaml");
    let before = fs::read_to_string(&path).expect("the series");
    let after = before.replacen("1268.5 N", "1068.5 N", 1);
    assert_ne!(before, after, "the series has that specimen");
    fs::write(&path, after).expect("the series");
    let series = json(at, &["recheck", "sheets/series.json"]);
    assert_eq!(series["verdict"], "changed", "{series}");
    let moved: Vec<&Value> = series["numbers"].as_array().expect("a list").iter().collect();
    let first = moved.iter().find(|m| m["at"] == "values[0].value").expect("the specimen");
    assert_eq!((first["then"].as_str(), first["now"].as_str()), (Some("1268.5 N"), Some("1068.5 N")));
    assert_eq!(json(at, &["recheck", "sheets/fasten.json"])["verdict"], "changed");
    assert_eq!(json(at, &["recheck", "sheets/plan.json"])["verdict"], "unchanged");
    assert_eq!(
        gripbook(at, &["withdraw", "series/logger-grey-cut-m3", "--because", "the puller slipped"]).status.code(),
        Some(0)
    );
    assert_eq!(json(at, &["recheck", "sheets/series.json"])["verdict"], "withdrawn");
}

#[test]
fn a_sheet_is_traced_to_formulas_draws_assumptions_and_sources() {
    let folder = workshop();
    let shown = text(&gripbook(folder.path(), &["trace", "sheets/fasten.json", "--full"]));
    for part in [
        "2000 draws with seed 1",
        "internal thread stripping: governs",
        "assumption joint_sd",
        "model error of",
        "written in",
        "resin/logger-grey:",
    ] {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    let series = text(&gripbook(folder.path(), &["trace", "sheets/series.json"]));
    assert!(series.contains("specimen c1: 1268.5 N"), "{series}");
    let suits = text(&gripbook(folder.path(), &["trace", "sheets/suits.json"]));
    assert!(suits.contains("adhesive/cyanoacrylate-thick:gap_limit"), "{suits}");
}
