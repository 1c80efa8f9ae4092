//! What the literature was searched for in vain: figures that are lacking, and the test that would give them.

use super::record::Record;
use super::whole::Book;
use serde::Serialize;
use serde_json::Value as Json;

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
    book.of_kind("search").filter(|r| r.current).map(one).collect()
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

fn one(record: &Record) -> Sought {
    let text = |key: &str| record.rest[key].as_str().unwrap_or_default().to_owned();
    let list = |key: &str| -> Vec<String> {
        record.rest[key].as_array().into_iter().flatten().filter_map(Json::as_str).map(str::to_owned).collect()
    };
    Sought {
        search: record.id.to_string(),
        name: record.name.to_string(),
        methods: list("methods"),
        materials: list("materials"),
        properties: list("properties"),
        date: text("date"),
        found: text("found"),
        next_test: text("next_test"),
    }
}
