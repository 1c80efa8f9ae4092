//! The reader against the YAML test suite, as a registry package carries it; see `data/suites/README.md`.

use gripbook::read::{self, tree::Node, tree::Value};
use std::collections::BTreeMap;

#[derive(serde::Deserialize)]
struct Case {
    id: String,
    yaml: String,
    #[serde(default)]
    fail: bool,
    json: Option<String>,
}

fn cases() -> Vec<Case> {
    serde_json::from_str(include_str!("data/suites/yaml.json")).expect("the suite is JSON")
}

/// Whether our tree says what the suite's JSON says.
fn is_json(ours: &Node, json: &serde_json::Value) -> bool {
    use serde_json::Value as J;
    match (&ours.value, json) {
        (Value::Null, J::Null) => true,
        (Value::Bool(a), J::Bool(b)) => a == b,
        (Value::Number(digits), J::Number(b)) => digits.parse::<f64>().ok() == b.as_f64(),
        (Value::Text(a, _), J::String(b)) => **a == **b,
        (Value::List(a), J::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| is_json(a, b)),
        (Value::Map(a), J::Object(b)) => {
            a.len() == b.len() && a.iter().all(|e| b.get(&*e.key.text).is_some_and(|b| is_json(&e.node, b)))
        }
        _ => false,
    }
}

#[test]
fn every_case_that_must_fail_is_refused() {
    let all = cases();
    let must_fail: Vec<&Case> = all.iter().filter(|c| c.fail).collect();
    assert_eq!((all.len(), must_fail.len()), (402, 94), "the suite is whole");
    let taken: Vec<&str> =
        must_fail.iter().filter(|c| read::read(c.yaml.as_bytes()).faults.is_empty()).map(|c| c.id.as_str()).collect();
    assert_eq!(taken, Vec::<&str>::new(), "taken although YAML forbids them");
}

/// The profile is a small part of YAML; what of the suite lies in it means what the suite and an independent reader say.
#[test]
fn what_the_profile_takes_means_what_the_suite_says() {
    let (mut taken, mut peer_fails, mut refused) = (Vec::new(), Vec::new(), BTreeMap::<&str, usize>::new());
    for case in cases().iter().filter(|c| !c.fail) {
        let reading = read::read(case.yaml.as_bytes());
        if let Some(fault) = reading.faults.first() {
            *refused.entry(fault.name).or_default() += 1;
            continue;
        }
        let tree = reading.tree.expect("a tree without faults");
        if let Some(json) = &case.json {
            let expected: serde_json::Value = serde_json::from_str(json).unwrap_or_else(|e| panic!("{}: {e}", case.id));
            assert!(is_json(&tree, &expected), "{}: {expected} is read as {tree:?}", case.id);
        }
        // The other reader is a library too, and fails on some sound YAML.
        match serde_yaml::from_str::<serde_yaml::Value>(&case.yaml) {
            // `{ ?foo: bar }`: the suite says the key is `?foo`, as we do; the other reader drops the mark.
            Ok(_) if case.id == "652Z" => peer_fails.push(case.id.clone()),
            Ok(other) => assert!(super::fuzz::targets::agrees(&tree, &other), "{}: the other reader says {other:?}", case.id),
            Err(_) => peer_fails.push(case.id.clone()),
        }
        taken.push(case.id.clone());
    }
    println!(
        "taken {}: {taken:?}\nnot read by the other reader: {peer_fails:?}\nrefused by the profile: {refused:?}",
        taken.len()
    );
    assert!(taken.len() >= 40, "{}", taken.len());
}
