//! A source in one short line.

use super::record::Record;
use super::whole::Book;
use serde_json::Value as Json;

impl Book {
    /// Author, year, title and where it appeared of a source, short: `Petrie 2000, Handbook of Adhesives and Sealants`.
    /// Without a title its place in the journal, or its identifier, stands for it.
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
    let said = |part: &String| !source.name.contains(part.as_str());
    let number = text("number").filter(said);
    let place = text("container-title").filter(|p| source.rest["title"].is_string() || said(p));
    let parts = [Some(head.join(" ")).filter(|h| !h.is_empty()), number, Some(source.name.to_string()), place];
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
