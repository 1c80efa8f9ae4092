//! What is known: packs, records, look-ups.

use gripbook::book::{Asked, Book, PackRoot, Value};
use std::fs;
use std::path::{Path, PathBuf};

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
    Asked { packs, here: here.into(), home: None }.roots().expect("packs exist")
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
    let by: Vec<&str> = book.references_to("source/varnish-day-2026").iter().map(|r| r.record.as_str()).collect();
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
