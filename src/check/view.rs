//! What the schemas say about one place of a record: allowed keys, words, title, quantity.

use serde_json::{Map, Value};

use super::schemas::{Schemas, Step};
use crate::quantity::Quantity;

/// References followed from one place; a chain longer than this is a circle.
const CHAIN: usize = 24;

/// All schema objects that speak about one place.
#[derive(Clone)]
pub struct View<'s> {
    schemas: &'s Schemas,
    parts: Vec<(&'s str, &'s Map<String, Value>)>,
}

impl<'s> View<'s> {
    /// The top of a record whose schema is this file.
    #[must_use]
    pub fn top(schemas: &'s Schemas, file: &str) -> Self {
        let mut view = View { schemas, parts: Vec::new() };
        if let Some((file, document)) = schemas.documents().get_key_value(file) {
            view.add(file, document, 0);
        }
        view
    }

    /// The place one step further in.
    #[must_use]
    pub fn step(&self, step: &Step) -> View<'s> {
        let mut next = View { schemas: self.schemas, parts: Vec::new() };
        for (file, part) in &self.parts {
            let below = match step {
                Step::Key(key) => match part.get("properties").and_then(|all| all.get(key)) {
                    None => part.get("additionalProperties"),
                    some => some,
                },
                Step::Item(_) => part.get("items"),
            };
            if let Some(below) = below {
                next.add(file, below, 0);
            }
        }
        next
    }

    /// The place at the end of a path.
    #[must_use]
    pub fn path(&self, path: &[Step]) -> View<'s> {
        path.iter().fold(self.clone(), |view, step| view.step(step))
    }

    /// Keys that may stand here.
    #[must_use]
    pub fn keys(&self) -> Vec<&'s str> {
        let properties = self.parts.iter().filter_map(|(_, part)| part.get("properties")?.as_object());
        let mut keys: Vec<&str> = properties.flat_map(|all| all.keys().map(String::as_str)).collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    /// Keys in the order of the schema, each once.
    #[must_use]
    pub fn order(&self) -> Vec<&'s str> {
        let properties = self.parts.iter().filter_map(|(_, part)| part.get("properties")?.as_object());
        let mut order: Vec<&str> = Vec::new();
        for key in properties.flat_map(|all| all.keys().map(String::as_str)) {
            if !order.contains(&key) {
                order.push(key);
            }
        }
        order
    }

    /// The first value of a keyword.
    #[must_use]
    pub fn keyword(&self, name: &str) -> Option<&'s Value> {
        self.parts.iter().find_map(|(_, part)| part.get(name))
    }

    /// The first text of a keyword.
    #[must_use]
    pub fn text(&self, name: &str) -> Option<&'s str> {
        self.keyword(name)?.as_str()
    }

    /// The quantity a scalar here must be.
    #[must_use]
    pub fn quantity(&self) -> Option<Quantity> {
        Quantity::from_word(self.text("quantity")?)
    }

    /// Words of a list keyword (`enum`, `words`).
    #[must_use]
    pub fn words(&self, name: &str) -> Option<Vec<&'s str>> {
        Some(self.keyword(name)?.as_array()?.iter().filter_map(Value::as_str).collect())
    }

    fn add(&mut self, file: &'s str, schema: &'s Value, chain: usize) {
        let Some(part) = schema.as_object() else { return };
        if chain > CHAIN {
            return;
        }
        self.parts.push((file, part));
        if let Some(reference) = part.get("$ref").and_then(Value::as_str)
            && let Some((file, target)) = resolve(self.schemas, file, reference)
        {
            self.add(file, target, chain + 1);
        }
        for keyword in ["allOf", "anyOf", "oneOf"] {
            for branch in part.get(keyword).and_then(Value::as_array).into_iter().flatten() {
                self.add(file, branch, chain + 1);
            }
        }
    }
}

/// The schema a reference names, and the file it stands in. `None` when it names nothing loaded.
#[must_use]
pub fn resolve<'s>(schemas: &'s Schemas, file: &'s str, reference: &str) -> Option<(&'s str, &'s Value)> {
    let (name, pointer) = reference.split_once('#').unwrap_or((reference, ""));
    let name = if name.is_empty() { file } else { name };
    let (file, document) = schemas.documents().get_key_value(name)?;
    Some((file, document.pointer(pointer)?))
}
