//! Rows 5, 6 and 45: the n-th call of the system fails, is interrupted, or brings a signal, over all n.

use super::scene::{ALL, Files, Scene, Writing, files, full, lacks, program, put, stride, text};
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Calls that touch files. Others do not exist on every machine; they have no n-th call then.
const CALLS: [&str; 11] =
    ["openat", "read", "write", "fsync", "rename", "link", "linkat", "mkdir", "statx", "getdents64", "lseek"];

fn lacks_strace() -> bool {
    lacks("strace", &["strace", "-f", "-e", "trace=none", "-e", "inject=fsync:error=EIO:when=9", "true"])
}

/// The commands of a short run: one of each way of writing. All of them in a full one.
fn commands() -> Vec<Writing> {
    let short = ["import curve", "tidy", "fasten --out"];
    ALL.into_iter().filter(|c| c.name != "shell man" && (full() || short.contains(&c.name))).collect()
}

/// Every stride-th n in a long run; a growing step in a short one, another for each call and command.
fn step(turn: usize, n: usize) -> usize {
    stride().unwrap_or(4 + (turn + n) % 7)
}

struct Disturbed {
    output: Output,
    /// Whether the fault came to pass: fewer calls than n end a sweep.
    happened: bool,
    /// The calls, one a line.
    log: String,
}

/// Runs the program with a fault in its n-th call.
fn disturbed(here: &Path, cache: &Path, arguments: &[&str], call: &str, fault: &str, n: usize) -> Disturbed {
    let log = tempfile::NamedTempFile::new().expect("a file");
    let output = Command::new("strace")
        .args(if fault.starts_with("signal") { &["-f", "-qq", "-o"][..] } else { &["-f", "--seccomp-bpf", "-qq", "-o"] })
        .arg(log.path())
        .args(["-e", &format!("trace={call}"), "-e", &format!("inject={call}:{fault}:when={n}")])
        .arg(env!("CARGO_BIN_EXE_gripbook"))
        .args(arguments)
        .current_dir(here)
        .env_clear()
        .env("GRIPBOOK_CACHE", cache)
        .env("HOME", here)
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env("RAYON_NUM_THREADS", "1")
        .stdin(Stdio::null())
        .output()
        .expect("runs");
    let log = std::fs::read_to_string(log.path()).unwrap_or_default();
    // A signal is not marked as an injected result; strace ends by the signal that ended the program.
    Disturbed { happened: log.contains("(INJECTED)") || output.status.code().is_none(), output, log }
}

/// The dynamic loader gave up before the program began.
fn before_main(output: &Output) -> bool {
    output.status.code() == Some(127) && text(&output.stderr).contains("shared librar")
}

/// Whole files. With exit 3 the command said that records were left out; what it then made anew may say so too, and has to be
/// whole by itself.
fn whole(scene: &Scene, command: &Writing, now: &Files, what: &str, code: Option<i32>) -> usize {
    if code != Some(3) {
        return scene.assert_whole(command, now, what);
    }
    let (known, made): (Files, Files) = now.clone().into_iter().partition(|(path, _)| scene.old.contains_key(path));
    for (path, bytes) in made.iter().filter(|(path, _)| path.extension().is_some_and(|e| e == "json")) {
        let sheet: serde_json::Value =
            serde_json::from_slice(bytes).unwrap_or_else(|e| panic!("{what}: {}: {e}", path.display()));
        // A schema is the program's own and speaks of no record.
        if sheet["$schema"].is_string() {
            assert_eq!(scene.new[command.name].get(path), Some(bytes), "{}, {what}: {}", command.name, path.display());
            continue;
        }
        // A list in the form of a standard has no room for it; the package it belongs to says it.
        if sheet.is_array() {
            continue;
        }
        assert!(
            sheet["left_out"].as_array().is_some_and(|l| !l.is_empty()),
            "{}, {what}: {} says nothing",
            command.name,
            path.display()
        );
    }
    scene.assert_whole(command, &known, what)
}

/// Counts of a sweep.
#[derive(Debug, Default)]
struct Counts {
    tried: usize,
    refused: usize,
    unharmed: usize,
    parts: usize,
}

fn sweep(
    scene: &Scene,
    faults: &[&str],
    calls: &[&str],
    mut judge: impl FnMut(&Writing, &Disturbed, &Path, &str, &mut Counts),
) -> Counts {
    let mut counts = Counts::default();
    for (turn, command) in commands().iter().enumerate() {
        for (place, call) in calls.iter().enumerate() {
            for (which, fault) in faults.iter().enumerate() {
                let mut n = 1 + (turn + place + which) % stride().unwrap_or(4);
                loop {
                    let here = tempfile::tempdir().expect("a folder");
                    put(&scene.old, here.path());
                    let run = disturbed(here.path(), scene.cache.path(), command.arguments, call, fault, n);
                    if !run.happened {
                        break;
                    }
                    counts.tried += 1;
                    judge(command, &run, here.path(), &format!("{fault} in {call} number {n}"), &mut counts);
                    n += step(turn + place, n);
                }
            }
        }
    }
    counts
}

#[test]
fn row_05_and_06_a_failing_call_leaves_whole_files_and_says_so() {
    if lacks_strace() {
        return;
    }
    let scene = Scene::new(&commands());
    let scene_of = &scene;
    let counts = sweep(&scene, &["error=EIO"], &CALLS, |command, run, here, what, counts| {
        let now = files(here);
        let error = text(&run.output.stderr);
        counts.parts += whole(scene_of, command, &now, what, run.output.status.code());
        if run.output.status.code() == Some(4) {
            scene_of.assert_mended(command, here, what);
        }
        match run.output.status.code() {
            Some(0 | 1) if scene.is_done(command, &now) => counts.unharmed += 1,
            Some(1..=5) => {
                let said = error.clone() + &text(&run.output.stdout);
                assert!(
                    said.contains("rror") || said.contains("cannot") || said.contains("no loaded pack"),
                    "{}, {what}: no word of it: {said}{}",
                    command.name,
                    run.log
                );
                counts.refused += 1;
            }
            _ if before_main(&run.output) => counts.refused += 1,
            code => panic!("{}, {what}: {code:?} {:?}\n{error}{}", command.name, run.output.status, run.log),
        }
    });
    println!("rows 5 and 6, writing: {counts:?}, 0 lost");
    assert!(counts.refused > 10 && counts.unharmed > 0, "{counts:?}");
}

#[test]
fn row_06_an_interrupted_call_is_tried_again_or_told() {
    if lacks_strace() {
        return;
    }
    let scene = Scene::new(&commands());
    let scene_of = &scene;
    let counts = sweep(&scene, &["error=EINTR"], &["read", "write", "openat", "fsync"], |command, run, here, what, counts| {
        if before_main(&run.output) {
            counts.refused += 1;
            return;
        }
        let now = files(here);
        let error = text(&run.output.stderr);
        // Listing a folder is not tried again by the system's library; then the fault is told.
        if matches!(run.output.status.code(), Some(2..=4)) && error.contains("Interrupted system call") {
            counts.refused += 1;
            counts.parts += whole(scene_of, command, &now, what, run.output.status.code());
            return;
        }
        assert!(matches!(run.output.status.code(), Some(0 | 1)), "{}, {what}: {:?} {error}", command.name, run.output.status);
        assert!(scene.is_done(command, &now), "{}, {what}: {error}", command.name);
        counts.unharmed += 1;
    });
    println!("row 6, interrupted: {counts:?}, 0 lost");
    assert!(counts.unharmed > 10, "{counts:?}");
}

/// An answer of a reading command is the undisturbed one, or the exit code says that something is missing.
#[test]
fn row_06_a_failing_call_never_makes_a_partial_load_look_whole() {
    if lacks_strace() {
        return;
    }
    let scene = Scene::new(&[]);
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    std::fs::remove_file(here.path().join("list.txt")).expect("gone");
    let asked: [&[&str]; 3] = [
        &["check", "--format", "json"],
        &["find", "filament", "--format", "json", "--rehash"],
        &["show", "polymer/grey", "--format", "json"],
    ];
    let (mut tried, mut whole, mut said) = (0, 0, 0);
    for (turn, arguments) in asked.iter().enumerate() {
        let no_cache = tempfile::tempdir().expect("a folder");
        let plain = program(here.path(), no_cache.path()).args(*arguments).output().expect("runs");
        for (place, call) in CALLS.iter().enumerate() {
            let mut n = 1;
            loop {
                let run = disturbed(here.path(), no_cache.path(), arguments, call, "error=EIO", n);
                if !run.happened {
                    break;
                }
                tried += 1;
                let what = format!("{arguments:?}, EIO in {call} number {n}");
                let (code, error) = (run.output.status.code(), text(&run.output.stderr));
                if code == plain.status.code() && run.output.stdout == plain.stdout {
                    whole += 1;
                } else if before_main(&run.output) {
                    said += 1;
                } else {
                    let is_told =
                        matches!(code, Some(1 | 3 | 4)) && (!error.is_empty() || text(&run.output.stdout).contains("unreadable"));
                    assert!(is_told, "{what}: {code:?} {error}\n{}\n{}", text(&run.output.stdout), run.log);
                    said += 1;
                }
                n += step(turn + place, n);
            }
        }
    }
    println!("row 6, reading: {tried} tried, {whole} answered alike, {said} told, 0 lost");
    assert!(said > 10 && whole > 10);
}

/// A kill at the n-th call: the old file or the new one, and the same command afterwards finishes the work.
#[test]
fn row_45_a_signal_in_the_middle_of_a_write_is_like_a_kill() {
    if lacks_strace() {
        return;
    }
    let scene = Scene::new(&commands());
    let signals: &[&str] = if full() { &["signal=SIGTERM", "signal=SIGINT", "signal=SIGKILL"] } else { &["signal=SIGTERM"] };
    let calls = ["openat", "write", "fsync", "rename", "link", "linkat", "unlink", "mkdir"];
    let counts = sweep(&scene, signals, &calls, |command, run, here, what, counts| {
        let now = files(here);
        counts.parts += scene.assert_whole(command, &now, what);
        assert_eq!(run.output.status.code(), None, "{}, {what}: ended by itself", command.name);
        if scene.assert_mended(command, here, what) {
            counts.unharmed += 1;
            return;
        }
        counts.refused += 1;
        let again = program(here, scene.cache.path()).args(command.arguments).output().expect("runs");
        let error = text(&again.stderr);
        assert!(matches!(again.status.code(), Some(0 | 1)), "{}, {what}, then again: {error}", command.name);
        assert!(scene.is_done(command, &files(here)), "{}, {what}, then again: {error}", command.name);
    });
    println!("row 45: {counts:?} (refused: killed before the end), 0 lost");
    assert!(counts.refused > 10, "{counts:?}");
}

/// Row 5: the bytes are on the disk before the name is, and the name before the program ends.
#[test]
fn row_05_bytes_are_settled_before_the_name_and_the_name_before_the_end() {
    if lacks_strace() {
        return;
    }
    let scene = Scene::new(&commands());
    for command in commands() {
        let here = tempfile::tempdir().expect("a folder");
        put(&scene.old, here.path());
        let log = tempfile::NamedTempFile::new().expect("a file");
        let traced = Command::new("strace")
            .args(["-f", "-y", "-qq", "-e", "trace=fsync,fdatasync,rename,renameat,renameat2,link,linkat", "-o"])
            .arg(log.path())
            .arg(env!("CARGO_BIN_EXE_gripbook"))
            .args(command.arguments)
            .current_dir(here.path())
            .env("GRIPBOOK_CACHE", scene.cache.path())
            .env("HOME", here.path())
            .output()
            .expect("runs");
        assert!(matches!(traced.status.code(), Some(0 | 1)), "{}: {}", command.name, text(&traced.stderr));
        let log = std::fs::read_to_string(log.path()).expect("a log");
        let lines: Vec<&str> = log.lines().collect();
        let mut named = 0;
        for (at, line) in lines.iter().enumerate() {
            let is_naming = (line.contains("rename") || line.contains("link")) && line.contains("/.gripbook-write/");
            if !is_naming || !line.ends_with("= 0") || line.contains("journal") {
                continue;
            }
            named += 1;
            let part = line.split('"').nth(1).and_then(|p| Some(&p[p.find(".gripbook-write/")?..])).unwrap_or_default();
            let synced = |l: &&str, name: &str| l.contains("fsync(") && l.contains(name) && l.ends_with("= 0");
            assert!(lines[..at].iter().any(|l| synced(l, part)), "{}: {part} is named before it is safe\n{log}", command.name);
            assert!(
                lines[at..].iter().any(|l| synced(l, "fsync(") && !l.contains(".gripbook-write")),
                "{}: no folder settled\n{log}",
                command.name
            );
        }
        assert!(named > 0, "{}: nothing was named\n{log}", command.name);
    }
}
