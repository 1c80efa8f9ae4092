//! How to do it: gap, cure, primer, surface.

use super::condition::usable;
use super::question::{Question, steps_in_words};
use super::spoken::{RuleOutcome, Spoken};
use crate::book::{Book, Claim, ClaimCondition};
use crate::quantity::{Amount, Quantity, Written};

/// A step, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PreparationStep {
    /// What to do.
    pub what: String,
    /// The rule or claim behind it.
    pub because: String,
}

/// How to do it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Preparation {
    /// Gap to aim for and to keep below.
    pub gap: Vec<PreparationStep>,
    /// Times to hold and to wait.
    pub cure: Vec<PreparationStep>,
    /// Steps before and while gluing.
    pub steps: Vec<PreparationStep>,
}

/// What the adhesive's claims and the rules that spoke ask to be done.
pub(super) fn prepare(question: &Question<'_>, spoken: &[Spoken], book: &Book) -> Preparation {
    let mut p = Preparation { gap: told(question, book, "gap"), cure: told(question, book, "cure"), steps: Vec::new() };
    for s in spoken {
        let because = s.name.clone();
        match s.outcome {
            RuleOutcome::Assumed => {
                p.steps.push(PreparationStep { what: s.advice.clone().unwrap_or_else(|| s.because.clone()), because });
            }
            RuleOutcome::Stands if !s.lifted_by.is_empty() => {
                p.steps.push(PreparationStep { what: format!("needed: {}", ways(s)), because });
            }
            RuleOutcome::Stands => {
                if let Some(advice) = &s.advice {
                    p.steps.push(PreparationStep { what: advice.clone(), because });
                }
            }
            RuleOutcome::Lifted => p.steps.push(PreparationStep { what: format!("done: {}", ways(s)), because }),
            RuleOutcome::Unknown | RuleOutcome::NotAsked | RuleOutcome::Passed => {}
        }
    }
    merge(&mut p.steps);
    p
}

/// The steps that lift a rule, in words.
fn ways(rule: &Spoken) -> String {
    steps_in_words(&[rule.lifted_by.join(" or ")])
}

/// One line for steps that several rules ask for.
fn merge(steps: &mut Vec<PreparationStep>) {
    let mut merged: Vec<PreparationStep> = Vec::new();
    for step in steps.drain(..) {
        match merged.iter_mut().find(|m| m.what == step.what) {
            Some(same) => same.because = format!("{}; {}", same.because, step.because),
            None => merged.push(step),
        }
    }
    *steps = merged;
}

/// What the schema of the adhesive's kind has told under a heading.
fn told(question: &Question<'_>, book: &Book, heading: &str) -> Vec<PreparationStep> {
    let cards = book.kind_of(question.adhesive).map(|kind| kind.properties.as_slice()).unwrap_or_default();
    let under = cards.iter().filter_map(|card| card.instruction.as_ref().map(|(under, say)| (say, under, &*card.word)));
    let mut under: Vec<_> = under.filter(|(_, under, _)| *under == heading).collect();
    under.sort();
    let mut steps = Vec::new();
    under.into_iter().for_each(|(say, _, word)| claimed(question, word, &say.words, &mut steps));
    steps
}

fn claimed(question: &Question<'_>, word: &str, label: &str, into: &mut Vec<PreparationStep>) {
    for claim in usable(question.adhesive, word, question.invented()) {
        let conditions = conditions(claim);
        into.push(PreparationStep {
            what: format!("{label} {}{conditions}", stated(claim)),
            because: question.adhesive.address(word, claim),
        });
    }
}

/// The value as written, with its canonical unit behind another one: `15 thou (0.38 mm)`, `20 °C to 350 °F (177 °C)`.
fn stated(claim: &Claim) -> String {
    let written = claim.value.text();
    let Some((low, high)) = claim.value.ends() else { return written };
    let canonical = low.quantity().canonical();
    // Times are read as well in any unit.
    let converted = matches!(low.quantity(), Quantity::Length | Quantity::Temperature);
    if !converted || (low.unit == canonical && high.unit == canonical) {
        return written;
    }
    let text = |w: &Written| Amount { si: w.si, unit: canonical }.text(w.significant_digits().clamp(2, 3));
    if low.unit != high.unit {
        let both = |w: &Written| if w.unit == canonical { w.text.to_string() } else { format!("{} ({})", w.text, text(w)) };
        return format!("{} to {}", both(low), both(high));
    }
    let range = if low.si == high.si { text(low) } else { format!("{} to {}", text(low), text(high)) };
    format!("{written} ({range})")
}

fn conditions(claim: &Claim) -> String {
    if claim.conditions.is_empty() {
        return String::new();
    }
    let named = |c: &ClaimCondition| match &*c.name {
        "note" => c.value.text(),
        name => format!("{} {}", name.replace(['_', '.'], " "), c.value.text()),
    };
    let each: Vec<String> = claim.conditions.iter().map(named).collect();
    format!(" ({})", each.join(", "))
}
