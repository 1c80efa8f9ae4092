//! A rule record: scope, condition, strength, reason, provenance.

use super::condition::Condition;
use super::question::{Side, joint_fact};
use crate::book::{Basis, Book, Record, RecordId};
use serde::Deserialize;

/// What a rule does when its condition holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Strength {
    /// For the person at the bench or the reader of a number.
    Caution,
    /// Suits with care.
    Warning,
    /// Does not suit.
    Gate,
}

impl Strength {
    /// The word on screen.
    pub fn word(self) -> &'static str {
        match self {
            Strength::Caution => "caution",
            Strength::Warning => "warning",
            Strength::Gate => "gate",
        }
    }
}

/// Which records a rule is about: any of these families with their members, without those, with this fact.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scope {
    /// Families, with their members.
    #[serde(default)]
    pub family: Vec<String>,
    /// Families left out, with their members.
    #[serde(default)]
    pub not_family: Vec<String>,
    /// A yes-or-no property that must be yes.
    pub fact: Option<String>,
}

impl Scope {
    /// Whether a record is in the families of the scope; the fact is judged as a condition.
    pub fn holds_family(&self, record: &Record, book: &Book) -> bool {
        let member = |words: &[String]| words.iter().any(|w| book.is_family(&record.family, w));
        (self.family.is_empty() || member(&self.family)) && !member(&self.not_family)
    }
}

/// Where a rule comes from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Origin {
    /// Id of the source record.
    pub source: Option<String>,
    /// Where in the source.
    pub locator: Option<String>,
    /// How the source knows.
    pub basis: Basis,
    /// What was read of it.
    pub read: Option<String>,
    /// Remark.
    pub note: Option<String>,
}

/// A rule of the book.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Its record.
    pub id: RecordId,
    /// What it says, in one sentence.
    pub name: String,
    /// What it does.
    pub strength: Strength,
    /// Which adhesives.
    pub adhesive: Option<Scope>,
    /// Which materials.
    pub material: Option<Scope>,
    /// Which metals of an insert; the rule speaks only when one is named.
    pub insert: Option<Scope>,
    /// When it applies; `None` is always.
    pub when: Option<Condition>,
    /// Why.
    pub because: String,
    /// Steps that lift it.
    pub lifted_by: Vec<String>,
    /// What to do instead.
    pub advice: Option<String>,
    /// Which value would settle it.
    pub say_when_unknown: Option<String>,
    /// Assumed done and printed as a step.
    pub workmanship: bool,
    /// Whether a use nobody stated counts as the one that makes the condition hold.
    pub holds_unless_stated: bool,
    /// Whether it speaks of ways to make a threaded joint; otherwise it speaks of a glue on a material.
    pub of_method: bool,
    /// Where it comes from.
    pub provenance: Vec<Origin>,
}

/// The fields of a rule file besides its name.
#[derive(Debug, Deserialize)]
struct Fields {
    strength: Strength,
    adhesive: Option<Scope>,
    material: Option<Scope>,
    insert: Option<Scope>,
    when: Option<Condition>,
    because: String,
    #[serde(default)]
    lifted_by: Vec<String>,
    advice: Option<String>,
    say_when_unknown: Option<String>,
    #[serde(default)]
    workmanship: bool,
    #[serde(default)]
    holds_unless_stated: bool,
    provenance: Vec<Origin>,
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
    pub fn of(record: &Record) -> Result<Rule, RuleFault> {
        let fields =
            Fields::deserialize(&record.rest).map_err(|e| RuleFault { id: record.id.clone(), message: e.to_string() })?;
        let of_method = |name: &str| joint_fact(name).is_some_and(|f| f.side == Side::Method);
        let of_method = fields.when.as_ref().is_some_and(|w| w.asks_of_joint(&of_method));
        Ok(Rule {
            id: record.id.clone(),
            name: record.name.to_string(),
            strength: fields.strength,
            adhesive: fields.adhesive,
            material: fields.material,
            insert: fields.insert,
            when: fields.when,
            because: fields.because,
            lifted_by: fields.lifted_by,
            advice: fields.advice,
            say_when_unknown: fields.say_when_unknown,
            workmanship: fields.workmanship,
            holds_unless_stated: fields.holds_unless_stated,
            of_method,
            provenance: fields.provenance,
        })
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
