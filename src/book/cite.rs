//! A source in one short line.

use super::record::Record;
use super::whole::Book;
use serde_json::Value as Json;

impl Book {
    /// Author, year, title and where it appeared of a source, short: `Petrie 2000, Handbook of Adhesives and Sealants`.
    /// An unknown id stands for itself.
    pub fn cite(&self, source: &str) -> String {
        self.source(source).map_or_else(|| source.to_owned(), cite)
    }
}

/// The short form of a source record.
pub fn cite(source: &Record) -> String {
    let text = |key: &str| source.rest[key].as_str().map(str::to_owned);
    let year = text("issued").map(|d| d.chars().take(4).collect::<String>());
    let who = authors(&source.rest["author"]).or_else(|| text("by")).or_else(|| text("publisher"));
    let head: Vec<String> = [who, year].into_iter().flatten().collect();
    let number = text("number").filter(|n| !source.name.contains(n.as_str()));
    let parts = [Some(head.join(" ")).filter(|h| !h.is_empty()), number, Some(source.name.to_string()), text("container-title")];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn authors(list: &Json) -> Option<String> {
    let name = |a: &Json| a["family"].as_str().or_else(|| a["literal"].as_str()).map(str::to_owned);
    let names: Vec<String> = list.as_array()?.iter().filter_map(name).collect();
    match &names[..] {
        [] => None,
        [one] => Some(one.clone()),
        [one, two] => Some(format!("{one}, {two}")),
        [first, ..] => Some(format!("{first} et al.")),
    }
}
