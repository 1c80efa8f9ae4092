//! The shape of the source: the order of stages, one writer, names and sizes, a map whose paths exist.

mod graph;
mod keys;

use graph::{Graph, Module, circles};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("a source folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// The source without comments and without its test modules (which may use anything).
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).expect("a source file");
    let text = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default().to_string();
    text.lines().map(|l| l.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

fn stages() -> Vec<String> {
    let lib = fs::read_to_string(root().join("src/lib.rs")).expect("lib.rs");
    let stages = lib.lines().filter_map(|l| l.trim().strip_prefix("pub mod ")?.strip_suffix(';').map(str::to_string));
    // The commands are the program's; the library does not know them.
    stages.chain(["command".to_owned()]).collect()
}

#[test]
fn the_first_command_of_readme_finds_its_program() {
    let text = |name: &str| fs::read_to_string(root().join(name)).expect("a file of the repository");
    assert!(text("README.md").contains("\ncargo run --release -- suits "), "the command names no binary");
    let manifest = text("Cargo.toml");
    let named = manifest.lines().any(|line| line == "default-run = \"gripbook\"");
    assert!(named || manifest.matches("[[bin]]").count() == 1, "cargo runs none of several binaries unless one is the default");
}

#[test]
fn a_stage_uses_earlier_stages_only() {
    let stages = stages();
    let place: BTreeMap<&str, usize> = stages.iter().enumerate().map(|(i, s)| (s.as_str(), i)).collect();
    let mut faults = Vec::new();
    let mut seen = 0;
    for path in rust_files(&root().join("src")) {
        let relative = path.strip_prefix(root().join("src")).expect("inside src").to_string_lossy().replace('\\', "/");
        let own = relative.split('/').next().unwrap_or_default().trim_end_matches(".rs").to_string();
        let Some(&here) = place.get(own.as_str()) else { continue };
        for (used, &there) in &place {
            let library = if own == "command" { "gripbook" } else { "crate" };
            if code(&path).contains(&format!("{library}::{used}::")) {
                seen += 1;
                if there > here {
                    faults.push(format!("src/{relative} uses {used}, a later stage"));
                }
            }
        }
    }
    assert!(seen > 50, "the test reads the sources ({seen} uses seen)");
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn every_folder_and_file_of_src_is_a_stage() {
    let stages = stages();
    // The two programs, and the rim of the first.
    let programs = ["main", "terminal", "page_module"];
    for entry in fs::read_dir(root().join("src")).expect("src") {
        let name = entry.expect("an entry").file_name().to_string_lossy().trim_end_matches(".rs").to_string();
        assert!(name == "lib" || programs.contains(&&*name) || stages.contains(&name), "src/{name} is no stage of lib.rs");
    }
}

#[test]
fn the_root_re_exports_nothing() {
    let lib = code(&root().join("src/lib.rs"));
    assert!(!lib.contains("pub use"), "a thing has one name: its place");
}

#[test]
fn only_the_writer_prints() {
    let words = ["println!", "print!(", "eprintln!", "eprint!(", "dbg!(", "io::stdout", "io::stderr"];
    for path in rust_files(&root().join("src")) {
        if path.ends_with("present/writer.rs") {
            continue;
        }
        let code = code(&path);
        for word in words {
            assert!(!code.contains(word), "{} holds {word}", path.display());
        }
    }
}

/// The module a source file is: `joint/judge.rs` and `joint/judge/mod.rs` are `joint::judge`.
fn module(relative: &Path) -> Module {
    let mut path: Module = relative.iter().map(|s| s.to_string_lossy().trim_end_matches(".rs").to_owned()).collect();
    if path.last().is_some_and(|last| last == "mod") {
        path.pop();
    }
    path
}

/// No file uses one that uses it, however far round: a stage is read from its first file to its last.
///
/// One edge is left out: the parts of a command (`command/fasten/…`) read the arguments in its head file, where the parser
/// finds them.
#[test]
fn no_circle_between_files() {
    let src = root().join("src");
    let files = rust_files(&src).into_iter().filter_map(|path| {
        let module = module(path.strip_prefix(&src).ok()?);
        let counts = !matches!(module.last().map(String::as_str), Some("lib" | "main" | "tests"));
        // The commands call the library by its name.
        counts.then(|| (module, fs::read_to_string(&path).expect("a source file").replace("gripbook::", "crate::")))
    });
    let mut edges = Graph::of(files).edges();
    assert!(edges.values().map(BTreeMap::len).sum::<usize>() > 1000, "the test sees who uses whom");
    for (from, used) in &mut edges {
        if from[0] == "command" && from.len() > 2 {
            used.remove(&from[..2]);
        }
    }
    let told: Vec<String> = circles(&edges)
        .iter()
        .map(|circle| {
            let inside = |from: &Module| {
                let used = edges[from].iter().filter(|(to, _)| circle.contains(*to));
                used.map(|(to, shown)| format!("\n  src/{} uses {} ({shown})", from.join("/"), to.join("/"))).collect::<String>()
            };
            circle.iter().map(inside).collect()
        })
        .collect();
    assert!(told.is_empty(), "files use each other in a circle:{}", told.concat());
}

/// The middle is pure: no clock and no environment below `command`, which hands in what it read.
#[test]
fn no_stage_below_the_command_asks_clock_or_environment() {
    let words =
        ["std::env", "env::var", "current_dir(", "SystemTime::now", "Instant::now", "::now_utc(", "std::process", "std::net"];
    each_below_command(|path, code| {
        for word in words {
            assert!(!code.contains(word), "{} holds {word}", path.display());
        }
    });
}

/// Files are read by the stages that load records and written by those that remember; nothing else touches a disk.
#[test]
fn compute_stages_touch_no_file() {
    let pure = ["quantity", "finding", "mechanics", "statistics", "suit", "series", "joint", "audit"];
    each_below_command(|path, code| {
        let stage = stage_of(path);
        assert!(!pure.contains(&&*stage) || !code.contains("std::fs"), "{} holds std::fs", path.display());
    });
}

/// Arguments are parsed in `command`. The word of a format is an option everywhere, so its list may stand in `present`.
#[test]
fn no_stage_but_the_command_knows_the_argument_parser() {
    each_below_command(|path, code| {
        let parses = code.contains("clap::") || code.contains("use clap");
        assert!(!parses || stage_of(path) == "present", "{} knows the argument parser", path.display());
    });
}

/// What is plugged in is handed down as a `Registry`, so that a test or another program may plug in something else.
#[test]
fn no_list_of_plugins_is_read_but_at_the_rim() {
    for path in rust_files(&root().join("src")) {
        let (stage, code) = (stage_of(&path), code(&path));
        let reads = ["methods::ALL", "audits::ALL", "importers::ALL", "BUILT_IN"].iter().any(|list| code.contains(list));
        // The built-in packs of records have the same name.
        let reads = reads && code.contains("plugins");
        assert!(!reads || ["main", "page_module", "plugins"].contains(&&*stage), "{} reads a list of plugins", path.display());
    }
}

fn stage_of(path: &Path) -> String {
    let relative = path.strip_prefix(root().join("src")).expect("inside src").to_string_lossy().replace('\\', "/");
    relative.split('/').next().unwrap_or_default().trim_end_matches(".rs").to_owned()
}

/// Every file of the stages below `command`, with its code.
fn each_below_command(look: impl Fn(&Path, &str)) {
    let mut seen = 0;
    for path in rust_files(&root().join("src")) {
        if !["command", "main", "terminal", "page_module", "lib"].contains(&&*stage_of(&path)) && !path.ends_with("tests.rs") {
            seen += 1;
            look(&path, &code(&path));
        }
    }
    assert!(seen > 200, "the test reads the sources ({seen} files)");
}

#[test]
fn files_stay_readable() {
    for folder in ["src", "tests", "tools"] {
        for path in rust_files(&root().join(folder)) {
            let lines = fs::read_to_string(&path).expect("a source file").lines().count();
            assert!(lines <= 500, "{} has {lines} lines; split it", path.display());
        }
    }
}

/// Every path in backticks in the map of DEVELOPERS.md exists.
#[test]
fn the_map_of_the_developers_page_is_true() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let mut seen = 0;
    for word in text.split('`').skip(1).step_by(2) {
        let path = word.trim_end_matches('/');
        let known = ["src/", "schemas/", "records/", "tests/", "tools/", ".ci/", ".github/"].iter().any(|p| word.starts_with(p));
        if known && !path.contains(['*', '<', ' ', 'N']) {
            seen += 1;
            assert!(root().join(path).exists(), "DEVELOPERS.md names {path}");
        }
    }
    assert!(seen > 20, "the map names paths ({seen})");
}

/// What `deny.toml` says of sources and bans, held without the tool that reads it.
#[test]
fn everything_it_is_built_from_has_one_source_and_a_checksum() {
    let lock = fs::read_to_string(root().join("Cargo.lock")).expect("Cargo.lock");
    let value = |package: &str, key: &str| {
        let line = package
            .lines()
            .find_map(|line| line.strip_prefix(&format!("{key} = ")).map(|text| text.trim_matches('"').to_owned()));
        line.unwrap_or_default()
    };
    let packages: Vec<&str> = lock.split("[[package]]").skip(1).collect();
    let others: Vec<&&str> = packages.iter().filter(|package| value(package, "name") != "gripbook").collect();
    assert!(others.len() > 100, "the test reads the lock file");
    let source = value(others[0], "source");
    assert!(source.starts_with("registry+"), "{source}");
    for package in &others {
        assert_eq!(value(package, "source"), source, "{package}");
        assert_eq!(value(package, "checksum").len(), 64, "{package}");
    }
    let rules = fs::read_to_string(root().join("deny.toml")).expect("deny.toml");
    let banned: Vec<&str> = rules.split("{ crate = \"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(banned.len() > 3, "{banned:?}");
    for package in packages {
        assert!(!banned.contains(&&*value(package, "name")), "{package}");
    }
}
