//! What is known: packs, records, look-ups.

use gripbook::book::choose::{Subject, Wanted, choose};
use gripbook::book::{Book, Miss, PackRoot, Value, WantedPacks};
use gripbook::index::Begun;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// A run of this process that begins now.
pub fn begun() -> Begun {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).expect("after 1970");
    Begun { at: i64::try_from(now.as_nanos()).expect("before 2262"), process: std::process::id() }
}

pub fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/packs").join(name)
}

pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("folder");
    for entry in fs::read_dir(from).expect("list") {
        let entry = entry.expect("entry");
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).expect("copy");
        }
    }
}

fn roots(here: &Path, packs: &[&str]) -> Vec<PackRoot> {
    let packs = packs.iter().map(|p| p.to_string()).collect();
    WantedPacks { packs, here: here.into(), home: None }.roots().expect("packs exist")
}

fn coating() -> Book {
    let here = fixture("coating");
    Book::load(&roots(&here, &[]), &here).expect("loads")
}

#[test]
fn a_kind_of_a_pack_is_loaded_without_code() {
    let book = coating();
    let record = book.record("coating/clear-lacquer").expect("is there");
    assert_eq!(book.role(record), "step");
    let claims = record.claims("layer_thickness");
    assert_eq!(claims.len(), 3);
    let Value::One(value) = &claims[0].value else { panic!("one value") };
    assert_eq!((&*value.text, value.si), ("40 µm", 40e-6));
    assert!(!claims[2].in_use());
    assert!(record.invented());
    assert_eq!(book.left_out, []);
}

#[test]
fn names_find_records_in_order_of_exactness() {
    let book = coating();
    let id = |text: &str| book.resolve(text, &[]).map(|r| r.id.to_string());
    assert_eq!(id("coating/clear-lacquer").as_deref(), Ok("coating/clear-lacquer"));
    assert_eq!(id("Clear-Lacquer").as_deref(), Ok("coating/clear-lacquer"));
    assert_eq!(id("gauge VARNISH").as_deref(), Ok("coating/clear-lacquer"));
    assert_eq!(id("silt").as_deref(), Ok("coating/silt-shield"));
    let miss = id("silt-sheild").expect_err("a slip");
    assert!(miss.help().contains("coating/silt-shield"), "{miss:?}");
    assert!(book.resolve("clear-lacquer", &["metal"]).is_err());
}

#[test]
fn sources_are_cited_and_know_who_cites_them() {
    let book = coating();
    assert_eq!(book.cite("varnish-day-2026"), "workshop 2026, Varnish day at the workshop");
    let by = book.references_to("source/varnish-day-2026");
    let by: Vec<&str> = by.iter().map(|r| r.record.as_str()).collect();
    assert_eq!(by, ["coating/clear-lacquer", "coating/silt-shield"]);
}

#[test]
fn a_second_record_with_one_id_is_refused() {
    let folder = tempfile::tempdir().expect("folder");
    copy(&fixture("coating"), &folder.path().join("a"));
    copy(&fixture("coating"), &folder.path().join("b"));
    let load = || Book::load(&roots(folder.path(), &["a", "b"]), folder.path());
    assert_eq!(load().expect_err("one pack id").rule, "pack-twice");
    let manifest = "id: other\ntitle: Other\nlicence: CC0-1.0\n";
    fs::write(folder.path().join("b/pack.yaml"), manifest).expect("write");
    fs::remove_dir_all(folder.path().join("b/schemas")).expect("remove");
    assert_eq!(load().expect_err("one record id").rule, "record-twice");
}

#[test]
fn the_pack_stood_in_is_found_from_below_but_not_past_a_repository() {
    let folder = tempfile::tempdir().expect("folder");
    let pack = folder.path().join("pack");
    copy(&fixture("coating"), &pack);
    let below = pack.join("coatings");
    assert_eq!(roots(&below, &[]).len(), 2);
    fs::create_dir(below.join(".git")).expect("folder");
    assert_eq!(roots(&below, &[]).len(), 1);
}

#[test]
fn a_folder_with_the_id_of_the_built_in_pack_replaces_it_and_says_so() {
    let folder = tempfile::tempdir().expect("folder");
    fs::write(folder.path().join("pack.yaml"), "id: book\ntitle: A copy\nlicence: CC0-1.0\n").expect("write");
    let book = Book::load(&roots(folder.path(), &[]), folder.path()).expect("loads");
    assert_eq!(book.packs().len(), 1);
    assert_eq!(&*book.packs()[0].title, "A copy");
    assert!(book.notices[0].contains("not the built-in copy"), "{:?}", book.notices);
}

#[test]
fn a_broken_record_is_left_out_and_named() {
    let folder = tempfile::tempdir().expect("folder");
    copy(&fixture("coating"), folder.path());
    let file = folder.path().join("coatings/silt-shield.yaml");
    let text = fs::read_to_string(&file).expect("read");
    fs::write(&file, text.replace("12 µm", "12 kg")).expect("write");
    let book = Book::load(&roots(folder.path(), &[]), folder.path()).expect("loads");
    assert!(book.record("coating/silt-shield").is_none());
    assert!(book.record("coating/clear-lacquer").is_some());
    assert_eq!(book.left_out.len(), 1);
    assert_eq!(book.left_out[0].place.file, "coatings/silt-shield.yaml");
}

#[test]
fn the_hash_of_a_pack_counts_text_not_line_ends() {
    let folder = tempfile::tempdir().expect("folder");
    copy(&fixture("coating"), folder.path());
    let hash = || Book::load(&roots(folder.path(), &[]), folder.path()).expect("loads").packs()[1].hash.clone();
    let before = hash();
    assert_eq!(before.len(), 12);
    let file = folder.path().join("coatings/silt-shield.yaml");
    let text = fs::read_to_string(&file).expect("read");
    fs::write(&file, format!("\u{FEFF}{}", text.replace('\n', "\r\n"))).expect("write");
    assert_eq!(hash(), before);
    fs::write(&file, text.replace("12 µm", "13 µm")).expect("write");
    assert_ne!(hash(), before);
}

/// A book of one polymer with these claims of a property, as YAML list items.
fn one_polymer(property: &str, claims: &str) -> (tempfile::TempDir, Book) {
    let folder = tempfile::tempdir().expect("folder");
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).expect("write");
    ["polymers", "sources"].iter().for_each(|f| fs::create_dir(folder.path().join(f)).expect("folder"));
    write("pack.yaml", "id: bench\ntitle: Bench\nlicence: CC0-1.0\n");
    write("sources/bench-2026.yaml", "type: campaign\ntitle: Bench day\nissued: \"2026\"\nby: workshop\n");
    write("sources/paper-2020.yaml", "type: report\ntitle: A paper\nissued: \"2020\"\n");
    write("polymers/lid.yaml", &format!("name: Lid\nfamily: pla\nproperties:\n  {property}:\n{claims}"));
    let book = Book::load(&roots(folder.path(), &[]), folder.path()).expect("loads");
    assert_eq!(book.left_out, []);
    (folder, book)
}

/// Used and unused claims as written, with notes and reasons.
fn chosen(property: &str, claims: &str, wanted: &Wanted) -> (Vec<String>, Vec<String>) {
    let (_folder, book) = one_polymer(property, claims);
    let record = book.record("polymer/lid").expect("there");
    let own = |source: &str| book.own_campaign(source);
    let chosen = choose(property, record.claims(property), wanted, Subject { invented: false, own: &own });
    let used = chosen.used.iter().map(|u| format!("{} [{}]", u.claim.value.text(), u.notes.join("; ")));
    let unused = chosen.unused.iter().map(|u| format!("{} [{}]", u.claim.value.text(), u.because));
    (used.collect(), unused.collect())
}

#[test]
fn the_best_basis_is_used_and_all_claims_of_it() {
    let claims = "    - {value: 50 MPa, basis: handbook, source: paper-2020, locator: a}
    - {value: 51 MPa, basis: measured, source: paper-2020, locator: b, read: abstract}
    - {value: 52 MPa, basis: measured, source: paper-2020, locator: c}
    - {value: 53 MPa, basis: measured, source: paper-2020, locator: d}
    - {value: 90 MPa, basis: measured, source: paper-2020, locator: e, standing: disputed, because: wrong row}
    - {value: 99 MPa, basis: recalled}
";
    let (used, unused) = chosen("tensile_strength", claims, &Wanted::default());
    assert_eq!(used, ["52 MPa []", "53 MPa []"]);
    assert_eq!(unused.len(), 4);
    assert!(unused.contains(&"90 MPa [disputed: wrong row]".into()), "{unused:?}");
    let own = format!("{claims}    - {{value: 49 MPa, basis: measured, source: bench-2026}}\n");
    assert_eq!(chosen("tensile_strength", &own, &Wanted::default()).0, ["49 MPa []"]);
}

#[test]
fn conditions_decide_and_what_is_not_stated_is_noted() {
    let claims = "    - {value: 40 MPa, basis: measured, source: paper-2020, locator: a, conditions: {temperature: 23 °C, orientation: flat}}
    - {value: 30 MPa, basis: measured, source: paper-2020, locator: b, conditions: {temperature: 60 °C}}
    - {value: 20 MPa, basis: measured, source: paper-2020, locator: c, conditions: {orientation: upright}}
";
    let at = |celsius: f64| Wanted { temperature: Some(celsius + 273.15), ..Wanted::default() };
    let (used, unused) = chosen("tensile_strength", claims, &at(25.0));
    assert_eq!(used, ["40 MPa []", "20 MPa [temperature not stated]"]);
    assert_eq!(unused, ["30 MPa [at 60 °C]"]);
    let upright = Wanted { orientation: Some("upright".into()), ..at(23.0) };
    let (used, _) = chosen("tensile_strength", claims, &upright);
    assert_eq!(used, ["20 MPa [temperature not stated]"]);
    // Bars of which nobody says how they lay may be taken for flat ones, but not where the direction is the question.
    let claims = "    - {value: 35 MPa, basis: measured, source: paper-2020, locator: a, conditions: {temperature: 23 °C}}
    - {value: 38 MPa, basis: measured, source: paper-2020, locator: b, conditions: {temperature: 23 °C, orientation: unknown}}
";
    assert_eq!(chosen("tensile_strength", claims, &upright).0.len(), 2);
    let stated = Wanted { orientation_stated: true, ..upright };
    assert_eq!(chosen("tensile_strength", claims, &stated).0, [""; 0]);
}

#[test]
fn between_two_temperatures_of_one_source_the_value_is_interpolated() {
    let claims = "    - {value: 40 MPa, basis: measured, source: paper-2020, locator: a, conditions: {temperature: 20 °C}}
    - {value: 20 MPa, basis: measured, source: paper-2020, locator: b, conditions: {temperature: 60 °C}}
";
    let (_folder, book) = one_polymer("tensile_strength", claims);
    let record = book.record("polymer/lid").expect("there");
    let own = |_: &str| false;
    let wanted = Wanted { temperature: Some(30.0 + 273.15), ..Wanted::default() };
    let found = choose("tensile_strength", record.claims("tensile_strength"), &wanted, Subject { invented: false, own: &own });
    // By hand: a quarter of the way from 40 to 20 MPa.
    let middle = found.used[0].middle_si().expect("a number");
    assert!((middle - 35e6).abs() < 1.0, "{middle}");
    assert_eq!((found.used.len(), found.unused.len()), (1, 0));
    let wanted = Wanted { temperature: Some(90.0 + 273.15), ..Wanted::default() };
    let found = choose("tensile_strength", record.claims("tensile_strength"), &wanted, Subject { invented: false, own: &own });
    assert!(found.used.is_empty(), "never beyond the ends");
}

#[test]
fn of_a_glass_transition_the_lowest_counts() {
    let claims = "    - {value: 61 °C, basis: measured, source: paper-2020, locator: a}
    - {value: 55 °C, basis: measured, source: paper-2020, locator: b}
";
    assert_eq!(chosen("tg", claims, &Wanted::default()).0, ["55 °C []"]);
}

#[test]
fn disagreement_and_gaps_are_found() {
    let claims = "    - {value: 40 MPa, sd: 1 MPa, basis: measured, source: paper-2020}
    - {value: 52 MPa, sd: 1 MPa, basis: measured, source: bench-2026}
    - {value: 41 MPa, basis: handbook, source: bench-2026, locator: other}
";
    let (_folder, book) = one_polymer("tensile_strength", claims);
    let record = book.record("polymer/lid").expect("there");
    let found = gripbook::book::disagree::disagreements(record);
    assert_eq!(found.len(), 1);
    assert_eq!((&*found[0].low.value.text(), &*found[0].high.value.text()), ("40 MPa", "52 MPa"));
    let gaps = gripbook::book::gaps::gaps(&book, record);
    assert!(gaps.iter().any(|g| g.property == "tg") && gaps.iter().all(|g| g.property != "tensile_strength"));
}

/// Who names the word for a kind means all of it: `glue` is an adhesive, whatever has glue in its name.
#[test]
fn another_word_for_a_kind_names_its_members() {
    let book = Book::load(&[PackRoot::BuiltIn], Path::new("/")).expect("the embedded pack loads");
    let members = |word: &str| match book.resolve(word, &["adhesive"]) {
        Err(Miss::Class { members, .. }) => members,
        other => panic!("{word}: {other:?}"),
    };
    assert_eq!(members("glue"), members("adhesive"));
    assert_eq!(members("Glue").len(), book.of_role("adhesive").count());
}

/// Of limits that protect people the least is told: EH40 has 0.3 ppm over 15 minutes for methyl and ethyl cyanoacrylate.
#[test]
fn of_two_exposure_limits_the_lower_is_told() {
    let book = Book::load(&[PackRoot::BuiltIn], Path::new("/")).expect("the embedded pack loads");
    let record = book.record("adhesive/cyanoacrylate").expect("is there");
    let property = record.properties.iter().find(|p| &*p.word == "exposure_limit_short").expect("has a limit");
    let least = gripbook::book::best::glance(&book, record, property).expect("a claim in use");
    assert_eq!((&*least.best, least.claims), ("0.3 ppm", 2));
}

/// Every file below a folder, by path with `/`.
fn bytes_below(root: &Path, folder: &Path, into: &mut std::collections::BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(folder).expect("list") {
        let path = entry.expect("entry").path();
        if path.is_dir() {
            bytes_below(root, &path, into);
        } else {
            let inside = path.strip_prefix(root).expect("below").to_string_lossy().replace('\\', "/");
            into.insert(inside, fs::read(&path).expect("read"));
        }
    }
}

#[test]
fn a_pack_of_bytes_holds_what_the_same_pack_holds_on_disk() {
    let here = fixture("coating");
    let mut files = std::collections::BTreeMap::new();
    bytes_below(&here, &here, &mut files);
    let load = |files| Book::load(&[PackRoot::BuiltIn, PackRoot::given("mine", files)], Path::new("/nowhere")).expect("loads");
    let (given, on_disk) = (load(files.clone()), coating());
    assert_eq!(given.left_out, []);
    assert_eq!(given.packs()[1].hash, on_disk.packs()[1].hash);
    let ids = |book: &Book| book.records().iter().map(|r| r.id.to_string()).collect::<Vec<_>>();
    assert_eq!(ids(&given), ids(&on_disk));
    let record = given.record("coating/clear-lacquer").expect("is there");
    assert_eq!(&*record.file, "mine/coatings/clear-lacquer.yaml");
    let as_on_disk = on_disk.record("coating/clear-lacquer").expect("is there");
    assert_eq!(record.properties, as_on_disk.properties);
    // A record that does not pass is left out by name, as one on disk is.
    files.insert("coatings/broken.yaml".to_owned(), b"name: [".to_vec());
    let left_out = load(files).left_out;
    assert!(!left_out.is_empty() && left_out.iter().all(|f| f.place.file == "mine/coatings/broken.yaml"), "{left_out:?}");
}
