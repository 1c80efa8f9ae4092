//! What a pack declares: pack.yaml, families it adds, schemas of its own.

use serde_json::Value;

use super::file_findings::FileFindingList;
use super::schemas::Schemas;
use super::view::resolve;
use crate::read::tree::{Node, Value as Written};

/// What a pack says of itself.
pub(super) const PACK_FILE: &str = "pack.yaml";
/// Schema of pack.yaml.
pub(super) const PACK_SCHEMA: &str = "pack.schema.json";
/// Schema of schemas.
pub(super) const META_SCHEMA: &str = "meta.schema.json";

/// Licences a pack may have, as SPDX ids; `LicenseRef-…` stands for one of your own.
pub const LICENCES: [&str; 6] = ["CC0-1.0", "CC-BY-4.0", "CC-BY-SA-4.0", "ODC-By-1.0", "ODbL-1.0", "PDDL-1.0"];

/// A family a pack adds below an existing one.
#[derive(Debug, Clone)]
pub(super) struct Leaf {
    pub word: String,
    pub broader: String,
    pub span: crate::finding::Span,
}

/// Id of the pack and the families it adds.
#[derive(Debug, Clone, Default)]
pub(super) struct Declared {
    pub id: String,
    pub leaves: Vec<Leaf>,
}

pub(super) fn declared(tree: &Node) -> Declared {
    let families = tree.get("families").and_then(Node::as_map);
    let leaves = families.into_iter().flatten().filter_map(|entry| {
        Some(Leaf { word: entry.key.text.to_string(), broader: entry.node.as_text()?.to_owned(), span: entry.key.span })
    });
    Declared { id: tree.get("id").and_then(Node::as_text).unwrap_or_default().to_owned(), leaves: leaves.collect() }
}

pub(super) fn licence(tree: &Node, list: &mut FileFindingList<'_>) {
    let Some(node) = tree.get("licence") else { return };
    let Some(text) = node.as_text() else { return };
    let own = text.strip_prefix("LicenseRef-").is_some_and(|rest| !rest.is_empty());
    if !own && !LICENCES.contains(&text) {
        let message = format!("`{text}` is not a licence that data may have here");
        list.find("licence-unknown", node.span, message, format!("use one of {}, or LicenseRef-NAME", LICENCES.join(", ")));
    }
}

/// Adds a family to the shared list; false when it exists or its broader one does not.
pub(super) fn add_family(document: &mut Value, leaf: &Leaf) -> Result<(), &'static str> {
    let Some(list) = document.pointer_mut("/$defs/family").and_then(Value::as_object_mut) else { return Ok(()) };
    let has = |list: &serde_json::Map<String, Value>, word: &str| {
        list.get("enum").and_then(Value::as_array).is_some_and(|all| all.iter().any(|one| one == word))
    };
    if has(list, &leaf.word) {
        return Err("family-twice");
    }
    if !has(list, &leaf.broader) {
        return Err("family-unknown");
    }
    if let Some(words) = list.get_mut("enum").and_then(Value::as_array_mut) {
        words.push(Value::String(leaf.word.clone()));
    }
    if let Some(broader) = list.get_mut("broader").and_then(Value::as_object_mut) {
        broader.insert(leaf.word.clone(), Value::String(leaf.broader.clone()));
    }
    Ok(())
}

/// Findings on a schema that the meta-schema cannot say: its name, its references, its patterns.
pub(super) fn schema(file: &str, tree: &Node, schemas: &Schemas, list: &mut FileFindingList<'_>) {
    if let Some(node) = tree.get("$id")
        && node.as_text() != Some(file)
    {
        list.find("schema-name", node.span, "`$id` differs from the file name", format!("write \"$id\": \"{file}\""));
    }
    let declares = ["kind", "folder", "role"].map(|key| tree.get(key).is_some());
    if declares.contains(&true) && declares.contains(&false) {
        let help = "a kind is declared by `kind`, `folder` and `role` together";
        list.find("schema-broken", tree.span, "add whichever of `kind`, `folder` and `role` is missing", help);
    }
    references(file, tree, schemas, list);
}

/// Every `$ref` names a schema file that is loaded; nothing is fetched.
fn references(file: &str, node: &Node, schemas: &Schemas, list: &mut FileFindingList<'_>) {
    match &node.value {
        Written::Map(map) => {
            for entry in map {
                if &*entry.key.text == "$ref"
                    && let Some(reference) = entry.node.as_text()
                {
                    if resolve(schemas, known_name(file, schemas), reference).is_none() {
                        let message = format!("`{reference}` does not exist in the schema files that are loaded");
                        let help = "name a definition of this file (#/$defs/…) or of another schema file (quantity.schema.json#/$defs/…); nothing is fetched";
                        list.find("schema-reference", entry.node.span, message, help);
                    }
                } else {
                    references(file, &entry.node, schemas, list);
                }
            }
        }
        Written::List(items) => items.iter().for_each(|item| references(file, item, schemas, list)),
        _ => {}
    }
}

fn known_name<'s>(file: &str, schemas: &'s Schemas) -> &'s str {
    schemas.documents().get_key_value(file).map_or("", |(name, _)| name)
}
