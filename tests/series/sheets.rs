//! Saved sheets of series, compare and plan: what they hold, and that `recheck` runs them again.

use super::gripbook;
use serde_json::Value;
use std::fs;
use std::path::Path;

fn sheet(folder: &Path, arguments: &[&str], file: &str) -> Value {
    let out = gripbook(folder, arguments);
    assert!(out.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&out.stderr));
    let text = fs::read_to_string(folder.join(file)).unwrap_or_else(|e| panic!("{arguments:?}: {e}"));
    serde_json::from_str(&text).unwrap()
}

#[test]
fn a_sheet_holds_command_version_pack_and_claims() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let one = sheet(here, &["series", "logger-grey-cut-m3", "--pack", "demo", "--out", "s.json"], "s.json");
    assert_eq!(one["schema"], "gripbook/series/1");
    assert!(one["command"].as_str().is_some_and(|c| c.contains("series logger-grey-cut-m3")) && one["version"].is_string());
    assert!(one["pack"].as_str().is_some_and(|p| p.contains("demo")));
    let claim = &one["claims"][0];
    assert_eq!(claim["claim"], "series/logger-grey-cut-m3:pull_out_load");
    assert!(claim["written"].as_str().is_some_and(|w| w.starts_with("1268.5 N, 1311.0 N")));
    let names = ["compare", "logger-grey-cut-m3", "logger-grey-direct-m3", "--pack", "demo", "--out", "c.json"];
    let two = sheet(here, &names, "c.json");
    assert_eq!((two["schema"].as_str(), two["claims"].as_array().map(Vec::len)), (Some("gripbook/compare/1"), Some(2)));
    let three = sheet(here, &["plan", "--cv", "10%", "--tell", "20%", "--out", "p.json"], "p.json");
    assert_eq!((three["schema"].as_str(), three["tell"]["per_group"].as_u64()), (Some("gripbook/plan/1"), Some(6)));
}

/// Each sheet is run again from its own command and found unchanged.
#[test]
fn sheets_are_run_again() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let commands: [&[&str]; 4] = [
        &["series", "logger-grey-cut-m4-deep", "--pack", "demo"],
        &["compare", "--a", "812,857,790", "--b", "655,702,731", "--unit", "N", "--all-pairs", "--together"],
        &["plan", "--cv", "10%", "--promise", "0.8"],
        &["series", "--loads", "400, 420, >520", "--unit", "N"],
    ];
    for command in commands {
        // Without a cache the program does not know the sheet of the run before for its own.
        sheet(here, &[command, &["--force", "--out", "sheet.json"]].concat(), "sheet.json");
        let out = gripbook(here, &["recheck", "sheet.json", "--pack", "demo"]);
        let text = String::from_utf8_lossy(&out.stdout).into_owned();
        assert!(out.status.success() && text.contains("The same command gives the same numbers"), "{command:?}: {text}");
    }
}

/// The JSON of a test plan stands beside its sheets and names the plan the results sheet names.
#[test]
fn a_test_plan_keeps_its_name() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let command = ["plan", "--matrix", "method=cut-thread,direct-screw", "--out", "plan"];
    let plan = sheet(here, &command, "plan/plan.json");
    let name = plan["plan"].as_str().unwrap();
    let results = fs::read_to_string(here.join("plan/results.csv")).unwrap();
    assert!(results.starts_with(&format!("# plan {name}, seed 1, 2 jobs\n")), "{results}");
}
