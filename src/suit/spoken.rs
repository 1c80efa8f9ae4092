//! What a rule said of a pair or a joint.

use super::rule::{RuleOrigin, RuleStrength};
use super::truth::{Missing, ReadValue};
use crate::book::RecordId;

/// What a rule said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RuleOutcome {
    /// Its condition holds.
    Stands,
    /// Its condition holds, and a declared step lifts it.
    Lifted,
    /// A value no record holds keeps it open.
    Unknown,
    /// A use the asker did not state keeps it open.
    NotAsked,
    /// Workmanship: assumed done, printed as a step.
    Assumed,
    /// Its condition does not hold.
    Passed,
}

impl RuleOutcome {
    /// The word on screen and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            RuleOutcome::Stands => "stands",
            RuleOutcome::Lifted => "lifted",
            RuleOutcome::Unknown => "unknown",
            RuleOutcome::NotAsked => "not-asked",
            RuleOutcome::Assumed => "assumed-done",
            RuleOutcome::Passed => "passed",
        }
    }
}

/// A rule that is about this pair, and what it said.
#[derive(Debug, Clone, PartialEq)]
pub struct Spoken {
    /// Its record.
    pub id: RecordId,
    /// What it says.
    pub name: String,
    /// Gate, warning or caution.
    pub strength: RuleStrength,
    /// Whether it is about some adhesives only, not about all.
    pub particular: bool,
    /// What it said here.
    pub outcome: RuleOutcome,
    /// Why it exists.
    pub because: String,
    /// What to do instead.
    pub advice: Option<String>,
    /// Steps that lift it.
    pub lifted_by: Vec<String>,
    /// Where it comes from.
    pub provenance: Vec<RuleOrigin>,
    /// Values it looked at.
    pub used: Vec<ReadValue>,
    /// What would settle it.
    pub missing: Vec<Missing>,
}

impl Spoken {
    /// Its name behind a colon: the first letter is small, unless it begins an abbreviation.
    pub fn continued(&self) -> String {
        let mut letters = self.name.chars();
        match (letters.next(), letters.clone().next()) {
            (Some(first), Some(second)) if second.is_lowercase() || second == ' ' => {
                first.to_lowercase().chain(letters).collect()
            }
            _ => self.name.clone(),
        }
    }
}
