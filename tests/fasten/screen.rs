//! The first screen of an answer: how long it is, and what stands in it. Status: self.

use super::{fasten, gripbook, text, with};
use serde_json::Value;
use std::process::Command;

/// Every material of the book, with threads, uses and holes that change from one to the next.
#[test]
fn the_first_screen_stays_short_and_says_something_in_every_case() {
    let mut materials: Vec<String> = Vec::new();
    for kind in ["polymer", "resin"] {
        let found = gripbook(&["find", "--kind", kind, "--limit", "200", "--format", "json"]);
        let found: Value = serde_json::from_slice(&found.stdout).expect("JSON");
        let ids = found["results"].as_array().expect("results").iter().filter_map(|r| r["id"].as_str());
        materials.extend(ids.map(str::to_string));
    }
    assert!(materials.len() > 35, "{}", materials.len());
    let threads = ["M3", "M2", "M4", "#4-40", "M8", "M3x0.35", "1/4-20"];
    let uses: [&[&str]; 6] = [
        &["--need", "300N"],
        &[],
        &["--blind", "--need", "150N", "--factor", "2"],
        &["--hottest", "45°C", "--coldest", "-10°C", "--place", "wet", "--cycles", "12"],
        &["--for", "held", "--need", "50N", "--axis", "across-build"],
        &["--infill", "40%", "--perimeters", "4", "--without", "heat,tap", "--need", "80N"],
    ];
    for (i, material) in materials.iter().enumerate() {
        let fixed =
            ["fasten", "--draws", "200", "--material", material, "--thread", threads[i % threads.len()], "--length", "7mm"];
        let out = gripbook(&[&fixed[..], uses[i % uses.len()]].concat());
        let said = text(&out.stdout);
        assert!(matches!(out.status.code(), Some(0 | 1)), "{material}: {}", text(&out.stderr));
        first_screen(material, &said);
    }
}

/// Questions of which nothing can go, on the narrowest screen: the note on a length that was not given counts as a line too.
#[test]
fn the_first_screen_has_fifteen_lines_on_eighty_columns() {
    let uses: [&[&str]; 6] = [
        &[],
        &["--for", "a year"],
        &["--for", "a year", "--hottest", "40°C", "--need", "10N"],
        &["--insert", "heat set"],
        &["--for", "repeated", "--need", "50N", "--cycles", "12"],
        &["--blind", "--need", "150N", "--factor", "2", "--method", "insert-glued-stepped"],
    ];
    for material in ["pla", "petg", "tough", "elastomer"] {
        for used in uses {
            let line = [&["fasten", material, "M3", "--draws", "200"][..], used].concat();
            let out = Command::new(env!("CARGO_BIN_EXE_gripbook")).args(&line).env("COLUMNS", "80").output().expect("runs");
            let said = text(&out.stdout);
            assert!(matches!(out.status.code(), Some(0 | 1)), "{line:?}: {}", text(&out.stderr));
            let head = said.lines().take_while(|l| !l.starts_with("other method") && !l.starts_with("--full"));
            let count = head.filter(|l| !l.is_empty()).count();
            assert!((4..=15).contains(&count), "{line:?}: {count} lines\n{said}");
            assert!(said.contains("The engaged length was not given"), "{said}");
            // The short columns keep their heads on one line.
            let columns = said.lines().find(|l| l.starts_with("other method"));
            let is_whole = |l: &str| l.contains("verdict") && (l.contains("design load") || l.contains("sustained"));
            assert!(columns.is_none_or(is_whole), "{line:?}: {said}");
        }
    }
}

/// A preload is a sustained load too: where none stays, there is no torque; the reason is told once.
#[test]
fn what_creeps_until_it_fails_is_not_tightened() {
    let line = ["--for", "a year", "--hottest", "40°C", "--need", "10N", "--method", "cut-thread"];
    let said = text(&fasten(&with(&line)).stdout);
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("Sustained none for 1 year") && flat.contains("Torque none: the preload"), "{said}");
    assert!(!flat.contains("Torque at most") && flat.matches("creeps until it fails").count() == 1, "{said}");
}

/// The first screen on eighty columns, its lines run together.
fn narrow(line: &[&str]) -> String {
    let all = [&["fasten", "--draws", "2000"][..], line].concat();
    let out = Command::new(env!("CARGO_BIN_EXE_gripbook")).args(&all).env("COLUMNS", "80").output().expect("runs");
    assert!(matches!(out.status.code(), Some(0 | 1)), "{line:?}: {}", text(&out.stderr));
    text(&out.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whose hole an answer takes stands beside the hole, and only where none was asked for.
#[test]
fn a_hole_that_is_taken_from_a_series_says_whose_it_is() {
    let line = ["logger-grey", "M3", "6mm", "--pack", "demo"];
    let whole = text(&fasten(&[&line[..], &["--format", "json"]].concat()).stdout);
    let whole: Value = serde_json::from_slice(whole.as_bytes()).expect("JSON");
    let evidence = &whole["candidates"][0]["evidence"];
    let name = evidence["hole_of"].as_str().and_then(|id| id.rsplit('/').next()).expect("a hole of a series");
    let said = narrow(&line);
    assert!(said.contains(&format!(", as in {name};")) || said.contains("between those of"), "{name}: {said}");
    let own = narrow(&[&line[..], &["--hole-size", "2.5mm"]].concat());
    assert!(!own.contains(", as in") && !own.contains("between those of"), "{own}");
}

/// An answer that lacks a value says what to give, however full the screen is.
#[test]
fn what_is_missing_stands_on_the_first_screen() {
    let line = ["tough", "M3", "6mm", "--insert", "heat set", "--method", "insert-own-resin"];
    let lamp = ["--dose", "200mJ/cm²", "--wavelength", "405nm"];
    let dark = narrow(&line);
    assert!(dark.contains("Missing") && dark.contains("--dose"), "{dark}");
    let lit = narrow(&[&line[..], &lamp].concat());
    assert!(lit.contains("Missing") && lit.contains("`penetration_depth`"), "{lit}");
}

/// One load is one number on a page; and a way that splits some parts before any load says so before it is tried.
#[test]
fn the_design_load_is_told_in_one_way_and_splitting_is_told_at_once() {
    let mut split = 0;
    for material in ["tough", "pla", "petg", "abs", "pc"] {
        for method in ["direct-screw", "press-fit-insert", "cut-thread"] {
            let line = [material, "M3", "6mm", "--method", method];
            let said = narrow(&line);
            assert!(!said.contains("inf ") && !said.contains("design load of 0"), "{line:?}: {said}");
            let whole = narrow(&[&line[..], &["--full"]].concat());
            assert!(!whole.contains("design load of 0"), "{line:?}: {whole}");
            let Some((_, behind)) = said.split_once("at the design load of ") else { continue };
            let load = behind.split(':').next().unwrap_or_default();
            assert!(said.contains(&format!("Design load {load}")), "{line:?}: {said}");
            assert_eq!(said.contains("split without any load"), whole.contains("split without any load"), "{line:?}: {said}");
            assert!(whole.matches("split without any load").count() <= 1, "{whole}");
            split += usize::from(said.contains("split without any load"));
        }
    }
    assert!(split > 0, "none of these splits");
}

/// A rule that warns is the reason told first, where the only other one is the design load over again.
#[test]
fn a_warning_is_not_hidden_behind_the_design_load() {
    let said = narrow(&["petg", "M3", "6mm", "--insert", "press", "--method", "heat-set-insert"]);
    assert!(said.contains("An insert of another kind is not made to be set with heat"), "{said}");
    let asked = narrow(&["petg", "M3", "6mm", "50N", "--insert", "press", "--method", "heat-set-insert"]);
    assert!(asked.contains("predicted survival at 50 N"), "{asked}");
}

/// Fifteen lines about the best way, ten rows for the others, nothing twice, no label without its text.
fn first_screen(material: &str, said: &str) {
    let lines: Vec<&str> = said.lines().filter(|l| !l.is_empty()).collect();
    let table = lines.iter().position(|l| l.starts_with("other method")).expect("the other methods");
    let (head, rest) = (&lines[..table], &lines[table + 1..]);
    assert!((4..=15).contains(&head.len()), "{material}: {} lines\n{said}", head.len());
    // A reason may go on in a second line where the page has room.
    assert!(head.len() + rest.len() <= 15 + 11 + 1, "{material}: {} lines below\n{said}", rest.len());
    let rows = rest.iter().filter(|l| !l.starts_with("--full") && !l.starts_with(' '));
    assert!(rows.clone().count() <= 10, "{material}: {} rows\n{said}", rows.count());
    assert!(lines.iter().all(|l| l.chars().count() <= 100), "{material}: a line too long\n{said}");
    for word in ["Reason", "Not for lifting"] {
        assert!(head.iter().any(|l| l.starts_with(word)), "{material}: {word}\n{said}");
    }
    for bad in ["NaN", "inf ", "Some(", "None", "  - ", "()", " 0 N"] {
        assert!(!lines.iter().any(|l| l.contains(bad)), "{material}: `{bad}`\n{said}");
    }
    let labelled = head.iter().skip_while(|l| !l.starts_with("Use ") && !l.starts_with("Evidence "));
    let mut labelled = labelled.filter(|l| !l.starts_with(' '));
    assert!(labelled.all(|l| l.split_whitespace().count() > 2), "{material}: a label alone\n{said}");
    let mut seen = std::collections::BTreeSet::new();
    assert!(head.iter().all(|l| seen.insert(l.trim())), "{material}: a line twice\n{said}");
    assert!(
        rest.iter()
            .all(|l| l.split("  ").filter(|c| !c.is_empty()).count() >= 3 || l.starts_with("--full") || l.starts_with(' ')),
        "{material}\n{said}"
    );
}
