//! Withdrawal has consequences: a record of every kind is withdrawn from a copy of the shipped packs, and what named it is
//! looked for by another reader of YAML.

use super::formats::{gripbook, text};
use super::work::write;
use crate::book::begun;
use gripbook::book::{Book, PackRoot, Standing};
use gripbook::index::{Cache, Query, search};
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("the pack").map(|e| e.expect("an entry")) {
        let target = to.join(entry.file_name());
        match entry.path().is_dir() {
            true => copy(&entry.path(), &target),
            false => fs::copy(entry.path(), target).map(|_| ()).expect("a copy"),
        }
    }
}

pub fn shipped(pack: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("records").join(pack), folder.path());
    folder
}

pub fn json(at: &Path, words: &[&str]) -> Value {
    let output = gripbook(at, &[words, &["--format", "json"]].concat());
    serde_json::from_str(&text(&output)).unwrap_or_else(|e| panic!("{words:?}: {e} {}", String::from_utf8_lossy(&output.stderr)))
}

/// Every record file: kind by its folder, text as another reader of YAML sees it.
fn files(at: &Path, kinds: &BTreeMap<String, String>) -> BTreeMap<String, (PathBuf, Yaml)> {
    let mut all = BTreeMap::new();
    for (folder, kind) in kinds {
        for entry in fs::read_dir(at.join(folder)).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.extension().is_some_and(|e| e == "yaml") {
                let yaml = serde_yaml::from_str(&fs::read_to_string(&path).expect("a record")).expect("YAML");
                all.insert(format!("{kind}/{}", path.file_stem().expect("a name").to_string_lossy()), (path, yaml));
            }
        }
    }
    all
}

/// Where a text names the id: claims by property, everything else under an empty word. History and relatives do not count; a
/// series names its method by the word alone.
fn naming(yaml: &Yaml, id: &str) -> (bool, usize) {
    fn names(value: &Yaml, key: &str, id: &str) -> bool {
        let bare = id.strip_prefix("source/");
        match value {
            Yaml::String(text) => text == id || (key == "source" && bare == Some(text)),
            Yaml::Sequence(items) => items.iter().any(|item| names(item, key, id)),
            Yaml::Mapping(fields) => fields.iter().any(|(k, v)| {
                let k = k.as_str().unwrap_or_default();
                !["withdrawn", "waive", "was", "cites", "shares_specimens_with", "properties"].contains(&k) && names(v, k, id)
            }),
            _ => false,
        }
    }
    let claims = yaml["properties"].as_mapping().into_iter().flatten().flat_map(|(_, list)| list.as_sequence()).flatten();
    let of_claim = |c: &&Yaml| {
        let from = c["from"].as_sequence().into_iter().flatten().filter_map(Yaml::as_str);
        names(&c["source"], "source", id) || from.into_iter().any(|f| f.split(':').next() == Some(id))
    };
    let by_word = id.strip_prefix("method/").is_some_and(|word| yaml["joint"]["method"] == word);
    (by_word || names(yaml, "", id), claims.filter(of_claim).count())
}

fn withdraw(path: &Path) -> String {
    let before = fs::read_to_string(path).expect("a record");
    let kept: String = before.lines().filter(|l| !l.starts_with("status:")).map(|l| format!("{l}\n")).collect();
    let after = format!("{kept}status: withdrawn\nwithdrawn: {{date: 2026-06-01, because: a trial of withdrawal}}\n");
    fs::write(path, after).expect("a record");
    before
}

/// For every kind: the record is in no answer's reach, everything that names it is lost, `check` names each at its line, and
/// `affected` said so before.
#[test]
fn a_withdrawn_record_of_every_kind_takes_along_what_rests_on_it() {
    let mut tried = BTreeSet::new();
    for pack in ["book", "demo"] {
        let folder = shipped(pack);
        let at = folder.path();
        let roots = match pack {
            "book" => vec![PackRoot::Folder { path: ".".into(), stood_in: false }],
            _ => vec![PackRoot::BuiltIn, PackRoot::Folder { path: ".".into(), stood_in: false }],
        };
        let load = || Book::load(&roots, at).expect("the packs load");
        let before = load();
        assert!(before.losses().is_empty(), "{:?}", before.losses());
        let kinds = before.catalogue().kinds.iter().map(|k| (k.folder.clone(), k.word.clone())).collect();
        let all = files(at, &kinds);
        for kind in kinds.values() {
            // The one that most others name tells most.
            let of_kind = all.iter().filter(|(id, _)| id.split('/').next() == Some(kind));
            let named = |id: &str| all.values().filter(|(_, y)| naming(y, id) != (false, 0)).count();
            let Some((id, (path, _))) = of_kind.max_by_key(|(id, _)| named(id)) else { continue };
            tried.insert(kind.clone());
            one(at, pack, id, path, &all, &before, &load);
        }
    }
    let kinds = [
        "adhesive", "insert", "metal", "method", "nut", "plugin", "polymer", "primer", "process", "resin", "rig", "rule",
        "screw", "search", "series", "source",
    ];
    assert_eq!(tried.into_iter().collect::<Vec<_>>(), kinds);
}

fn one(
    at: &Path,
    pack: &str,
    id: &str,
    path: &Path,
    all: &BTreeMap<String, (PathBuf, Yaml)>,
    before: &Book,
    load: &dyn Fn() -> Book,
) {
    let said = json(at, &["affected", id]);
    let text_before = withdraw(path);
    let book = load();
    let (kind, name) = id.split_once('/').expect("an id");
    assert!(book.left_out.is_empty(), "{id}: {:?}", book.left_out);
    assert!(!book.record(id).expect("it is still shown").current, "{id}");
    assert!(book.in_use(id).is_none() && book.of_kind(kind).all(|r| r.id.as_str() != id), "{id}");
    let role = book.role(before.record(id).expect("it was there")).to_owned();
    assert!(book.of_role(&role).all(|r| r.id.as_str() != id), "{id}");
    let everything = Query { limit: usize::MAX, ..Query::default() };
    assert!(search(&book, &everything).hits.iter().all(|h| h.id.as_str() != id), "{id} is found");
    // What names it, by the other reader.
    let mut citing = BTreeSet::new();
    for (other, (_, yaml)) in all.iter().filter(|(other, _)| *other != id) {
        let (whole, claims) = naming(yaml, id);
        let record = book.record(other).expect("a record");
        let provenance = yaml["provenance"].as_sequence().map_or(0, Vec::len);
        if whole && provenance < 2 && !yaml["hole_offset"].is_sequence() {
            assert!(!record.current, "{other} names {id} and is still used");
        }
        let lost = record.properties.iter().flat_map(|p| &p.claims).filter(|c| c.standing == Standing::Withdrawn).count();
        assert!(lost >= claims, "{other}: {lost} of {claims} claims that name {id}");
        if whole || claims > 0 {
            citing.insert(other.clone());
        } else if record.current {
            let own = before.record(other).expect("it was there");
            assert!(lost == 0 || record.properties.len() == own.properties.len(), "{other}");
        }
    }
    // `check` names each, and nothing else.
    let checked = json(at, &["check"]);
    let found = checked["findings"].as_array().expect("findings").iter().filter(|f| f["rule"] == "withdrawn-cited");
    let found: Vec<&Value> = found.collect();
    assert!(found.iter().all(|f| f["line"].is_number()), "{id}: {found:?}");
    let cites = all.iter().filter(|(_, (_, y))| {
        y["cites"].as_sequence().is_some_and(|list| list.iter().any(|c| c.as_str() == Some(name) && kind == "source"))
    });
    let expected: BTreeSet<String> = citing.iter().cloned().chain(cites.map(|(id, _)| id.clone())).collect();
    let subject = |f: &&Value| f["subject"].as_str().unwrap_or_default().split(':').next().unwrap_or_default().to_owned();
    assert_eq!(found.iter().map(subject).collect::<BTreeSet<_>>(), expected, "{pack} {id}");
    // `affected` had named them.
    let told: BTreeSet<String> = said["used_by"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|u| u["name"].as_str())
        .map(|n| n.split(':').next().unwrap_or(n).to_owned())
        .collect();
    assert!(citing.is_subset(&told), "{id}: {:?} are not told", citing.difference(&told).collect::<Vec<_>>());
    fs::write(path, text_before).expect("the record as it was");
}

#[test]
fn an_answer_says_what_it_lost_and_where_it_stood_nothing_is_left() {
    let folder = shipped("demo");
    let at = folder.path();
    let ask = ["fasten", "--material", "logger-grey", "--thread", "M3", "--length", "6mm", "--draws", "500"];
    let before = json(at, &ask);
    assert!(before["lost"].is_null(), "nothing is lost yet: {}", before["lost"]);
    assert!(!before["calibration"]["used"].as_array().expect("a list").is_empty());
    let done = gripbook(
        at,
        &["withdraw", "source/river-logger-2026-03", "--because", "the load cell was broken", "--date", "2026-06-01"],
    );
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(text(&done).contains("goes with it"), "{}", text(&done));

    let after = json(at, &ask);
    let lost = &after["lost"][0];
    assert_eq!(
        (lost["withdrawn"].as_str(), lost["because"].as_str()),
        (Some("source/river-logger-2026-03"), Some("the load cell was broken"))
    );
    let used = after["calibration"]["used"].to_string();
    assert!(!used.contains("logger-grey-cut-m3"), "{used}");
    let screen = text(&gripbook(at, &ask));
    assert!(screen.contains("Withdrawn: source/river-logger-2026-03, the load cell was broken"), "{screen}");
    // The heading of the whole page says it once for all.
    let whole = text(&gripbook(at, &[&ask[..], &["--full"]].concat()));
    assert!(whole.contains("- source/river-logger-2026-03, the load cell") && !whole.contains("Withdrawn: "), "{whole}");

    let claims = text(&gripbook(at, &["export", "--what", "claims", "--format", "csv"]));
    assert!(!claims.contains("river-logger-2026-03"), "a lost claim is exported");
    let measured = gripbook(at, &["export", "--what", "measurements", "--format", "csv"]);
    assert!(!text(&measured).contains("river-logger-2026-03"), "a lost series is exported");
    assert!(String::from_utf8_lossy(&measured.stderr).contains("Withdrawn: source/river-logger-2026-03"));
    assert!(!text(&gripbook(at, &["export", "--what", "bibtex"])).contains("river-logger-2026-03"));

    let series = gripbook(at, &["series", "logger-grey-cut-m3"]);
    assert_eq!(series.status.code(), Some(1), "{}", text(&series));
    assert!(String::from_utf8_lossy(&series.stderr).contains("the load cell was broken"));
    let bibliography = json(at, &["find", "--where", "tensile_strength > 1 MPa", "--limit", "0"]);
    assert!(bibliography["lost"].to_string().contains("river-logger-2026-03"), "{}", bibliography["lost"]);
}

#[test]
fn a_withdrawn_subject_is_refused_with_what_takes_its_place() {
    let folder = shipped("demo");
    let at = folder.path();
    let words =
        ["withdraw", "resin/logger-grey", "--because", "two resins under one name", "--replaced-by", "resin/logger-clear"];
    assert_eq!(gripbook(at, &words).status.code(), Some(0));
    for asked in
        [&["fasten", "logger-grey", "M3"][..], &["suits", "cyanoacrylate-thick", "logger-grey"], &["export", "logger-grey"]]
    {
        let refused = gripbook(at, asked);
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_ne!(refused.status.code(), Some(0), "{asked:?}");
        assert!(
            said.contains("two resins under one name") && said.contains("resin/logger-clear takes its place"),
            "{asked:?}: {said}"
        );
    }
    let shown = text(&gripbook(at, &["show", "logger-grey"]));
    assert!(shown.contains("WITHDRAWN: two resins under one name; resin/logger-clear takes its place"), "{shown}");
    let gaps = text(&gripbook(at, &["gaps", "--by", "method", "--full"]));
    assert!(!gaps.contains("logger-grey "), "{gaps}");
}

const GREY: &str = "name: Grey\nfamily: pla\nproperties:\n  tensile_strength:\n    - {value: 52 MPa, source: first, locator: p. 1, basis: measured}\n    - {value: 47 MPa, source: second, locator: p. 1, basis: measured}\n  shear_strength:\n    - {value: 30 MPa, basis: computed, from: [\"polymer/grey:tensile_strength#KEY\"]}\n  yield_strength:\n    - {value: 40 MPa, basis: computed, from: [\"polymer/grey:shear_strength\"]}\n  tensile_modulus:\n    - {value: 2 GPa, basis: computed, from: [\"polymer/grey:tensile_strength\"]}\n";

fn bench() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    write(at, "pack.yaml", "id: mine\ntitle: Mine\nlicence: CC0-1.0\n");
    for source in ["first", "second"] {
        write(at, &format!("sources/{source}.yaml"), "type: campaign\ntitle: Tests\nissued: 2026-03\nby: bench\n");
    }
    write(at, "polymers/grey.yaml", &GREY.replace("#KEY", ""));
    let root = PackRoot::Folder { path: ".".into(), stood_in: false };
    let book = Book::load(&[root], at).expect("loads");
    let key = book.record("polymer/grey").expect("grey").claims("tensile_strength")[0].key.to_string();
    write(at, "polymers/grey.yaml", &GREY.replace("KEY", &key));
    folder
}

/// Sources to claims to computed claims, and no further: what has another leg stands.
#[test]
fn what_is_computed_from_something_lost_is_lost_and_what_has_another_leg_stands() {
    let folder = bench();
    let at = folder.path();
    withdraw(&at.join("sources/first.yaml"));
    let root = PackRoot::Folder { path: ".".into(), stood_in: false };
    let book = Book::load(&[root], at).expect("loads");
    let grey = book.record("polymer/grey").expect("grey");
    let standing = |word: &str, at: usize| grey.claims(word)[at].standing;
    assert!(grey.current);
    assert_eq!((standing("tensile_strength", 0), standing("tensile_strength", 1)), (Standing::Withdrawn, Standing::Good));
    assert_eq!((standing("shear_strength", 0), standing("yield_strength", 0)), (Standing::Withdrawn, Standing::Withdrawn));
    assert_eq!(standing("tensile_modulus", 0), Standing::Good, "an address without a key rests on what is left");
    let why = grey.claims("yield_strength")[0].because.as_deref().expect("a reason");
    assert!(why.contains("source/first") && why.contains("a trial of withdrawal"), "{why}");
}

/// A claim that another one replaces is held no longer, whatever its standing says.
#[test]
fn a_replaced_claim_is_out_of_use() {
    let folder = bench();
    let at = folder.path();
    let record = "name: Red\nfamily: pla\nproperties:\n  tg:\n    - {value: 60 °C, source: first, locator: p. 1, basis: measured, replaced_by: \"polymer/red:tg\"}\n    - {value: 61 °C, source: second, locator: p. 1, basis: measured}\n";
    write(at, "polymers/red.yaml", record);
    let root = PackRoot::Folder { path: ".".into(), stood_in: false };
    let book = Book::load(&[root], at).expect("loads");
    let tg = book.record("polymer/red").expect("red").claims("tg");
    assert_eq!((tg[0].standing, tg[1].standing), (Standing::Withdrawn, Standing::Good));
}

/// An index made before the withdrawal answers as the files say now.
#[test]
fn an_old_index_finds_nothing_that_was_lost_since() {
    let folder = bench();
    let at = folder.path();
    for n in 0..6 {
        let record = format!(
            "name: Blue {n}\nfamily: pla\nproperties:\n  tg:\n    - {{value: 6{n} °C, source: first, locator: p. {n}, basis: measured}}\n"
        );
        write(at, &format!("polymers/blue-{n}.yaml"), &record);
    }
    let kept = at.join("cache");
    let root = [PackRoot::Folder { path: ".".into(), stood_in: false }];
    let found = || {
        let cache = Cache::new(&kept, at, false, begun()).large_from(3).beside_at_most(0).for_search();
        let book = Book::load_with(&root, at, &cache).expect("loads");
        let bound = gripbook::index::query::PropertyBound::read("tg > 0 °C", book.catalogue()).expect("a bound");
        let query = Query { bounds: vec![bound], limit: usize::MAX, ..Query::default() };
        let with = cache.search(&book, &query).expect("sound");
        assert_eq!(with, search(&Book::load(&root, at).expect("loads"), &query), "with and without the index");
        with.total
    };
    assert_eq!(found(), 6);
    assert_eq!(found(), 6, "from the index");
    withdraw(&at.join("sources/first.yaml"));
    assert_eq!(found(), 0);
    assert_eq!(found(), 0, "and in the next run");
}

/// Only what used it: a claim is used by no series that merely names its record; a sheet is listed once by whatever path; a
/// single result is used by what its series carries.
#[test]
fn affected_lists_only_what_used_it_and_each_sheet_once() {
    let folder = shipped("demo");
    let at = folder.path();
    fs::create_dir_all(at.join("sheets")).expect("a folder");
    let ask = [
        "fasten",
        "--material",
        "logger-grey",
        "--thread",
        "M3",
        "--length",
        "6mm",
        "--draws",
        "500",
        "--out",
        "sheets/one.json",
    ];
    gripbook(at, &ask);
    let list = |what: &str, more: &[&str]| -> Vec<(String, String)> {
        let all = json(at, &[&["affected", what][..], more].concat());
        let uses = all["used_by"].as_array().expect("a list").iter();
        uses.map(|u| (u["sort"].as_str().unwrap_or("").into(), u["name"].as_str().unwrap_or("").into())).collect()
    };
    let sorts = |uses: &[(String, String)], sort: &str| uses.iter().filter(|(s, _)| s == sort).count();
    let density = list("resin/logger-grey:density", &[]);
    assert_eq!(sorts(&density, "series"), 0, "{density:?}");
    let whole = at.join("sheets").to_string_lossy().into_owned();
    let twice = list("series/logger-grey-cut-m3", &["sheets", "sheets/one.json", &whole]);
    assert_eq!(sorts(&twice, "sheet"), 1, "{twice:?}");
    assert_eq!(sorts(&twice, "series"), 0, "a series uses no series: {twice:?}");
    let specimen = list("series/logger-grey-cut-m3:pull_out_load#c1", &[]);
    assert!(sorts(&specimen, "sheet") == 1 && sorts(&specimen, "bias") >= 1, "{specimen:?}");
    let source = list("source/river-logger-2026-03", &[]);
    assert!(source.contains(&("series".into(), "series/logger-grey-cut-m3".into())), "{source:?}");
    assert!(sorts(&source, "claim") > 10 && sorts(&source, "sheet") == 1, "{source:?}");
    assert!(!source.iter().any(|(_, name)| name == "series/logger-grey-direct-m3"), "that is of another source");
    let missing = gripbook(at, &["affected", "series/logger-grey-cut-m3:pull_out_load#zz"]);
    assert_eq!(missing.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&missing.stderr).contains("c1, c2"));
}

const DOWEL: &str = "name: Cross dowel of the tray, pulled out\nsource: river-logger-2026-03\nlocator: page 40\nbasis: invented\njoint: {test: \
                     pull-out, method: logger-cross-dowel, material: resin/logger-grey, thread: M3, length: 10 mm, hole: 3.4 mm, boss: 20 \
                     mm}\ntest: {speed: 6 mm/min, temperature: 22 °C}\nmeasurements:\n  - quantity: pull_out_load\n    n: 3\n    specimens:\n      \
                     - {label: t1, value: 820 N, mode: head-bearing}\n      - {label: t2, value: 860 N, mode: head-bearing}\n      - {label: \
                     t3, value: 905 N, mode: head-bearing}\n";
const TRAY: &str = "series/tray-dowel";

/// A series names its method by a word. It goes with the record of that name: `affected` says so before, an answer and `check`
/// afterwards, from files and from an index alike.
#[test]
fn a_series_goes_with_the_record_of_its_method() {
    let folder = shipped("demo");
    let at = folder.path();
    write(at, "series/tray-dowel.yaml", DOWEL);
    let kept = tempfile::tempdir().expect("a folder");
    let root = [PackRoot::BuiltIn, PackRoot::Folder { path: ".".into(), stood_in: false }];
    let lost = || {
        let cache = Cache::new(kept.path(), at, false, begun()).large_from(3).beside_at_most(0).for_search();
        let book = Book::load_with(&root, at, &cache).expect("loads");
        book.losses().iter().map(|loss| loss.what.clone()).collect::<Vec<_>>()
    };
    assert!(lost().is_empty() && lost().is_empty(), "the second time from the index");
    let affected = json(at, &["affected", "method/logger-cross-dowel"]);
    let of_series = affected["used_by"].as_array().expect("a list").iter().filter(|u| u["sort"] == "series");
    let told: Vec<(&str, &str)> = of_series.filter_map(|u| Some((u["name"].as_str()?, u["how"].as_str()?))).collect();
    assert_eq!(told, [(TRAY, "rests on method/logger-cross-dowel")]);
    let ask = ["fasten", "--material", "logger-grey", "--thread", "M3", "--length", "10mm", "--draws", "200"];
    let before = json(at, &ask);
    assert!(before["calibration"]["used"].to_string().contains(TRAY), "{}", before["calibration"]["used"]);

    let done = gripbook(at, &["withdraw", "method/logger-cross-dowel", "--because", "the dowels crack"]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let both = ["method/logger-cross-dowel", TRAY];
    assert_eq!(lost(), both);
    assert_eq!(lost(), both, "and in the next run");
    let after = json(at, &ask);
    assert_eq!(after["lost"][0]["lost"], serde_json::json!(both));
    assert!(!after["calibration"]["used"].to_string().contains(TRAY));
    let refused = gripbook(at, &["series", "tray-dowel"]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("the dowels crack"));
    let checked = json(at, &["check"]);
    let cited = checked["findings"].as_array().expect("findings").iter().find(|f| f["rule"] == "withdrawn-cited");
    let named = json(at, &["check", "."])["findings"].as_array().map(Vec::len);
    assert_eq!(named, checked["findings"].as_array().map(Vec::len), "the pack stood in, or named");
    let line = DOWEL.lines().position(|line| line.starts_with("joint:")).map(|at| at + 1);
    assert_eq!(cited.map(|f| (f["subject"].as_str(), f["line"].as_u64())), Some((Some(TRAY), line.map(|n| n as u64))));
}

/// What a method says of itself may lose its source: then nothing is predicted by it, and the answer says so; what was measured on
/// it stands on the source of the series.
#[test]
fn a_series_stands_without_the_source_of_its_method() {
    let folder = shipped("demo");
    let at = folder.path();
    write(at, "series/tray-dowel.yaml", DOWEL);
    write(at, "sources/drawings.yaml", "type: campaign\ntitle: Drawings (invented)\nissued: 2026-05\nby: logger workshop\n");
    let method = at.join("methods/logger-cross-dowel.yaml");
    let text = fs::read_to_string(&method).expect("the method");
    fs::write(&method, text.replace("source: river-logger-2026-05", "source: drawings")).expect("written");
    withdraw(&at.join("sources/drawings.yaml"));
    let book = Book::load(&[PackRoot::BuiltIn, PackRoot::Folder { path: ".".into(), stood_in: false }], at).expect("loads");
    assert!(book.in_use("method/logger-cross-dowel").is_none() && book.in_use(TRAY).is_some());
    let ask = ["fasten", "--material", "logger-grey", "--thread", "M3", "--length", "10mm", "--draws", "200"];
    let lost = json(at, &ask)["lost"].to_string();
    assert!(lost.contains("method/logger-cross-dowel") && !lost.contains(TRAY), "{lost}");
    assert_eq!(gripbook(at, &["series", "tray-dowel"]).status.code(), Some(0));
}
