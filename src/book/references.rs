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

/// Every id that a record names, and [`WITHDRAWS`] where it withdraws something.
pub fn names(record: &Record) -> BTreeSet<String> {
    let mark = withdraws(record).then(|| WITHDRAWS.to_owned());
    of(record).into_iter().map(|(target, _)| target).chain(mark).collect()
}

/// What a record names: full id and the place of the naming.
pub fn of(record: &Record) -> Vec<(String, String)> {
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
