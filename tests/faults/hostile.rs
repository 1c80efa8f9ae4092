//! Rows 20, 22, 23 and 55 on the whole program: no network, deep nesting, huge input, little memory.

use super::scene::{Files, before, full, lacks, program, put, text};
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

fn pack() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let files: Files = before().into_iter().filter(|(name, _)| name != Path::new("list.txt")).collect();
    put(&files, folder.path());
    folder
}

fn run(here: &Path, arguments: &[&str]) -> Output {
    program(here, &here.join(".cache")).args(arguments).output().expect("runs")
}

fn calm(out: &Output, what: &str) {
    let error = text(&out.stderr);
    assert!(matches!(out.status.code(), Some(0..=4)), "{what}: {:?} {error}", out.status);
    assert!(!error.contains("panicked") && !error.contains("internal error"), "{what}: {error}");
}

/// A schema that names a far address, asked without any network and under the eyes of strace.
#[cfg(target_os = "linux")]
#[test]
fn row_20_nothing_is_ever_asked_of_the_network() {
    let folder = pack();
    fs::create_dir(folder.path().join("schemas")).expect("a folder");
    let far = r#"{"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "far.schema.json", "title": "Far", "$ref": "https://example.org/x.schema.json"}"#;
    fs::write(folder.path().join("schemas/far.schema.json"), far).expect("written");
    let asked: [&[&str]; 5] = [
        &["check", "."],
        &["find", "filament"],
        &["show", "polymer/grey"],
        &["audit", "polymers"],
        &["fasten", "--material", "pla", "--thread", "M3", "--length", "6mm", "--draws", "100"],
    ];
    let plain: Vec<Output> = asked.iter().map(|arguments| run(folder.path(), arguments)).collect();
    assert!(text(&plain[0].stdout).contains("schema-reference"), "{}", text(&plain[0].stdout));
    let cache = folder.path().join(".cache");
    if !lacks("unshare without network", &["unshare", "-rn", "true"]) {
        for (arguments, plain) in asked.iter().zip(&plain) {
            let mut command = Command::new("unshare");
            command.args(["-rn", env!("CARGO_BIN_EXE_gripbook")]).args(*arguments).current_dir(folder.path());
            let out = command.env("GRIPBOOK_CACHE", &cache).env("HOME", folder.path()).output().expect("runs");
            assert_eq!((out.status.code(), text(&out.stdout)), (plain.status.code(), text(&plain.stdout)), "{arguments:?}");
        }
    }
    if !lacks("strace", &["strace", "-f", "-e", "trace=%network", "true"]) {
        for arguments in asked {
            let log = tempfile::NamedTempFile::new().expect("a file");
            let mut command = Command::new("strace");
            command.args(["-f", "-qq", "-e", "trace=%network", "-e", "signal=none", "-o"]).arg(log.path());
            command.arg(env!("CARGO_BIN_EXE_gripbook")).args(arguments).current_dir(folder.path());
            command.env("GRIPBOOK_CACHE", &cache).env("HOME", folder.path()).output().expect("runs");
            let log = fs::read_to_string(log.path()).expect("a log");
            // Two ends of a pair inside the process are no network; the name of a socket is.
            let calls: Vec<&str> = log.lines().filter(|l| !l.contains("socketpair(") && !l.contains("+++")).collect();
            assert!(calls.is_empty(), "{arguments:?}: {calls:#?}");
        }
    }
}

/// Nesting in everything that is read besides records.
#[test]
fn row_22_deep_nesting_outside_of_records_is_an_error_and_no_abort() {
    const DEEP: usize = 60_000;
    let lists = format!("{}{}", "[".repeat(DEEP), "]".repeat(DEEP));
    let maps = format!("{}1{}", "{\"a\":".repeat(DEEP), "}".repeat(DEEP));
    for (name, nested) in [("lists", &lists), ("maps", &maps)] {
        let folder = pack();
        let here = folder.path();
        let put = |file: &str, text: &str| {
            let path = here.join(file);
            fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
            fs::write(path, text).expect("written");
        };
        put("deep.json", nested);
        put("sheets/deep.json", nested);
        put("list.txt", nested);
        put("deep.csv", &format!("travel (mm),load (N)\n{nested}\n1,2\n"));
        let curve = ["import", "curve", "deep.csv", "--series", "x", "--source", "pulls-2026-05", "--yes"];
        let asked: [&[&str]; 8] = [
            &["trace", "deep.json"],
            &["recheck", "deep.json"],
            &["affected", "polymer/grey:tg"],
            &["affected", "polymer/grey:tg", "deep.json"],
            &["fasten", "--hole-table", "list.txt", "--out", "holes"],
            &["series", "deep.csv"],
            &["import", "table", "deep.csv", "--series", "x", "--source", "pulls-2026-05", "--yes"],
            &curve,
        ];
        for arguments in asked {
            let out = run(here, arguments);
            calm(&out, &format!("{name}: {arguments:?}"));
            let is_question_of_a_claim = arguments[0] == "affected";
            assert!(is_question_of_a_claim || out.status.code() != Some(0), "{name}: {arguments:?} passes");
        }
        for file in ["pack.yaml", "schemas/deep.schema.json", "polymers/deep.yaml"] {
            let folder = pack();
            let path = folder.path().join(file);
            fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
            fs::write(path, format!("{nested}\n")).expect("written");
            let out = run(folder.path(), &["check", "."]);
            calm(&out, file);
            let said = text(&out.stdout) + &text(&out.stderr);
            assert_ne!(out.status.code(), Some(0), "{file} passes");
            assert!(said.contains(file), "{file}: {said}");
        }
    }
    let folder = pack();
    for bracket in ["(", "[", "{", "!", "-", "tg < ", "not ", "\""] {
        let nested = bracket.repeat(90_000 / bracket.len());
        for arguments in [["find", "--where", &nested], ["find", "--sort", &nested], ["find", &nested, "x"]] {
            let out = run(folder.path(), &arguments);
            calm(&out, bracket);
            assert_ne!((out.status.code(), arguments[1] == "--where"), (Some(0), true), "{bracket}");
        }
        let need = ["fasten", "--material", "pla", "--thread", "M3", "--length", "6mm", "--need", &nested];
        let out = run(folder.path(), &need);
        calm(&out, bracket);
        assert_ne!(out.status.code(), Some(0), "{bracket}");
    }
}

/// A schema whose references run in a circle.
#[test]
fn row_22_references_in_a_circle_end() {
    let folder = pack();
    fs::create_dir(folder.path().join("schemas")).expect("a folder");
    let circle = r##"{"$id": "foam.schema.json", "title": "Foam", "kind": "foam", "folder": "foams", "role": "material",
        "type": "object", "$ref": "#/$defs/a", "$defs": {"a": {"$ref": "#/$defs/b"}, "b": {"$ref": "#/$defs/a"}}}"##;
    fs::write(folder.path().join("schemas/foam.schema.json"), circle).expect("written");
    fs::create_dir(folder.path().join("foams")).expect("a folder");
    fs::write(folder.path().join("foams/x.yaml"), "name: x\n").expect("written");
    let out = run(folder.path(), &["check", "."]);
    calm(&out, "circle");
    assert_eq!(out.status.code(), Some(1), "{}", text(&out.stdout));
}

/// A gigabyte with a hole in it, wherever a file is read.
#[test]
fn row_23_a_huge_file_is_refused_wherever_it_is_read() {
    let names = [
        ("polymers/huge.yaml", &["check", "."][..]),
        ("polymers/huge.yaml", &["find", "filament"]),
        ("polymers/huge.yaml", &["tidy"]),
        ("polymers/huge.yaml", &["audit", "polymers"]),
        ("pack.yaml", &["check", "."]),
        ("pack.yaml", &["find", "filament"]),
        ("schemas/huge.schema.json", &["check", "."]),
        ("huge.csv", &["series", "huge.csv"]),
        ("huge.csv", &["import", "table", "huge.csv", "--series", "x", "--yes"]),
        ("huge.csv", &["import", "curve", "huge.csv", "--series", "x", "--yes"]),
        ("huge.csv", &["import", "results", "huge.csv", "--series", "x", "--yes"]),
        ("huge.csv", &["import", "ladder", "huge.csv", "--process", "screen", "--yes"]),
        ("huge.json", &["trace", "huge.json"]),
        ("huge.json", &["recheck", "huge.json"]),
        ("huge.txt", &["fasten", "--hole-table", "huge.txt", "--out", "holes"]),
    ];
    for (file, arguments) in names {
        let folder = pack();
        let path = folder.path().join(file);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::File::create(&path).and_then(|f| f.set_len(1 << 30)).expect("made");
        let start = Instant::now();
        // With half the memory the file would need.
        let out = with_memory(600, folder.path(), arguments);
        calm(&out, &format!("{file}: {arguments:?}"));
        assert_ne!(out.status.code(), Some(0), "{file}: {arguments:?} passes: {}", text(&out.stdout));
        assert!(start.elapsed() < Duration::from_secs(20), "{file}: {arguments:?}: {:?}", start.elapsed());
    }
    // Standard input without end.
    let folder = pack();
    let endless = format!("yes 'name: x' | {} check - --as polymer/x", env!("CARGO_BIN_EXE_gripbook"));
    let out = Command::new("sh").args(["-c", &endless]).current_dir(folder.path()).output().expect("runs");
    calm(&out, "endless");
    assert!(text(&out.stdout).contains("file-too-large"), "{}", text(&out.stdout));
}

/// The program with an address space of so many megabytes.
fn with_memory(megabytes: u32, here: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new("sh");
    let run = format!("ulimit -v {} && exec \"$@\"", megabytes * 1024);
    command.args(["-c", &run, "sh", env!("CARGO_BIN_EXE_gripbook")]).args(arguments).current_dir(here).stdin(Stdio::null());
    command.env_clear().env("GRIPBOOK_CACHE", here.join(".cache")).env("HOME", here).output().expect("runs")
}

/// Many records, one with very many keys, one long text, in little memory; four times the records, about four times the time.
#[test]
fn row_23_and_55_many_records_in_little_memory_and_linear_time() {
    let sizes = if full() { [12_500, 50_000] } else { [1_500, 6_000] };
    let mut times = Vec::new();
    for count in sizes {
        let folder = pack();
        let ask = ["find", "filament", "--limit", "1", "--format", "json"];
        let total = |out: Output| {
            let answer: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
            answer["total"].as_u64().expect("a number")
        };
        let before = total(run(folder.path(), &ask));
        for n in 0..count {
            let record = format!(
                "name: Filament {n}\nfamily: pla\nproperties:\n  tg:\n    - {{value: 6{}.{} °C, basis: recalled}}\n",
                n % 10,
                n % 7
            );
            fs::write(folder.path().join(format!("polymers/f-{n}.yaml")), record).expect("written");
        }
        let start = Instant::now();
        let out = with_memory(600, folder.path(), &["check", "."]);
        times.push(start.elapsed());
        assert_eq!(out.status.code(), Some(0), "{count}: {}{}", text(&out.stdout), text(&out.stderr));
        assert_eq!(total(with_memory(600, folder.path(), &ask)), before + count, "{count}");
    }
    println!("rows 23 and 55: {sizes:?} records in {times:?}, 600 MB of address space");
    // 2.6 for each doubling; a little slack for starting and for a busy machine.
    assert!(times[1] < times[0].mul_f64(2.6 * 2.6) + Duration::from_secs(2), "{times:?}");
    let folder = pack();
    let keys: String = (0..100_000).map(|n| format!("k{n}: 1\n")).collect();
    fs::write(folder.path().join("polymers/keys.yaml"), keys).expect("written");
    fs::write(folder.path().join("polymers/long.yaml"), format!("name: {}\n", "x".repeat(20 << 20))).expect("written");
    let out = with_memory(600, folder.path(), &["check", "."]);
    assert_eq!(text(&out.stdout).matches("file-too-large").count(), 2, "{}", text(&out.stdout));
}
