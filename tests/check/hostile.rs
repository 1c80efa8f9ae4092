//! Hostile and broken input, row by row of the project's table of faults.

use super::{check, pack_of, rules_of, texts};
use gripbook::check::Targets;
use gripbook::check::ids;
use gripbook::check::packs::PackFrom;
use gripbook::finding::Finding;
use gripbook::read::{self, file, tree::Node, tree::Value};
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// The shortest of a few runs, so that a busy machine does not fail a test of proportions.
fn shortest(mut work: impl FnMut()) -> Duration {
    let run = |_| {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..5).map(run).min().expect("five runs")
}

/// Every value of the cut tree stands in the whole one, unchanged.
fn is_part(cut: &Node, whole: &Node) -> bool {
    match (&cut.value, &whole.value) {
        (Value::Map(a), Value::Map(b)) => a.iter().all(|e| b.get(&e.key.text).is_some_and(|other| is_part(&e.node, other))),
        (Value::List(a), Value::List(b)) => a.len() <= b.len() && a.iter().zip(b).all(|(a, b)| is_part(a, b)),
        // `key:` cut off before the lines of its list: nothing is said, and the schema refuses it.
        (Value::Null, _) => true,
        _ => cut.says_the_same(whole),
    }
}

#[test]
fn row_07_a_cut_off_record_is_a_fault_or_says_less_never_something_else() {
    let samples: Vec<(&str, &[u8])> =
        super::shipped().into_iter().filter(|(_, bytes)| (200..1500).contains(&bytes.len())).collect();
    let step = samples.len() / 20;
    let mut silent = 0;
    for (path, bytes) in samples.iter().step_by(step.max(1)) {
        let whole = read::read(bytes).tree.expect("a shipped record");
        for cut in 0..bytes.len() {
            let reading = read::read(&bytes[..cut]);
            if !reading.faults.is_empty() {
                continue;
            }
            silent += 1;
            assert!(cut == 0 || bytes[cut - 1] == b'\n', "{path} cut at {cut} inside of a line without a fault");
            let tree = reading.tree.expect("a tree without faults");
            assert!(is_part(&tree, &whole), "{path} cut at {cut} says something else");
        }
    }
    assert!(silent > 50, "only {silent} cuts at line ends were seen");
}

#[test]
fn row_09_a_file_that_changes_while_it_is_read_is_never_half_taken() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("x.yaml");
    let contents = ["name: one\nfamily: pla\n".to_owned(), format!("name: two\nnote: {}\n", "long ".repeat(2000))];
    fs::write(&path, &contents[0]).expect("written");
    let stop = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut turn = 0;
            while !stop.load(std::sync::atomic::Ordering::Relaxed) {
                turn += 1;
                fs::write(&path, &contents[turn % 2]).expect("written");
            }
        });
        for _ in 0..2000 {
            match file::load(&path) {
                Ok(bytes) => {
                    let whole = contents.iter().any(|content| content.as_bytes() == bytes);
                    assert!(whole || !read::read(&bytes).faults.is_empty(), "half a file was taken");
                }
                Err(fault) => assert_eq!(fault.name, "file-changed"),
            }
        }
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
    });
}

/// A pack on disk with these files beside a sound pack.yaml.
fn folder_pack(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("pack.yaml"), "id: trial\ntitle: A trial\nlicence: CC0-1.0\n").expect("written");
    for (path, text) in files {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        fs::write(path, text).expect("written");
    }
    folder
}

fn check_folder(folder: &Path) -> Vec<Finding> {
    check(vec![super::book(), PackFrom::Folder(folder.to_owned())], Targets::Packs(vec![1])).findings
}

const GOOD: &str = "name: Tough grey\nfamily: acrylate\n";

#[cfg(target_os = "linux")]
#[test]
fn row_13_a_file_name_that_is_no_text_is_reported_escaped() {
    use std::os::unix::ffi::OsStrExt;
    let pack = folder_pack(&[("resins/good.yaml", GOOD)]);
    let name = std::ffi::OsStr::from_bytes(b"bad\xff.yaml");
    fs::write(pack.path().join("resins").join(name), GOOD).expect("written");
    let findings = check_folder(pack.path());
    assert_eq!(rules_of(&findings), ["file-name"]);
    assert!(findings[0].place.file.ends_with("resins/bad\\xff.yaml"), "{}", findings[0].place.file);
}

#[cfg(unix)]
#[test]
fn row_14_names_that_are_not_portable_are_refused_and_shown_safely() {
    let long = format!("{}.yaml", "a".repeat(250));
    let names = [
        "new\nline.yaml",
        "-dash.yaml",
        "quo\"te.yaml",
        "bell\u{7}.yaml",
        "esc\u{1b}[2J.yaml",
        "CON.yaml",
        "con.yaml",
        "com1.yaml",
        "dot..yaml",
        "space .yaml",
        "two  spaces.yaml",
        "under_score.yaml",
        "x.yml",
        "UPPER.YAML",
        "plus+.yaml",
        &long,
    ];
    for name in names {
        let pack = folder_pack(&[]);
        fs::create_dir(pack.path().join("resins")).expect("made");
        fs::write(pack.path().join("resins").join(name), GOOD).expect("written");
        let findings = check_folder(pack.path());
        let rules = rules_of(&findings);
        assert!(rules.iter().any(|rule| ["id-form", "id-reserved", "file-name"].contains(rule)), "{name:?}: {rules:?}");
        let shown = gripbook::present::text::page(
            &gripbook::present::findings::page(&findings),
            gripbook::present::Look { width: 100, colour: false },
        );
        assert!(!shown.contains(['\u{7}', '\u{1b}']), "{shown:?}");
        assert!(shown.lines().all(|line| !line.starts_with("line.yaml")), "{shown}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn row_15_twins_of_case_and_of_accents_are_refused() {
    for (a, b) in [("PLA.yaml", "pla.yaml"), ("\u{e9}poxy.yaml", "e\u{301}poxy.yaml")] {
        let pack = folder_pack(&[]);
        fs::create_dir(pack.path().join("resins")).expect("made");
        for name in [a, b] {
            fs::write(pack.path().join("resins").join(name), GOOD).expect("written");
        }
        assert!(rules_of(&check_folder(pack.path())).contains(&"id-twin"), "{a} {b}");
    }
}

#[test]
fn row_16_line_ends_marks_and_encodings() {
    let bad = "name: Tough grey\nfamily: acrylate\nnote: yes\n";
    let wide = |swap: bool| -> Vec<u8> {
        let order = |unit: u16| if swap { unit.to_be_bytes() } else { unit.to_le_bytes() };
        std::iter::once(0xFEFF).chain(bad.encode_utf16()).flat_map(order).collect()
    };
    type Case = (&'static str, Vec<u8>, &'static [(&'static str, u32)]);
    let cases: [Case; 7] = [
        ("plain", bad.into(), &[("word-ambiguous", 3)]),
        ("CR LF", bad.replace('\n', "\r\n").into(), &[("word-ambiguous", 3)]),
        ("mark", format!("\u{feff}{bad}").into(), &[("word-ambiguous", 3)]),
        (
            "CR only",
            bad.replace('\n', "\r").into(),
            &[("carriage-return-alone", 1), ("carriage-return-alone", 2), ("word-ambiguous", 3), ("carriage-return-alone", 3)],
        ),
        ("no end", bad.trim_end().into(), &[("word-ambiguous", 3), ("newline-missing", 3)]),
        ("UTF-16 LE", wide(false), &[("encoding-not-utf8", 1)]),
        ("UTF-16 BE", wide(true), &[("encoding-not-utf8", 1)]),
    ];
    for (name, bytes, expected) in cases {
        let found: Vec<(&str, u32)> = read::read(&bytes).faults.iter().map(|f| (f.name, f.span.line)).collect();
        assert_eq!(found, expected, "{name}");
    }
}

#[cfg(unix)]
#[test]
fn row_17_symbolic_links_are_findings_and_never_followed() {
    let outside = tempfile::tempdir().expect("a folder");
    fs::write(outside.path().join("x.yaml"), "name: outside\nfamily: nothing\n").expect("written");
    let pack = folder_pack(&[("resins/good.yaml", GOOD)]);
    std::os::unix::fs::symlink(".", pack.path().join("resins/loop")).expect("linked");
    std::os::unix::fs::symlink(outside.path().join("x.yaml"), pack.path().join("resins/out.yaml")).expect("linked");
    std::os::unix::fs::symlink(outside.path(), pack.path().join("polymers")).expect("linked");
    assert_eq!(rules_of(&check_folder(pack.path())), ["file-symlink"; 3]);
    let named = check(vec![super::book()], Targets::Paths(vec![pack.path().join("resins/out.yaml")]));
    assert!(rules_of(&named.findings).contains(&"file-symlink"), "{:?}", named.findings);
}

#[cfg(unix)]
#[test]
fn row_18_pipes_and_sockets_are_refused_without_waiting() {
    let pack = folder_pack(&[("resins/good.yaml", GOOD)]);
    let pipe = pack.path().join("resins/pipe.yaml");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    let _socket = std::os::unix::net::UnixListener::bind(pack.path().join("resins/socket.yaml")).expect("bound");
    let expected = if made.is_ok_and(|status| status.success()) { 2 } else { 1 };
    let path = pack.path().to_owned();
    let (send, receive) = std::sync::mpsc::channel();
    std::thread::spawn(move || send.send(check_folder(&path)));
    let findings = receive.recv_timeout(Duration::from_secs(30)).expect("reading a pipe must not hang");
    assert_eq!(rules_of(&findings), vec!["file-not-regular"; expected]);
    assert_eq!(file::load(Path::new("/dev/null")).map_err(|fault| fault.name), Err("file-not-regular"));
}

const WAYS_OUT: [&str; 60] = [
    "..",
    "../x",
    "../../x",
    "./x",
    "x/..",
    "x/../y",
    "/",
    "/x",
    "/etc/passwd",
    "//x",
    "///x",
    "~",
    "~/x",
    "~root",
    "C:",
    "C:x",
    "C:\\x",
    "c:/x",
    "\\",
    "\\x",
    "\\\\server\\x",
    "\\\\?\\C:\\x",
    "\\\\.\\nul",
    "..\\x",
    "..\\..\\x",
    "x\\..\\y",
    "%2e%2e",
    "%2e%2e/x",
    "..%2fx",
    "..%5cx",
    "%252e%252e%252fx",
    "%00",
    "x%00y",
    "x\u{0}",
    "..;/x",
    "....//x",
    "..././x",
    ".x",
    "x.",
    "x ",
    " x",
    "x/",
    "x//y",
    "file:///x",
    "file:x",
    "http://x",
    "https://x/y",
    "ftp://x",
    "data:,x",
    "x?y",
    "x#y",
    "x:y",
    "x|y",
    "x*",
    "<x>",
    "\"x\"",
    "$HOME",
    "`x`",
    "$(x)",
    "\u{2024}\u{2024}/x",
];

#[test]
fn row_19_no_id_or_reference_leads_out_of_the_packs() {
    for way in WAYS_OUT {
        assert!(ids::fault(way).is_some(), "{way:?} passes as an id");
    }
    let quoted = |way: &str| serde_json::to_string(way).expect("JSON");
    let records: Vec<String> = WAYS_OUT
        .iter()
        .map(|way| {
            format!(
                "name: x\nfamily: acrylate\nproperties:\n  tg:\n    - {{value: 61 °C, basis: measured, source: {}}}\n",
                quoted(way)
            )
        })
        .collect();
    for (way, findings) in WAYS_OUT.iter().zip(texts("resins", &records)) {
        assert!(!findings.is_empty(), "{way:?} passes as a source");
    }
    for way in WAYS_OUT {
        let schema = format!(
            "{{\"$id\": \"out.schema.json\", \"title\": \"x\", \"type\": \"object\", \"properties\": {{\"a\": {{\"$ref\": {}}}}}}}\n",
            quoted(way)
        );
        let found = pack_of(&[("schemas/out.schema.json", schema.as_bytes())]);
        assert!(!found.is_empty(), "{way:?} passes as a reference of a schema");
    }
    let found = pack_of(&[("pack.yaml", b"id: ../x\ntitle: x\nlicence: CC0-1.0\n")]);
    assert_eq!(rules_of(&found), ["id-form"]);
}

#[test]
fn row_20_a_reference_to_somewhere_else_is_refused_and_nothing_fetched() {
    for reference in
        ["https://example.org/x.schema.json", "http://127.0.0.1:9/x.json", "file:///etc/passwd", "missing.schema.json#/$defs/x"]
    {
        let schema = format!("{{\"$id\": \"far.schema.json\", \"title\": \"Far\", \"$ref\": \"{reference}\"}}\n");
        let found = pack_of(&[("schemas/far.schema.json", schema.as_bytes())]);
        assert!(rules_of(&found).contains(&"schema-reference"), "{reference}: {found:?}");
    }
}

#[test]
fn row_21_an_alias_bomb_is_refused_at_once() {
    let mut bomb = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_owned();
    for level in 1..200 {
        let items = vec![format!("*a{}", level - 1); 9].join(", ");
        bomb += &format!("a{level}: &a{level} [{items}]\n");
    }
    let time = shortest(|| {
        let faults = read::read(bomb.as_bytes()).faults;
        assert!(faults.iter().any(|fault| fault.name == "alias-used"));
    });
    assert!(time < Duration::from_millis(50), "{time:?}");
}

#[test]
fn row_22_deep_nesting_of_every_kind_is_refused_at_once() {
    let blocks: String = (0..300).map(|level| format!("{}a:\n", " ".repeat(level))).collect();
    let inputs = [
        ("flow lists", "[".repeat(200_000) + "\n"),
        ("flow lists under a key", format!("a: {}\n", "[".repeat(200_000))),
        ("closed flow lists", format!("a: {}{}\n", "[".repeat(100_000), "]".repeat(100_000))),
        ("flow maps", format!("a: {}\n", "{a: ".repeat(50_000))),
        ("mixed", format!("a: {}\n", "[{a: ".repeat(40_000))),
        ("block lists", format!("a:\n  {}x\n", "- ".repeat(100_000))),
        ("block maps", blocks),
        ("explicit keys", "? ".repeat(100_000) + "\n"),
        ("tags", format!("a: {}x\n", "!t ".repeat(60_000))),
        ("quotes", format!("a: {}\n", "'".repeat(200_000))),
    ];
    for (name, input) in inputs {
        let time = shortest(|| assert!(!read::read(input.as_bytes()).faults.is_empty(), "{name}"));
        assert!(time < Duration::from_millis(250), "{name}: {time:?}");
    }
}

#[test]
fn row_23_size_is_limited_before_anything_is_parsed() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("x.yaml");
    // A file with a hole: a gigabyte long without taking the room.
    fs::File::create(&path).and_then(|file| file.set_len(1 << 30)).expect("made");
    let time = shortest(|| assert_eq!(file::load(&path).map_err(|fault| fault.name), Err("file-too-large")));
    assert!(time < Duration::from_millis(50), "{time:?}");
    let scalar = format!("a: {}\n", "x".repeat(20 << 20));
    assert_eq!(read::read(scalar.as_bytes()).faults[0].name, "file-too-large");
    let long = format!("a: {}\n", "x".repeat(read::SCALAR_LIMIT + 1));
    assert_eq!(read::read(long.as_bytes()).faults[0].name, "text-too-long");
    let keys: String = (0..25_000).map(|n| format!("k{n}: 1\n")).collect();
    assert_eq!(read::read(keys.as_bytes()).faults[0].name, "nodes-too-many");
    let list = format!("a: [{}]\n", "1,".repeat(100_000));
    let time = shortest(|| assert_eq!(read::read(list.as_bytes()).faults[0].name, "nodes-too-many"));
    assert!(time < Duration::from_millis(500), "{time:?}");
}

#[test]
fn row_24_time_grows_with_the_input_not_with_its_square() {
    type Make = fn(usize) -> String;
    let inputs: [(&str, Make); 6] = [
        ("keys twice", |n| "k: 1\n".repeat(n)),
        ("different keys", |n| (0..n).map(|k| format!("k{k}: 1\n")).collect()),
        ("faults", |n| (0..n).map(|k| format!("k{k}: yes\n")).collect()),
        ("claims", |n| {
            format!(
                "name: x\nfamily: acrylate\nproperties:\n  tg:\n{}",
                (0..n).map(|k| format!("    - {{value: 61 °C, basis: recalled, locator: row {k}}}\n")).collect::<String>()
            )
        }),
        ("flow maps", |n| format!("a: [{}]\n", "{b: 1}, ".repeat(n))),
        ("letters beyond ASCII", |n| format!("a: [{}]\n", "µ, ".repeat(n))),
    ];
    for (name, make) in inputs {
        // Fourfold input: four times the time if linear, sixteen times if quadratic; 2.6 for each doubling is let pass.
        let (one, four) = (make(700), make(2_800));
        let attempt = |_| {
            let empty = shortest(|| drop(texts("resins", &[GOOD.to_owned()])));
            let base = shortest(|| drop(texts("resins", std::slice::from_ref(&one)))).saturating_sub(empty);
            let more = shortest(|| drop(texts("resins", std::slice::from_ref(&four)))).saturating_sub(empty);
            more.as_secs_f64() / base.as_secs_f64().max(1e-4)
        };
        // A busy machine can spoil an attempt, but never make a quadratic one look linear six times.
        let best = (0..6).map(attempt).find(|ratio| *ratio < 2.6 * 2.6);
        assert!(best.is_some(), "{name}: time grows faster than the input");
    }
}

#[test]
fn row_25_patterns_of_packs_run_on_a_linear_engine() {
    let kind = |pattern: &str| {
        format!(
            "{{\"$id\": \"foam.schema.json\", \"title\": \"Foam\", \"kind\": \"foam\", \"folder\": \"foams\", \"role\": \"material\", \
             \"type\": \"object\", \"properties\": {{\"name\": {{\"type\": \"string\", \"pattern\": \"{pattern}\"}}}}}}\n"
        )
    };
    let record = format!("name: {}b\n", "a".repeat(60_000));
    let slow = kind("^(a+)+$");
    let time = shortest(|| {
        let found = pack_of(&[("schemas/foam.schema.json", slow.as_bytes()), ("foams/x.yaml", record.as_bytes())]);
        assert_eq!(rules_of(&found), ["text-form"]);
    });
    assert!(time < Duration::from_secs(2), "{time:?}");
    for pattern in ["^(a)\\\\1$", "(?=a)b", "(a{1000}){1000}"] {
        let found = pack_of(&[("schemas/foam.schema.json", kind(pattern).as_bytes())]);
        assert_eq!(rules_of(&found), ["schema-broken"], "{pattern}: {found:?}");
    }
}
