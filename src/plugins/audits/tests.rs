//! The registry: every file is listed, every audit is named, documented and has its cases.

use super::ALL;
use crate::audit::waiver::ABOUT_WAIVERS;
use crate::check;
use std::path::Path;

fn files() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/plugins/audits");
    let entries = std::fs::read_dir(folder).expect("the folder of audits").map(|e| e.expect("an entry").file_name());
    let mut names: Vec<String> = entries.filter_map(|n| n.to_str()?.strip_suffix(".rs").map(str::to_owned)).collect();
    names.retain(|n| !["mod", "common", "tests"].contains(&n.as_str()));
    names.sort();
    names
}

/// The lines a list lacks for these files.
fn missing_lines(listed: &[&str], files: &[String]) -> Vec<String> {
    let lacks = files.iter().filter(|f| !listed.contains(&f.replace('_', "-").as_str()));
    lacks.map(|f| format!("`mod {f};` in src/plugins/audits/mod.rs")).collect()
}

#[test]
fn every_file_is_in_the_list() {
    let listed: Vec<&str> = ALL.iter().map(|a| a.name).collect();
    let missing = missing_lines(&listed, &files());
    assert!(missing.is_empty(), "missing: {}", missing.join("; "));
    assert_eq!(listed.len(), files().len(), "an audit bears another name than its file");
}

#[test]
fn a_missing_line_is_named() {
    let missing = missing_lines(&["one"], &["one".into(), "two_more".into()]);
    assert_eq!(missing, ["`mod two_more;` in src/plugins/audits/mod.rs"]);
}

#[test]
fn names_are_sorted_unique_readable_and_no_names_of_check() {
    for pair in ALL.windows(2) {
        assert!(pair[0].name < pair[1].name, "{} stands before {}", pair[0].name, pair[1].name);
    }
    for audit in ALL.iter().chain(ABOUT_WAIVERS) {
        let readable = audit.name.split('-').all(|w| !w.is_empty() && w.bytes().all(|b| b.is_ascii_lowercase()));
        assert!(readable, "{}", audit.name);
        assert!(check::rules::doc(audit.name).is_none(), "{} is a finding of check", audit.name);
    }
}

#[test]
fn every_audit_is_documented() {
    for audit in ALL.iter().chain(ABOUT_WAIVERS) {
        for text in [audit.what, audit.why] {
            assert!(text.len() > 15 && text.ends_with('.'), "{}: {text}", audit.name);
        }
        assert!(audit.waive.len() > 5 && audit.source.len() > 4, "{}", audit.name);
        assert_eq!(audit.integrity, audit.waive.starts_with("never"), "{}", audit.name);
    }
}

#[test]
fn every_audit_has_a_wrong_and_a_right_record() {
    for audit in ALL.iter().chain(ABOUT_WAIVERS) {
        let examples = audit.examples();
        assert!(examples.iter().any(|e| e.wrong) && examples.iter().any(|e| !e.wrong), "{}", audit.name);
        assert!(examples.iter().all(|e| !e.files.is_empty()), "{}", audit.name);
        for wrong in [true, false] {
            assert!(audit.shown_example(wrong).is_some_and(|t| t.contains(':')), "{}", audit.name);
        }
    }
}
