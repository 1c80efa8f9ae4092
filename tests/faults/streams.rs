//! Rows 46 and 47: closed streams, odd surroundings.

use super::disk::ANSWERS;
use super::scene::{ALL, Scene, files, full, program, put, text};
use std::path::Path;
use std::process::{Command, Stdio};

/// The program with descriptors closed by a shell: `>&-`, `2>&-`, `<&-`.
fn closed(here: &Path, cache: &Path, which: &str, arguments: &[&str]) -> std::process::Output {
    let mut command = Command::new("sh");
    command.args(["-c", &format!("exec \"$@\" {which}"), "sh", env!("CARGO_BIN_EXE_gripbook")]).args(arguments);
    command.current_dir(here).env_clear().env("GRIPBOOK_CACHE", cache).env("HOME", here);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).output().expect("runs")
}

#[cfg(target_os = "linux")]
#[test]
fn row_46_closed_streams_change_nothing_and_are_never_written_into_a_file() {
    let scene = Scene::new(&ALL);
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    for arguments in ANSWERS {
        let plain = program(here.path(), scene.cache.path()).args(arguments).output().expect("runs");
        // The runtime opens the null device in the place of a closed stream; nothing safe tells the two apart.
        let out = closed(here.path(), scene.cache.path(), ">&-", arguments);
        assert_eq!((out.status.code(), text(&out.stderr)), (plain.status.code(), text(&plain.stderr)), "{arguments:?}");
        for which in ["2>&-", "<&-"] {
            let out = closed(here.path(), scene.cache.path(), which, arguments);
            assert_eq!((out.status.code(), &out.stdout), (plain.status.code(), &plain.stdout), "{arguments:?} {which}");
        }
        let out = closed(here.path(), scene.cache.path(), "<&- >&- 2>&-", arguments);
        assert_eq!(out.status.code(), plain.status.code(), "{arguments:?}, all closed");
    }
    // A file opened by the program must not get the number of a closed stream and then what was meant for that.
    for command in &ALL {
        for which in [">&-", "2>&-", "<&- >&- 2>&-"] {
            let here = tempfile::tempdir().expect("a folder");
            put(&scene.old, here.path());
            let out = closed(here.path(), scene.cache.path(), which, command.arguments);
            assert!(matches!(out.status.code(), Some(0 | 1)), "{} {which}: {:?}", command.name, out.status);
            let now = files(here.path());
            scene.assert_whole(command, &now, which);
            assert!(scene.is_done(command, &now), "{} {which}", command.name);
        }
    }
}

const MACHINE: [&str; 5] = ["json", "jsonl", "csv", "github", "sarif"];

#[test]
fn row_47_the_surroundings_change_no_byte() {
    let scene = Scene::new(&[]);
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    let surroundings: [&[(&str, &str)]; 8] = [
        &[("COLUMNS", "1"), ("TERM", "xterm-256color"), ("COLORTERM", "truecolor")],
        &[("COLUMNS", "0"), ("LANG", "C")],
        &[("COLUMNS", "999999"), ("LC_ALL", "tr_TR.UTF-8")],
        &[("COLUMNS", "-7"), ("LC_NUMERIC", "de_DE.UTF-8"), ("LANGUAGE", "de")],
        &[("TZ", "Pacific/Chatham"), ("NO_COLOR", "1")],
        &[("TZ", ":/nonexistent"), ("TERM", "dumb"), ("CLICOLOR_FORCE", "1")],
        &[("RUST_BACKTRACE", "full"), ("RUST_LOG", "trace"), ("RAYON_NUM_THREADS", "7")],
        &[("PATH", ""), ("PWD", "/nowhere"), ("TMPDIR", "/nowhere"), ("XDG_CACHE_HOME", "/nowhere")],
    ];
    let mut tried = 0;
    for arguments in ANSWERS {
        for format in MACHINE.iter().chain(&["text", "markdown"]) {
            let run = |more: &[(&str, &str)]| {
                let mut command = program(here.path(), scene.cache.path());
                let out = command.args(arguments).args(["--format", format]).envs(more.iter().copied()).output().expect("runs");
                (out.status.code(), text(&out.stdout))
            };
            let plain = run(&[]);
            let some = surroundings.iter().enumerate().filter(|(at, _)| full() || (at + tried) % 4 == 0);
            for (_, more) in some {
                assert_eq!(run(more), plain, "{arguments:?} --format {format} with {more:?}");
            }
            tried += 1;
        }
    }
}
