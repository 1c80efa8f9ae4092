//! Findings of audits that are not the program's own: values, made before the run, that take the same way as all others.

use super::findings::{Raw, Spot};
use crate::book::Record;
use crate::finding::Severity;
use std::collections::BTreeMap;

/// What an audit from outside found.
#[derive(Debug, Clone, PartialEq)]
pub struct Outside {
    /// Its name: the name of its findings.
    pub name: &'static str,
    /// The gravest finding it may give.
    pub severity: Severity,
    /// Findings by id of the record.
    pub found: BTreeMap<String, Vec<OutsideFinding>>,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutsideFinding {
    /// JSON pointer into the record.
    pub pointer: String,
    /// How much it matters.
    pub severity: Severity,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Outside {
    /// An audit that found nothing.
    pub fn none(name: &'static str) -> Self {
        Outside { name, severity: Severity::Note, found: BTreeMap::new() }
    }
    /// Its findings on a record; none of them concerns integrity, so a reviewer may waive each.
    pub(super) fn on(&self, record: &Record) -> Vec<Raw> {
        let raw = |found: &OutsideFinding| Raw {
            rule: self.name,
            severity: found.severity.min(self.severity),
            integrity: false,
            spot: spot(record, &found.pointer),
            message: found.message.clone(),
            help: found.help.clone(),
        };
        self.found.get(record.id.as_str()).into_iter().flatten().map(raw).collect()
    }
}

/// A claim is named as a waiver of our own audits names it; any other place by its first key.
fn spot(record: &Record, pointer: &str) -> Spot {
    let keys: Vec<&str> = pointer.split('/').skip(1).collect();
    if let ["properties", word, rest @ ..] = keys.as_slice() {
        let claim = rest.first().and_then(|index| record.claims(word).get(index.parse::<usize>().ok()?));
        let spot = claim.map_or_else(|| Spot::property(record, word), |claim| Spot::claim(record, word, claim));
        return Spot { pointer: pointer.into(), ..spot };
    }
    Spot::field(record, pointer)
}
