//! What people call what they own: words on bottles and spools, nuts, inserts.

use gripbook::book::{Book, Record, WantedPacks};
use gripbook::index::query::Query;
use gripbook::index::{search, words};
use std::path::Path;

fn book() -> Book {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    Book::load(&WantedPacks { packs: Vec::new(), here: here.into(), home: None }.roots().expect("packs"), here).expect("loads")
}

#[test]
fn words_on_bottles_and_spools_name_one_material() {
    let book = book();
    for (said, id) in [
        ("abs-like", "resin/tough"),
        ("tough black", "resin/tough"),
        ("plain grey", "resin/pigmented"),
        ("clear", "resin/standard-clear"),
        ("water-washable", "resin/water-washable"),
        ("flexible", "resin/flexible"),
        ("high-temp", "resin/high-temperature"),
        ("ceramic-filled", "resin/rigid-filled"),
        ("casting resin", "resin/castable"),
        ("PLA+", "polymer/pla-blend"),
        ("PLA-CF", "polymer/pla-cf"),
        ("PA12 powder", "polymer/pa12"),
        ("PA11 powder", "polymer/pa11"),
        ("TPU powder", "polymer/tpu"),
    ] {
        let found = book.resolve(said, &["material"]).map(|r| r.id.to_string());
        assert_eq!(found.as_deref().map_err(|e| e.help()), Ok(id), "{said}");
    }
}

#[test]
fn find_knows_the_words_of_a_bottle() {
    let book = book();
    let query = Query { words: words::words("abs-like").collect(), limit: usize::MAX, ..Query::default() };
    assert!(search(&book, &query).hits.iter().any(|h| h.id.as_str() == "resin/tough"));
}

/// Threads the workshop buys inserts and nuts for.
#[test]
fn every_usual_thread_has_inserts_and_nuts() {
    let book = book();
    let has = |role: &str, thread: &str, fitting: Option<&str>| {
        let fits = |r: &Record, f: &str| r.insert().is_some_and(|i| i.fitting.as_deref() == Some(f));
        book.of_role(role).any(|r| r.common().thread.as_deref() == Some(thread) && fitting.is_none_or(|f| fits(r, f)))
    };
    for thread in ["M2", "M2.5", "M3", "M4", "M5", "M6", "#4-40", "#6-32", "#8-32", "#10-24", "#10-32", "1/4-20"] {
        for fitting in ["heat-set", "press-in", "glue-in"] {
            assert!(has("insert", thread, Some(fitting)), "{thread} {fitting}");
        }
        assert!(thread == "M2" || has("insert", thread, Some("self-tapping")), "{thread} self-tapping");
        assert!(!thread.starts_with('M') || has("nut", thread, None), "{thread} nut");
    }
}

/// The steps of an insert fill its length.
#[test]
fn shapes_of_inserts_add_up() {
    for insert in book().of_role("insert") {
        let says = insert.insert().expect("an insert");
        let sum: f64 = says.steps.iter().map(|s| s.length.as_ref().expect("a length").si).sum();
        assert!((sum - says.length.as_ref().expect("a length").si).abs() < 1e-12, "{}", insert.id);
    }
}
