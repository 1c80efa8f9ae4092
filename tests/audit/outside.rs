//! What other programs say of our files: another schema validator, an editor's language server, readers of data packages and
//! citations, a terminal. A program that is missing skips its test, unless GRIPBOOK_REQUIRE is set.

use super::formats::gripbook;
use super::work::{pack, write};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn required() -> bool {
    std::env::var_os("GRIPBOOK_REQUIRE").is_some()
}

/// What a helper of `tools/` says; `None` when it, or a library of it, is missing.
pub fn helper(program: &str, script: &str, arguments: &[&str]) -> Option<String> {
    let output = Command::new(program).arg(root().join("tools").join(script)).args(arguments).env_remove("HOME").output();
    let Ok(output) = output else {
        assert!(!required(), "{program} is missing");
        println!("skipped: {program} missing");
        return None;
    };
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{script}: {said}{}", String::from_utf8_lossy(&output.stderr));
    if said.contains("skipped: ") {
        assert!(!required(), "{script}: {said}");
        println!("{said}");
        return None;
    }
    Some(said)
}

/// The schemas are published: another validator finds every shipped record right and broken ones wrong.
#[test]
fn another_validator_agrees_with_the_published_schemas() {
    let path = |p: &str| root().join(p).to_string_lossy().into_owned();
    let said = helper("python3", "read_records.py", &[&path("schemas"), &path("records/book"), &path("records/demo")]);
    assert!(said.is_none_or(|s| s.contains("records fit")));
}

fn language_server() -> Option<PathBuf> {
    let named = std::env::var_os("GRIPBOOK_YAML_SERVER").map(PathBuf::from);
    let folders = std::env::var_os("PATH").map(|p| std::env::split_paths(&p).collect::<Vec<_>>()).unwrap_or_default();
    named.or_else(|| folders.into_iter().map(|f| f.join("yaml-language-server")).find(|p| p.is_file()))
}

/// A record that `new` began beside exported schemas: the editor completes families and properties, shows their meaning, and
/// marks a wrong word.
#[test]
fn an_editor_completes_a_new_record() {
    let Some(server) = language_server() else {
        assert!(!required(), "yaml-language-server is missing");
        println!("skipped: yaml-language-server missing");
        return;
    };
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    write(at, "mine/pack.yaml", "id: mine\ntitle: Mine\nlicence: CC0-1.0\n");
    let pack = at.join("mine");
    let schemas = gripbook(&pack, &["export", "--what", "schemas", "--out", "../schemas"]);
    assert_eq!(schemas.status.code(), Some(0), "{}", String::from_utf8_lossy(&schemas.stderr));
    assert_eq!(gripbook(&pack, &["new", "resin", "--name", "Grey", "--set", "family=acrylat"]).status.code(), Some(0));
    let file = pack.join("resins/grey.yaml");
    let began = fs::read_to_string(&file).expect("the record");
    assert!(began.starts_with("# yaml-language-server: $schema=../../schemas/resin.schema.json\n"), "{began}");
    let record = "# yaml-language-server: $schema=../../schemas/resin.schema.json\nname: Grey\nfamily: acrylat\nproperties:\n  tg:\n    - value: 61 °C\n      basis: measurd\n      \n";
    fs::write(&file, record).expect("the record");
    let (server, file) = (server.to_string_lossy().into_owned(), file.to_string_lossy().into_owned());
    let Some(said) = helper("node", "editor_session.mjs", &[&server, &file, "3:9", "7:13", "8:6", "5:3"]) else { return };
    let said: Value = serde_json::from_str(&said).expect("JSON");
    let lines: Vec<u64> = said["diagnostics"].as_array().expect("a list").iter().filter_map(|d| d["line"].as_u64()).collect();
    assert!(lines.contains(&3) && lines.contains(&7), "{said}");
    let offers =
        |spot: &str, word: &str| said["spots"][spot]["completions"].as_array().is_some_and(|l| l.iter().any(|w| w == word));
    for (spot, word) in [("3:9", "urethane-acrylate"), ("7:13", "measured"), ("8:6", "locator")] {
        assert!(offers(spot, word), "{spot} {word}: {said}");
    }
    assert!(said["spots"]["5:3"]["hover"].as_str().is_some_and(|h| h.contains("Glass transition")), "{said}");
}

/// The questions of `new`, at a terminal: answered, left empty, and the record that comes out.
#[test]
fn new_asks_at_a_terminal() {
    let folder = pack();
    let program = env!("CARGO_BIN_EXE_gripbook");
    let here = folder.path().to_string_lossy().into_owned();
    let answers = serde_json::json!(["Grey filament", "pla"]).to_string();
    let Some(said) = helper("python3", "at_a_terminal.py", &[&answers, program, "new", "polymer", "--into", &here]) else {
        return;
    };
    assert!(said.contains("name: ") && said.contains("family: ") && said.contains("An empty line leaves a field open"), "{said}");
    assert!(said.contains("It passes check") && said.ends_with("exit 0\n"), "{said}");
    let record = fs::read_to_string(folder.path().join("polymers/grey-filament.yaml")).expect("the record");
    assert!(record.contains("\nname: Grey filament\n") && record.contains("\nfamily: pla\n"), "{record}");
    // What check would refuse is asked for again at once, with the reason.
    let answers = serde_json::json!(["Blue filament", "plaa", ""]).to_string();
    let Some(said) = helper("python3", "at_a_terminal.py", &[&answers, program, "new", "polymer", "--into", &here]) else {
        return;
    };
    assert!(said.contains("`plaa` is not a known family") && said.contains("did you mean `pla`?"), "{said}");
    assert!(said.contains("Still to be filled in") && said.contains("`family` has no value"), "{said}");
    // Nobody answers any more: nothing is written.
    let answers = serde_json::json!(["Red filament"]).to_string();
    let Some(said) = helper("python3", "at_a_terminal.py", &[&answers, program, "new", "polymer", "--into", &here]) else {
        return;
    };
    assert!(said.contains("nothing was written") && said.ends_with("exit 2\n"), "{said}");
    assert!(!folder.path().join("polymers/red-filament.yaml").exists());
    // Without a terminal nothing is asked.
    let plain = gripbook(folder.path(), &["new", "polymer"]);
    assert_eq!(plain.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&plain.stderr).contains("--name"));
}

/// Texts that spreadsheets run, in every text column of an export.
#[test]
fn an_export_disarms_formulas_and_leaves_numbers() {
    let folder = pack();
    let texts = ["=1+1", "+1", "-2+3", "@SUM(A1)", "＝1"];
    for (at, text) in texts.iter().enumerate() {
        let quoted = serde_json::json!(text).to_string();
        let record = format!(
            "name: {quoted}\nfamily: pla\nproperties:\n  tg:\n    - {{value: -12 °C, source: own-2026-tests, locator: {quoted}, basis: measured, note: {quoted}}}\n"
        );
        write(folder.path(), &format!("polymers/risky-{at}.yaml"), &record);
    }
    let out = gripbook(folder.path(), &["export", "--out", "out"]);
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    let csv = fs::read_to_string(folder.path().join("out/claims.csv")).expect("the claims");
    let head: Vec<&str> = csv.lines().next().expect("a header").split(',').collect();
    let rows: Vec<Vec<&str>> = csv.lines().filter(|l| l.contains("polymer/risky-")).map(|l| l.split(',').collect()).collect();
    assert_eq!(rows.len(), texts.len(), "{csv}");
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap_or_else(|| panic!("{name}: {head:?}"));
    for row in rows {
        for name in ["name", "locator", "note"] {
            assert!(row[column(name)].starts_with('\''), "{name}: {row:?}");
        }
        assert_eq!(row[column("value")], "-12", "a number stays a number: {row:?}");
    }
}
