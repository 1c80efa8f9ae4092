//! Laws of the whole program: the order of files, line ends and the unit of a question say nothing.

use super::faults::scene::{program, text};
use crate::book::{copy, fixture};
use proptest::prelude::*;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// Relative paths of all files of a folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    fn walk(folder: &Path, inside: &Path, into: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder.join(inside)).expect("a folder").flatten() {
            let name = inside.join(entry.file_name());
            if entry.path().is_dir() { walk(folder, &name, into) } else { into.push(name) }
        }
    }
    let mut all = Vec::new();
    walk(folder, Path::new(""), &mut all);
    all.sort();
    all
}

fn answer(here: &Path, cache: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let out = program(here, cache).args(arguments).output().expect("runs");
    (out.status.code(), text(&out.stdout))
}

/// A pack with faults, doubts and answers in it.
fn pack() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    copy(&fixture("coating"), folder.path());
    fs::create_dir_all(folder.path().join("polymers")).expect("a folder");
    for (name, body) in [
        ("grey", "  tg:\n    - {value: 61 °C, basis: measured}\n  tensile_strength:\n    - {value: 4000 MPa, basis: recalled}\n"),
        ("dull", "  tg:\n    - {value: 63 °C, basis: recalled}\n    - {value: 160 °C, basis: practice}\n"),
        ("matt", "  tensile_strength:\n    - {low: 30 MPa, high: 50 MPa, basis: recalled}\n  hue: blue\n"),
    ] {
        let record = format!("name: Filament {name}\nfamily: pla\nproperties:\n{body}");
        fs::write(folder.path().join(format!("polymers/{name}.yaml")), record).expect("written");
    }
    folder
}

const QUESTIONS: [&[&str]; 6] = [
    &["check", ".", "--format", "json"],
    &["check", ".", "--format", "text"],
    &["audit", "--format", "sarif"],
    &["find", "filament", "--format", "json"],
    &["find", "--where", "tg > 60 °C", "--sort", "tg", "--format", "csv"],
    &["find", "lacquer", "--format", "json"],
];

#[test]
fn the_order_of_files_changes_no_answer() {
    let original = pack();
    let all = files(original.path());
    let mut dice = super::faults::kills::Dice(7);
    let here = tempfile::tempdir().expect("a folder");
    let mut before = None;
    for round in 0..4 {
        // The same place each time, because answers show paths; other order of creation, other times, other inodes.
        let place = here.path().join("pack");
        let _ = fs::remove_dir_all(&place);
        let mut order = all.clone();
        for n in (1..order.len()).rev() {
            order.swap(n, dice.below(n + 1));
        }
        for name in &order {
            let to = place.join(name);
            fs::create_dir_all(to.parent().expect("a parent")).expect("a folder");
            fs::copy(original.path().join(name), &to).expect("copied");
            let day = std::time::UNIX_EPOCH + std::time::Duration::from_secs(1_000_000 * dice.below(1000) as u64);
            fs::File::options().write(true).open(&to).and_then(|f| f.set_modified(day)).expect("a time");
        }
        let fresh = here.path().join(format!("cache-{}", round % 2));
        let answers: Vec<_> = QUESTIONS.iter().map(|q| answer(&place, &fresh, q)).collect();
        assert!(answers[0].1.contains("matt.yaml") && answers[3].1.contains("dull"), "{answers:?}");
        assert_eq!(*before.get_or_insert_with(|| answers.clone()), answers, "round {round}");
    }
}

#[test]
fn carriage_returns_change_no_answer() {
    let plain = pack();
    let places: Vec<_> = [false, true]
        .map(|with| {
            let folder = tempfile::tempdir().expect("a folder");
            for name in files(plain.path()) {
                let to = folder.path().join("pack").join(&name);
                fs::create_dir_all(to.parent().expect("a parent")).expect("a folder");
                let text = fs::read_to_string(plain.path().join(&name)).expect("text");
                fs::write(to, if with { text.replace('\n', "\r\n") } else { text }).expect("written");
            }
            folder
        })
        .into();
    for question in &QUESTIONS {
        let [a, b] = [0, 1].map(|n| answer(&places[n].path().join("pack"), &places[n].path().join("cache"), question));
        assert_eq!(a, b, "{question:?}");
    }
}

/// What a sheet says of each method, in its order, with its numbers.
fn ranking(need: &str, length: &str, boss: &str) -> Vec<(String, String, String)> {
    let here = tempfile::tempdir().expect("a folder");
    let arguments = ["fasten", "--material", "pla", "--thread", "M3", "--draws", "400", "--format", "json"];
    let more = ["--need", need, "--length", length, "--boss", boss];
    let out = program(here.path(), &here.path().join("cache")).args(arguments).args(more).output().expect("runs");
    let sheet: Value = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", text(&out.stderr)));
    let list = sheet["candidates"].as_array().expect("candidates").clone();
    assert!(list.len() > 5, "{}", list.len());
    let low = |c: &Value| c["load"]["low"]["si"].as_f64().map_or_else(|| "-".to_owned(), |x| format!("{x:.6e}"));
    list.iter().map(|c| (c["method"].to_string(), c["verdict"].to_string(), low(c))).collect()
}

/// 300 N = 0.3 kN by definition; 1 kgf = 9.80665 N, 1 lbf = 4.4482216152605 N and 1 in = 25.4 mm exactly (SP 811).
#[test]
fn the_order_of_methods_does_not_depend_on_units() {
    let plain = ranking("300 N", "6 mm", "9 mm");
    assert!(plain.iter().any(|(_, _, low)| low != "-"), "{plain:?}");
    for (need, length, boss) in [
        ("0.3 kN", "0.006 m", "0.9 cm"),
        ("30.59148639 kgf", "6000 µm", "9 mm"),
        ("67.44268293 lbf", "0.2362204724 in", "0.3543307087 in"),
        ("300000 mN", "236.2204724 thou", "9 mm"),
    ] {
        let other = ranking(need, length, boss);
        let names = |all: &[(String, String, String)]| all.iter().map(|(m, v, _)| (m.clone(), v.clone())).collect::<Vec<_>>();
        assert_eq!(names(&other), names(&plain), "{need}, {length}, {boss}");
        for ((method, _, a), (_, _, b)) in other.iter().zip(&plain) {
            let same = a == b
                || a.parse::<f64>().ok().zip(b.parse::<f64>().ok()).is_some_and(|(a, b): (f64, f64)| (a / b - 1.0).abs() < 1e-5);
            assert!(same, "{method}: {a} for {b} with {need}, {length}, {boss}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// parse(print(x)) = x, as far as the digits printed go, in every unit of every quantity.
    #[test]
    fn what_is_printed_is_read_back(digits in 1usize..16, mantissa in 1.0..10.0_f64, power in -9i32..9) {
        use gripbook::quantity::{Amount, Quantity, parse, table};
        let x = mantissa * 10f64.powi(power);
        for quantity in table::ALL {
            for unit in quantity.units() {
                let amount = Amount::new(*quantity, unit.si_from_number(x)).shown_in(unit.symbol);
                let shown = amount.text(digits);
                let back = parse(&shown, *quantity).unwrap_or_else(|f| panic!("{shown}: {}", f.message()));
                let number = unit.number_from_si(back.si);
                let scale = x.max(if *quantity == Quantity::Temperature { 1e3 } else { 0.0 });
                let allowed = 0.5 * 10f64.powi(1 - i32::try_from(digits).unwrap_or(0)) * 10f64.powi(power);
                prop_assert!((number - x).abs() <= allowed * (1.0 + 1e-9) + 1e-12 * scale, "{x} {}: {shown}", unit.symbol);
                // Printed again from what was read: the same text.
                let again = back.amount().shown_in(unit.symbol).text(digits);
                prop_assert_eq!(&again, &shown);
            }
        }
    }
}
