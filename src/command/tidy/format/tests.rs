//! Tidying, on every shipped record and on records with shuffled keys and other spellings: the meaning stays, and a second
//! time changes nothing. The meaning is read by an independent YAML reader.

use super::tidy;
use gripbook::book::kinds::built_in_schemas;
use gripbook::check::schemas::Schemas;
use gripbook::check::schemas_of;
use gripbook::quantity::parse_any;
use serde_yaml::Value;
use std::fs;
use std::path::{Path, PathBuf};

fn records() -> Vec<PathBuf> {
    let mut all = Vec::new();
    for pack in ["records/book", "records/demo"] {
        let pack = Path::new(env!("CARGO_MANIFEST_DIR")).join(pack);
        for folder in fs::read_dir(pack).expect("a pack").map(|e| e.expect("an entry").path()).filter(|p| p.is_dir()) {
            all.extend(
                fs::read_dir(folder)
                    .expect("a folder")
                    .map(|e| e.expect("an entry").path())
                    .filter(|p| p.extension().is_some_and(|e| e == "yaml")),
            );
        }
    }
    all.sort();
    all
}

fn schema(path: &Path, schemas: &Schemas) -> String {
    let folder = path.parent().and_then(Path::file_name).and_then(|n| n.to_str()).expect("a folder");
    schemas.kind_of_folder(folder).expect("a kind").file.clone()
}

/// The same for a reader that knows nothing of ours: texts may differ only as spellings of one quantity.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Mapping(x), Value::Mapping(y)) => {
            x.len() == y.len() && x.iter().all(|(k, v)| y.get(k).is_some_and(|w| same(v, w)))
        }
        (Value::Sequence(x), Value::Sequence(y)) => x.len() == y.len() && x.iter().zip(y).all(|(v, w)| same(v, w)),
        (Value::String(x), Value::String(y)) if x != y => {
            let (x, y) = (parse_any(x), parse_any(y));
            !x.is_empty()
                && x.len() == y.len()
                && x.iter().zip(&y).all(|(v, w)| v.si.to_bits() == w.si.to_bits() && v.digits() == w.digits())
        }
        _ => a == b,
    }
}

fn check(text: &str, schema: &str, schemas: &Schemas, name: &str) -> String {
    let once = tidy(text.as_bytes(), schema, schemas).unwrap_or_else(|e| panic!("{name}: {e}"));
    let twice = tidy(once.as_bytes(), schema, schemas).unwrap_or_else(|e| panic!("{name}, again: {e}"));
    assert_eq!(once, twice, "{name}: a second time changes something");
    let read = |t: &str| serde_yaml::from_str::<Value>(t).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert!(same(&read(text), &read(&once)), "{name}: the meaning changed\n{once}");
    let comments = |t: &str| t.matches('#').count();
    assert_eq!(comments(text), comments(&once), "{name}: a comment was lost");
    once
}

#[test]
fn every_shipped_record_is_tidy_and_keeps_its_meaning() {
    let schemas = schemas_of(built_in_schemas()).expect("the schemas");
    let all = records();
    assert!(all.len() > 500);
    for path in all {
        let text = fs::read_to_string(&path).expect("a record");
        let tidied = check(&text, &schema(&path, &schemas), &schemas, &path.display().to_string());
        // The shipped packs show contributors the form they ask for.
        assert!(tidied == text, "{} is not tidy: gripbook tidy mends it", path.display());
    }
}

/// Other spellings of units, other spaces, other line ends.
#[test]
fn other_spellings_come_back_to_the_shipped_form() {
    let schemas = schemas_of(built_in_schemas()).expect("the schemas");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("records/book/polymers/pla.yaml");
    let text = fs::read_to_string(&path).expect("a record");
    let plain = check(&text, "polymer.schema.json", &schemas, "pla");
    // Only where a quantity stands: prose keeps its spelling.
    let other = |line: &str| {
        let stated = ["- value: ", "- low: ", "high: "].iter().any(|k| line.trim_start().starts_with(k));
        let line = line.replace("basis: ", "basis:   ");
        if stated { line.replace(" °C", " degC").replace(" µm/(m·K)", " um/(m.K)").replace(" kg/m³", " kg/m3") } else { line }
    };
    let spelt: String = plain.lines().map(|l| other(l) + "\n").collect();
    assert_ne!(spelt, plain);
    for other in [spelt.clone(), spelt.replace('\n', "\r\n"), format!("{spelt}\n\n"), format!("\u{feff}{spelt}")] {
        assert_eq!(tidy(other.as_bytes(), "polymer.schema.json", &schemas).as_deref(), Ok(&*plain));
    }
}

/// Keys of every claim in any order come back to one order (shuffled by a small generator with a fixed start).
#[test]
fn shuffled_keys_come_back_to_one_order() {
    let schemas = schemas_of(built_in_schemas()).expect("the schemas");
    let fields = ["value: 52 MPa", "sd: 2 MPa", "n: 5", "source: x-2020-y", "locator: p. 3", "basis: measured", "note: hm"];
    let mut state = 7u64;
    let mut forms = std::collections::BTreeSet::new();
    for _ in 0..200 {
        let mut order: Vec<&str> = fields.to_vec();
        for i in (1..order.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            order.swap(i, (state >> 33) as usize % (i + 1));
        }
        let block = format!("    - {}\n", order.join("\n      "));
        let flow = format!("    - {{{}}}\n", order.join(", "));
        let text = format!("properties:\n  tensile_strength:\n{block}{flow}family: pla\nname: Shuffled\n");
        forms.insert(check(&text, "polymer.schema.json", &schemas, "shuffled"));
    }
    assert_eq!(forms.len(), 1, "{forms:#?}");
}
