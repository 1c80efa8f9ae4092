//! Where is it? Searching, with and without what earlier runs remember.

mod beside;
mod bottles;

use super::book::{begun, copy, fixture};
use gripbook::book::memory::{Memory, NoMemory};
use gripbook::book::{Book, WantedPacks};
use gripbook::index::query::{PropertyBound, Query, Sort};
use gripbook::index::{Cache, Found, MatchedBy, search};
use std::fs;
use std::path::Path;

fn load(here: &Path) -> Book {
    let roots = WantedPacks { packs: Vec::new(), here: here.into(), home: None }.roots().expect("packs");
    Book::load(&roots, here).expect("loads")
}

fn everything() -> Query {
    Query { limit: usize::MAX, ..Query::default() }
}

fn ids(found: &Found) -> Vec<&str> {
    found.hits.iter().map(|h| h.id.as_str()).collect()
}

fn words(book: &Book, text: &str) -> Vec<String> {
    let words = gripbook::index::words::words(text).collect();
    ids(&search(book, &Query { words, ..everything() })).into_iter().map(String::from).collect()
}

#[test]
fn words_beginnings_and_one_slip_find() {
    let book = load(&fixture("coating"));
    for text in ["lacquer", "lacq", "laqcuer", "lacqer", "VARNISH", "gauge varnish", "clear"] {
        assert!(words(&book, text).contains(&"coating/clear-lacquer".into()), "{text}");
    }
    assert_eq!(words(&book, "lacqXXer"), Vec::<String>::new());
    // Digits are never a slip: the built-in book has both.
    assert!(!words(&book, "pa11").contains(&"polymer/pa12".into()));
}

#[test]
fn the_exact_name_comes_first() {
    let book = load(&fixture("coating"));
    assert_eq!(words(&book, "pla")[0], "polymer/pla");
    assert_eq!(words(&book, "pp")[0], "polymer/pp");
}

#[test]
fn bounds_match_in_any_unit_and_say_when_only_a_part_of_a_range_does() {
    let book = load(&fixture("coating"));
    let found = |bound: &str| {
        let bounds = vec![PropertyBound::read(bound, book.catalogue()).expect(bound)];
        let found = search(&book, &Query { bounds, kind: Some("coating".into()), ..everything() });
        found.hits.iter().map(|h| (h.id.name().to_owned(), h.matched[0].by)).collect::<Vec<_>>()
    };
    let lacquer = |by| vec![("clear-lacquer".to_owned(), by)];
    // Claims: 40 µm; 1.5 to 2.5 thou, which is 38.1 to 63.5 µm; 900 µm disputed. The other record has 12 µm.
    assert_eq!(found("layer_thickness >= 0.04 mm"), lacquer(MatchedBy::Value));
    assert_eq!(found("layer_thickness > 40 µm"), lacquer(MatchedBy::Overlap));
    assert_eq!(found("layer thickness ≥ 2.5 thou"), lacquer(MatchedBy::Overlap));
    assert_eq!(found("layer_thickness > 2.5 thou"), []);
    assert_eq!(found("layer_thickness < 12.5 um"), [("silt-shield".to_owned(), MatchedBy::Value)]);
    assert_eq!(found("pencil_scratched = yes"), lacquer(MatchedBy::Value));
    assert_eq!(found("pencil_scratched = no"), []);
    for wrong in ["layer_thickness >= 4 MPa", "layer_thickness", "layer_thikness > 1 mm", "pencil_scratched > 2"] {
        assert!(PropertyBound::read(wrong, book.catalogue()).is_err(), "{wrong}");
    }
}

#[test]
fn a_family_brings_its_members_and_gaps_can_be_looked_for() {
    let book = load(&fixture("coating"));
    let polyesters = search(&book, &Query { family: Some("polyester".into()), kind: Some("polymer".into()), ..everything() });
    assert!(ids(&polyesters).contains(&"polymer/pla"), "{:?}", ids(&polyesters));
    let missing = search(&book, &Query { missing: Some("pencil_scratched".into()), ..everything() });
    assert_eq!(ids(&missing), ["coating/silt-shield"]);
    let unsourced = search(&book, &Query { unsourced: true, kind: Some("coating".into()), ..everything() });
    assert_eq!(ids(&unsourced), ["coating/clear-lacquer"]);
}

#[test]
fn sorting_by_a_property_puts_the_largest_first_and_those_without_last() {
    let book = load(&fixture("coating"));
    let query = |reverse| Query {
        sort: Some(Sort::Property("layer_thickness".into())),
        family: Some("photopolymer".into()),
        kind: Some("coating".into()),
        reverse,
        ..everything()
    };
    assert_eq!(ids(&search(&book, &query(false))), ["coating/clear-lacquer", "coating/silt-shield"]);
    assert_eq!(ids(&search(&book, &query(true))), ["coating/silt-shield", "coating/clear-lacquer"]);
}

/// Everything a book holds, as text.
fn dump(book: &Book) -> String {
    format!("{:#?}\n{:#?}\n{:#?}", book.packs(), book.records(), book.left_out)
}

/// A pack in a folder of its own, and a cache folder.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().expect("folder");
        copy(&fixture("coating"), &folder.path().join("pack"));
        Bench { folder }
    }
    fn pack(&self) -> std::path::PathBuf {
        self.folder.path().join("pack")
    }
    fn cache(&self) -> std::path::PathBuf {
        self.folder.path().join("cache")
    }
    /// The pack alone, without the built-in book.
    fn load(&self, memory: &dyn Memory) -> Book {
        let here = self.pack();
        let roots = WantedPacks { packs: Vec::new(), here: here.clone(), home: None }.roots().expect("packs");
        Book::load_with(&roots[1..], &here, memory).expect("loads")
    }
    /// Memory that keeps records in snapshots, or in an index.
    fn memory(&self, large_from: usize) -> Cache {
        Cache::new(&self.cache().join(format!("from-{large_from}")), &self.pack(), false, begun()).large_from(large_from)
    }
    /// With memory, whichever way it works, everything is as it is without.
    fn assert_same(&self, why: &str) {
        let fresh = self.load(&NoMemory);
        assert_eq!(dump(&self.load(&self.memory(1000))), dump(&fresh), "snapshot: {why}");
        for beside in [0, 1, 256] {
            assert_eq!(dump(&self.load(&self.indexed(beside))), dump(&fresh), "index and {beside}: {why}");
            let query = Query { words: vec!["lid".into()], ..everything() };
            let cache = self.indexed(beside).for_search();
            let book = self.load(&cache);
            assert_eq!(book.left_out, fresh.left_out, "{why}");
            let found = cache.search(&book, &query).expect("sound");
            assert_eq!(found, search(&fresh, &query), "search with {beside}: {why}");
        }
    }
    /// An index with at most so many records beside it.
    fn indexed(&self, beside: usize) -> Cache {
        let folder = self.cache().join(format!("beside-{beside}"));
        Cache::new(&folder, &self.pack(), false, begun()).large_from(2).beside_at_most(beside)
    }
    fn remembered(&self) -> Vec<std::path::PathBuf> {
        fn all(p: &Path) -> Vec<std::path::PathBuf> {
            let inside = fs::read_dir(p).into_iter().flatten().flatten().map(|e| e.path());
            inside.flat_map(|p| if p.is_dir() { all(&p) } else { vec![p] }).collect()
        }
        all(&self.cache())
    }
}

#[test]
fn the_same_bytes_with_and_without_memory() {
    let bench = Bench::new();
    bench.assert_same("first run");
    assert!(!bench.remembered().is_empty());
    bench.assert_same("second run");
}

#[test]
fn a_pack_that_outgrows_its_snapshot_loses_no_record() {
    let bench = Bench::new();
    let cache = |large_from| Cache::new(&bench.cache(), &bench.pack(), false, begun()).large_from(large_from);
    let fresh = bench.load(&NoMemory);
    assert_eq!(dump(&bench.load(&cache(1000))), dump(&fresh), "small");
    for run in ["grown", "warm"] {
        let grown = cache(2).for_search();
        let book = bench.load(&grown);
        assert_eq!(grown.search(&book, &everything()).expect("sound"), search(&fresh, &everything()), "{run}");
    }
}

/// Queries of every sort, over the built-in book.
fn queries(book: &Book) -> Vec<Query> {
    let bound = |text: &str| PropertyBound::read(text, book.catalogue()).expect(text);
    let mut all = vec![everything(), Query { limit: 7, ..Query::default() }];
    for text in
        ["pla", "tough", "acry", "polymide", "resin acrylate", "handbook", "cyanoacrylate thick", "epoxi", "zzzz", "iso 527"]
    {
        let words: Vec<String> = gripbook::index::words::words(text).collect();
        all.push(Query { words: words.clone(), ..everything() });
        all.push(Query { words: words.clone(), limit: 3, ..Query::default() });
        all.push(Query { words, sort: Some(Sort::Property("tensile_strength".into())), limit: 4, ..Query::default() });
    }
    for bounds in [
        vec!["tensile_strength >= 40 MPa"],
        vec!["tensile_strength > 5 ksi", "tg < 70 °C"],
        vec!["tg <= 333.15 K"],
        vec!["density > 1.2 g/cm³"],
        vec!["thermoset = yes"],
        vec!["amorphous = no", "tensile_modulus >= 1 GPa"],
    ] {
        let bounds: Vec<PropertyBound> = bounds.into_iter().map(bound).collect();
        for reverse in [false, true] {
            let sort = Some(Sort::Property("tg".into()));
            all.push(Query { bounds: bounds.clone(), sort, reverse, limit: 5, ..Query::default() });
        }
        all.push(Query { bounds, ..everything() });
    }
    all.push(Query { kind: Some("resin".into()), ..everything() });
    all.push(Query { family: Some("photopolymer".into()), ..everything() });
    all.push(Query { family: Some("polyamide".into()), words: vec!["pa".into()], ..everything() });
    all.push(Query { missing: Some("tg".into()), ..everything() });
    all.push(Query { unsourced: true, limit: 9, ..Query::default() });
    all.push(Query { sort: Some(Sort::Name), limit: 11, ..Query::default() });
    all.push(Query { sort: Some(Sort::Name), reverse: true, limit: 11, ..Query::default() });
    all
}

#[test]
fn an_index_answers_as_the_records_themselves_do() {
    let folder = tempfile::tempdir().expect("folder");
    let here = folder.path().join("here");
    fs::create_dir(&here).expect("folder");
    let packs = vec!["demo".to_owned()];
    let roots = WantedPacks { packs, here: here.clone(), home: Some(here.clone()) }.roots().expect("packs");
    let plain = Book::load(&roots, &here).expect("loads");
    for run in ["building", "warm"] {
        let cache = Cache::new(folder.path(), &here, false, begun()).large_from(10).for_search();
        let book = Book::load_with(&roots, &here, &cache).expect("loads");
        assert_eq!(book.count(), 0, "{run}: the index is asked, so nothing comes into the book");
        for query in queries(&plain) {
            let found = cache.search(&book, &query).expect("sound");
            assert_eq!(found, search(&plain, &query), "{run}: {query:?}");
        }
    }
}

#[test]
fn every_change_of_a_file_is_noticed() {
    let bench = Bench::new();
    bench.assert_same("first run");
    let file = bench.pack().join("coatings/silt-shield.yaml");
    let old = fs::metadata(&file).expect("there").modified().expect("time");
    let text = fs::read_to_string(&file).expect("read");
    // Same size, old time: the hash decides while the entry is young, the change time of the entry later.
    fs::write(&file, text.replace("12 µm", "13 µm")).expect("write");
    fs::File::options().write(true).open(&file).and_then(|f| f.set_modified(old)).expect("time");
    bench.assert_same("same size and time");
    for year in [0u64, 4_291_747_200] {
        let time = std::time::UNIX_EPOCH + std::time::Duration::from_secs(year);
        fs::write(&file, text.replace("12 µm", &format!("{} µm", 14 + year % 7))).expect("write");
        fs::File::options().write(true).open(&file).and_then(|f| f.set_modified(time)).expect("time");
        bench.assert_same("1970 and 2106");
    }
    fs::write(&file, text.replace("12 µm", "12 kg")).expect("write");
    bench.assert_same("broken");
    bench.assert_same("still broken");
    fs::write(&file, &text).expect("write");
    bench.assert_same("mended");
    fs::remove_file(bench.pack().join("coatings/silt-shield.yaml")).expect("remove");
    bench.assert_same("gone");
    fs::remove_file(bench.pack().join("sources/varnish-day-2026.yaml")).expect("remove");
    bench.assert_same("a source others name is gone");
    assert!(bench.load(&bench.memory(2)).record("coating/clear-lacquer").is_none());
}

#[test]
fn a_damaged_memory_is_thrown_away() {
    let bench = Bench::new();
    bench.assert_same("first run");
    for round in 0..30 {
        // Damage makes new files, so the list is taken anew; empty ones are locks.
        let mut files = bench.remembered();
        files.retain(|f| fs::metadata(f).is_ok_and(|m| m.len() > 0));
        files.sort();
        let file = &files[round % files.len()];
        let mut bytes = fs::read(file).expect("read");
        let at = round * 97 % bytes.len();
        if round % 3 == 0 {
            bytes.truncate(at);
        } else {
            bytes[at] ^= 1 << (round % 8);
        }
        fs::write(file, bytes).expect("write");
        bench.assert_same(&format!("{} damaged at {at}", file.display()));
    }
    fs::remove_dir_all(bench.cache()).expect("remove");
    bench.assert_same("deleted");
}

/// Every 97th byte of everything remembered, one at a time; a longer stride in a short run.
#[test]
fn row_11_no_flipped_bit_changes_an_answer() {
    let bench = Bench::new();
    bench.assert_same("first run");
    let stride = if super::faults::scene::full() { 97 } else { 97 * 11 };
    let (mut tried, mut at) = (0, 5);
    loop {
        // Damage makes new files, so the list is taken anew; all files count as one long one.
        let mut files = bench.remembered();
        files.sort();
        let lengths = files.iter().map(|f| fs::metadata(f).map_or(0, |m| usize::try_from(m.len()).unwrap_or(0)));
        let mut place = at;
        let Some((file, _)) = files.iter().zip(lengths).find(|(_, length)| {
            let is_here = place < *length;
            place -= if is_here { 0 } else { *length };
            is_here
        }) else {
            break;
        };
        let mut bytes = fs::read(file).expect("read");
        bytes[place] ^= 1 << (tried % 8);
        fs::write(file, bytes).expect("write");
        bench.assert_same(&format!("{} flipped at {place}", file.display()));
        (tried, at) = (tried + 1, at + stride);
    }
    println!("row 11: {tried} bits flipped, 0 answers changed");
    assert!(tried > 5, "{tried}");
}

/// Memory of another version of the program, whole and rightly signed.
#[test]
fn row_11_memory_of_another_version_is_not_used() {
    let bench = Bench::new();
    bench.assert_same("first run");
    let version = concat!("gripbook snapshot ", env!("CARGO_PKG_VERSION"), "\n").len();
    let headers = [
        ("version of the program", version - 2..version - 1),
        ("form", version..version + 4),
        ("schemas", version + 4..version + 36),
        ("nothing", 0..0),
    ];
    for (what, range) in headers {
        let is_foreign = !range.is_empty();
        let file = bench.remembered().into_iter().find(|f| f.ends_with("snapshot") && f.to_string_lossy().contains("from-1000"));
        let file = file.expect("a snapshot");
        let mut bytes = fs::read(&file).expect("read");
        bytes[range].iter_mut().for_each(|b| *b ^= 1);
        // The record inside says something else, so that using it would show.
        let body = bytes.len() - 4;
        let text = bytes.windows(6).position(|w| w == "12 µm".as_bytes()).expect("the value");
        bytes[text + 1] = b'9';
        // The seal is a sum of what stands before it.
        let sum = crc32fast::hash(&bytes[..body]);
        bytes[body..].copy_from_slice(&sum.to_le_bytes());
        fs::write(&file, bytes).expect("write");
        if is_foreign {
            bench.assert_same(what);
        } else {
            // The same lie under a right header is believed, so the cases above could have failed.
            assert_ne!(dump(&bench.load(&bench.memory(1000))), dump(&bench.load(&NoMemory)));
        }
    }
}

#[test]
fn without_a_place_to_remember_the_answer_is_the_same_and_one_notice_says_so() {
    let bench = Bench::new();
    let taken = bench.folder.path().join("taken");
    fs::write(&taken, "a file where a folder should be").expect("write");
    for large_from in [2, 1000] {
        let cache = Cache::new(&taken, &bench.pack(), false, begun()).large_from(large_from);
        assert_eq!(dump(&bench.load(&cache)), dump(&bench.load(&NoMemory)));
        assert!(cache.notice().is_some_and(|n| n.contains("cannot be written")));
    }
}

#[test]
fn eight_at_once_answer_alike() {
    let bench = Bench::new();
    let fresh = dump(&bench.load(&NoMemory));
    for round in 0..10 {
        let _ = fs::remove_dir_all(bench.cache());
        let large_from = if round % 2 == 0 { 2 } else { 1000 };
        std::thread::scope(|scope| {
            let runs: Vec<_> = (0..8).map(|_| scope.spawn(|| dump(&bench.load(&bench.memory(large_from))))).collect();
            for run in runs {
                assert_eq!(run.join().expect("no panic"), fresh);
            }
        });
    }
}

#[test]
fn a_file_written_while_it_is_read_is_whole_or_reported() {
    let bench = Bench::new();
    let file = bench.pack().join("coatings/silt-shield.yaml");
    let text = fs::read_to_string(&file).expect("read");
    let longer = text.replace("12 µm", "12.25 µm");
    let stop = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !stop.load(std::sync::atomic::Ordering::Relaxed) {
                fs::write(&file, &longer).expect("write");
                fs::write(&file, &text).expect("write");
            }
        });
        for _ in 0..50 {
            let book = bench.load(&bench.memory(1000));
            match book.record("coating/silt-shield") {
                Some(record) => {
                    let written = record.claims("layer_thickness")[0].value.text();
                    assert!(["12 µm", "12.25 µm"].contains(&&*written), "{written}");
                }
                None => assert!(!book.left_out.is_empty()),
            }
        }
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
    });
}

#[test]
fn the_order_of_files_and_the_place_of_the_folder_change_nothing() {
    let bench = Bench::new();
    let moved = bench.folder.path().join("elsewhere/deeper");
    fs::create_dir_all(&moved).expect("folder");
    let mut files: Vec<_> = ["coatings/silt-shield.yaml", "sources/varnish-day-2026.yaml", "coatings/clear-lacquer.yaml"].into();
    files.reverse();
    for part in ["coatings", "sources", "schemas"] {
        fs::create_dir_all(moved.join(part)).expect("folder");
    }
    for file in files.iter().chain(&["schemas/coating.schema.json", "pack.yaml"]) {
        fs::copy(bench.pack().join(file), moved.join(file)).expect("copy");
    }
    let dump_without_root = |book: &Book| {
        let packs: Vec<_> = book.packs().iter().map(|p| (p.id.clone(), p.hash.clone(), p.claims)).collect();
        format!("{packs:?}\n{:#?}", book.records())
    };
    assert_eq!(dump_without_root(&load(&moved)), dump_without_root(&load(&bench.pack())));
}

#[test]
fn recordings_that_come_and_go_count_for_a_series_that_is_as_it_was() {
    let folder = tempfile::tempdir().expect("folder");
    let pack = folder.path().join("pack");
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("records/demo"), &pack);
    let roots = WantedPacks { packs: Vec::new(), here: pack.clone(), home: None }.roots().expect("packs");
    let load = |memory: &dyn Memory| Book::load_with(&roots, &pack, memory).expect("loads");
    let recording = pack.join("series/logger-clear-own-resin-m3/r1.csv");
    let text = fs::read(&recording).expect("read");
    for there in [true, false, true] {
        if there {
            fs::write(&recording, &text).expect("written")
        } else {
            fs::remove_file(&recording).expect("removed")
        }
        let fresh = load(&NoMemory);
        assert_eq!(fresh.left_out.is_empty(), there);
        for large_from in [10, 100_000] {
            let cache =
                Cache::new(&folder.path().join(format!("cache-{large_from}")), &pack, false, begun()).large_from(large_from);
            assert_eq!(dump(&load(&cache)), dump(&fresh), "{there}, {large_from}");
        }
    }
}
