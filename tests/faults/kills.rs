//! Rows 4 and 8: kills while an index is built, and many first runs at once.

use super::scene::{full, program, text};
use crate::book::{copy, fixture};
use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

/// A pack with enough records to get an index.
fn large_pack() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    copy(&fixture("coating"), folder.path());
    for n in 0..5_100 {
        let text = format!("type: report\ntitle: Weirkeeper note {n}\n");
        fs::write(folder.path().join(format!("sources/note-{n}.yaml")), text).expect("a record");
    }
    folder
}

const QUESTIONS: [&[&str]; 3] = [
    &["find", "weirkeeper", "note", "--kind", "source", "--limit", "5", "--format", "json"],
    &["find", "varnish", "--format", "json"],
    &["find", "--kind", "coating", "--where", "layer_thickness < 20 µm", "--format", "json"],
];

fn answers(here: &Path, cache: &Path) -> Vec<String> {
    let one = |arguments: &&[&str]| {
        let out = program(here, cache).args(*arguments).output().expect("runs");
        assert!(out.stderr.is_empty() || cache == Path::new(""), "{}", text(&out.stderr));
        text(&out.stdout)
    };
    QUESTIONS.iter().map(one).collect()
}

/// A fixed sequence of numbers in 0..1 (Steele and Vigna's SplitMix64), so that a failure can be repeated.
pub struct Dice(pub u64);

impl Dice {
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.bits() % (n.max(1) as u64)).unwrap_or(0)
    }
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[test]
fn row_04_a_kill_while_the_index_is_built_costs_no_answer() {
    let pack = large_pack();
    let mut plain = answers(pack.path(), Path::new(""));
    assert!(plain[0].contains("\"total\": 5100"), "{}", plain[0]);
    let cache = pack.path().join(".cache");
    let start = Instant::now();
    assert_eq!(answers(pack.path(), &cache), plain, "first run");
    let build = start.elapsed();
    let kills = if full() { 200 } else { 6 };
    let mut dice = Dice(4);
    let mut landed = 0;
    for round in 0..kills {
        // Half of the kills meet a first run, half a run that brings changes into an index that is there.
        if round % 2 == 0 {
            let _ = fs::remove_dir_all(&cache);
        } else {
            let note = pack.path().join(format!("sources/note-{}.yaml", dice.below(5_100)));
            let old = fs::read_to_string(&note).expect("a record");
            let kept: String = old.lines().take(2).map(|l| format!("{l}\n")).collect();
            fs::write(&note, format!("{kept}note: round {round}\n")).expect("written");
            plain = answers(pack.path(), Path::new(""));
        }
        let mut command = program(pack.path(), &cache);
        let mut child = command.args(QUESTIONS[0]).stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("starts");
        std::thread::sleep(build.mul_f64(dice.share() * if round % 2 == 0 { 1.0 } else { 0.3 }));
        landed += usize::from(child.try_wait().expect("known").is_none());
        let _ = child.kill();
        child.wait().expect("ends");
        assert_eq!(answers(pack.path(), &cache), plain, "after kill {round}");
    }
    println!("row 4: {kills} kills, {landed} landed before the end, 0 wrong answers");
}

/// Whoever does not get to write answers without the index; nobody waits for long.
#[test]
fn row_08_eight_first_runs_at_once_answer_alike_and_none_waits() {
    let pack = large_pack();
    let plain = answers(pack.path(), Path::new(""));
    let cache = pack.path().join(".cache");
    // How long eight runs take that do not meet: they share the processors all the same.
    let apart = Instant::now();
    eight(pack.path(), |_| "".into(), &plain[0]);
    let apart = apart.elapsed();
    let rounds = if full() { 25 } else { 2 };
    let mut longest = Duration::ZERO;
    for _ in 0..rounds {
        let _ = fs::remove_dir_all(&cache);
        let start = Instant::now();
        eight(pack.path(), |_| cache.clone(), &plain[0]);
        longest = longest.max(start.elapsed());
    }
    println!("row 8: {rounds} rounds of 8, longest {longest:?}, without any memory {apart:?}, 0 wrong answers");
    // The one that writes an index works longer; a wait of one for another is at most 5 s.
    assert!(longest < apart * 3 + Duration::from_secs(5), "{longest:?} against {apart:?}");
}

fn eight(here: &Path, cache: impl Fn(usize) -> std::path::PathBuf, plain: &str) {
    let start = |n| {
        let mut command = program(here, &cache(n));
        command.args(QUESTIONS[0]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("starts")
    };
    let children: Vec<_> = (0..8).map(start).collect();
    for child in children {
        let out = child.wait_with_output().expect("ends");
        assert_eq!(text(&out.stdout), plain);
        assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    }
}
