//! Which record names which.

use super::claim::Standing;
use super::record::{Record, RecordId};
use serde_json::Value as Json;
use std::collections::{BTreeSet, HashMap};

/// A record that names another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Reference {
    /// The record that names it.
    pub record: RecordId,
    /// Where: a property (`tg`) or a field (`joint.material`).
    pub at: String,
}

/// References by the full id they point to, each list sorted.
pub(super) fn by_target<'a>(records: impl Iterator<Item = &'a Record>) -> HashMap<String, Vec<Reference>> {
    let mut all: HashMap<String, Vec<Reference>> = HashMap::new();
    for record in records {
        for (target, at) in of(record) {
            all.entry(target).or_default().push(Reference { record: record.id.clone(), at });
        }
    }
    for list in all.values_mut() {
        list.sort();
        list.dedup();
    }
    all
}

/// What a record is found by when it withdraws something; no id, so nothing can name it by chance.
pub const WITHDRAWS: &str = "withdraws";

/// Whether a record withdraws something: itself, a claim, a measurement, a single result.
pub(super) fn withdraws(record: &Record) -> bool {
    !record.current
        || record.properties.iter().flat_map(|p| &p.claims).any(|c| c.standing == Standing::Withdrawn)
        || record.series().is_some_and(|s| s.withdrawn_parts().next().is_some())
}

/// What stands before the word of a method among the names a series is found by. It is no id: most methods are the program's
/// and have no record, and a record that names an id which no pack has is read anew each time.
const METHOD_WORD: &str = "method by word: ";

/// The word by which a series names its method.
pub(super) fn method(record: &Record) -> Option<&str> {
    record.series()?.joint.method.as_deref()
}

/// Every id that a record names, the word of its method, and [`WITHDRAWS`] where it withdraws something.
pub fn names(record: &Record) -> BTreeSet<String> {
    let mark = withdraws(record).then(|| WITHDRAWS.to_owned());
    let method = method(record).map(|word| METHOD_WORD.to_owned() + word);
    ids(record).into_iter().map(|(target, _)| target).chain(method).chain(mark).collect()
}

/// Whether one of [`names`] means the record with this id.
pub(super) fn means(name: &str, id: &str) -> bool {
    name == id || name.strip_prefix(METHOD_WORD).is_some_and(|word| id.strip_prefix("method/") == Some(word))
}

/// What a record names: full id and the place of the naming. The method of a series is named as if it had a record.
pub fn of(record: &Record) -> Vec<(String, String)> {
    let method = method(record).map(|word| (format!("method/{word}"), "joint.method".to_owned()));
    ids(record).into_iter().chain(method).collect()
}

fn ids(record: &Record) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for property in &record.properties {
        for claim in &property.claims {
            let sources = claim.source.iter().map(|s| format!("source/{s}"));
            let claims = claim.from.iter().filter_map(|a| a.split_once(':')).map(|(id, _)| id.to_owned());
            found.extend(sources.chain(claims).map(|target| (target, property.word.to_string())));
        }
    }
    walk(record.rest.json(), "", &mut found);
    found
}

/// Field `source` and the list `cites` name bare source ids, `shares_specimens_with` bare series ids; elsewhere a text
/// `kind/name` names a record.
fn walk(value: &Json, at: &str, into: &mut Vec<(String, String)>) {
    match value {
        Json::Object(fields) => {
            for (key, inner) in fields {
                let path = if at.is_empty() { key.clone() } else { format!("{at}.{key}") };
                walk(inner, &path, into);
            }
        }
        Json::Array(items) => items.iter().for_each(|item| walk(item, at, into)),
        Json::String(text) => {
            let field = at.rsplit_once('.').map_or(at, |(_, field)| field);
            match field {
                "source" | "cites" => into.push((format!("source/{text}"), at.to_owned())),
                "shares_specimens_with" => into.push((format!("series/{text}"), at.to_owned())),
                _ if names_record(text) => into.push((text.clone(), at.to_owned())),
                _ => {}
            }
        }
        _ => {}
    }
}

pub(super) fn names_record(text: &str) -> bool {
    let id = |s: &str| {
        !s.is_empty()
            && s.len() <= 64
            && s.split('-').all(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit()))
    };
    text.split_once('/').is_some_and(|(kind, name)| id(kind) && id(name) && kind.bytes().any(|b| b.is_ascii_lowercase()))
}
