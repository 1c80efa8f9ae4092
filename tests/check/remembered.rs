//! What a check remembers changes its speed and nothing else: after every change the findings are those of a check that
//! remembers nothing.

use crate::book::begun;
use crate::book::{copy, fixture};
use gripbook::book::kinds::built_in_schemas;
use gripbook::check::packs::PackFrom;
use gripbook::check::{CheckReport, CheckRequest, Memory, Targets, run_with};
use gripbook::finding::Finding;
use gripbook::index::Cache;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

struct Bench {
    folder: tempfile::TempDir,
}

/// Far enough ahead that every stamp is believed, as it is two seconds after the last change.
fn later() -> i64 {
    let now = SystemTime::now() + Duration::from_secs(60);
    i64::try_from(now.duration_since(UNIX_EPOCH).expect("after 1970").as_nanos()).expect("before 2262")
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().expect("a folder");
        copy(&fixture("coating"), &folder.path().join("pack"));
        Bench { folder }
    }
    fn path(&self, inside: &str) -> PathBuf {
        self.folder.path().join("pack").join(inside)
    }
    fn write(&self, inside: &str, text: &str) {
        fs::create_dir_all(self.path(inside).parent().expect("below")).expect("a folder");
        fs::write(self.path(inside), text).expect("written");
        // The clock of the file system is coarse, and two edits within a tick of it look alike.
        std::thread::sleep(Duration::from_millis(12));
    }
    fn check(&self, memory: Option<&dyn Memory>) -> CheckReport {
        let packs = vec![super::book(), PackFrom::Folder(self.folder.path().join("pack"))];
        run_with(&CheckRequest { shared: built_in_schemas(), packs, targets: Targets::Packs(vec![1]) }, memory)
            .expect("sound schemas")
    }
    fn cache(&self) -> Cache {
        Cache::new(&self.folder.path().join("cache"), Path::new("."), false, begun())
    }
    /// Checks with memory that believes stamps and with memory that does not, and without any.
    fn assert_same(&self, why: &str) -> Vec<Finding> {
        let cold = self.check(None);
        for (name, cache) in
            [("young", self.cache()), ("old", self.cache().begun(later())), ("again", self.cache().begun(later()))]
        {
            let warm = self.check(Some(&cache));
            assert_eq!(warm.findings, cold.findings, "{why}, {name}");
            assert_eq!((warm.files, warm.records), (cold.files, cold.records), "{why}, {name}");
            assert_eq!(cache.notice(), None);
        }
        cold.findings
    }
    /// The file in which is remembered what was found.
    fn kept(&self) -> PathBuf {
        let folders = fs::read_dir(self.folder.path().join("cache")).expect("a cache");
        let mut files = folders.map(|entry| entry.expect("an entry").path().join("findings")).filter(|path| path.exists());
        files.next().expect("findings are kept")
    }
}

const SOURCE: &str = "type: campaign\ntitle: Another day\nissued: \"2026\"\nby: the workshop\n";

fn rules(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|f| f.rule).collect()
}

#[test]
fn after_every_change_the_findings_are_those_of_a_cold_check() {
    let bench = Bench::new();
    assert!(bench.assert_same("sound").is_empty());
    let text = fs::read_to_string(bench.path("coatings/silt-shield.yaml")).expect("read");
    bench.write("coatings/silt-shield.yaml", &text.replace("12 µm", "12 kg"));
    assert_eq!(rules(&bench.assert_same("a wrong unit")), ["unit-wrong-quantity"]);
    bench.write("coatings/silt-shield.yaml", &text.replace("varnish-day-2026", "varnish-day-2027"));
    let unknown = bench.assert_same("a source that is not there");
    assert!(!unknown.is_empty() && rules(&unknown).iter().all(|rule| *rule == "source-unknown"), "{unknown:?}");
    // The record is as it was, and what it names comes in.
    bench.write("sources/varnish-day-2027.yaml", SOURCE);
    assert!(bench.assert_same("the source came").is_empty());
    // The records are as they were, and what one of them names is gone.
    fs::remove_file(bench.path("sources/varnish-day-2027.yaml")).expect("removed");
    assert_eq!(bench.assert_same("the source went"), unknown);
    // A near name comes in, which is offered as help.
    bench.write("sources/varnish-day-2028.yaml", SOURCE);
    let offered = bench.assert_same("another source came");
    assert!(offered.iter().all(|f| f.help != unknown[0].help || f.rule != unknown[0].rule) || offered == unknown);
    bench.write("coatings/Silt-Shield.yaml", &text);
    assert!(rules(&bench.assert_same("a twin")).contains(&"id-twin"));
    fs::remove_file(bench.path("coatings/Silt-Shield.yaml")).expect("removed");
    bench.write("pack.yaml", "id: other\ntitle: Other\nlicence: none\n");
    assert!(rules(&bench.assert_same("another licence")).contains(&"licence-unknown"));
    let schema = fs::read_to_string(bench.path("schemas/coating.schema.json")).expect("read");
    bench.write("schemas/coating.schema.json", &schema.replace("layer_thickness", "thickness_of_layer"));
    assert!(rules(&bench.assert_same("another schema")).contains(&"key-unknown"));
    fs::remove_dir_all(bench.path("schemas")).expect("removed");
    assert!(rules(&bench.assert_same("no schema")).contains(&"kind-unknown"));
}

#[test]
fn other_packs_count_too() {
    let bench = Bench::new();
    let other = bench.folder.path().join("other");
    fs::create_dir_all(other.join("sources")).expect("a folder");
    fs::write(other.join("pack.yaml"), "id: sources\ntitle: Sources\nlicence: CC0-1.0\n").expect("written");
    let text = fs::read_to_string(bench.path("coatings/silt-shield.yaml")).expect("read");
    bench.write("coatings/silt-shield.yaml", &text.replace("varnish-day-2026", "varnish-day-2027"));
    let both = |memory: Option<&dyn Memory>| {
        let packs = vec![super::book(), PackFrom::Folder(other.clone()), PackFrom::Folder(bench.path(""))];
        run_with(&CheckRequest { shared: built_in_schemas(), packs, targets: Targets::Packs(vec![2]) }, memory)
            .expect("sound schemas")
    };
    for there in [false, true, false] {
        let source = other.join("sources/varnish-day-2027.yaml");
        if there {
            fs::write(&source, SOURCE).expect("written")
        } else {
            drop(fs::remove_file(&source))
        }
        let cold = both(None).findings;
        assert_eq!(cold.is_empty(), there);
        for _ in 0..2 {
            assert_eq!(both(Some(&bench.cache().begun(later()))).findings, cold, "{there}");
        }
    }
}

#[test]
fn an_unchanged_pack_is_answered_from_memory_and_nothing_is_written() {
    let bench = Bench::new();
    bench.assert_same("sound");
    let stamp = |path: &Path| fs::metadata(path).and_then(|m| m.modified()).expect("a time");
    let before = stamp(&bench.kept());
    let text = fs::read_to_string(bench.path("coatings/silt-shield.yaml")).expect("read");
    bench.write("coatings/silt-shield.yaml", &text.replace("12 µm", "12 kg"));
    bench.assert_same("a wrong unit");
    let between = stamp(&bench.kept());
    assert_ne!(before, between);
    bench.assert_same("unchanged");
    assert_eq!(stamp(&bench.kept()), between, "an unchanged pack writes nothing");
}

#[test]
fn damaged_memory_is_as_good_as_none() {
    let bench = Bench::new();
    let text = fs::read_to_string(bench.path("coatings/silt-shield.yaml")).expect("read");
    bench.write("coatings/silt-shield.yaml", &text.replace("12 µm", "12 kg"));
    bench.assert_same("a wrong unit");
    for round in 0..40 {
        let file = bench.kept();
        let mut bytes = fs::read(&file).expect("read");
        let at = round * 131 % bytes.len();
        if round % 3 == 0 {
            bytes.truncate(at)
        } else {
            bytes[at] ^= 1 << (round % 8)
        }
        fs::write(&file, bytes).expect("written");
        bench.assert_same(&format!("damaged at {at}"));
    }
    fs::remove_dir_all(bench.folder.path().join("cache")).expect("removed");
    bench.assert_same("deleted");
}

#[test]
fn a_place_that_cannot_be_written_is_said_and_changes_nothing() {
    let bench = Bench::new();
    let taken = bench.folder.path().join("taken");
    fs::write(&taken, "a file where a folder should be").expect("written");
    let cache = Cache::new(&taken, Path::new("."), false, begun());
    assert_eq!(bench.check(Some(&cache)).findings, bench.check(None).findings);
    assert!(cache.notice().is_some_and(|notice| notice.contains("cannot be written")));
}

#[test]
fn when_asked_every_file_is_read() {
    let bench = Bench::new();
    let file = bench.path("coatings/silt-shield.yaml");
    let text = fs::read_to_string(&file).expect("read");
    let old = fs::metadata(&file).and_then(|m| m.modified()).expect("a time");
    bench.assert_same("sound");
    // Same size and same time of the content; the time of the entry differs, where the platform has one.
    fs::write(&file, text.replace("12 µm", "12 kPa")).expect("written");
    fs::File::options().write(true).open(&file).and_then(|f| f.set_modified(old)).expect("set");
    let all = Cache::new(&bench.folder.path().join("cache"), Path::new("."), true, begun()).begun(later());
    assert_eq!(rules(&bench.check(Some(&all)).findings), ["unit-wrong-quantity"]);
    if cfg!(unix) {
        bench.assert_same("seen by the time of the entry");
    }
}

#[test]
fn recordings_that_come_and_go_count_for_a_series_that_is_as_it_was() {
    let bench = Bench::new();
    fs::remove_dir_all(bench.path("")).expect("removed");
    copy(&super::repository().join("records/demo"), &bench.path(""));
    assert!(bench.assert_same("sound").is_empty());
    let recording = fs::read_to_string(bench.path("series/logger-clear-own-resin-m3/r1.csv")).expect("read");
    bench.write("series/logger-clear-own-resin-m3/extra.csv", &recording);
    assert_eq!(rules(&bench.assert_same("a recording nobody names")), ["curve-unnamed"]);
    fs::remove_file(bench.path("series/logger-clear-own-resin-m3/extra.csv")).expect("removed");
    assert!(bench.assert_same("sound again").is_empty());
    fs::remove_file(bench.path("series/logger-clear-own-resin-m3/r1.csv")).expect("removed");
    assert_eq!(rules(&bench.assert_same("a recording is gone")), ["curve-missing"]);
}
