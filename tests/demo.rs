//! The demo pack holds together, and stays apart from the book. Status of these checks: self (no outside figure exists for
//! invented data); the curves are compared with the loads of the records, which were written by hand.

use gripbook::book::{Book, PackRoot};
use gripbook::check::packs::PackFrom;
use gripbook::check::{CheckRequest, Targets, run};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn at(relative: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(relative)
}

fn both() -> Book {
    Book::load(&[PackRoot::BuiltIn, PackRoot::Demo], Path::new("/")).expect("loads")
}

/// One specimen of a demo series that has a curve.
struct Pulled {
    series: String,
    load: String,
    unit: String,
    curve: PathBuf,
}

fn pulled(book: &Book) -> Vec<Pulled> {
    let mut all = Vec::new();
    for series in book.of_kind("series").filter(|s| book.pack_of(s).id == "demo".into()) {
        for measurement in &series.series().expect("a series").measurements {
            for specimen in &measurement.all_specimens {
                let Some(file) = specimen.curve.as_deref() else { continue };
                let (load, unit) = specimen.value.as_text().expect("a quantity").split_once(' ').expect("a unit");
                let name = series.id.name();
                let curve = at("records/demo/series").join(name).join(file);
                all.push(Pulled { series: name.into(), load: load.into(), unit: unit.into(), curve });
            }
        }
    }
    all
}

/// The load column of a curve: the one whose title names a force.
fn loads(text: &str) -> (String, Vec<f64>) {
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let header = lines.next().expect("a header");
    let cut = if header.contains(';') { ';' } else { ',' };
    let column = header.split(cut).position(|t| t.to_lowercase().contains("load") || t.contains("orce")).expect("a load column");
    let cells = lines.map(|l| l.split(cut).nth(column).expect("a cell").replace(',', ".").parse().expect("a number"));
    (header.to_owned(), cells.collect())
}

#[test]
fn every_curve_peaks_once_at_the_load_of_its_record() {
    let book = both();
    let all = pulled(&book);
    assert!(all.len() >= 40, "{}", all.len());
    for one in &all {
        let text = fs::read_to_string(&one.curve).expect("the curve is there");
        let (header, loads) = loads(&text);
        let peak = loads.iter().copied().fold(f64::MIN, f64::max);
        assert_eq!(peak.to_string(), one.load.parse::<f64>().expect("a number").to_string(), "{}", one.curve.display());
        assert_eq!(loads.iter().filter(|l| **l == peak).count(), 1, "{}", one.curve.display());
        assert_eq!(header.contains("kg"), one.unit == "kgf", "{}: {header}", one.series);
        assert!(text.lines().count() <= 400 && text.len() <= 15_000, "{}", one.curve.display());
    }
}

#[test]
fn no_curve_lies_about_unnamed() {
    let named: BTreeSet<PathBuf> = pulled(&both()).into_iter().map(|p| p.curve).collect();
    let folders = fs::read_dir(at("records/demo/series")).expect("list").map(|e| e.expect("entry").path());
    let lying: BTreeSet<PathBuf> = folders
        .filter(|p| p.is_dir())
        .flat_map(|p| fs::read_dir(p).expect("list").map(|e| e.expect("entry").path()).collect::<Vec<_>>())
        .collect();
    assert_eq!(named, lying);
}

#[test]
fn everything_in_the_demo_pack_is_invented_and_nothing_in_the_book_is() {
    let book = both();
    assert_eq!(book.left_out, []);
    for record in book.records() {
        let demo = book.pack_of(record).id == "demo".into();
        for claim in record.properties.iter().flat_map(|p| &p.claims) {
            assert_eq!(claim.basis == gripbook::book::Basis::Invented, demo, "{}", record.id);
        }
        for basis in bases(record.rest.json()) {
            assert_eq!(basis == "invented", demo, "{}: {basis}", record.id);
        }
    }
}

/// Every `basis` below a value.
fn bases(value: &Value) -> Vec<&str> {
    match value {
        Value::Object(map) => {
            let own = map.get("basis").and_then(Value::as_str);
            own.into_iter().chain(map.values().flat_map(bases)).collect()
        }
        Value::Array(list) => list.iter().flat_map(bases).collect(),
        _ => Vec::new(),
    }
}

/// Runs a Python script of tools/; `None` when there is no Python and nobody requires it.
fn python(arguments: &[&str]) -> Option<std::process::Output> {
    match Command::new("python3").args(arguments).current_dir(at("")).output() {
        Ok(output) => Some(output),
        Err(fault) if std::env::var_os("GRIPBOOK_REQUIRE").is_some() => panic!("python3 is required: {fault}"),
        Err(_) => {
            println!("skipped: python3 missing");
            None
        }
    }
}

#[test]
fn the_curves_can_be_made_again_byte_for_byte() {
    let Some(output) = python(&["tools/demo_curves.py", "--check"]) else { return };
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
}

#[test]
fn generated_packs_are_valid_and_the_same_each_time() {
    let scratch = tempfile::tempdir().expect("a folder");
    let folder = |name: &str| scratch.path().join(name);
    for name in ["one", "two"] {
        let target = folder(name).display().to_string();
        let Some(output) = python(&["tools/generate_pack.py", "--records", "150", "--folder", &target]) else { return };
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }
    let sample = |name: &str| fs::read(folder(name).join("resins/generated-000100.yaml")).expect("is there");
    assert_eq!(sample("one"), sample("two"));
    let packs = vec![PackFrom::Folder(folder("one"))];
    let shared = gripbook::book::kinds::built_in_schemas();
    let report = run(&CheckRequest { shared, packs, targets: Targets::Packs(vec![0]) }).expect("sound schemas");
    assert_eq!((report.records, report.findings.as_slice()), (150, [].as_slice()));
}
