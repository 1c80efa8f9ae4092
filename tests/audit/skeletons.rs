//! A skeleton asks at once for all that check and audit would ask for: of every kind, every sort of test and every type of
//! source, the open fields are filled in as the schema shows, and nothing is missed afterwards.

use super::formats::{gripbook, text};
use super::work::{pack, write};
use gripbook::book::kinds;
use gripbook::check::schemas::{Schemas, Step};
use gripbook::check::schemas_of;
use gripbook::check::view::View;
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::path::Path;

/// What a field says that no example can: records that are there, and values that belong together.
const SAID: [(&str, &str); 14] = [
    ("provenance", "[{source: own-2026-tests, locator: sheet 2, basis: measured}]"),
    ("properties", "{gap_limit: [{value: 0.1 mm, basis: practice}]}"),
    ("source", "own-2026-tests"),
    ("basis", "measured"),
    ("joint.material", "polymer/grey"),
    ("joint.adhesive", "adhesive/cyanoacrylate-thick"),
    ("joint.process", "process/screen"),
    ("joint.thread", "M3"),
    ("joint.insert", "insert/glue-in-blind-m3"),
    ("metal", "metal/brass-free-cutting"),
    ("joint.length", "6 mm"),
    ("joint.boss", "9 mm"),
    ("length", "5.7 mm"),
    ("issued", "2026-05"),
];

fn plain(text: &str) -> Yaml {
    serde_yaml::from_str(text).unwrap_or_else(|_| Yaml::String(text.into()))
}

/// The value of a measured quantity, by its word.
fn measured(word: &str) -> &'static str {
    match word {
        "cycles" => "120",
        "preload_left" => "70 %",
        "hole_diameter" => "2.52 mm",
        "peel_strength" => "4.1 N/mm",
        _ if word.ends_with("torque") => "1.20 N·m",
        _ if word.ends_with("strength") => "21.5 MPa",
        _ => "870 N",
    }
}

/// What is open is filled in as the schema shows.
fn filled(view: &View<'_>, value: &Yaml, path: &str, quantity: &str) -> Yaml {
    let inner = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
    match value {
        Yaml::Mapping(fields) => {
            let quantity = fields.get("quantity").and_then(Yaml::as_str).unwrap_or(quantity).to_owned();
            let one = |(key, value): (&Yaml, &Yaml)| {
                let word = key.as_str().expect("a key");
                let inside = view.step(&Step::Key(word.to_owned()));
                (key.clone(), filled(&inside, value, &inner(word), &quantity))
            };
            Yaml::Mapping(fields.iter().map(one).collect())
        }
        Yaml::Sequence(items) => {
            let item = view.step(&Step::Item(0));
            Yaml::Sequence(items.iter().map(|value| filled(&item, value, path, quantity)).collect())
        }
        Yaml::Null => example(view, path, quantity),
        other => other.clone(),
    }
}

fn example(view: &View<'_>, path: &str, quantity: &str) -> Yaml {
    if let Some((_, said)) = SAID.iter().find(|(field, _)| *field == path) {
        return plain(said);
    }
    if path == "measurements.specimens.value" {
        return plain(measured(quantity));
    }
    if view.text("type") == Some("array") {
        return Yaml::Sequence(vec![example(&view.step(&Step::Item(0)), path, quantity)]);
    }
    if let Some(words) = view.words("enum").or_else(|| view.words("words")) {
        return Yaml::String(words[0].into());
    }
    let needed = view.words("required").unwrap_or_default();
    if !needed.is_empty() {
        let one =
            |key: &&str| (plain(key), example(&view.step(&Step::Key((*key).to_owned())), &format!("{path}.{key}"), quantity));
        return Yaml::Mapping(needed.iter().map(one).collect());
    }
    let shown = view.keyword("examples").and_then(|all| all.get(0)).unwrap_or_else(|| panic!("{path} shows no example"));
    serde_yaml::from_str(&shown.to_string()).expect("an example")
}

/// A pack with what the records name.
fn bench() -> tempfile::TempDir {
    let folder = pack();
    write(folder.path(), "polymers/grey.yaml", "name: Grey\nfamily: pla\n");
    write(folder.path(), "processes/screen.yaml", "name: Screen printer\nprinter_type: vat-screen\n");
    folder
}

/// Makes a record, fills it in, and gives what is found afterwards.
fn missed(schemas: &Schemas, kind: &str, set: &[&str]) -> Vec<String> {
    let folder = bench();
    let at = folder.path();
    let set: Vec<&str> = set.iter().flat_map(|pair| ["--set", *pair]).collect();
    let words = [&["new", kind, "--name", "My thing", "--id", "thing", "--format", "json"][..], &set].concat();
    let made = gripbook(at, &words);
    let all: Value =
        serde_json::from_str(&text(&made)).unwrap_or_else(|e| panic!("{kind}: {e} {}", String::from_utf8_lossy(&made.stderr)));
    let card = schemas.kind(kind).expect("a kind");
    let skeleton: Yaml = serde_yaml::from_str(all["text"].as_str().expect("the text")).expect("YAML");
    let mut record = filled(&View::top(schemas, &card.file), &skeleton, "", "");
    // The profile of an insert has to add up; an example of one step does not know the length.
    if kind == "insert" {
        record["steps"] = plain("[{length: 5.7 mm, diameter: 4.0 mm, form: plain}]");
    }
    // The first family of the list belongs to polymers.
    if record.get("family").is_some() {
        let own = match kind {
            "adhesive" => "cyanoacrylate",
            "resin" => "acrylate",
            "metal" => "brass",
            "primer" => "primer",
            _ => "pla",
        };
        record["family"] = plain(own);
    }
    let path = format!("{}/thing.yaml", card.folder);
    write(at, &path, &serde_yaml::to_string(&record).expect("YAML"));
    found(at, &path)
}

fn found(at: &Path, path: &str) -> Vec<String> {
    let mut all = Vec::new();
    for command in ["check", "audit"] {
        let output = gripbook(at, &[command, path, "--format", "json"]);
        let report: Value = serde_json::from_str(&text(&output))
            .unwrap_or_else(|e| panic!("{command}: {e} {}", String::from_utf8_lossy(&output.stderr)));
        for finding in report["findings"].as_array().expect("findings") {
            let rule = finding["rule"].as_str().expect("a rule");
            let asks = rule.ends_with("-missing") || rule.ends_with("-incomplete");
            if finding["severity"] == "error" || asks && finding["severity"] == "warning" {
                all.push(format!("{command} {rule}: {}", finding["message"]));
            }
        }
    }
    all
}

#[test]
fn what_a_skeleton_leaves_open_is_all_that_check_and_audit_ask_for() {
    let schemas = schemas_of(kinds::built_in_schemas()).expect("schemas");
    let view = |kind: &str| View::top(&schemas, &schemas.kind(kind).expect("a kind").file);
    let words = |kind: &str, path: &[&str]| -> Vec<String> {
        let view = path.iter().fold(view(kind), |v, key| v.step(&Step::Key((*key).to_owned())));
        view.words("enum").expect("words").into_iter().map(str::to_owned).collect()
    };
    let mut tried: Vec<(String, Vec<String>)> = Vec::new();
    // A plug-in begins with a crate: tests/plugins/made.rs.
    for kind in schemas.kinds().iter().map(|k| k.word.clone()).filter(|kind| kind != "plugin") {
        let cases: Vec<Vec<String>> = match kind.as_str() {
            "series" => words("series", &["joint", "test"]).into_iter().map(|t| vec![format!("joint.test={t}")]).collect(),
            "source" => words("source", &["type"]).into_iter().map(|t| vec![format!("type={t}")]).collect(),
            _ => vec![Vec::new()],
        };
        tried.extend(cases.into_iter().map(|case| (kind.clone(), case)));
    }
    assert!(tried.len() >= 13 + 10 + 12, "{}", tried.len());
    let mut faults = Vec::new();
    for (kind, set) in &tried {
        let set: Vec<&str> = set.iter().map(String::as_str).collect();
        let missed = missed(&schemas, kind, &set);
        if !missed.is_empty() {
            faults.push(format!("{kind} {set:?}: {missed:#?}"));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
