//! Any value of a record can be corrected, one or many, and the old one stays beside it, dated, with the reason.

use super::formats::{gripbook, text};
use super::work::{pack, write};
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::fs;
use std::path::Path;

const SERIES: &str = "name: M3 in grey resin\nsource: own-2026-tests\nlocator: sheet 1\nbasis: measured\njoint:\n  test: pull-out\n  method: cut-thread\n  material: resin/grey\n  thread: M3\n  length: 6 mm\n  hole: 2.5 mm  # drilled\n  boss: 9 mm\ntest: {speed: 6 mm/min, temperature: 23 °C}\nmeasurements:\n  - quantity: pull_out_load\n    mean: 240.0 lbf\n    specimens:\n      # the first one slipped\n      - {label: a, value: 235.0 lbf, mode: part-thread-shear, job: one}\n      - label: b\n        value: 245.0 lbf\n        mode: part-thread-shear\n      - {label: c, value: 1070 N, mode: part-thread-shear}\n  - quantity: drive_torque\n    specimens:\n      - {label: a, value: 0.40 N·m}\n";
const RESIN: &str = "name: Grey\nfamily: acrylate\nproperties:\n  tg:\n    - value: 61 °C\n      source: own-2026-tests\n      locator: sheet 2\n      basis: measured\n      conditions:\n        temperature: 23 °C\n        note: |\n          two lines\n          of text\n  tensile_strength:\n    - {value: 50 MPa, source: own-2026-tests, locator: sheet 3, basis: measured}\n  shear_strength:\n    - {value: 30 MPa, source: own-2026-tests, locator: sheet 3, basis: measured}\n  tensile_modulus:\n    - {value: 2.2 GPa, source: own-2026-tests, locator: sheet 3, basis: measured}\n  density:\n    - {low: 1.10 g/cm³, high: 1.20 g/cm³, source: own-2026-tests, locator: sheet 3, basis: measured}\n";

fn bench() -> tempfile::TempDir {
    let folder = pack();
    write(folder.path(), "series/grey-m3.yaml", SERIES);
    write(folder.path(), "resins/grey.yaml", RESIN);
    let checked = gripbook(folder.path(), &["check"]);
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked));
    folder
}

fn amend(at: &Path, words: &[&str]) -> String {
    let fixed = ["--because", "the sheet was read again", "--date", "2026-06-15"];
    let done = gripbook(at, &[&["amend"], words, &fixed].concat());
    assert_eq!(done.status.code(), Some(0), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
    let checked = gripbook(at, &["check"]);
    assert_eq!(checked.status.code(), Some(0), "{words:?}: {}", text(&checked));
    text(&done)
}

fn refused(at: &Path, words: &[&str]) -> String {
    let done = gripbook(at, &[&["amend"], words, &["--because", "x"]].concat());
    assert_ne!(done.status.code(), Some(0), "{words:?}: {}", text(&done));
    String::from_utf8_lossy(&done.stderr).into_owned()
}

pub fn yaml(at: &Path, path: &str) -> Yaml {
    serde_yaml::from_str(&fs::read_to_string(at.join(path)).expect("the record")).expect("YAML")
}

fn was(of: &Yaml) -> Vec<(String, String)> {
    let text = |v: &Yaml| v.as_str().map_or_else(|| format!("{v:?}"), str::to_owned);
    let all = of["was"].as_sequence().into_iter().flatten();
    all.map(|w| {
        assert_eq!((w["until"].as_str(), w["because"].as_str()), (Some("2026-06-15"), Some("the sheet was read again")));
        (w["field"].as_str().unwrap_or("value").to_owned(), text(&w["value"]))
    })
    .collect()
}

#[test]
fn every_value_of_a_record_can_be_corrected() {
    let folder = bench();
    let at = folder.path();
    let pairs = |list: &[(&str, &str)]| list.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect::<Vec<_>>();
    // A single result, its mode, its job.
    amend(at, &["series/grey-m3:pull_out_load#a", "--value", "236.0 lbf"]);
    amend(at, &["series/grey-m3:pull_out_load#a", "--field", "mode", "--value", "screw-break"]);
    amend(at, &["series/grey-m3:pull_out_load#b", "--field", "mode", "--value", "glue"]);
    let series = yaml(at, "series/grey-m3.yaml");
    let first = &series["measurements"][0]["specimens"][0];
    assert_eq!((first["value"].as_str(), first["mode"].as_str()), (Some("236.0 lbf"), Some("screw-break")));
    assert_eq!(was(first), pairs(&[("value", "235.0 lbf"), ("mode", "part-thread-shear")]));
    assert_eq!(was(&series["measurements"][0]["specimens"][1]), pairs(&[("mode", "part-thread-shear")]));
    // The hole, the speed, the mean.
    amend(at, &["grey-m3", "--field", "joint.hole", "--value", "2.6 mm"]);
    amend(at, &["grey-m3", "--field", "test.temperature", "--value", "-5 °C"]);
    amend(at, &["series/grey-m3:pull_out_load", "--value", "239.0 lbf"]);
    let series = yaml(at, "series/grey-m3.yaml");
    assert_eq!(was(&series), pairs(&[("joint.hole", "2.5 mm"), ("test.temperature", "23 °C")]));
    assert_eq!(was(&series["measurements"][0]), pairs(&[("mean", "240.0 lbf")]));
    assert_eq!(series["test"]["temperature"].as_str(), Some("-5 °C"));
    // A claim, a condition of it, an end of a range; a source's field.
    amend(at, &["resin/grey:tg", "--value", "-61 °C"]);
    amend(at, &["resin/grey:tg", "--field", "conditions.temperature", "--value=-20 °C"]);
    amend(at, &["resin/grey:density", "--field", "high", "--value", "1.25 g/cm³"]);
    amend(at, &["source/own-2026-tests", "--field", "issued", "--value", "2026-04"]);
    let resin = yaml(at, "resins/grey.yaml");
    let tg = &resin["properties"]["tg"][0];
    assert_eq!(was(tg), pairs(&[("value", "61 °C"), ("conditions.temperature", "23 °C")]));
    assert_eq!(tg["conditions"]["note"].as_str(), Some("two lines\nof text\n"), "the text is as it was");
    assert_eq!(was(&resin["properties"]["density"][0]), pairs(&[("high", "1.20 g/cm³")]));
    assert_eq!(was(&yaml(at, "sources/own-2026-tests.yaml")), pairs(&[("issued", "2026-03")]));
    // Comments stay, and what people see tells the history.
    let file = fs::read_to_string(at.join("series/grey-m3.yaml")).expect("the record");
    assert!(file.contains("# the first one slipped") && file.contains("# drilled"), "{file}");
    let traced = text(&gripbook(at, &["trace", "resin/grey:tg"]));
    assert!(traced.contains("conditions.temperature was 23 °C until 2026-06-15: the sheet was read again"), "{traced}");
}

#[test]
fn many_values_are_corrected_by_a_factor_or_by_their_unit() {
    let folder = bench();
    let at = folder.path();
    let values = || -> Vec<String> {
        let series = yaml(at, "series/grey-m3.yaml");
        let all = series["measurements"][0]["specimens"].as_sequence().expect("results").clone();
        all.iter().filter_map(|s| s["value"].as_str().map(str::to_owned)).collect()
    };
    // Read as pounds of force, and the display showed kilograms: the numbers stay, and what was in newtons stays too.
    let said = amend(at, &["series/grey-m3:pull_out_load", "--all-specimens", "--unit", "lbf=kgf"]);
    assert!(said.contains("series/grey-m3: 2 values corrected"), "{said}");
    assert_eq!(values(), ["235.0 kgf", "245.0 kgf", "1070 N"]);
    // 235.0 × 0.4536 = 106.596, 245.0 × 0.4536 = 111.132, 1070 × 0.4536 = 485.352, by hand.
    amend(at, &["series/grey-m3:pull_out_load", "--all-specimens", "--factor", "0.4536"]);
    assert_eq!(values(), ["106.6 kgf", "111.1 kgf", "485.4 N"]);
    let series = yaml(at, "series/grey-m3.yaml");
    assert_eq!(was(&series["measurements"][0]["specimens"][1]).len(), 2);
    assert_eq!(series["measurements"][1]["specimens"][0]["value"].as_str(), Some("0.40 N·m"), "another quantity");
    amend(at, &["resin/grey:density", "--factor", "0.5"]);
    let density = &yaml(at, "resins/grey.yaml")["properties"]["density"][0];
    assert_eq!((density["low"].as_str(), density["high"].as_str()), (Some("0.550 g/cm³"), Some("0.600 g/cm³")));
    let dry = gripbook(at, &["amend", "grey-m3:pull_out_load#c", "--value", "900 N", "--because", "x", "--dry-run"]);
    assert!(text(&dry).contains("not written") && values()[2] == "485.4 N", "{}", text(&dry));
}

#[test]
fn what_cannot_be_corrected_is_refused_with_what_can() {
    let folder = bench();
    let at = folder.path();
    let before = fs::read_to_string(at.join("series/grey-m3.yaml")).expect("the record");
    assert!(refused(at, &["grey-m3", "--value", "3 mm"]).contains("--field joint.hole"));
    assert!(refused(at, &["grey-m3", "--field", "joint.whole", "--value", "3 mm"]).contains("states no `joint.whole`"));
    assert!(refused(at, &["grey-m3", "--field", "joint", "--value", "3 mm"]).contains("holds several values"));
    assert!(
        refused(at, &["grey-m3:pull_out_load#zz", "--value", "3 N"]).contains("names no claim, measurement or single result")
    );
    assert!(refused(at, &["grey-m3", "--field", "joint.hole", "--value", "3 N"]).contains("would not pass check"));
    assert!(refused(at, &["resin/grey:tg", "--factor", "2"]).contains("no factor"));
    assert!(refused(at, &["resin/grey:tg", "--value", "61 °C"]).contains("nothing would change"));
    assert!(refused(at, &["grey-m3:pull_out_load", "--all-specimens", "--unit", "lbf=mm"]).contains("different things"));
    assert_eq!(fs::read_to_string(at.join("series/grey-m3.yaml")).expect("the record"), before);
}

/// Each mix-up of units is named with its factor, whichever way round, and once undone it is found no more. The factors are the
/// exact pound (0.453 592 37 kg), standard gravity (9.806 65 m/s²) and inch (25.4 mm), BIPM and NIST SP 811.
#[test]
fn an_audit_names_the_factor_of_a_unit_slip_and_the_correction_settles_it() {
    let exact = [
        ("2.2046", 1.0 / 0.453_592_37),
        ("4.448", 0.453_592_37 * 9.806_65),
        ("9.80665", 9.806_65),
        ("25.4", 25.4),
        ("1000", 1000.0),
    ];
    for (named, factor) in exact {
        for factor in [factor, 1.0 / factor] {
            let folder = pack();
            let at = folder.path();
            write(at, "resins/grey.yaml", "name: Grey\nfamily: acrylate\n");
            for (n, load) in [1_040.0, 1_090.0, 1_065.0, 1_020.0, 1_055.0 * factor].into_iter().enumerate() {
                let source = format!("bench-{n}");
                write(at, &format!("sources/{source}.yaml"), "type: campaign\ntitle: Pulls\nissued: 2026-03\nby: bench\n");
                let series = SERIES.split("measurements:").next().expect("a head").replace("own-2026-tests", &source);
                let results = format!(
                    "measurements:\n  - quantity: pull_out_load\n    specimens:\n      - {{label: a, value: {load:.4} N, mode: part-thread-shear}}\n      - {{label: b, value: {:.4} N, mode: part-thread-shear}}\n",
                    load * 1.02
                );
                write(at, &format!("series/m3-{n}.yaml"), &(series + &results));
            }
            let slips = || -> Vec<(String, String)> {
                let all: Value =
                    serde_json::from_str(&text(&gripbook(at, &["audit", "--only", "series-unit-slip", "--format", "json"])))
                        .expect("JSON");
                let found = all["findings"].as_array().expect("findings").iter();
                found
                    .map(|f| {
                        (
                            f["subject"].as_str().unwrap_or_default().to_owned(),
                            f["message"].as_str().unwrap_or_default().to_owned(),
                        )
                    })
                    .collect()
            };
            let found = slips();
            assert!(
                matches!(&found[..], [(subject, said)] if subject == "series/m3-4:pull_out_load" && said.contains(&format!("a factor of {named}"))),
                "{factor}: {found:?}"
            );
            amend(at, &["--source", "bench-4", "--all-specimens", "--factor", &format!("{}", 1.0 / factor)]);
            assert_eq!(slips(), [], "{factor}");
        }
    }
}

/// A slip that goes through a campaign is corrected in all its series together, and in nothing that another source gave.
#[test]
fn several_records_are_corrected_together_or_not_at_all() {
    let folder = bench();
    let at = folder.path();
    write(at, "sources/other-2026.yaml", "type: campaign\ntitle: Other tests\nissued: 2026-04\nby: bench\n");
    write(at, "series/second.yaml", &SERIES.replace("M3 in grey", "M3 again in grey").replace("length: 6 mm", "length: 8 mm"));
    write(at, "series/theirs.yaml", &SERIES.replace("source: own-2026-tests", "source: other-2026"));
    let files = ["series/grey-m3.yaml", "series/second.yaml", "series/theirs.yaml", "resins/grey.yaml"];
    let all = || files.map(|file| fs::read_to_string(at.join(file)).expect(file));
    let before = all();
    let first = |file: &str| yaml(at, file)["measurements"][0]["specimens"][0]["value"].as_str().map(str::to_owned);
    // One of two does not fit: neither is written.
    assert!(refused(at, &["resin/grey:tg", "grey-m3:pull_out_load#a", "--value", "61.5 °C"]).contains("nothing was written"));
    assert_eq!(all(), before);
    let said = amend(at, &["grey-m3:pull_out_load#a", "series/second:pull_out_load#a", "--value", "230 lbf"]);
    assert!(said.contains("2 values corrected in 2 records"), "{said}");
    assert_eq!(files.map(|file| first(file).unwrap_or_default()), ["230 lbf", "230 lbf", "235.0 lbf", ""]);
    // The whole campaign was read in the wrong unit: forces of every series, single results and means; torques have none such.
    let said = amend(at, &["--source", "own-2026-tests", "--all-specimens", "--unit", "lbf=kgf"]);
    assert!(said.contains("4 values corrected in 2 records"), "{said}");
    let said = amend(at, &["--source", "own-2026-tests", "--unit", "lbf=kgf"]);
    assert!(said.contains("series/second:pull_out_load mean: 240.0 lbf → 240.0 kgf"), "{said}");
    assert_eq!(files.map(|file| first(file).unwrap_or_default()), ["230 kgf", "230 kgf", "235.0 lbf", ""]);
    // A field of every series, a factor for one quantity of the claims that cite it.
    amend(at, &["--source", "source/own-2026-tests", "--field", "test.speed", "--value", "5 mm/min"]);
    assert_eq!(yaml(at, files[1])["test"]["speed"].as_str(), Some("5 mm/min"));
    assert_eq!(was(&yaml(at, files[1])), [("test.speed".to_owned(), "6 mm/min".to_owned())]);
    amend(at, &["--source", "own-2026-tests", "tensile_strength", "--factor", "0.5"]);
    assert_eq!(yaml(at, files[3])["properties"]["tensile_strength"][0]["value"].as_str(), Some("25.0 MPa"));
    assert_eq!(fs::read_to_string(at.join(files[2])).expect("theirs"), before[2], "another source gave it");
    // What would be a guess, or hits nothing, is refused with what there is.
    assert!(
        refused(at, &["--source", "own-2026-tests", "--all-specimens", "--factor", "2"]).contains("drive_torque, pull_out_load")
    );
    assert!(refused(at, &["--source", "own-2026-tests", "--value", "3 N"]).contains("--field"));
    assert!(refused(at, &["--source", "own-2026-tests", "pull_out_laod", "--factor", "2"]).contains("`pull_out_load`"));
    assert!(refused(at, &["--source", "own-2026-tests", "--field", "nothing", "--value", "3 N"]).contains("has such a value"));
    assert!(refused(at, &["--source", "own-2026-test", "--unit", "lbf=kgf"]).contains("own-2026-tests"));
    // A record that cannot be used may hold some of it: then nothing is corrected.
    write(at, "series/theirs.yaml", "name: [\n");
    let before = all();
    let said = refused(at, &["--source", "own-2026-tests", "--all-specimens", "--unit", "kgf=lbf"]);
    assert!(said.contains("series/theirs.yaml was left out") && said.contains("nothing was written"), "{said}");
    assert_eq!(all(), before);
}

#[test]
fn a_measurement_is_withdrawn_and_a_computed_claim_is_told_to_go_with_its_ground() {
    let folder = bench();
    let at = folder.path();
    let done =
        gripbook(at, &["withdraw", "series/grey-m3:drive_torque", "--because", "the wrench slipped", "--date", "2026-06-15"]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let series = yaml(at, "series/grey-m3.yaml");
    assert_eq!(series["measurements"][1]["standing"].as_str(), Some("withdrawn"));
    assert_eq!(gripbook(at, &["check"]).status.code(), Some(0));
    let rows = text(&gripbook(at, &["export", "--what", "measurements", "--format", "csv"]));
    assert!(
        rows.contains("pull_out_load")
            && !rows.contains("grey-m3,M3 in grey resin,pull-out,cut-thread,resin/grey,,,M3,drive_torque"),
        "{rows}"
    );
}

/// A sheet is held against the book as numbers that somebody acts on, each as old → new on a line of its own.
#[test]
fn recheck_tells_each_number_that_matters_on_a_line() {
    let folder = bench();
    let at = folder.path();
    for (name, words) in [
        ("series", &["series", "grey-m3"][..]),
        (
            "fasten",
            &["fasten", "--material", "resin/grey", "--thread", "M3", "--length", "6mm", "--need", "300N", "--draws", "500"],
        ),
    ] {
        gripbook(at, &[words, &["--out", &format!("sheets/{name}.json")]].concat());
    }
    amend(at, &["series/grey-m3:pull_out_load", "--all-specimens", "--factor", "0.4536"]);
    for (sheet, wanted) in [("sheets/series.json", "pull_out_load: mean: "), ("sheets/fasten.json", "cut-thread: design load: ")]
    {
        let output = gripbook(at, &["recheck", sheet]);
        assert_eq!(output.status.code(), Some(1), "{}", text(&output));
        let said = text(&output);
        let lines: Vec<&str> = said.lines().filter(|l| l.contains(" → ")).collect();
        assert!(lines.iter().any(|l| l.contains(wanted)), "{sheet}: {said}");
        assert!(lines.iter().all(|l| l.chars().count() <= 100 && !l.contains('{') && !l.contains('[')), "{said}");
        assert!(said.lines().count() <= 28, "{said}");
        let all: Value = serde_json::from_str(&text(&gripbook(at, &["recheck", sheet, "--format", "json"]))).expect("JSON");
        assert!(all["matters"].as_array().is_some_and(|m| !m.is_empty()), "{all}");
    }
}
