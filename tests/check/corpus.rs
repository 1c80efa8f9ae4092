//! Records that are wrong on purpose: each names the findings it must give, and gives no other.

use super::{check, line, repository};
use gripbook::check::Targets;
use gripbook::check::packs::PackFrom;
use gripbook::finding::Finding;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

type Expected = BTreeSet<(String, u32, u32)>;

/// What the comment `# expect: RULE at LINE:COLUMN, …` of a file says.
fn expected(text: &str, file: &Path) -> Expected {
    let list = text.lines().find_map(|line| line.strip_prefix("# expect:")).unwrap_or_else(|| panic!("{file:?} expects nothing"));
    let one = |part: &str| {
        let (rule, place) = part.trim().split_once(" at ").unwrap_or_else(|| panic!("{file:?}: {part}"));
        let (line, column) = place.split_once(':').expect("LINE:COLUMN");
        (rule.to_owned(), line.parse().expect("a line"), column.parse().expect("a column"))
    };
    list.split(',').filter(|part| !part.trim().is_empty()).map(one).collect()
}

fn files(folder: &Path, into: &mut Vec<std::path::PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("the corpus") {
        let path = entry.expect("an entry").path();
        if path.is_dir() { files(&path, into) } else { into.push(path) }
    }
}

#[test]
fn every_bad_record_gives_exactly_the_findings_it_names() {
    let root = repository().join("tests/data/bad");
    let report = check(vec![super::book(), PackFrom::Folder(root.clone())], Targets::Packs(vec![1]));
    let mut by_file: BTreeMap<&str, Vec<&Finding>> = BTreeMap::new();
    for finding in &report.findings {
        by_file.entry(&finding.place.file).or_default().push(finding);
    }
    let mut all = Vec::new();
    files(&root, &mut all);
    let mut wrong = Vec::new();
    let mut rules = BTreeSet::new();
    let records = all.iter().filter(|path| path.file_name().is_some_and(|name| name != "pack.yaml"));
    let mut count = 0;
    for path in records {
        count += 1;
        let text = String::from_utf8_lossy(&std::fs::read(path).expect("readable")).into_owned();
        let expected = expected(&text, path);
        let found = by_file.remove(gripbook::check::packs::shown(path).as_str()).unwrap_or_default();
        let places: Expected = found
            .iter()
            .map(|f| {
                let span = f.place.span.expect("a place");
                (f.rule.to_owned(), span.line, span.column)
            })
            .collect();
        rules.extend(places.iter().map(|(rule, ..)| rule.clone()));
        if places != expected || places.len() != found.len() {
            let lines: Vec<String> = found.iter().map(|f| line(f)).collect();
            wrong.push(format!("{}\n  expected {expected:?}\n  found {}", path.display(), lines.join("\n        ")));
        }
        assert!(found.iter().all(|f| f.help.is_some() && !f.message.is_empty()), "{path:?}: a finding without help");
    }
    assert!(wrong.is_empty(), "{} of {count} files\n{}", wrong.len(), wrong.join("\n"));
    assert!(count >= 60, "{count} files");
    assert!(rules.len() >= 45, "{} rules: {rules:?}", rules.len());
    assert!(by_file.is_empty(), "{by_file:?}");
}
