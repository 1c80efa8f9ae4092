//! The ledger: counted again by another reader of the records.

use super::formats::gripbook;
use serde_json::Value as Json;
use std::fs;
use std::path::Path;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn said(format: &str) -> String {
    let output = gripbook(root(), &["audit", "--ledger", "--format", format]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// Claims of the built-in book as the independent YAML reader sees them: all, without source, recalled, read as an abstract.
fn counted() -> [u64; 4] {
    let mut counts = [0; 4];
    let folders = fs::read_dir(root().join("records/book")).expect("the book");
    let files =
        folders.filter_map(Result::ok).filter(|f| f.path().is_dir()).flat_map(|f| fs::read_dir(f.path()).expect("a folder"));
    for file in files.filter_map(Result::ok).filter(|f| f.path().extension().is_some_and(|e| e == "yaml")) {
        let text = fs::read_to_string(file.path()).expect("a record");
        let record: Json = serde_yaml::from_str(&text).expect("YAML");
        let properties = record["properties"].as_object().into_iter().flatten();
        for claim in properties.flat_map(|(_, claims)| claims.as_array().expect("claims")) {
            if claim["standing"] == "withdrawn" {
                continue;
            }
            counts[0] += 1;
            counts[1] += u64::from(claim["source"].is_null());
            counts[2] += u64::from(claim["basis"] == "recalled");
            counts[3] += u64::from(claim["read"] == "abstract");
        }
    }
    counts
}

#[test]
fn claims_are_counted_as_another_reader_counts_them() {
    let ledger: Json = serde_json::from_str(&said("json")).expect("JSON");
    let kinds = ledger["kinds"].as_object().expect("kinds");
    let of_claims = || kinds.iter().filter(|(kind, _)| *kind != "series").map(|(_, t)| t);
    let sum = |pointer: &str| of_claims().map(|t| t.pointer(pointer).and_then(Json::as_u64).unwrap_or(0)).sum::<u64>();
    assert_eq!([sum("/statements"), sum("/unsourced"), sum("/basis/recalled"), sum("/read/abstract")], counted());
    // Every adhesive on every material, twice; values under more answers come first.
    let weak: Vec<u64> = ledger["weak"].as_array().expect("weak").iter().filter_map(|w| w["answers"].as_u64()).collect();
    assert!(weak.is_sorted_by(|a, b| a >= b) && weak[0] > 0, "{weak:?}");
    assert!(ledger["asked"]["pairs"].as_u64().is_some_and(|n| n % 2 == 0 && n > 1000));
    assert!(ledger["all"]["statements"].as_u64() > kinds["series"]["statements"].as_u64());
}

#[test]
fn readme_says_what_the_command_says_now() {
    super::outside::helper("python3", "ledger.py", &["--check", env!("CARGO_BIN_EXE_gripbook")]);
}
