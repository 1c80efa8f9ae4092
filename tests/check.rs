//! The stage `check` from outside: shipped records, bad records, hostile input.

use gripbook::book::{PackRoot, files::built_in_files, kinds::built_in_schemas};
use gripbook::check::packs::PackFrom;
use gripbook::check::{Report, Request, Targets, run, schema_findings};
use gripbook::finding::Finding;

fn built_in() -> Vec<PackFrom<'static>> {
    vec![
        PackFrom::Embedded { shown: "records/book", files: built_in_files(&PackRoot::BuiltIn) },
        PackFrom::Embedded { shown: "records/demo", files: built_in_files(&PackRoot::Demo) },
    ]
}

fn check(packs: Vec<PackFrom<'_>>, targets: Targets) -> Report {
    run(&Request { shared: built_in_schemas(), packs, targets }).expect("sound schemas")
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
