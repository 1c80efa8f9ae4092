//! Kinds, properties and families, as the schemas declare them.

use crate::quantity::Quantity;
use serde_json::Value as Json;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, HashMap};

mod built_in {
    include!(concat!(env!("OUT_DIR"), "/schemas.rs"));
}

/// What a property's claims state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measures {
    /// A quantity.
    Quantity(Quantity),
    /// A yes/no fact.
    YesNo,
    /// A word.
    Word,
}

/// A property of a kind.
#[derive(Debug, Clone)]
pub struct PropertyKind {
    /// Schema name.
    pub word: String,
    /// Title.
    pub title: String,
    /// What its claims state.
    pub measures: Measures,
}

/// A kind of record.
#[derive(Debug, Clone)]
pub struct Kind {
    /// `resin`.
    pub word: String,
    /// `resins`.
    pub folder: String,
    /// `material`.
    pub role: String,
    /// Title.
    pub title: String,
    /// Properties in the order of the schema.
    pub properties: Vec<PropertyKind>,
}

/// Everything the schemas declare.
#[derive(Debug, Clone, Default)]
pub struct Kinds {
    kinds: Vec<Kind>,
    conditions: HashMap<String, Quantity>,
    broader: BTreeMap<String, String>,
    families: Vec<String>,
}

impl Kinds {
    /// From the built-in schemas and those of packs (file name, text).
    pub fn new<'a>(packs: impl Iterator<Item = &'a str>) -> Kinds {
        let mut all = Kinds::default();
        for text in built_in::SCHEMAS.iter().map(|(_, text)| *text).chain(packs) {
            if let Ok(schema) = serde_json::from_str::<Json>(text) {
                all.add(&schema);
            }
        }
        all
    }
    /// Hash over the built-in schemas and those of packs, in their order.
    pub fn hash<'a>(packs: impl Iterator<Item = &'a str>) -> [u8; 32] {
        let mut hash = Sha256::new();
        for text in built_in::SCHEMAS.iter().map(|(_, text)| *text).chain(packs) {
            hash.update((text.len() as u64).to_le_bytes());
            hash.update(text);
        }
        hash.finalize().into()
    }
    fn add(&mut self, schema: &Json) {
        match schema["$id"].as_str() {
            Some("claim.schema.json") => self.add_conditions(schema, &schema["$defs"]["conditions"], ""),
            Some("family.schema.json") => {
                let family = &schema["$defs"]["family"];
                let words = family["enum"].as_array().into_iter().flatten().filter_map(Json::as_str);
                self.families.extend(words.map(String::from));
                let broader = family["broader"].as_object().into_iter().flatten();
                self.broader.extend(broader.filter_map(|(k, v)| Some((k.clone(), v.as_str()?.to_owned()))));
            }
            _ => self.kinds.extend(kind(schema)),
        }
    }
    fn add_conditions(&mut self, schema: &Json, node: &Json, inside: &str) {
        for (name, field) in node["properties"].as_object().into_iter().flatten() {
            let name = if inside.is_empty() { name.clone() } else { format!("{inside}.{name}") };
            if let Some(q) = reference(field).and_then(|r| Quantity::from_word(&r)) {
                self.conditions.insert(name, q);
            } else if let Some(inner) = reference(field) {
                self.add_conditions(schema, &schema["$defs"][inner], &name);
            }
        }
    }
    /// The kinds, in the order of their files.
    pub fn all(&self) -> &[Kind] {
        &self.kinds
    }
    /// The kind of that word.
    pub fn kind(&self, word: &str) -> Option<&Kind> {
        self.kinds.iter().find(|k| k.word == word)
    }
    /// The kind whose records lie in that folder.
    pub fn of_folder(&self, folder: &str) -> Option<&Kind> {
        self.kinds.iter().find(|k| k.folder == folder)
    }
    /// The property of a kind.
    pub fn property(&self, kind: &str, word: &str) -> Option<&PropertyKind> {
        self.kind(kind)?.properties.iter().find(|p| p.word == word)
    }
    /// The quantity of a condition; `None` for words and text.
    pub fn condition(&self, name: &str) -> Option<Quantity> {
        self.conditions.get(name).copied()
    }
    /// Whether a word is a family.
    pub fn is_family_word(&self, word: &str) -> bool {
        self.families.iter().any(|f| f == word)
    }
    /// Every family word.
    pub fn families(&self) -> impl Iterator<Item = &str> {
        self.families.iter().map(String::as_str)
    }
    /// The next wider family.
    pub fn broader(&self, word: &str) -> Option<&str> {
        self.broader.get(word).map(String::as_str)
    }
}

fn kind(schema: &Json) -> Option<Kind> {
    let text = |key: &str| schema[key].as_str().map(String::from);
    let properties = schema["properties"]["properties"]["properties"].as_object().into_iter().flatten();
    Some(Kind {
        word: text("kind")?,
        folder: text("folder")?,
        role: text("role")?,
        title: text("title").unwrap_or_default(),
        properties: properties.filter_map(|(word, p)| property(word, p)).collect(),
    })
}

fn property(word: &str, schema: &Json) -> Option<PropertyKind> {
    let claims = reference(schema)?;
    let measures = match claims.strip_suffix("_claims")? {
        "yes_no" => Measures::YesNo,
        "word" => Measures::Word,
        quantity => Measures::Quantity(Quantity::from_word(quantity)?),
    };
    Some(PropertyKind { word: word.into(), title: schema["title"].as_str().unwrap_or(word).into(), measures })
}

/// The last part of the `$ref` of a schema, wrapped in `allOf` or not.
fn reference(schema: &Json) -> Option<String> {
    let target = schema["$ref"].as_str().or_else(|| schema["allOf"][0]["$ref"].as_str())?;
    target.rsplit('/').next().map(String::from)
}

/// The schemas embedded in the program: file name and text, sorted.
pub fn built_in_schemas() -> &'static [(&'static str, &'static str)] {
    built_in::SCHEMAS
}
