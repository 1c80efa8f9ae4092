//! A pull request as a reviewer reads it: what it says, claim by claim, among what, which answers move, what it causes.

use super::formats::{gripbook, text};
use super::repository::{begin, commit, git, lacks_git};
use super::work::{pack, write};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Command;

const GREY: &str = "name: Grey filament\nfamily: pla\nproperties:\n  tensile_strength:\n    - {value: 52.0 MPa, source: own-2026-tests, locator: sheet 1, basis: measured, n: 5, method: ISO 527-2, conditions: {temperature: 23 °C}}\n  shear_strength:\n    - {value: 30 MPa, source: own-2026-tests, locator: sheet 1, basis: measured}\n  density:\n    - {value: 1.24 g/cm³, source: own-2026-tests, locator: sheet 1, basis: measured}\n";
const SERIES: &str = "name: M3 in grey\nsource: own-2026-tests\nlocator: sheet 4\nbasis: measured\njoint: {test: pull-out, method: cut-thread, material: polymer/grey, thread: M3, length: 6 mm, hole: 2.5 mm, boss: 9 mm}\ntest: {speed: 6 mm/min, temperature: 23 °C}\nmeasurements:\n  - quantity: pull_out_load\n    specimens:\n      - {label: a, value: 1240 N, mode: part-thread-shear, job: one}\n      - {label: b, value: 1195 N, mode: part-thread-shear, job: one}\n      - {label: c, value: 1260 N, mode: part-thread-shear, job: two}\n";

/// A repository with a pack in it, at `main`, and a branch one stands on.
fn repository() -> Option<tempfile::TempDir> {
    if lacks_git() {
        return None;
    }
    let folder = pack();
    let at = folder.path();
    write(at, "polymers/grey.yaml", GREY);
    write(at, "series/grey-m3.yaml", SERIES);
    begin(at);
    git(at, &["checkout", "-q", "-b", "mine"]);
    Some(folder)
}

fn json(at: &Path, words: &[&str]) -> Value {
    let output = gripbook(at, &[words, &["--format", "json", "--today", "2026-06-15"]].concat());
    serde_json::from_str(&text(&output)).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&output.stderr)))
}

fn change<'v>(all: &'v Value, address: &str) -> &'v Value {
    let changes = all["changes"].as_array().expect("changes");
    changes.iter().find(|c| c["address"] == address).unwrap_or_else(|| panic!("{address} is not among {changes:#?}"))
}

#[test]
fn a_change_is_told_claim_by_claim_on_one_screen() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    let amended = GREY.replace("52.0 MPa", "7.5 ksi").replace(
        "  density:\n",
        "  tg:\n    - {value: 61 °C, source: new-2026-dsc, locator: run 3, basis: measured, method: ISO 11357-2}\n  density:\n",
    );
    write(at, "polymers/grey.yaml", &amended);
    write(at, "sources/new-2026-dsc.yaml", "type: campaign\ntitle: Calorimeter runs\nissued: 2026-05\nby: bench\n");
    write(
        at,
        "rules/no-touch.yaml",
        "name: Cleaned with water only\nstrength: caution\nmaterial: {family: [pla]}\nbecause: Solvents craze it.\nprovenance: [{basis: practice}]\n",
    );
    fs::remove_file(at.join("series/grey-m3.yaml")).expect("it was there");
    let all = json(at, &["review", "main"]);
    let strength = change(&all, "polymer/grey:tensile_strength");
    assert_eq!((strength["change"].as_str(), strength["what"].as_str()), (Some("changed"), Some("claim")));
    assert_eq!((strength["old"]["written"].as_str(), strength["new"]["written"].as_str()), (Some("52.0 MPa"), Some("7.5 ksi")));
    // 7.5 ksi = 51.71 MPa, by the exact pound and inch: 0.6 % less, another unit, one digit fewer.
    let marks: Vec<&str> = strength["marks"].as_array().expect("marks").iter().filter_map(Value::as_str).collect();
    assert_eq!(marks, ["-0.6 %", "unit MPa → ksi", "3 → 2 digits"]);
    let near = &strength["near"];
    assert!(
        near["others"].as_u64().is_some_and(|n| n >= 3)
            && near["picture"].as_str().is_some_and(|p| p.contains('N') && p.ends_with("MPa")),
        "{near}"
    );
    assert_eq!(change(&all, "polymer/grey:tg")["change"], "added");
    assert_eq!(change(&all, "source/new-2026-dsc")["what"], "source");
    assert_eq!(change(&all, "rule/no-touch")["what"], "rule");
    assert_eq!(change(&all, "series/grey-m3")["change"], "removed");
    assert_eq!(change(&all, "series/grey-m3:pull_out_load")["change"], "removed");
    // The series is gone, so the design load of that joint is another.
    let moved = all["answers"]["moved"].as_array().expect("answers");
    let is_joint = |m: &&Value| m["question"].as_str().is_some_and(|q| q.starts_with("grey M3, cut-thread"));
    let joint = moved.iter().find(is_joint).unwrap_or_else(|| panic!("{:#?}", &moved[..moved.len().min(9)]));
    assert_ne!(joint["old"]["design_load"]["si"], joint["new"]["design_load"]["si"]);
    let asked = all["answers"]["asked"].as_u64().expect("a number");
    assert!(asked > 1000, "all combinations: {asked}");

    let screen = text(&gripbook(at, &["review", "main", "--no-answers"]));
    assert!(screen.lines().count() <= 24 && screen.lines().all(|l| l.chars().count() <= 100), "{screen}");
    assert!(
        screen.contains("polymer/grey:tensile_strength: 52.0 MPa → 7.5 ksi (-0.6 %; unit MPa → ksi; 3 → 2 digits)"),
        "{screen}"
    );
    let page = text(&gripbook(at, &["review", "main", "--no-answers", "--format", "markdown"]));
    assert!(page.contains("52.0 MPa → 7.5 ksi") && page.contains("Findings it causes"), "{page}");
}

#[test]
fn results_that_moved_by_one_factor_are_one_line_and_answers_follow() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    let words = [
        "amend",
        "series/grey-m3:pull_out_load",
        "--all-specimens",
        "--factor",
        "0.4536",
        "--because",
        "pounds",
        "--date",
        "2026-06-15",
    ];
    assert_eq!(gripbook(at, &words).status.code(), Some(0));
    let all = json(at, &["review", "main"]);
    let moved = all["answers"]["moved"].as_array().expect("answers");
    let joint = moved.iter().find(|m| m["question"] == "grey M3, cut-thread").expect("the measured joint");
    let load = |side: &str| joint[side]["design_load"]["si"].as_f64().unwrap_or(0.0);
    assert!(load("new") < load("old"), "{joint}");
    let screen = text(&gripbook(at, &["review", "main", "--no-answers"]));
    assert!(screen.contains("~ series/grey-m3:pull_out_load: 3 results changed, all times 0.4536"), "{screen}");
    // A reader gets the words of the screen, a program those of the contract.
    let page = text(&gripbook(at, &["review", "main", "--full"]));
    assert!(!["suits-with-care", "model-only", "does-not-suit"].iter().any(|word| page.contains(word)), "{page}");
}

/// What was found before the change is not told again; what the change brings is, wherever it stands.
#[test]
fn only_findings_that_the_change_causes_are_told() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    let shifted =
        format!("# a line more above everything\n{GREY}").replace("basis: measured, n: 5", "basis: measured, n: 5, sd: 60 MPa");
    write(at, "polymers/grey.yaml", &shifted);
    let before = json(at, &["audit"])["findings"].as_array().expect("findings").len();
    let all = json(at, &["review", "main", "--no-answers"]);
    let caused = all["findings"].as_array().expect("findings");
    assert!(!caused.is_empty() && caused.len() < before, "{caused:#?} of {before}");
    assert!(
        caused.iter().all(|f| f["message"].to_string().contains("MPa") || f["subject"] == "polymer/grey:tensile_strength"),
        "{caused:#?}"
    );
    // Reverted, nothing is left; a comment alone changes no claim and causes nothing.
    write(at, "polymers/grey.yaml", &format!("# a line more above everything\n{GREY}"));
    let all = json(at, &["review", "main"]);
    assert_eq!((all["changes"].as_array().map(Vec::len), all["findings"].as_array().map(Vec::len)), (Some(0), Some(0)), "{all}");
}

/// A record that an error keeps out is one line and not a list of all that went with it; a record that went is one line too, and
/// what many places say is told once.
#[test]
fn what_goes_is_told_in_a_line_each() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    write(at, "polymers/grey.yaml", &GREY.replace("52.0 MPa", "52.0 kN"));
    let screen = text(&gripbook(at, &["review", "main", "--no-answers"]));
    assert!(screen.contains(": 1 left out\n") && screen.contains("\n! polymer/grey: "), "{screen}");
    assert!(!screen.contains("shear_strength") && screen.contains("- error polymers/grey.yaml:5 "), "{screen}");
    assert_eq!(json(at, &["review", "main", "--no-answers"])["left_out"], serde_json::json!(["polymer/grey"]));
    write(at, "polymers/grey.yaml", GREY);
    fs::remove_file(at.join("series/grey-m3.yaml")).expect("gone");
    let screen = text(&gripbook(at, &["review", "main", "--no-answers"]));
    assert!(screen.contains("- series/grey-m3: M3 in grey (with 1 value in it)"), "{screen}");
    fs::remove_file(at.join("sources/own-2026-tests.yaml")).expect("gone");
    let screen = text(&gripbook(at, &["review", "main", "--no-answers"]));
    assert!(screen.contains("source-unknown (3 times): there is no source `own-2026-tests`"), "{screen}");
    assert!(screen.lines().count() <= 24, "{screen}");
}

/// A withdrawn source: its claims are lost, `check` names them, and the review says so as an error at the line.
#[test]
fn a_withdrawal_shows_what_still_cites_it_and_which_answers_turn() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    let done = gripbook(at, &["withdraw", "source/own-2026-tests", "--because", "the cell was broken"]);
    assert_eq!(done.status.code(), Some(0));
    let output = gripbook(at, &["review", "main", "--format", "json", "--today", "2026-06-15"]);
    assert_eq!(output.status.code(), Some(1));
    let all: Value = serde_json::from_str(&text(&output)).expect("JSON");
    let cited = all["findings"].as_array().expect("findings").iter().filter(|f| f["rule"] == "withdrawn-cited").count();
    assert_eq!(cited, 4, "three claims and a series: {}", all["findings"]);
    assert!(!all["answers"]["moved"].as_array().expect("answers").is_empty());
    let notes = text(&gripbook(at, &["review", "main", "--no-answers", "--format", "github"]));
    assert!(notes.contains("::error title=withdrawn-cited,file=polymers/grey.yaml,line="), "{notes}");
}

/// SARIF of `check`, `audit` and `review`: results with rules that are described.
#[test]
fn sarif_comes_from_check_audit_and_review() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    write(at, "polymers/grey.yaml", &GREY.replace("52.0 MPa", "52.0 Mpa"));
    for words in [&["check"][..], &["audit"], &["review", "main", "--no-answers"]] {
        let output = gripbook(at, &[words, &["--format", "sarif"]].concat());
        let all: Value = serde_json::from_str(&text(&output)).unwrap_or_else(|e| panic!("{words:?}: {e}"));
        assert_eq!(all["version"], "2.1.0");
        let run = &all["runs"][0];
        let described: Vec<&str> =
            run["tool"]["driver"]["rules"].as_array().expect("rules").iter().filter_map(|r| r["id"].as_str()).collect();
        let results = run["results"].as_array().expect("results");
        assert!(results.iter().all(|r| r["ruleId"].as_str().is_some_and(|id| described.contains(&id))), "{words:?}: {all}");
        let has = |rule: &str| results.iter().any(|r| r["ruleId"] == rule);
        assert_eq!(has("unit-unknown"), words[0] != "audit", "{words:?}: {all}");
    }
}

/// From the top of a repository of several packs, what differs says where to look; what another branch did since is no change of
/// this one.
#[test]
fn what_another_branch_did_is_no_change_of_this_one() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    fs::create_dir(at.join("packs")).expect("a folder");
    git(at, &["mv", "pack.yaml", "polymers", "series", "sources", "packs/"]);
    commit(at, "moved");
    git(at, &["checkout", "-q", "-b", "theirs"]);
    write(at, "packs/polymers/theirs.yaml", &GREY.replace("Grey", "Their"));
    commit(at, "theirs");
    git(at, &["checkout", "-q", "mine"]);
    write(at, "packs/polymers/ours.yaml", "name: Our filament\nfamily: pla\n");
    let all = json(at, &["review", "theirs", "--no-answers"]);
    let changes: Vec<&str> = all["changes"].as_array().expect("changes").iter().filter_map(|c| c["address"].as_str()).collect();
    assert_eq!(changes, ["polymer/ours"]);
}

#[test]
fn a_review_needs_a_commit_and_leaves_nothing_behind() {
    let Some(folder) = repository() else { return };
    let at = folder.path();
    for wrong in ["no-such-branch", "--upload-pack=x"] {
        let output = gripbook(at, &["review", wrong]);
        assert_eq!(output.status.code(), Some(2), "{wrong}: {}", text(&output));
    }
    let status = || Command::new("git").current_dir(at).args(["status", "--porcelain"]).output().expect("git").stdout;
    let before = status();
    let output = gripbook(at, &["review", "main"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(text(&output).contains("no record differs"), "{}", text(&output));
    assert_eq!(status(), before);
}
