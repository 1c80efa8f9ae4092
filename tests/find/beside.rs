//! A few records of a large pack that came after its index stay beside it.

use super::{Bench, everything, ids};
use gripbook::index::Query;
use std::fs;

#[test]
fn a_few_later_records_stay_beside_the_index_until_there_are_too_many() {
    let bench = Bench::new();
    let coating = |name: &str| bench.pack().join(format!("coatings/{name}.yaml"));
    let change = |name: &str, from: &str, to: &str| {
        let text = fs::read_to_string(coating(name)).expect("read");
        assert!(text.contains(from), "{name}");
        fs::write(coating(name), text.replace(from, to)).expect("write");
    };
    let index = || {
        let mut files: Vec<_> = bench.remembered().into_iter().filter(|p| p.to_string_lossy().contains("index-")).collect();
        files.sort();
        files.into_iter().map(|p| fs::read(p).expect("read")).collect::<Vec<_>>()
    };
    // A name is found by its words, so the index must not answer for the record it holds in an older version.
    let named = |word: &str| {
        let cache = bench.indexed(1).for_search();
        let book = bench.load(&cache);
        let found = cache.search(&book, &Query { words: vec![word.into()], ..everything() }).expect("sound");
        (ids(&found).into_iter().map(String::from).collect::<Vec<_>>(), book.count())
    };
    assert_eq!(named("lid").1, 0, "all in the index");
    let first = index();
    change("silt-shield", "12 µm", "13 µm");
    assert_eq!(named("lid").1, 1, "one beside it");
    assert_eq!(named("lid").1, 1, "and still in the next run");
    assert!(index() == first, "the index is as it was");
    let record = bench.load(&bench.indexed(1)).record("coating/silt-shield").cloned().expect("there");
    assert_eq!(record.claims("layer_thickness")[0].value.text(), "13 µm");
    change("silt-shield", "13 µm", "14 µm");
    assert_eq!(named("lid").1, 1, "the same one again");
    let text = fs::read_to_string(coating("silt-shield")).expect("read");
    fs::write(coating("second-shield"), text.replace("Silt", "Second")).expect("write");
    named("lid");
    assert!(index() != first, "two are too many");
    assert_eq!(named("lid").1, 0, "all in the index again");
    bench.assert_same("merged");
    fs::remove_file(coating("second-shield")).expect("remove");
    bench.assert_same("gone from the index");
}

#[test]
fn records_that_stayed_beside_the_index_before_it_took_the_rest_are_found_once() {
    let bench = Bench::new();
    let recordings = bench.pack().join("series/none");
    fs::create_dir_all(&recordings).expect("folder");
    // More files than are read at a time stand between one changed record and the others.
    let record_all = |text: &str| (0..2_100).for_each(|n| fs::write(recordings.join(format!("{n}.csv")), text).expect("write"));
    record_all("1,2\n");
    bench.assert_same("first run");
    record_all("1,3\n");
    let source = bench.pack().join("sources/varnish-day-2026.yaml");
    let text = fs::read_to_string(&source).expect("read");
    fs::write(&source, format!("{text}# seen\n")).expect("write");
    fs::write(bench.pack().join("sources/varnish-day-2027.yaml"), &text).expect("write");
    let file = bench.pack().join("coatings/silt-shield.yaml");
    let text = fs::read_to_string(&file).expect("read");
    fs::write(&file, text.replace("12 µm", "13 µm")).expect("write");
    bench.assert_same("one beside, two into the index");
    bench.assert_same("and in the next run");
}
