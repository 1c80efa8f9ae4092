//! The command `audit` and the command `why`, as typed.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

pub fn gripbook(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    command.current_dir(folder).args(args).env_remove("HOME").output().expect("the program runs")
}

pub fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn shipped(args: &[&str]) -> Output {
    gripbook(&std::env::temp_dir(), args)
}

/// The rows of the shipped book's findings: none is an error, and every finding has a line.
#[test]
fn the_shipped_book_has_no_error() {
    let output = shipped(&["audit", "--format", "json", "--today", "2026-06-15"]);
    assert_eq!(output.status.code(), Some(0));
    let all: Value = serde_json::from_str(&text(&output)).expect("JSON");
    let findings = all["findings"].as_array().expect("findings");
    assert!(findings.len() > 100);
    for f in findings {
        assert_ne!(f["severity"], "error", "{f}");
        assert!(f["line"].as_u64().is_some_and(|l| l > 0), "{f}");
    }
    for w in all["waived"].as_array().expect("waived") {
        assert!(w["because"].as_str().is_some_and(|b| b.len() > 5), "{w}");
    }
}

#[test]
fn sarif_fits_its_schema() {
    let schema: Value = serde_json::from_str(include_str!("../data/sarif-part.schema.json")).expect("the schema");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let output = shipped(&["audit", "--format", "sarif"]);
    let all: Value = serde_json::from_str(&text(&output)).expect("JSON");
    let faults: Vec<String> = validator.iter_errors(&all).map(|e| format!("{e} at {}", e.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    let run = &all["runs"][0];
    for result in run["results"].as_array().expect("results") {
        let rule = result["ruleIndex"].as_u64().and_then(|i| usize::try_from(i).ok()).expect("an index");
        assert_eq!(run["tool"]["driver"]["rules"][rule]["id"], result["ruleId"]);
    }
}

#[test]
fn lines_end_with_a_summary_and_text_with_counts() {
    let lines = text(&shipped(&["audit", "--format", "jsonl"]));
    let last: Value = serde_json::from_str(lines.lines().last().expect("a line")).expect("JSON");
    assert_eq!(last["summary"]["rows"].as_u64(), Some(lines.lines().count() as u64 - 1));
    let page = text(&shipped(&["audit", "--full"]));
    assert!(page.contains("notes are counted but not shown"), "{page}");
    assert!(!page.to_lowercase().contains("score"), "counts, never one score");
    let github = text(&shipped(&["audit", "--format", "github"]));
    assert!(github.lines().all(|l| l.starts_with("::")), "{github}");
}

/// Counts first, then ten findings one line each: gravest first, each one that the machine formats know too.
#[test]
fn the_first_screen_has_the_counts_and_the_ten_weightiest() {
    let first = text(&shipped(&["audit"]));
    // Ten findings, none of them cut.
    assert!(first.lines().count() <= 22, "{first}");
    let all: Value = serde_json::from_str(&text(&shipped(&["audit", "--format", "json"]))).expect("JSON");
    let findings = all["findings"].as_array().expect("findings");
    let of = |severity: &str| findings.iter().filter(|f| f["severity"] == severity).count();
    let counts = format!("{} warnings, {} notes", of("warning"), of("note"));
    assert!(first.lines().take(2).any(|line| line.contains(&counts)), "{counts}: {first}");
    let items: Vec<&str> = first.lines().filter_map(|line| line.strip_prefix("- ")).collect();
    assert_eq!(items.len(), 10, "{first}");
    let told = |item: &str| {
        let known = |f: &&Value| {
            let file = f["file"].as_str().unwrap_or("").trim_start_matches("records/book/");
            let at = format!("{file}:{} {}", f["line"], f["rule"].as_str().unwrap_or(""));
            item.starts_with(&format!("{at}:")) || item.starts_with(&format!("{at} ("))
        };
        findings.iter().find(known).map(|f| f["rule"].to_string())
    };
    let rules: Vec<String> = items.iter().map(|i| told(i).unwrap_or_else(|| panic!("no such finding: {i}"))).collect();
    assert!(rules.iter().all(|rule| rules.iter().filter(|r| *r == rule).count() <= 3), "{rules:?}");
    assert!(!first.contains("  reads ") && text(&shipped(&["audit", "--full"])).contains("  reads "));
    assert!(text(&shipped(&["audit", "--format", "markdown"])).contains("**reads**"), "Markdown is whole");
}

#[test]
fn fail_on_decides_the_exit_code() {
    assert_eq!(shipped(&["audit", "--fail-on", "warning"]).status.code(), Some(1));
    assert_eq!(shipped(&["audit", "--only", "no-such-audit"]).status.code(), Some(2));
}

#[test]
fn why_prints_the_documentation_of_all_three_sorts() {
    let audit = text(&shipped(&["why", "sd-outside-range-bounds"]));
    for part in ["Wrong", "Right", "When to waive", "Source", "# <- error"] {
        assert!(audit.contains(part), "{part}: {audit}");
    }
    assert!(text(&shipped(&["why", "unit-unknown"])).contains("found by check"));
    let list = text(&shipped(&["why", "--format", "jsonl"]));
    for sort in ["audit", "check", "rule"] {
        assert!(list.contains(&format!("\"sort\":\"{sort}\"")), "{sort}");
    }
    let rule: Value =
        list.lines().filter_map(|l| serde_json::from_str(l).ok()).find(|v: &Value| v["sort"] == "rule").expect("a rule");
    let page = text(&shipped(&["why", rule["name"].as_str().expect("a name")]));
    assert!(page.contains("Evidence"), "{page}");
    let miss = shipped(&["why", "unsorced"]);
    assert_eq!(miss.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&miss.stderr).contains("did you mean `unsourced`?"));
}
