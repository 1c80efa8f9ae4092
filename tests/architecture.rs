//! The shape of the source: the order of stages, one writer, names and sizes, a map whose paths exist.

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
    lib.lines().filter_map(|l| l.trim().strip_prefix("pub mod ")?.strip_suffix(';').map(str::to_string)).collect()
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
            if code(&path).contains(&format!("crate::{used}::")) {
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
    for entry in fs::read_dir(root().join("src")).expect("src") {
        let name = entry.expect("an entry").file_name().to_string_lossy().trim_end_matches(".rs").to_string();
        assert!(name == "lib" || name == "main" || stages.contains(&name), "src/{name} is no stage of lib.rs");
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

/// The middle is pure: no clock, no environment outside the rim.
#[test]
fn compute_stages_read_no_clock_and_no_environment() {
    let pure = ["quantity", "finding", "mechanics", "statistics", "suit", "series", "joint", "audit"];
    for stage in stages().iter().filter(|s| pure.contains(&s.as_str())) {
        let folder = root().join("src").join(stage);
        let files = if folder.is_dir() { rust_files(&folder) } else { vec![root().join("src").join(format!("{stage}.rs"))] };
        for path in files {
            let code = code(&path);
            for word in ["std::env", "SystemTime", "Instant::now", "std::fs", "std::net", "std::process"] {
                assert!(!code.contains(word), "{} holds {word}", path.display());
            }
        }
    }
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
