//! The verdict: which rules spoke, what is missing, what it rests on.

use super::evidence::{GlueEvidence, evidence};
use super::light::{self, Light};
use super::preparation::{self, Preparation};
use super::question::{Grounds, Question};
use super::rule::{Rule, RuleStrength, Scope};
use super::spoken::{RuleOutcome, Spoken};
use super::truth::{Missing, MissingSort, ReadValue, Truth};
use crate::book::{Book, Record};

/// Whether a glue or a joint suits, the kindest word first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// No gate, no warning, and something measured speaks for it.
    Suits,
    /// A warning stands, a step is needed, or what speaks for it is weak.
    WithCare,
    /// A model alone speaks for it; nothing of the kind was measured. Joints only.
    ModelOnly,
    /// A value that decides is missing.
    Unknown,
    /// A gate stands that no step lifts, or too few like joints hold.
    DoesNotSuit,
}

impl Verdict {
    /// All of them, the kindest first.
    pub const ALL: [Verdict; 5] = [Verdict::Suits, Verdict::WithCare, Verdict::ModelOnly, Verdict::Unknown, Verdict::DoesNotSuit];
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Suits => "suits",
            Verdict::WithCare => "suits-with-care",
            Verdict::ModelOnly => "model-only",
            Verdict::Unknown => "unknown",
            Verdict::DoesNotSuit => "does-not-suit",
        }
    }
    /// The verdict of a word in JSON.
    pub fn of_word(word: &str) -> Option<Verdict> {
        Verdict::ALL.into_iter().find(|verdict| verdict.word() == word)
    }
    /// The words on screen.
    pub fn text(self) -> &'static str {
        match self {
            Verdict::Suits => "suits",
            Verdict::WithCare => "suits with care",
            Verdict::ModelOnly => "model only, not measured",
            Verdict::Unknown => "unknown",
            Verdict::DoesNotSuit => "does not suit",
        }
    }
    /// A word or two, so that a row of a table fits a line.
    pub fn short(self) -> &'static str {
        match self {
            Verdict::WithCare => "with care",
            Verdict::ModelOnly => "model only",
            other => other.text(),
        }
    }
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Suitability {
    /// The verdict.
    pub verdict: Verdict,
    /// Steps with which the open gates are lifted.
    pub with_steps: Vec<String>,
    /// Whether every subject is invented.
    pub invented: bool,
    /// Every rule about this pair, the decisive ones first.
    pub rules: Vec<Spoken>,
    /// Values no record holds.
    pub missing: Vec<Missing>,
    /// Uses that would settle further rules.
    pub say_also: Vec<Missing>,
    /// Bond strengths, nearest first.
    pub evidence: Vec<GlueEvidence>,
    /// Whether light reaches the glue, for a glue that needs it.
    pub light: Option<Light>,
    /// How to do it.
    pub preparation: Preparation,
    /// Cautions for the person at the bench.
    pub cautions: Vec<Spoken>,
}

/// Judges a question by these rules.
pub fn judge(mut question: Question<'_>, rules: &[Rule], book: &Book) -> Suitability {
    let light = light::light(&question, book);
    if let Some(light) = &light {
        light::settle(&mut question, light);
    }
    let spoken = speak_all(&question.grounds(), rules.iter().filter(|r| !r.of_method), book);
    let (cautions, spoken): (Vec<Spoken>, Vec<Spoken>) = spoken.into_iter().partition(|s| s.strength == RuleStrength::Caution);
    let cautions = cautions
        .into_iter()
        .filter(|c| matches!(c.outcome, RuleOutcome::Stands | RuleOutcome::Assumed | RuleOutcome::NotAsked))
        .collect();
    let evidence = evidence(&question, book);
    let (verdict, with_steps) = verdict(&spoken, evidence.iter().any(GlueEvidence::counts));
    let preparation = preparation::prepare(&question, &spoken, book);
    Suitability {
        verdict,
        with_steps,
        invented: question.invented(),
        missing: gather(&spoken, MissingSort::Record),
        say_also: gather(&spoken, MissingSort::Use),
        evidence,
        light,
        preparation,
        cautions,
        rules: spoken,
    }
}

/// What the rules of threads and inserts say of one way to make a joint, the decisive ones first.
pub fn judge_method(grounds: &Grounds<'_>, rules: &[Rule], book: &Book) -> Vec<Spoken> {
    speak_all(grounds, rules.iter().filter(|r| r.of_method), book)
}

fn speak_all<'r>(grounds: &Grounds<'_>, rules: impl Iterator<Item = &'r Rule>, book: &Book) -> Vec<Spoken> {
    let mut spoken: Vec<Spoken> = rules.filter_map(|r| speak(r, grounds, book)).collect();
    spoken.sort_by(|a, b| (a.outcome, b.strength, &a.id).cmp(&(b.outcome, a.strength, &b.id)));
    spoken
}

fn speak(rule: &Rule, grounds: &Grounds<'_>, book: &Book) -> Option<Spoken> {
    let mut used = Vec::new();
    let mut truth = Truth::Yes;
    let scopes = [(&rule.adhesive, grounds.adhesive), (&rule.material, Some(grounds.material)), (&rule.insert, grounds.metal)];
    for (scope, record) in scopes {
        let Some(scope) = scope else { continue };
        let record = record.filter(|r| scope.holds_family(r, book))?;
        truth = truth.and(fact(scope, record, grounds, &mut used));
    }
    if truth == Truth::No {
        return None;
    }
    if let Some(when) = &rule.when {
        truth = truth.and(when.judge(grounds, &mut used));
    }
    let done = rule.lifted_by.iter().any(|s| grounds.steps.contains(s.as_str()));
    let (outcome, missing) = match truth {
        Truth::No => (RuleOutcome::Passed, Vec::new()),
        Truth::Yes if rule.workmanship => (RuleOutcome::Assumed, Vec::new()),
        _ if done => (RuleOutcome::Lifted, Vec::new()),
        Truth::Yes => (RuleOutcome::Stands, Vec::new()),
        Truth::Unknown(missing) => {
            let lacks = |sort| missing.iter().any(|m| m.sort == sort);
            // A use not stated comes first: it may settle the rule without any record.
            let outcome = match (lacks(MissingSort::Record), lacks(MissingSort::Use)) {
                (true, false) => RuleOutcome::Unknown,
                (false, true) if rule.holds_unless_stated => RuleOutcome::Stands,
                _ => RuleOutcome::NotAsked,
            };
            (outcome, missing)
        }
    };
    used.sort();
    used.dedup();
    Some(Spoken {
        id: rule.id.clone(),
        name: rule.name.clone(),
        strength: rule.strength,
        particular: rule.adhesive.is_some(),
        outcome,
        because: rule.because.clone(),
        advice: rule.advice.clone(),
        lifted_by: rule.lifted_by.clone(),
        provenance: rule.provenance.clone(),
        used,
        missing,
    })
}

/// Whether the fact of a scope holds; a fact that no record states leaves the rule open.
fn fact(scope: &Scope, record: &Record, grounds: &Grounds<'_>, used: &mut Vec<ReadValue>) -> Truth {
    let Some(name) = &scope.fact else { return Truth::Yes };
    let claims = super::condition::usable(record, name, grounds.invented());
    let Some(claim) = claims.first() else {
        return Truth::Unknown(vec![Missing {
            sort: MissingSort::Record,
            what: format!("whether {} is {}", record.id, name.replace('_', " ")),
            settle: format!("a claim of `{name}` in {}", record.id),
        }]);
    };
    used.push(ReadValue { what: name.clone(), value: claim.value.text(), claim: Some(record.address(name, claim)) });
    Truth::known(claim.value == crate::book::Value::YesNo(true))
}

fn verdict(spoken: &[Spoken], measured: bool) -> (Verdict, Vec<String>) {
    let standing = |s: &&Spoken| s.outcome == RuleOutcome::Stands;
    let gates: Vec<&Spoken> = spoken.iter().filter(standing).filter(|s| s.strength == RuleStrength::Gate).collect();
    let open =
        spoken.iter().any(|s| s.strength == RuleStrength::Gate && s.outcome == RuleOutcome::Unknown && s.lifted_by.is_empty());
    let warned = spoken.iter().any(|s| s.strength == RuleStrength::Warning && s.outcome == RuleOutcome::Stands);
    let doubtful = spoken.iter().any(|s| s.outcome == RuleOutcome::Unknown);
    if gates.iter().any(|g| g.lifted_by.is_empty()) {
        return (Verdict::DoesNotSuit, Vec::new());
    }
    let steps = lifting(&gates);
    if open {
        return (Verdict::Unknown, steps);
    }
    let care = warned || doubtful || !steps.is_empty() || !measured;
    (if care { Verdict::WithCare } else { Verdict::Suits }, steps)
}

/// The steps that lift all gates: one that serves for all where there is one, else one choice per gate.
fn lifting(gates: &[&Spoken]) -> Vec<String> {
    let Some(first) = gates.first() else { return Vec::new() };
    let for_all: Vec<&str> =
        first.lifted_by.iter().map(String::as_str).filter(|s| gates.iter().all(|g| g.lifted_by.iter().any(|l| l == s))).collect();
    if !for_all.is_empty() {
        return vec![for_all.join(" or ")];
    }
    let mut steps: Vec<String> = gates.iter().map(|g| g.lifted_by.join(" or ")).collect();
    steps.sort();
    steps.dedup();
    steps
}

fn gather(spoken: &[Spoken], sort: MissingSort) -> Vec<Missing> {
    // A rule that stands with something missing stands because the use was not stated.
    let open = spoken.iter().filter(|s| matches!(s.outcome, RuleOutcome::Unknown | RuleOutcome::NotAsked | RuleOutcome::Stands));
    let mut all: Vec<Missing> = open.flat_map(|s| s.missing.iter().filter(|m| m.sort == sort).cloned()).collect();
    all.sort();
    all.dedup();
    all
}
