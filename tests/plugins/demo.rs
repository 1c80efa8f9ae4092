//! The demo pack's plug-ins: each does natively and in the sandbox the same, to the bit, and what it does goes through `import` and
//! `audit` as from our own.

use super::super::audit::formats::{gripbook, text};
use super::word::{demo, digits};
use gripbook::finding::Finding;
use gripbook::sandbox::{ImporterPlugin, Module};
use gripbook::series::importer::{Ask, Importer, ImporterCard, RowIn, Sink};
use std::fs;

#[path = "../../records/demo/plugins/sources/river-log/src/lib.rs"]
// A crate of its own, of which the tests use a part; its exports are for another target.
#[allow(dead_code, unused_macros, missing_docs, reason = "the plug-in's own source, of which the test calls the importer only")]
mod river_log;

use river_log::contract::{Begin, Importer as _};

/// A log of the workshop's tester: a pull to a peak, in counts of 0.25 N and steps of 625 nm.
pub fn log(samples: u32) -> Vec<u8> {
    let mut all = b"RVLG\x01\0\0\0".to_vec();
    for word in [samples, 250, 625, 40, 0, 0] {
        all.extend(word.to_le_bytes());
    }
    let mut sum = 0i32;
    for i in 0..samples {
        let share = f64::from(i) / f64::from(samples);
        let counts = if share < 0.9 { 40 + (share * 4000.0) as i32 } else { 40 };
        all.extend((i * 4000 / samples.max(1)).to_le_bytes());
        all.extend(counts.to_le_bytes());
        sum = sum.wrapping_add(counts);
    }
    all.extend(sum.to_le_bytes());
    all
}

#[derive(Default)]
struct Taken(Vec<(u64, u64, u64)>);

impl Sink for Taken {
    fn sample(&mut self, travel: f64, load: f64, line: u64) {
        self.0.push((travel.to_bits(), load.to_bits(), line));
    }
    fn row(&mut self, _: RowIn) {}
    fn progress(&mut self, _: u64) {}
}

pub const RIVER_LOG: ImporterCard = ImporterCard { name: "river-log", takes: "", example: "" };
const DIAL_COUNTS: ImporterCard = ImporterCard { name: "dial-counts", takes: "", example: "" };

/// Travel, load and number of each sample, to the bit.
type Samples = Vec<(u64, u64, u64)>;

pub fn sandboxed(card: &'static ImporterCard, bytes: &[u8], ask: &Ask) -> Result<Samples, Vec<Finding>> {
    through(card, &fs::read(demo(&format!("{}.wasm", card.name))).expect("a module"), bytes, ask)
}

pub fn through(card: &'static ImporterCard, module: &[u8], bytes: &[u8], ask: &Ask) -> Result<Samples, Vec<Finding>> {
    let plugin = ImporterPlugin::new(card, Module::new(module).expect("a right module")).expect("an importer");
    let mut sink = Taken::default();
    plugin.read(&mut &*bytes, ask, &mut sink)?;
    Ok(sink.0)
}

/// The same code, run without a sandbox.
fn native(bytes: &[u8], begin: Begin) -> (Samples, Vec<String>) {
    let mut importer = river_log::RiverLog::default();
    let mut all = importer.begin(begin);
    for (at, block) in bytes.chunks(1 << 17).enumerate() {
        let taken = importer.take(block, (at + 1) << 17 > bytes.len());
        all.samples.extend(taken.samples);
        all.findings.extend(taken.findings);
    }
    let word = |bytes: &[u8]| u64::from_le_bytes(bytes.try_into().expect("eight bytes"));
    let samples = all.samples.chunks(24).map(|s| (word(&s[..8]), word(&s[8..16]), word(&s[16..])));
    (samples.collect(), all.findings.into_iter().map(|f| f.message).collect())
}

#[test]
fn a_native_and_a_sandboxed_run_give_the_same_bits() {
    for (samples, cut) in [(0, 0), (1, 0), (5_000, 0), (100_000, 0), (5_000, 9), (5_000, 20_000)] {
        let mut bytes = log(samples);
        bytes.truncate(bytes.len() - cut);
        for reversed in [false, true] {
            let ask = Ask { file: "a.log".into(), reversed, zero: 1.5, ..Ask::default() };
            let (wanted, said) = native(&bytes, Begin { file: "a.log".into(), reversed, zero: 1.5, ..Begin::default() });
            let got = sandboxed(&RIVER_LOG, &bytes, &ask).expect("it can be read");
            assert!(got == wanted, "{samples} samples, {cut} bytes cut: {} against {}", got.len(), wanted.len());
            assert_eq!(said.is_empty(), cut == 0, "{said:?}");
        }
    }
    // A wrong sum stops both.
    let mut wrong = log(100);
    wrong[37] ^= 1;
    let said = native(&wrong, Begin::default()).1;
    let stopped = sandboxed(&RIVER_LOG, &wrong, &Ask::default()).expect_err("a wrong sum");
    assert_eq!(stopped[0].message, format!("river-log: {}", said[0]));
}

/// The module written by hand, against the rule in its head.
#[test]
fn the_hand_written_module_reads_counts() {
    for n in [0usize, 1, 3, 65_536, 65_537, 200_001] {
        let counts: Vec<u16> = (0..n).map(|i| (i * 7 % 60_000) as u16).collect();
        let bytes: Vec<u8> = counts.iter().flat_map(|c| c.to_le_bytes()).collect();
        let got = sandboxed(&DIAL_COUNTS, &bytes, &Ask::default()).expect("it can be read");
        let wanted: Vec<_> = counts
            .iter()
            .enumerate()
            .map(|(i, c)| ((i as f64 / 100.0).to_bits(), (f64::from(*c) / 10.0).to_bits(), i as u64 + 1))
            .collect();
        assert!(got == wanted, "{n} counts");
    }
}

/// The text of the module written by hand is what lies in the pack.
#[test]
fn the_hand_written_module_is_made_of_its_text() {
    let text = fs::read_to_string(demo("sources/dial-counts/dial-counts.wat")).expect("a text");
    assert_eq!(wat::parse_str(&text).expect("a module"), fs::read(demo("dial-counts.wasm")).expect("a module"));
}

/// What both crates share is the file that a new plug-in gets.
#[test]
fn the_contract_is_the_same_in_every_crate() {
    let ours = include_str!("../../tools/plugin/contract.rs");
    for name in ["river-log", "house-labels"] {
        let theirs = fs::read_to_string(demo(&format!("sources/{name}/src/contract.rs"))).expect("a file");
        assert!(theirs == ours, "{name}: copy tools/plugin/contract.rs to its src");
    }
}

/// The records of the modules have the right checksums.
#[test]
fn records_and_modules_agree() {
    for name in ["river-log", "house-labels", "dial-counts"] {
        let record = fs::read_to_string(demo(&format!("{name}.yaml"))).expect("a record");
        assert!(record.contains(&format!("sha256: \"{}\"\n", digits(name))), "{name}: tools/plugin/build records/demo");
    }
}

/// A log of the tester becomes a specimen; the samples are kept as text that needs no plug-in.
#[test]
fn a_log_is_imported_by_its_plugin() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    fs::write(here.join("a1.log"), log(5_000)).expect("written");
    let made = gripbook(here, &["new", "pack", "--id", "mine", "--name", "Mine", "--set", "licence=CC0-1.0", "--into", "mine"]);
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let plugin = format!("river-log={}", digits("river-log"));
    let import = |more: &[&str]| {
        let line = [
            "import",
            "curve",
            "a1.log",
            "--series",
            "lid-cut-m3",
            "--pack",
            "mine",
            "--pack",
            "demo",
            "--source",
            "river-logger-2026-03",
            "--method",
            "cut-thread",
            "--material",
            "resin/logger-grey",
            "--name",
            "Lids",
            "--mode",
            "a1=part-thread-shear",
            "--yes",
            "--format",
            "json",
        ];
        gripbook(here, &[&line[..], more].concat())
    };
    // Without the plug-in nothing is read, and nothing written.
    let out = import(&[]);
    assert_eq!(out.status.code(), Some(3), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(!here.join("mine/series").exists());
    let out = import(&["--plugin", &plugin]);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let json: serde_json::Value = serde_json::from_str(&text(&out)).expect("JSON");
    assert_eq!(json["plugins"][0]["name"], "river-log");
    let record = fs::read_to_string(here.join("mine/series/lid-cut-m3.yaml")).expect("a record");
    // 0.9 of 4000 counts over zero, of 0.25 N each; the last count below 3600 is 3599.
    assert!(record.contains("899.75 N"), "{record}");
    let kept = fs::read_to_string(here.join("mine/series/lid-cut-m3/a1.csv")).expect("samples");
    assert!(kept.starts_with("# read by the plug-in river-log, SHA-256 ") && kept.lines().count() == 5_003, "{}", &kept[..200]);
    // Read again without any plug-in, the pull is the same.
    let again = gripbook(here, &["series", "lid-cut-m3", "--pack", "mine", "--pack", "demo", "--full"]);
    assert!(text(&again).contains("899.75"), "{}{}", text(&again), String::from_utf8_lossy(&again.stderr));
}
