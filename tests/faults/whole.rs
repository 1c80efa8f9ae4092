//! Row 45: several files are written all or none, whenever the program is killed or asked to stop.

use super::kills::Dice;
use super::scene::{ALL, Scene, Writing, files, full, lacks, program, put, text};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

/// Of a short run: one file, several records, files with a recording, a folder of results.
const SHORT: [&str; 6] = ["tidy", "import results", "import curve", "new source", "plan --out", "new"];

fn commands() -> Vec<Writing> {
    ALL.into_iter().filter(|c| full() || SHORT.contains(&c.name)).collect()
}

/// How long each command takes undisturbed.
fn times(scene: &Scene, commands: &[Writing]) -> Vec<Duration> {
    let time = |command: &Writing| {
        let here = tempfile::tempdir().expect("a folder");
        put(&scene.old, here.path());
        let start = Instant::now();
        program(here.path(), scene.cache.path()).args(command.arguments).output().expect("runs");
        start.elapsed()
    };
    commands.iter().map(time).collect()
}

#[test]
fn row_45_random_kills_leave_old_or_new_as_a_whole_and_no_litter() {
    let commands = commands();
    let scene = Scene::new(&commands);
    let times = times(&scene, &commands);
    // Every command meets as many: at least 200 in all.
    let kills = if full() { commands.len() * 8 } else { 12 };
    let mut dice = Dice(45);
    let (mut landed, mut in_the_write, mut old, mut new) = (0, 0, 0, 0);
    for round in 0..kills {
        let which = round % commands.len();
        let command = &commands[which];
        let here = tempfile::tempdir().expect("a folder");
        put(&scene.old, here.path());
        let mut child = program(here.path(), scene.cache.path())
            .args(command.arguments)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("starts");
        // Most of the time goes into reading; the later half meets the write more often.
        let wait = times[which].mul_f64(if round % 2 == 0 { dice.share() } else { 0.6 + 0.45 * dice.share() });
        std::thread::sleep(wait);
        landed += usize::from(child.try_wait().expect("known").is_none());
        let _ = child.kill();
        child.wait().expect("ends");
        in_the_write += usize::from(here.path().join(".gripbook-write").exists());
        let what = format!("kill {round} after {wait:?}");
        // Torn: a file that is neither as before nor as afterwards.
        scene.assert_whole(command, &files(here.path()), &what);
        if scene.assert_mended(command, here.path(), &what) { new += 1 } else { old += 1 }
    }
    println!(
        "row 45: {kills} random kills over {} commands, {landed} before the end, {in_the_write} in the write; afterwards {old} old, \
         {new} new, torn 0, mixed 0, leftovers 0",
        commands.len()
    );
}

/// Starts a program in a pseudo-terminal of its own, answers its questions, waits, and presses Ctrl-C.
const AT_A_TERMINAL: &str = r#"
import os, pty, select, sys, time
wait, interrupt, answers = float(sys.argv[1]), sys.argv[2] == "yes", sys.argv[3]
pid, terminal = pty.fork()
if pid == 0:
    os.execv(sys.argv[4], sys.argv[4:])
seen = b""
def read(until):
    global seen
    while time.time() < until:
        ready, _, _ = select.select([terminal], [], [], max(0, until - time.time()))
        if not ready:
            return True
        try:
            some = os.read(terminal, 65536)
        except OSError:
            return False
        if not some:
            return False
        seen += some
    return True
for answer in [a for a in answers.split("\n") if a]:
    read(time.time() + 0.4)
    os.write(terminal, (answer.strip() + "\n").encode())
alive = read(time.time() + wait)
if alive and interrupt:
    try:
        os.write(terminal, b"\x03")
    except OSError:
        pass
read(time.time() + 30)
_, status = os.waitpid(pid, 0)
os.write(1, seen)
print("\nENDED", "signal" if os.WIFSIGNALED(status) else "exit", os.WTERMSIG(status) if os.WIFSIGNALED(status) else os.WEXITSTATUS(status))
"#;

fn at_a_terminal(
    scene: &Scene,
    here: &std::path::Path,
    wait: Duration,
    interrupt: bool,
    answers: &str,
    arguments: &[&str],
) -> Output {
    Command::new("python3")
        .args(["-c", AT_A_TERMINAL, &wait.as_secs_f64().to_string(), if interrupt { "yes" } else { "no" }, answers])
        .arg(env!("CARGO_BIN_EXE_gripbook"))
        .args(arguments)
        .current_dir(here)
        .env("GRIPBOOK_CACHE", scene.cache.path())
        .env("HOME", here)
        .env("RAYON_NUM_THREADS", "1")
        .stdin(Stdio::null())
        .output()
        .expect("runs")
}

#[test]
fn row_45_ctrl_c_at_a_terminal_leaves_old_or_new_as_a_whole() {
    if lacks("python3", &["python3", "-c", "import pty"]) {
        return;
    }
    let commands = commands();
    let scene = Scene::new(&commands);
    let times = times(&scene, &commands);
    let mut dice = Dice(46);
    let rounds = if full() { 4 } else { 1 };
    let (mut pressed, mut stopped, mut new) = (0, 0, 0);
    for (command, time) in commands.iter().zip(&times) {
        for _ in 0..rounds {
            let here = tempfile::tempdir().expect("a folder");
            put(&scene.old, here.path());
            let wait = time.mul_f64(0.2 + 0.9 * dice.share());
            let out = at_a_terminal(&scene, here.path(), wait, true, "", command.arguments);
            let said = text(&out.stdout);
            let ended = said.rsplit("ENDED ").next().unwrap_or_default().trim().to_owned();
            assert!(
                ended == "signal 2" || ended == "exit 0" || ended == "exit 1",
                "{}: {said}{}",
                command.name,
                text(&out.stderr)
            );
            pressed += 1;
            stopped += usize::from(ended == "signal 2");
            // Ctrl-C waits for a write that has begun, so nothing is left even before the next start.
            let now = files(here.path());
            assert_eq!(scene.assert_whole(command, &now, "Ctrl-C"), 0, "{}: a part was left", command.name);
            new += usize::from(scene.assert_mended(command, here.path(), &format!("Ctrl-C after {wait:?}")));
        }
    }
    println!(
        "row 45: Ctrl-C {pressed} times in {} commands, {stopped} stopped, {new} done, torn 0, mixed 0, leftovers 0",
        commands.len()
    );
}

/// Ctrl-C at a question leaves everything as it was; answers make the record.
#[test]
fn row_45_ctrl_c_at_a_question_writes_nothing_and_answers_write_the_record() {
    if lacks("python3", &["python3", "-c", "import pty"]) {
        return;
    }
    let scene = Scene::new(&[]);
    let asks: [&[&str]; 4] = [
        &["import", "table", "loads.csv", "--series", "lid", "--source", "pulls-2026-05", "--method", "cut-thread"],
        &["new", "series"],
        &["new", "pack"],
        &["add", "polymer/grey"],
    ];
    for arguments in asks {
        let here = tempfile::tempdir().expect("a folder");
        put(&scene.old, here.path());
        let out = at_a_terminal(&scene, here.path(), Duration::from_secs(3), true, "", arguments);
        assert!(text(&out.stdout).contains("ENDED signal 2"), "{arguments:?}: {}", text(&out.stdout));
        assert_eq!(files(here.path()), scene.old, "{arguments:?}");
    }
    let here = tempfile::tempdir().expect("a folder");
    put(&scene.old, here.path());
    let answers = "tg\n60.5 °C\npulls-2026-05\nsheet 9\nmeasured\n5\n1.1 K\nn-1\nDSC\n";
    // The first question comes when the book is loaded.
    let out = at_a_terminal(
        &scene,
        here.path(),
        Duration::from_secs(5),
        false,
        &format!(" \n{answers}").replacen(" \n", "", 1),
        &["add", "polymer/grey"],
    );
    let said = text(&out.stdout);
    assert!(said.contains("ENDED exit 0"), "{said}");
    let record = std::fs::read_to_string(here.path().join("polymers/grey.yaml")).expect("the record");
    let line = "    - {value: 60.5 °C, sd: 1.1 K, n: 5, sd_kind: n-1, source: pulls-2026-05, locator: sheet 9, basis: measured, method: DSC}\n";
    assert!(record.ends_with(line), "{record}");
}
