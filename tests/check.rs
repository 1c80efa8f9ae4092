//! The stage `check` from outside: shipped records, bad records, hostile input.

use std::path::PathBuf;

use gripbook::book::{PackRoot, files::built_in_files, kinds::built_in_schemas};
use gripbook::check::packs::PackFrom;
use gripbook::check::{CheckReport, CheckRequest, Targets, run, schema_findings};
use gripbook::finding::Finding;

mod corpus;
mod hostile;
pub mod peer;
mod records;
mod remembered;

/// The top folder of the repository.
fn repository() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The built-in pack, for references.
fn book() -> PackFrom<'static> {
    PackFrom::Embedded { shown: "records/book", files: built_in_files(&PackRoot::BuiltIn) }
}

/// Paths and bytes of the records of both embedded packs, pack.yaml left out.
fn shipped() -> Vec<(&'static str, &'static [u8])> {
    let files = [PackRoot::BuiltIn, PackRoot::Demo].into_iter().flat_map(|root| built_in_files(&root).iter().copied());
    files.filter(|(path, _)| path.ends_with(".yaml") && path.contains('/')).collect()
}

/// Names of the rules of findings, in order.
pub fn rules_of(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.rule).collect()
}

/// Findings of a pack of these files; a sound pack.yaml is added when there is none.
fn pack_of(files: &[(&str, &[u8])]) -> Vec<Finding> {
    let mut all = files.to_vec();
    if !all.iter().any(|(path, _)| *path == "pack.yaml") {
        all.push(("pack.yaml", b"id: trial\ntitle: A trial\nlicence: CC0-1.0\n"));
    }
    let pack = PackFrom::Embedded { shown: "trial", files: &all };
    let request = CheckRequest { shared: built_in_schemas(), packs: vec![book(), pack], targets: Targets::Packs(vec![1]) };
    run(&request).expect("sound schemas").findings
}

/// Findings of each text as a record in this folder.
pub fn texts(folder: &str, texts: &[String]) -> Vec<Vec<Finding>> {
    let names: Vec<String> = (0..texts.len()).map(|n| format!("{folder}/t{n}.yaml")).collect();
    let files: Vec<(&str, &[u8])> = names.iter().map(String::as_str).zip(texts.iter().map(String::as_bytes)).collect();
    let found = pack_of(&files);
    let of = |name: &String| found.iter().filter(|f| f.place.file == format!("trial/{name}")).cloned().collect();
    names.iter().map(of).collect()
}

fn built_in() -> Vec<PackFrom<'static>> {
    vec![book(), PackFrom::Embedded { shown: "records/demo", files: built_in_files(&PackRoot::Demo) }]
}

fn check(packs: Vec<PackFrom<'_>>, targets: Targets) -> CheckReport {
    run(&CheckRequest { shared: built_in_schemas(), packs, targets }).expect("sound schemas")
}

fn assert_none(findings: &[Finding]) {
    let lines: Vec<String> = findings.iter().map(line).collect();
    assert!(lines.is_empty(), "{} findings\n{}", lines.len(), lines.join("\n"));
}

/// A finding in one line, for messages of tests.
fn line(f: &Finding) -> String {
    let span = f.place.span.unwrap_or_default();
    let help = f.help.as_deref().unwrap_or("");
    format!("{}:{}:{} {}: {} [{help}]", f.place.file, span.line, span.column, f.rule, f.message)
}

#[test]
fn shipped_records_have_no_finding() {
    let report = check(built_in(), Targets::Packs(vec![0, 1]));
    assert!(report.records > 200, "{}", report.records);
    assert_none(&report.findings);
}

#[test]
fn shared_schemas_have_no_finding() {
    assert!(built_in_schemas().len() >= 16);
    assert_none(&schema_findings(built_in_schemas()).expect("schemas are JSON"));
}
