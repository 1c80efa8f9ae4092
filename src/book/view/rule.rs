//! What a rule record says.

use super::Scalar;
use crate::book::Basis;
use serde::Deserialize;

/// What a rule does when its condition holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(rename_all = "lowercase")]
pub enum RuleStrength {
    /// For the person at the bench or the reader of a number.
    Caution,
    /// Suits with care.
    Warning,
    /// Does not suit.
    Gate,
}

impl RuleStrength {
    /// The word on screen.
    pub fn word(self) -> &'static str {
        match self {
            RuleStrength::Caution => "caution",
            RuleStrength::Warning => "warning",
            RuleStrength::Gate => "gate",
        }
    }
}

/// Which records a rule is about: any of these families with their members, without those, with this fact.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
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

/// Where a rule comes from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
pub struct RuleOrigin {
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

/// Whose property a condition looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(rename_all = "lowercase")]
pub enum Operand {
    /// The adhesive's record.
    Adhesive,
    /// The material's record.
    Material,
    /// The metal of the insert.
    Insert,
    /// The joint as asked about.
    Joint,
    /// A step declared done.
    Step,
}

impl Operand {
    /// The word on disk.
    pub fn word(self) -> &'static str {
        match self {
            Operand::Adhesive => "adhesive",
            Operand::Material => "material",
            Operand::Insert => "insert",
            Operand::Joint => "joint",
            Operand::Step => "step",
        }
    }
}

/// What a yes-or-no fact or a word is compared with.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(untagged)]
pub enum Is {
    /// Yes or no.
    YesNo(bool),
    /// A word.
    Word(Box<str>),
}

/// A comparison, or a group of conditions; exactly one of the forms is filled.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(deny_unknown_fields)]
pub struct RuleCondition {
    /// Every one of these holds.
    #[serde(default)]
    pub all: Vec<RuleCondition>,
    /// At least one of these holds.
    #[serde(default)]
    pub any: Vec<RuleCondition>,
    /// This does not hold.
    pub not: Option<Box<RuleCondition>>,
    /// Whose property.
    pub of: Option<Operand>,
    /// Property of the record, quantity of the joint, or name of a step.
    pub property: Option<String>,
    /// More than.
    pub above: Option<Scalar>,
    /// This or more.
    pub at_least: Option<Scalar>,
    /// Less than.
    pub below: Option<Scalar>,
    /// This or less.
    pub at_most: Option<Scalar>,
    /// Yes or no, or a word.
    pub is: Option<Is>,
    /// Any of these words.
    pub one_of: Option<Vec<String>>,
    /// More than a property of this one.
    pub above_of: Option<Operand>,
    /// Less than a property of this one.
    pub below_of: Option<Operand>,
    /// That property.
    pub property_of: Option<String>,
    /// Margin added to it.
    pub plus: Option<Scalar>,
}

impl RuleCondition {
    /// The conditions in it.
    pub fn inner(&self) -> impl Iterator<Item = &RuleCondition> {
        self.all.iter().chain(&self.any).chain(self.not.as_deref())
    }
}

/// A rule; its sentence is the name of the record.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
pub struct Rule {
    /// What it does.
    pub strength: RuleStrength,
    /// Which adhesives.
    pub adhesive: Option<Scope>,
    /// Which materials.
    pub material: Option<Scope>,
    /// Which metals of an insert; the rule speaks only when one is named.
    pub insert: Option<Scope>,
    /// When it applies; `None` is always.
    pub when: Option<RuleCondition>,
    /// Why.
    pub because: String,
    /// Steps that lift it.
    #[serde(default)]
    pub lifted_by: Vec<String>,
    /// What to do instead.
    pub advice: Option<String>,
    /// Which value would settle it.
    pub say_when_unknown: Option<String>,
    /// Assumed done and printed as a step.
    #[serde(default)]
    pub workmanship: bool,
    /// Whether a use nobody stated counts as the one that makes the condition hold.
    #[serde(default)]
    pub holds_unless_stated: bool,
    /// Where it comes from.
    pub provenance: Vec<RuleOrigin>,
}

impl Rule {
    /// Whom it is about in a role.
    pub fn scope(&self, role: &str) -> Option<&Scope> {
        match role {
            "adhesive" => self.adhesive.as_ref(),
            "material" => self.material.as_ref(),
            "insert" => self.insert.as_ref(),
            _ => None,
        }
    }
}
