//! What was looked for and not found: each way of joining has a search on record, and gaps tells it, on the page and as data.

use super::formats::{gripbook, text};
use gripbook::plugins::BUILT_IN;
use serde_json::Value as Json;
use std::collections::BTreeSet;

fn told(args: &[&str]) -> String {
    text(&gripbook(&std::env::temp_dir(), args))
}

#[test]
fn each_way_of_joining_has_its_search_and_its_next_test() {
    let book = crate::joint::book(&[]);
    let methods = BUILT_IN.methods_of(&book);
    let ways: BTreeSet<&str> = methods.names().into_iter().collect();
    let answer: Json = serde_json::from_str(&told(&["gaps", "--by", "method", "--format", "json"])).expect("JSON");
    let searches = answer["sought"].as_array().expect("searches");
    // The search about preload names every way; it stands for none of them.
    let own = searches.iter().filter_map(|s| s["methods"].as_array()).filter(|m| m.len() < ways.len());
    let sought: BTreeSet<&str> = own.flatten().filter_map(Json::as_str).collect();
    assert_eq!(sought, ways);
    assert!(searches.iter().all(|s| s["next_test"].as_str().is_some_and(|next| !next.is_empty())));
    let page = told(&["gaps", "--by", "method", "--full"]);
    let words: Vec<&str> = page.split_whitespace().collect();
    assert!(words.join(" ").contains("Screws of standard thread driven straight into plastic"), "{page}");
}
