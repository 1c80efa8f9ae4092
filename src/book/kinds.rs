//! What the schemas in force say: the catalogue of kinds, and the quantities of conditions.

use crate::check::catalogue::Catalogue;
use crate::check::schemas::Schemas;
use crate::quantity::Quantity;
use serde::{Deserialize, Serialize};
use serde_json::Value as Json;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

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

/// What tells one set of schemas from another.
pub type SchemasHash = [u8; 32];

/// What the schemas in force say.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Kinds {
    /// Kinds, properties, families.
    pub catalogue: Catalogue,
    conditions: BTreeMap<String, Quantity>,
}

/// The hash of the schemas embedded in the program, which need not be read for it.
pub fn built_in_hash() -> SchemasHash {
    Sha256::digest(built_in::MARK.to_le_bytes()).into()
}

/// The hash of schemas of which some came with packs.
pub fn hash_of(schemas: &Schemas) -> SchemasHash {
    let mut hash = Sha256::new();
    for (name, document) in schemas.documents() {
        hash.update(name);
        hash.update(document.to_string());
    }
    hash.finalize().into()
}

impl Kinds {
    /// Reads the schemas.
    pub fn of(schemas: &Schemas) -> Kinds {
        let mut conditions = BTreeMap::new();
        if let Some(claims) = schemas.document(CLAIMS) {
            quantities(claims, &claims["$defs"]["conditions"], "", &mut conditions);
        }
        Kinds { catalogue: Catalogue::of(schemas), conditions }
    }
    /// The quantity of a condition; `None` for words and text.
    pub fn condition(&self, name: &str) -> Option<Quantity> {
        self.conditions.get(name).copied()
    }
}

fn quantities(schema: &Json, node: &Json, inside: &str, into: &mut BTreeMap<String, Quantity>) {
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
