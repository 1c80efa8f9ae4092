//! What the schemas in force say: the catalogue of kinds, and the quantities of conditions.

use crate::check::catalogue::Catalogue;
use crate::check::schemas::Schemas;
use crate::quantity::Quantity;
use serde_json::Value as Json;
use sha2::{Digest, Sha256};
use std::collections::HashMap;

mod built_in {
    include!(concat!(env!("OUT_DIR"), "/schemas.rs"));
}

/// The schemas embedded in the program: file name and text, sorted.
pub fn built_in_schemas() -> &'static [(&'static str, &'static str)] {
    built_in::SCHEMAS
}

/// Folders of the records of every built-in kind.
pub fn folders() -> impl Iterator<Item = String> {
    let read = |text: &str| serde_json::from_str::<Json>(text).ok();
    built_in_schemas().iter().filter_map(move |(_, text)| read(text)?["folder"].as_str().map(str::to_owned))
}

/// The schema that declares the conditions of claims.
const CLAIMS: &str = "claim.schema.json";

/// What the schemas in force say.
#[derive(Debug, Clone, Default)]
pub struct Kinds {
    /// Kinds, properties, families.
    pub catalogue: Catalogue,
    conditions: HashMap<String, Quantity>,
    /// Hash over all schema files in force.
    pub hash: [u8; 32],
}

impl Kinds {
    /// Reads the schemas.
    pub fn of(schemas: &Schemas) -> Kinds {
        let mut conditions = HashMap::new();
        if let Some(claims) = schemas.document(CLAIMS) {
            quantities(claims, &claims["$defs"]["conditions"], "", &mut conditions);
        }
        let mut hash = Sha256::new();
        for (name, document) in schemas.documents() {
            hash.update(name);
            hash.update(document.to_string());
        }
        Kinds { catalogue: Catalogue::of(schemas), conditions, hash: hash.finalize().into() }
    }
    /// The quantity of a condition; `None` for words and text.
    pub fn condition(&self, name: &str) -> Option<Quantity> {
        self.conditions.get(name).copied()
    }
}

fn quantities(schema: &Json, node: &Json, inside: &str, into: &mut HashMap<String, Quantity>) {
    for (name, field) in node["properties"].as_object().into_iter().flatten() {
        let name = if inside.is_empty() { name.clone() } else { format!("{inside}.{name}") };
        let Some(target) = reference(field) else { continue };
        match Quantity::from_word(target) {
            Some(quantity) => drop(into.insert(name, quantity)),
            None => quantities(schema, &schema["$defs"][target], &name, into),
        }
    }
}

/// The last part of the `$ref` of a schema, wrapped in `allOf` or not.
fn reference(schema: &Json) -> Option<&str> {
    let target = schema["$ref"].as_str().or_else(|| schema["allOf"][0]["$ref"].as_str())?;
    target.rsplit('/').next()
}
