//! The user's word: no plug-in runs unasked, none whose module changed; `show` says which would run, answers name those that did.

use super::super::audit::formats::{gripbook, text};
use gripbook::read::digest::sha256;
use std::fs;
use std::path::{Path, PathBuf};

pub fn demo(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("records/demo/plugins").join(file)
}

pub fn digits(name: &str) -> String {
    sha256(&fs::read(demo(&format!("{name}.wasm"))).expect("a module"))
}

fn said(folder: &Path, args: &[&str]) -> (Option<i32>, String, String) {
    let out = gripbook(folder, args);
    (out.status.code(), text(&out), String::from_utf8_lossy(&out.stderr).into_owned())
}

/// A copy of the demo pack.
fn pack() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let to = folder.path().join("demo-copy");
    super::super::book::copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("records/demo"), &to);
    let text = fs::read_to_string(to.join("pack.yaml")).expect("a pack");
    fs::write(to.join("pack.yaml"), text.replacen("id: demo", "id: demo-copy", 1)).expect("written");
    (folder, to.display().to_string())
}

#[test]
fn an_audit_runs_only_when_it_is_allowed() {
    let here = tempfile::tempdir().expect("a folder");
    let audit = |more: &[&str]| said(here.path(), &[&["audit", "--pack", "demo", "--only", "house-labels"], more].concat());
    // Unasked: the name is not even known.
    assert_eq!(audit(&[]).0, Some(2));
    // Named without its fingerprint: refused, with the fingerprint to allow.
    let (exit, _, err) = audit(&["--plugin", "house-labels"]);
    assert_eq!(exit, Some(5));
    assert!(err.contains(&format!("--plugin house-labels={}", digits("house-labels"))), "{err}");
    // With another fingerprint: refused.
    let (exit, _, err) = audit(&["--plugin", "house-labels=0123456789abcdef"]);
    assert!(exit == Some(5) && err.contains("you allowed 0123456789abcdef"), "{err}");
    // With its own: it runs, and the answer names it.
    let allowed = format!("house-labels={}", &digits("house-labels")[..16]);
    let (_, out, err) = audit(&["--plugin", &allowed, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {out}{err}"));
    assert_eq!((&json["plugins"][0]["name"], &json["audits"]), (&"house-labels".into(), &1.into()));
    assert_eq!(json["plugins"][0]["sha256"], digits("house-labels"));
    assert!(json["plugins"][0]["stopped"].is_null());
    let all = json["findings"].as_array().expect("findings");
    assert!(!all.is_empty() && all.iter().all(|f| f["rule"] == "house-labels"), "{json}");
    // An allow file, as sha256sum writes it, does the same without naming it.
    fs::write(here.path().join("allowed"), format!("{}  house-labels.wasm\n", digits("house-labels"))).expect("written");
    let (_, again, _) = audit(&["--plugins-allowed", "allowed", "--format", "json"]);
    let again: serde_json::Value = serde_json::from_str(&again).expect("JSON");
    assert_eq!(again["findings"], json["findings"]);
}

#[test]
fn a_changed_module_does_not_run() {
    let (folder, pack) = pack();
    let module = Path::new(&pack).join("plugins/house-labels.wasm");
    let before = digits("house-labels");
    let mut bytes = fs::read(&module).expect("a module");
    *bytes.last_mut().expect("bytes") ^= 1;
    fs::write(&module, &bytes).expect("written");
    let allow = |digits: &str| format!("house-labels={digits}");
    let run =
        |allowed: &str| said(folder.path(), &["audit", &pack, "--pack", &pack, "--only", "house-labels", "--plugin", allowed]);
    // Even with the new fingerprint: the record says another.
    for digits in [before.clone(), sha256(&bytes)] {
        let (exit, out, err) = run(&allow(&digits));
        assert_eq!((exit, out.as_str()), (Some(5), ""), "{err}");
        assert!(err.contains("its record says"), "{err}");
    }
    let (_, page, _) = said(folder.path(), &["show", "plugin/house-labels", "--pack", &pack]);
    assert!(page.contains("not allowed") && page.contains(&sha256(&bytes)), "{page}");
    fs::remove_file(&module).expect("removed");
    let (exit, _, err) = run(&allow(&before));
    assert!(exit == Some(3) && err.contains("house-labels.wasm"), "{exit:?} {err}");
}

#[test]
fn show_says_whether_a_plugin_would_run() {
    let here = tempfile::tempdir().expect("a folder");
    let show = |more: &[&str]| said(here.path(), &[&["show", "plugin/river-log", "--pack", "demo"], more].concat()).1;
    let page = show(&[]);
    assert!(page.contains("runs: not allowed") && page.contains(&digits("river-log")), "{page}");
    let allowed = format!("river-log={}", digits("river-log"));
    assert!(show(&["--plugin", &allowed]).contains("runs: allowed"));
    let why = said(here.path(), &["why", "house-labels", "--pack", "demo"]).1;
    assert!(why.contains("found by a plug-in") && why.contains("a letter and a number"), "{why}");
}

/// A plug-in that fails ends with exit 5, and the rest of the answer stands.
#[test]
fn the_rest_of_an_answer_is_unharmed() {
    let (folder, pack) = pack();
    let bytes = super::modules::Text::audit().call("(loop $l (br $l)) (unreachable)").bytes();
    let plugins = Path::new(&pack).join("plugins");
    fs::write(plugins.join("odd.wasm"), &bytes).expect("written");
    let record = format!(
        "name: Odd\ndoes: audit\npurpose: Runs without end.\ncontract: 1\nsha256: \"{}\"\nlicence: MIT\nbasis: invented\n",
        sha256(&bytes)
    );
    fs::write(plugins.join("odd.yaml"), record).expect("written");
    let audit = |more: &[&str]| said(folder.path(), &[&["audit", &pack, "--pack", &pack, "--format", "json"], more].concat());
    let (before, plain, err) = audit(&[]);
    assert!(matches!(before, Some(0 | 1)), "{before:?} {err}");
    let (exit, with, _) = audit(&["--plugin", &format!("odd={}", sha256(&bytes))]);
    assert_eq!(exit, Some(5));
    let read = |text: &str| serde_json::from_str::<serde_json::Value>(text).expect("JSON");
    let (plain, with) = (read(&plain), read(&with));
    assert_eq!(plain["findings"], with["findings"]);
    assert_eq!(with["plugins"][0]["stopped"]["name"], "call-too-long");
}

/// `check` compares modules and records.
#[test]
fn check_compares_modules_with_their_records() {
    let (folder, pack) = pack();
    let check = || {
        let (exit, out, err) = said(folder.path(), &["check", &pack, "--format", "json"]);
        let json: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {out}{err}"));
        let names = json["findings"].as_array().expect("findings").iter().filter_map(|f| f["rule"].as_str().map(str::to_owned));
        (exit, names.filter(|n| n.starts_with("module-")).collect::<Vec<_>>())
    };
    assert_eq!(check().1, Vec::<String>::new());
    let plugins = Path::new(&pack).join("plugins");
    let module = fs::read(plugins.join("dial-counts.wasm")).expect("a module");
    fs::write(plugins.join("dial-counts.wasm"), [module.as_slice(), &[0]].concat()).expect("written");
    assert_eq!(check(), (Some(1), vec!["module-differs".to_owned()]));
    fs::rename(plugins.join("dial-counts.wasm"), plugins.join("other.wasm")).expect("renamed");
    let (exit, names) = check();
    assert!(exit == Some(1) && names == ["module-missing", "module-unnamed"], "{names:?}");
}
