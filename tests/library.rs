//! The library in another program: the same verdicts and numbers as the commands give.

use gripbook::ask::Library;
use gripbook::plugins::{BUILT_IN, Registry};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

fn command(words: &[&str]) -> Value {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    let program = program.current_dir(folder.path()).env("GRIPBOOK_CACHE", folder.path());
    let out = program.args(words).args(["--format", "json"]).output().expect("runs");
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{words:?}: {e}"))
}

fn library() -> Library {
    Library::built_in(BUILT_IN).expect("the built-in pack loads")
}

#[test]
fn suits_and_fasten_say_what_the_commands_say() {
    let library = library();
    for (glue, material) in [("cyanoacrylate-thick", "pla"), ("epoxy-slow", "petg"), ("cyanoacrylate-thick", "pp")] {
        let (ours, theirs) = (library.suits(glue, material).expect("an answer"), command(&["suits", glue, material]));
        assert_eq!(json!(ours.verdict), theirs["verdict"], "{glue} on {material}");
        assert_eq!(ours.rules.len(), theirs["rules"].as_array().expect("rules").len(), "{glue} on {material}");
    }
    let ours = library.fasten("pla", "M3", "6 mm", Some("300 N")).expect("an answer");
    let theirs = command(&["fasten", "pla", "M3", "6mm", "300N"]);
    let theirs = theirs["candidates"].as_array().expect("candidates");
    assert_eq!(ours.candidates.len(), theirs.len());
    for (ours, theirs) in ours.candidates.iter().zip(theirs) {
        assert_eq!((json!(ours.method), json!(ours.verdict)), (theirs["method"].clone(), theirs["verdict"].clone()));
        assert!(ours.design_load.is_none() || !ours.claims.is_empty() || !ours.assumptions.is_empty(), "{}", ours.method);
    }
}

#[test]
fn a_series_says_its_mean_and_never_counts_what_held() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("records/demo");
    let library = Library::from_folder(&demo, BUILT_IN).expect("the demo pack");
    let all: Vec<String> = library.book().of_kind("series").filter(|r| r.is_invented()).map(|r| r.id.to_string()).collect();
    let mut told = 0;
    for id in all {
        let answer = library.series(&id).expect("a series");
        for said in &answer.quantities {
            told += 1;
            assert!(said.failed + said.held > 0 && (said.failed > 0 || said.mean.is_none()), "{id}: {said:?}");
        }
    }
    assert!(told > 0, "the demo pack has specimens");
}

#[test]
fn packs_from_memory_and_what_is_plugged_in_are_arguments() {
    let pack = "id: bench\ntitle: Resins of our bench\nlicence: CC0-1.0\n";
    let grey = "name: Grey\nfamily: acrylate\nproperties:\n  tensile_strength:\n    - {value: 46 MPa, basis: recalled}\n";
    let files = [("pack.yaml", pack), ("resins/bench-grey.yaml", grey), ("resins/broken.yaml", "name: Twice\nname: Twice\n")];
    let files: BTreeMap<String, Vec<u8>> = files.map(|(path, text)| (path.to_owned(), text.into())).into();
    let only: Registry = Registry { methods: &BUILT_IN.methods[..1], ..BUILT_IN };
    let library = Library::from_bytes("bench", files, only).expect("loads");
    let out = &library.book().left_out;
    assert!(!out.is_empty() && out.iter().all(|f| f.place.file.ends_with("broken.yaml")), "{out:?}");
    let answer = library.fasten("bench-grey", "M3", "6 mm", None).expect("an answer");
    // Of the program's own methods one alone; the records of the book bring theirs.
    let built_in = |name: &str| BUILT_IN.methods.iter().position(|m| m.card().name == name);
    assert!(answer.candidates.iter().all(|c| built_in(&c.method).is_none_or(|place| place == 0)), "{answer:?}");
    assert!(answer.candidates.iter().any(|c| built_in(&c.method).is_none()), "{answer:?}");
    let refused = library.suits("cyanoacrylate-thick", "bench-gray").expect_err("no such record");
    assert!(refused.to_string().contains("bench-grey"), "{refused}");
    assert!(library.fasten("pla", "M3", "6 kg", None).is_err());
}
