//! Making a plug-in: the crate that `new plugin` writes builds, passes its own test, and runs in the sandbox.

use super::super::audit::formats::gripbook;
use super::demo::RIVER_LOG;
use super::word::demo;
use gripbook::finding::Severity;
use gripbook::read::digest::sha256;
use gripbook::sandbox::{AuditPlugin, Module};
use gripbook::series::importer::Ask;
use std::fs;
use std::process::Command;

fn has_target() -> bool {
    let root = Command::new("rustc").args(["--print", "sysroot"]).output().ok().and_then(|o| String::from_utf8(o.stdout).ok());
    root.is_some_and(|root| std::path::Path::new(root.trim()).join("lib/rustlib/wasm32-unknown-unknown").exists())
}

#[test]
fn a_new_plugin_is_a_crate_that_builds() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let run = |args: &[&str]| {
        let out = gripbook(here, args);
        assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8_lossy(&out.stdout).into_owned()
    };
    run(&["new", "pack", "--id", "mine", "--name", "Mine", "--set", "licence=CC0-1.0", "--into", "mine"]);
    for does in ["importer", "audit"] {
        let name = format!("my-{does}");
        let said = run(&["new", "plugin", does, &name, "--into", "mine"]);
        let source = here.join("mine/plugins/sources").join(&name);
        assert!(said.contains("cargo build") && source.join("src/contract.rs").exists(), "{said}");
        let again = gripbook(here, &["new", "plugin", does, &name, "--into", "mine"]);
        assert_eq!(again.status.code(), Some(2), "nothing is overwritten");
        if !has_target() {
            assert!(std::env::var_os("GRIPBOOK_REQUIRE").is_none(), "the target wasm32-unknown-unknown is missing");
            println!(
                "the target wasm32-unknown-unknown is missing: the new crate is not built, the pack's modules are used as they are"
            );
            continue;
        }
        let target = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("plugins");
        let cargo = |args: &[&str]| {
            let out = Command::new(env!("CARGO")).current_dir(&source).env("CARGO_TARGET_DIR", &target).args(args).output();
            let out = out.expect("cargo runs");
            assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
        };
        cargo(&["test", "--quiet"]);
        cargo(&["build", "--quiet", "--release", "--target", "wasm32-unknown-unknown"]);
        let built = target.join("wasm32-unknown-unknown/release").join(format!("{}.wasm", name.replace('-', "_")));
        let bytes = fs::read(built).expect("a module");
        Module::new(&bytes).and_then(|m| m.instance()).unwrap_or_else(|f| panic!("{}: {f}", f.name()));
        fs::write(here.join("mine/plugins").join(format!("{name}.wasm")), &bytes).expect("written");
        let record = here.join("mine/plugins").join(format!("{name}.yaml"));
        let text = fs::read_to_string(&record).expect("a record");
        let digits = sha256(&bytes);
        let old = text.lines().find(|l| l.starts_with("sha256:")).expect("a line").to_owned();
        fs::write(&record, text.replace(&old, &format!("sha256: \"{digits}\""))).expect("written");
        run(&["check", "mine"]);
        let shown = run(&["show", &format!("plugin/{name}"), "--pack", "mine", "--plugin", &format!("{name}={digits}")]);
        assert!(shown.contains("runs: allowed"), "{shown}");
    }
}

/// The crates of the demo pack still build, and what comes out reads as the modules in the pack do.
#[test]
fn the_demo_pack_s_crates_build() {
    if !has_target() {
        assert!(std::env::var_os("GRIPBOOK_REQUIRE").is_none(), "the target wasm32-unknown-unknown is missing");
        println!("the target wasm32-unknown-unknown is missing: the pack's modules are used as they are");
        return;
    }
    let target = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("plugins");
    let built = |name: &str| {
        let out = Command::new(env!("CARGO"))
            .current_dir(demo(&format!("sources/{name}")))
            .env("CARGO_TARGET_DIR", &target)
            .args(["build", "--quiet", "--release", "--locked", "--target", "wasm32-unknown-unknown"])
            .output()
            .expect("cargo runs");
        assert!(out.status.success(), "{name}: {}", String::from_utf8_lossy(&out.stderr));
        fs::read(target.join("wasm32-unknown-unknown/release").join(format!("{}.wasm", name.replace('-', "_"))))
            .expect("a module")
    };
    let bytes = super::demo::log(3_000);
    let theirs = super::demo::through(&RIVER_LOG, &built("river-log"), &bytes, &Ask::default()).expect("it can be read");
    assert!(!theirs.is_empty() && theirs == super::demo::sandboxed(&RIVER_LOG, &bytes, &Ask::default()).expect("it can be read"));
    let audit = Module::new(&built("house-labels")).expect("a module");
    AuditPlugin::new("house-labels", Severity::Warning, audit).expect("an audit");
}
