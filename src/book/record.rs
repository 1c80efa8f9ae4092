//! A record: one subject in one file.

use super::claim::Claim;
use super::view::Fields;
use serde::{Deserialize, Serialize};
use std::fmt;

/// `kind/name`, e.g. `resin/tough`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct RecordId(Box<str>);

impl RecordId {
    /// From a kind and a name.
    pub fn new(kind: &str, name: &str) -> Self {
        RecordId(format!("{kind}/{name}").into())
    }
    /// `kind/name`.
    pub fn as_str(&self) -> &str {
        &self.0
    }
    /// The part before the slash.
    pub fn kind(&self) -> &str {
        self.0.split_once('/').map_or("", |(k, _)| k)
    }
    /// The part after the slash.
    pub fn name(&self) -> &str {
        self.0.split_once('/').map_or(&*self.0, |(_, n)| n)
    }
}

impl fmt::Display for RecordId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// What a record is called.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Head {
    /// Whether every claim of the record is invented.
    pub invented: bool,
    /// Kind and name.
    pub id: RecordId,
    /// What people call it.
    pub name: Box<str>,
    /// Other names.
    pub also: Vec<Box<str>>,
}

/// The claims of one property.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Property {
    /// Schema name, e.g. `tensile_strength`.
    pub word: Box<str>,
    /// All claims, in the order of the file.
    pub claims: Vec<Claim>,
}

/// One subject in one file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Kind and name.
    pub id: RecordId,
    /// Place of its pack in [`super::Book::packs`].
    #[serde(skip)]
    pub pack: usize,
    /// Path as the user would name it, with `/`.
    #[serde(skip)]
    pub file: Box<str>,
    /// What people call it.
    pub name: Box<str>,
    /// Other names, for search.
    pub also: Vec<Box<str>>,
    /// Word of the family list; empty for book kinds.
    pub family: Box<str>,
    /// Free words.
    pub tags: Vec<Box<str>>,
    /// One or two sentences.
    pub description: Option<Box<str>>,
    /// Remark.
    pub note: Option<Box<str>>,
    /// False when withdrawn.
    pub current: bool,
    /// Properties in the order of the file.
    pub properties: Vec<Property>,
    /// Every other field (insert steps, series measurements, rule conditions, bibliography, waivers); read by [`super::view`].
    #[serde(with = "super::view::json_text")]
    pub rest: Fields,
}

impl Record {
    /// How many claims it has.
    pub fn claim_count(&self) -> u32 {
        let count: usize = self.properties.iter().map(|p| p.claims.len()).sum();
        u32::try_from(count).unwrap_or(u32::MAX)
    }
    /// What it is called.
    pub fn head(&self) -> Head {
        Head { id: self.id.clone(), name: self.name.clone(), also: self.also.clone(), invented: self.invented() }
    }
    /// The claims of a property, disputed ones included; empty when it has none.
    pub fn claims(&self, word: &str) -> &[Claim] {
        self.properties.iter().find(|p| &*p.word == word).map_or(&[], |p| &p.claims)
    }
    /// Whether every claim of the record is invented (demo data).
    pub fn invented(&self) -> bool {
        let mut claims = self.properties.iter().flat_map(|p| &p.claims).peekable();
        claims.peek().is_some() && claims.all(|c| c.basis == super::Basis::Invented)
    }
    /// The address of a claim: `resin/tough:tg`, with `#key` when the property has several claims.
    pub fn address(&self, word: &str, claim: &Claim) -> String {
        match self.claims(word).len() {
            0 | 1 => format!("{}:{word}", self.id),
            _ => format!("{}:{word}#{}", self.id, claim.key),
        }
    }
}
