//! The rules of a book.

use super::question::{Side, joint_fact};
use crate::book::{Book, Record, RecordId, view};
use std::ops::Deref;

pub use view::{RuleOrigin, RuleStrength, Scope};

impl Scope {
    /// Whether a record is in the families of the scope; the fact is judged as a condition.
    pub fn holds_family(&self, record: &Record, book: &Book) -> bool {
        let member = |words: &[String]| words.iter().any(|w| book.is_family(&record.family, w));
        (self.family.is_empty() || member(&self.family)) && !member(&self.not_family)
    }
}

/// A rule of the book. It reads as what its record says.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Its record.
    pub id: RecordId,
    /// What it says, in one sentence.
    pub name: String,
    /// Whether it speaks of ways to make a threaded joint; otherwise it speaks of a glue on a material.
    pub of_method: bool,
    says: view::Rule,
}

impl Deref for Rule {
    type Target = view::Rule;
    fn deref(&self) -> &view::Rule {
        &self.says
    }
}

/// A rule record that check let pass but that cannot be judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleFault {
    /// The record.
    pub id: RecordId,
    /// What is wrong.
    pub message: String,
}

impl Rule {
    /// The rule of a record of kind `rule`.
    ///
    /// # Errors
    /// A record that is no rule, or is remembered in a form of other days.
    pub fn of(record: &Record) -> Result<Rule, RuleFault> {
        let fault = || RuleFault { id: record.id.clone(), message: "the record cannot be read as a rule".into() };
        let says = record.rule().ok_or_else(fault)?.clone();
        let of_method = |name: &str| joint_fact(name).is_some_and(|f| f.side == Side::Method);
        let of_method = says.when.as_ref().is_some_and(|w| w.asks_of_joint(&of_method));
        Ok(Rule { id: record.id.clone(), name: record.name.to_string(), of_method, says })
    }
}

/// Every current rule of the book, gates first, then by id; rules that cannot be read are returned beside them.
pub fn rules(book: &Book) -> (Vec<Rule>, Vec<RuleFault>) {
    let mut good = Vec::new();
    let mut bad = Vec::new();
    for record in book.of_kind("rule").filter(|r| r.current) {
        match Rule::of(record) {
            Ok(rule) => good.push(rule),
            Err(fault) => bad.push(fault),
        }
    }
    good.sort_by(|a, b| b.strength.cmp(&a.strength).then_with(|| a.id.cmp(&b.id)));
    (good, bad)
}
