//! What the literature was searched for in vain: figures that are lacking, and the test that would give them.

use super::collection::Book;
use super::record::Record;
use serde::Serialize;

/// One search, as its record tells it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sought {
    /// Id of the record.
    pub search: String,
    /// What was sought.
    pub name: String,
    /// Ways of joining it was about.
    pub methods: Vec<String>,
    /// Materials it was about.
    pub materials: Vec<String>,
    /// Properties of these that were sought.
    pub properties: Vec<String>,
    /// Date of the search.
    pub date: String,
    /// What came instead.
    pub found: String,
    /// The test that would give the figures.
    pub next_test: String,
}

impl Sought {
    /// One sentence or two: what came, when, and what to do.
    pub fn told(&self) -> String {
        format!("{} ({}): {} Next: {}", self.name, self.date, self.found, self.next_test)
    }
}

/// All searches on record, in the order of their ids.
pub fn sought(book: &Book) -> Vec<Sought> {
    book.of_kind("search").filter(|r| r.current).filter_map(one).collect()
}

/// Searches for properties of one material.
pub fn of_material(book: &Book, material: &Record) -> Vec<Sought> {
    let id = material.id.to_string();
    sought(book).into_iter().filter(|s| s.methods.is_empty() && s.materials.contains(&id)).collect()
}

/// Searches for measured joints.
pub fn of_joints(book: &Book) -> Vec<Sought> {
    sought(book).into_iter().filter(|s| !s.methods.is_empty()).collect()
}

fn one(record: &Record) -> Option<Sought> {
    let says = record.search()?;
    let list = |words: &[Box<str>]| words.iter().map(|word| word.to_string()).collect();
    Some(Sought {
        search: record.id.to_string(),
        name: record.name.to_string(),
        methods: list(&says.methods),
        materials: list(&says.materials),
        properties: list(&says.properties),
        date: says.date.to_string(),
        found: says.found.to_string(),
        next_test: says.next_test.to_string(),
    })
}
