//! Does this glue suit this material, and what do the rules say of a way to make a thread?
//!
//! Rules are records: conditions with units over the adhesive, the material, the metal of an insert, the joint and the
//! steps taken. They are judged in three-valued logic: a missing value makes a condition unknown, and the answer names
//! the value that would settle it. Nothing here reads files or prints.

mod condition;
mod evidence;
mod light;
mod preparation;
mod question;
mod rank;
mod rule;
mod spoken;
mod truth;
mod verdict;

pub use condition::RuleCondition;
pub use evidence::{EvidenceLevel, GlueEvidence, evidence, series_counted};
pub use light::{Light, light};
pub use preparation::{Preparation, PreparationStep};
pub use question::{Fact, Grounds, JOINT_FACTS, Question, STEPS, ServiceConditions, Side, must_be_declared, steps_in_words};
pub use rank::{Ranked, Ranking, rank_adhesives, rank_materials};
pub use rule::{Rule, RuleFault, RuleOrigin, RuleStrength, Scope, rules};
pub use spoken::{RuleOutcome, Spoken};
pub use truth::{Missing, MissingSort, ReadValue, Truth};
pub use verdict::{Suitability, Verdict, judge, judge_method};
