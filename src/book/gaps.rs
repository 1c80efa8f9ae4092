//! What the commands need of a record and do not find.

use super::Basis;
use super::collection::Book;
use super::record::Record;
use super::view::RuleCondition;
use serde::Serialize;
use std::collections::BTreeMap;

/// A property that is needed and lacking.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// The property.
    pub property: String,
    /// Who asks for it: a purpose, or names of rules.
    pub for_what: Vec<String>,
    /// Whether there are claims, none of which may be used (disputed, withdrawn, invented).
    pub only_unusable: bool,
}

/// What a record lacks, by property. Only properties its kind knows.
pub fn gaps(book: &Book, record: &Record) -> Vec<Gap> {
    let role = book.role(record);
    let mut wanted: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (property, why) in book.catalogue().asked_by_models(role) {
        wanted.entry(property).or_default().push(why.to_owned());
    }
    for rule in book.of_kind("rule").filter(|r| r.current && concerns(book, r, role, record)) {
        let mut properties = Vec::new();
        if let Some(when) = rule.rule().and_then(|r| r.when.as_ref()) {
            operands(when, role, &mut properties);
        }
        for property in properties {
            wanted.entry(property).or_default().push(rule.id.to_string());
        }
    }
    let known = |word: &str| book.catalogue().property(record.id.kind(), word).is_some();
    let invented = record.invented();
    let usable = |word: &str| record.claims(word).iter().any(|c| c.in_use() && (invented || c.basis != Basis::Invented));
    let lacking = wanted.into_iter().filter(|(word, _)| known(word) && !usable(word));
    lacking
        .map(|(word, for_what)| Gap { property: word.into(), for_what, only_unusable: !record.claims(word).is_empty() })
        .collect()
}

/// Whether the scope of a rule takes in the record's family.
fn concerns(book: &Book, rule: &Record, role: &str, record: &Record) -> bool {
    let families = rule.rule().and_then(|r| r.scope(role)).map_or(&[][..], |scope| &scope.family);
    families.is_empty() || families.iter().any(|f| book.is_family(&record.family, f))
}

/// The properties a condition asks of a role.
fn operands<'a>(condition: &'a RuleCondition, role: &str, into: &mut Vec<&'a str>) {
    let is = |of: Option<super::view::Operand>| of.is_some_and(|of| of.word() == role);
    if is(condition.of) {
        into.extend(condition.property.as_deref());
    }
    if is(condition.below_of) || is(condition.above_of) {
        into.extend(condition.property_of.as_deref());
    }
    condition.inner().for_each(|inner| operands(inner, role, into));
}
