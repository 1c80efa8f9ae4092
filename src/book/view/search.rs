//! What the record of a literature search says.

use serde::Deserialize;

/// Figures that were looked for and not found.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Search {
    /// Ways of joining it was about.
    pub methods: Vec<Box<str>>,
    /// Materials it was about.
    pub materials: Vec<Box<str>>,
    /// Properties of these that were sought.
    pub properties: Vec<Box<str>>,
    /// Date of the search.
    pub date: Box<str>,
    /// What was looked through.
    #[serde(rename = "where")]
    pub places: Vec<Box<str>>,
    /// Words that were looked for.
    pub words: Vec<Box<str>>,
    /// What came instead.
    pub found: Box<str>,
    /// Ids of the sources that came near.
    pub cites: Vec<Box<str>>,
    /// The test that would give the figures.
    pub next_test: Box<str>,
}
