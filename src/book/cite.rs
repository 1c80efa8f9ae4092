//! A source in one short line.

use super::collection::Book;
use super::record::Record;
use super::view::Person;

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
    let name = source.name.to_string();
    let Some(says) = source.source() else { return name };
    let who = authors(&says.author).or_else(|| says.by.as_deref().or(says.publisher.as_deref()).map(str::to_owned));
    let head: Vec<String> = [who, says.year().map(str::to_owned)].into_iter().flatten().collect();
    let number = says.number.as_deref().filter(|n| !name.contains(n)).map(str::to_owned);
    let place = says.container_title.as_deref().filter(|p| says.title.is_some() || !name.contains(p)).map(str::to_owned);
    let parts = [Some(head.join(" ")).filter(|h| !h.is_empty()), number, Some(name), place];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn authors(list: &[Person]) -> Option<String> {
    let names: Vec<&str> = list.iter().filter_map(Person::name).collect();
    match names[..] {
        [] => None,
        [one] => Some(one.to_owned()),
        [one, two] => Some(format!("{one}, {two}")),
        [first, ..] => Some(format!("{first} et al.")),
    }
}
