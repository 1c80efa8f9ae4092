//! Rows 1 to 3: no room, on disk or behind standard output, and a limit on the size of files.

use super::scene::{ALL, Scene, Writing, files, full, lacks, program, put, text};
use std::path::Path;
use std::process::{Command, Stdio};

/// Room left on the disk, in pages of 4 KiB: the smallest unit of a file system in memory. 16 pages are 64 KiB.
fn rooms() -> Vec<u32> {
    if full() { (0..=16).collect() } else { vec![0, 1, 3, 9] }
}

/// Mounts a disk of four megabytes, fills it but for some pages, runs the command, and copies what is there then. The program
/// and its cache stay outside. Arguments: place, prototype, results, rooms, program, its arguments.
const ON_A_SMALL_DISK: &str = r#"
set -u
place=$1 prototype=$2 results=$3 rooms=$4
shift 4
for room in $rooms; do
  mount -t tmpfs -o size=4m,nr_inodes=1000 tmpfs "$place" || exit 99
  cp -a "$prototype/." "$place" || exit 98
  head -c 8m /dev/zero >"$place/filler" 2>/dev/null
  size=$(stat -c %s "$place/filler")
  truncate -s $((size - room * 4096)) "$place/filler" || exit 97
  (cd "$place" && exec "$@" >"$results/$room.out" 2>"$results/$room.err" </dev/null)
  echo $? >"$results/$room.code"
  rm "$place/filler"
  mkdir "$results/$room" && cp -a "$place/." "$results/$room" || exit 96
  umount "$place" || exit 95
done
"#;

fn on_a_small_disk(scene: &Scene, command: &Writing, rooms: &[u32], results: &Path) {
    let place = tempfile::tempdir().expect("a folder");
    let prototype = tempfile::tempdir().expect("a folder");
    put(&scene.old, prototype.path());
    let list: Vec<String> = rooms.iter().map(u32::to_string).collect();
    let out = Command::new("unshare")
        .args(["-rm", "sh", "-c", ON_A_SMALL_DISK, "sh"])
        .args([place.path(), prototype.path(), results])
        .arg(list.join(" "))
        .arg(env!("CARGO_BIN_EXE_gripbook"))
        .args(command.arguments)
        .env("GRIPBOOK_CACHE", scene.cache.path())
        .env("HOME", place.path())
        .output()
        .expect("runs");
    assert!(out.status.success(), "{}: {:?} {}", command.name, out.status, text(&out.stderr));
}

#[test]
fn row_01_a_full_disk_leaves_the_old_files_and_no_litter() {
    if lacks("unshare with tmpfs", &["unshare", "-rm", "sh", "-c", "mount -t tmpfs tmpfs /mnt"]) {
        return;
    }
    let scene = Scene::new(&ALL);
    let (mut tried, mut refused) = (0, 0);
    for command in &ALL {
        let results = tempfile::tempdir().expect("a folder");
        on_a_small_disk(&scene, command, &rooms(), results.path());
        for room in rooms() {
            let what = format!("{} KiB left", 4 * room);
            let read = |end: &str| std::fs::read_to_string(results.path().join(format!("{room}.{end}"))).expect("kept");
            let (code, error) = (read("code"), read("err"));
            let now = files(&results.path().join(room.to_string()));
            tried += 1;
            if code.trim() == "4" {
                refused += 1;
                assert!(error.contains("No space left"), "{}, {what}: {error}", command.name);
                let named = error.split(": No space left").next().and_then(|l| l.strip_prefix("gripbook: "));
                assert!(named.is_some_and(|path| !path.is_empty()), "{}: no path in {error}", command.name);
            } else {
                assert!(["0", "1"].contains(&code.trim()), "{}, {what}: exit {code}{error}", command.name);
                assert!(scene.is_done(command, &now), "{}, {what}: exit {code} but not all is written", command.name);
            }
            let parts = scene.assert_whole(command, &now, &what);
            assert_eq!(parts, 0, "{}, {what}: a part was left", command.name);
        }
    }
    println!("row 1: {tried} tried, {refused} refused with exit 4, 0 lost");
    assert!(refused >= ALL.len(), "no room at all must be refused: {refused}");
}

/// An index that finds no room: the answer is right all the same.
#[test]
fn row_01_a_full_disk_under_the_index_costs_time_only() {
    if lacks("unshare with tmpfs", &["unshare", "-rm", "sh", "-c", "mount -t tmpfs tmpfs /mnt"]) {
        return;
    }
    let scene = Scene::new(&[]);
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    let arguments = ["find", "pla", "--format", "json"];
    let plain = program(here.path(), Path::new("")).args(arguments).output().expect("runs");
    let place = tempfile::tempdir().expect("a folder");
    let sizes: Vec<u32> = if full() { (1..=64).collect() } else { vec![1, 4, 16, 64] };
    for size in sizes {
        let run = format!("mount -t tmpfs -o size={size}k tmpfs \"$GRIPBOOK_CACHE\" && exec \"$@\"");
        let out = Command::new("unshare")
            .args(["-rm", "sh", "-c", &run, "sh", env!("CARGO_BIN_EXE_gripbook")])
            .args(arguments)
            .current_dir(here.path())
            .env("GRIPBOOK_CACHE", place.path())
            .env("HOME", here.path())
            .output()
            .expect("runs");
        assert_eq!(out.status.code(), Some(0), "{size} KiB: {}", text(&out.stderr));
        assert_eq!(text(&out.stdout), text(&plain.stdout), "{size} KiB");
    }
}

/// One call of every command that answers.
pub const ANSWERS: [&[&str]; 18] = [
    &["check", "polymers"],
    &["find", "pla"],
    &["show", "pla"],
    &["show"],
    &["suits", "cyanoacrylate-thick", "pla"],
    &["suits", "--material", "pla"],
    &["fasten", "--material", "pla", "--thread", "M3", "--length", "6mm", "--draws", "100"],
    &["series", "--loads", "520,540,610", "--unit", "N"],
    &["compare", "--a", "520,540,610", "--b", "700,720,690", "--unit", "N"],
    &["thread", "M3"],
    &["formula"],
    &["plan", "--cv", "0.1", "--tell", "0.2"],
    &["audit", "polymers"],
    &["why"],
    &["trace", "polymer/grey:tg"],
    &["affected", "polymer/grey:tg"],
    &["gaps", "--by", "method"],
    &["export", "grey"],
];

pub const FORMATS: [&str; 7] = ["text", "json", "jsonl", "csv", "markdown", "github", "sarif"];

#[test]
fn row_02_a_full_device_behind_standard_output_is_exit_4() {
    let Ok(_) = std::fs::File::open("/dev/full") else {
        assert!(!lacks("/dev/full", &["test", "-c", "/dev/full"]));
        return;
    };
    let scene = Scene::new(&[]);
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    let (mut tried, mut no_such) = (0, 0);
    for arguments in ANSWERS {
        for format in FORMATS {
            let full = std::fs::File::options().write(true).open("/dev/full").expect("opens");
            let mut command = program(here.path(), scene.cache.path());
            let out = command.args(arguments).args(["--format", format]).stdout(full).stderr(Stdio::piped()).output();
            let out = out.expect("runs");
            let error = text(&out.stderr);
            tried += 1;
            match out.status.code() {
                Some(4) => assert!(error.contains("standard output") && error.contains("No space"), "{arguments:?}: {error}"),
                // A format the answer does not have is told before anything is written.
                Some(2) if error.contains("is not available as") || error.contains("--format cannot be") => no_such += 1,
                // No finding is no annotation: there is nothing to write.
                Some(0)
                    if program(here.path(), scene.cache.path())
                        .args(arguments)
                        .args(["--format", format])
                        .output()
                        .is_ok_and(|o| o.stdout.is_empty()) =>
                {
                    no_such += 1;
                }
                code => panic!("{arguments:?} --format {format}: {code:?} {error}"),
            }
            assert!(!error.contains("panicked") && !error.contains("internal error"), "{error}");
        }
    }
    for arguments in [&["--help"][..], &["--version"], &["shell", "completions", "bash"]] {
        let full = std::fs::File::options().write(true).open("/dev/full").expect("opens");
        let status = program(here.path(), scene.cache.path()).args(arguments).stdout(full).status().expect("runs");
        assert_eq!(status.code(), Some(4), "{arguments:?}");
    }
    println!("row 2: {tried} tried, {} refused with exit 4, {no_such} with nothing to write", tried - no_such);
}

/// `ulimit -f N`: no file may grow beyond N blocks of 512 or 1,024 bytes.
#[cfg(unix)]
#[test]
fn row_03_a_limit_on_the_size_of_files_is_exit_4() {
    let scene = Scene::new(&ALL);
    let blocks: &[u32] = if full() { &[0, 1, 2, 4, 8, 16, 32] } else { &[0, 8] };
    let (mut tried, mut refused) = (0, 0);
    for command in &ALL {
        for limit in blocks {
            let here = tempfile::tempdir().expect("a folder");
            put(&scene.old, here.path());
            let out = limited(*limit, here.path(), scene.cache.path()).args(command.arguments).output().expect("runs");
            let (what, error) = (format!("ulimit -f {limit}"), text(&out.stderr));
            let now = files(here.path());
            tried += 1;
            match out.status.code() {
                Some(4) => refused += 1,
                Some(0 | 1) => assert!(scene.is_done(command, &now), "{}, {what}: {error}", command.name),
                code => panic!("{}, {what}: {code:?} {:?} {error}", command.name, out.status),
            }
            assert_eq!(scene.assert_whole(command, &now, &what), 0, "{}, {what}: a part was left", command.name);
        }
    }
    println!("row 3: {tried} tried, {refused} refused with exit 4, 0 lost");
    assert!(refused >= ALL.len());
    // Standard output into a file that may not grow.
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    let answer = std::fs::File::create(here.path().join("out.csv")).expect("a file");
    let out = limited(8, here.path(), scene.cache.path()).args(["export", "--format", "csv"]).stdout(answer).output();
    assert_eq!(out.expect("runs").status.code(), Some(4));
    // A cache that may not grow: the answer is right all the same.
    let fresh = tempfile::tempdir().expect("a folder");
    let plain = program(here.path(), Path::new("")).args(["find", "pla", "--format", "json"]).output().expect("runs");
    let out = limited(8, here.path(), fresh.path()).args(["find", "pla", "--format", "json"]).output().expect("runs");
    assert_eq!((out.status.code(), text(&out.stdout)), (Some(0), text(&plain.stdout)));
}

fn limited(blocks: u32, here: &Path, cache: &Path) -> Command {
    let mut command = Command::new("sh");
    let run = format!("ulimit -f {blocks} && exec \"$@\"");
    command.args(["-c", &run, "sh", env!("CARGO_BIN_EXE_gripbook")]).current_dir(here).env("GRIPBOOK_CACHE", cache);
    command.stdin(Stdio::null());
    command
}

/// A file system that can only be read: answers as ever with one notice, writing commands refused with exit 4.
#[test]
fn row_10_a_read_only_file_system_costs_time_only() {
    if lacks("unshare with tmpfs", &["unshare", "-rm", "sh", "-c", "mount -t tmpfs tmpfs /mnt"]) {
        return;
    }
    let scene = Scene::new(&[]);
    let prototype = tempfile::tempdir().expect("a folder");
    put(&scene.old, prototype.path());
    let place = tempfile::tempdir().expect("a folder");
    let run = |arguments: &[&str]| {
        let script = "mount -t tmpfs tmpfs \"$1\" && cp -a \"$2/.\" \"$1\" && mount -o remount,ro \"$1\" && cd \"$1\" && shift 2 && exec \"$@\"";
        let mut command = Command::new("unshare");
        command.args(["-rm", "sh", "-c", script, "sh"]).args([place.path(), prototype.path()]);
        command.arg(env!("CARGO_BIN_EXE_gripbook")).args(arguments).stdin(Stdio::null());
        command.env("GRIPBOOK_CACHE", place.path().join("cache")).env("HOME", place.path()).output().expect("runs")
    };
    for arguments in ANSWERS {
        let plain = program(prototype.path(), Path::new("")).args(arguments).output().expect("runs");
        let out = run(arguments);
        // The place itself is shown by `show` without an id.
        let same = |bytes: &[u8], folder: &tempfile::TempDir| text(bytes).replace(&*folder.path().to_string_lossy(), "HERE");
        assert_eq!(out.status.code(), plain.status.code(), "{arguments:?}: {}", text(&out.stderr));
        assert_eq!(same(&out.stdout, &place), same(&plain.stdout, &prototype), "{arguments:?}");
        assert!(text(&out.stderr).matches("cannot be written").count() <= 1, "{}", text(&out.stderr));
    }
    let find = run(&["find", "pla"]);
    assert!(text(&find.stderr).contains("cannot be written"), "{}", text(&find.stderr));
    for command in &ALL {
        let out = run(command.arguments);
        assert_eq!(out.status.code(), Some(4), "{}: {}", command.name, text(&out.stderr));
        assert!(text(&out.stderr).contains("ead-only"), "{}: {}", command.name, text(&out.stderr));
    }
}
