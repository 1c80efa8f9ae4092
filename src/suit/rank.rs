//! Every adhesive for a material, every material for an adhesive.

use super::evidence::{EvidenceLevel, GlueEvidence, series_counted};
use super::question::{Question, steps_in_words};
use super::rule::{Rule, RuleStrength};
use super::spoken::{RuleOutcome, Spoken};
use super::verdict::{Suitability, Verdict, judge};
use crate::book::{Book, Record, RecordId};
use std::collections::BTreeMap;

/// One line of a ranking.
#[derive(Debug, Clone)]
pub struct Ranked {
    /// The adhesive or material ranked.
    pub id: RecordId,
    /// Its name.
    pub name: String,
    /// The verdict.
    pub verdict: Verdict,
    /// The decisive rule or the lack of one, in a sentence.
    pub why: String,
    /// Measured series of the pair that count.
    pub same_pair: usize,
    /// Measured series of the families that count.
    pub family: usize,
    /// The whole answer.
    pub answer: Suitability,
}

/// A ranking.
#[derive(Debug, Clone)]
pub struct Ranking {
    /// Lines, best first.
    pub lines: Vec<Ranked>,
    /// Warnings that apply to every line that suits at all; no line gives them as its reason.
    pub common: Vec<String>,
}

/// Ranks every adhesive of the book for the material of `frame` (its adhesive is replaced).
pub fn rank_adhesives<'b>(frame: &Question<'b>, rules: &[Rule], book: &'b Book) -> Ranking {
    let others = book.of_role("adhesive").filter(|r| eligible(r, frame.material));
    settle(others.map(|r| (r, judge(Question { adhesive: r, ..frame.clone() }, rules, book))))
}

/// Ranks every material of the book for the adhesive of `frame` (its material is replaced).
pub fn rank_materials<'b>(frame: &Question<'b>, rules: &[Rule], book: &'b Book) -> Ranking {
    let others = book.of_role("material").filter(|r| eligible(r, frame.adhesive));
    settle(others.map(|r| (r, judge(Question { material: r, ..frame.clone() }, rules, book))))
}

/// Invented records are never candidates for a real one.
fn eligible(candidate: &Record, asked: &Record) -> bool {
    candidate.current && (!candidate.invented() || asked.invented())
}

fn settle<'b>(answers: impl Iterator<Item = (&'b Record, Suitability)>) -> Ranking {
    let answers: Vec<(&Record, Suitability)> = answers.collect();
    let common = common(&answers);
    let names = common.values().cloned().collect();
    let mut lines: Vec<Ranked> = answers.into_iter().map(|(record, answer)| line(record, answer, &common)).collect();
    lines.sort_by(|a, b| (a.verdict, b.same_pair, b.family, &a.id).cmp(&(b.verdict, a.same_pair, a.family, &b.id)));
    Ranking { lines, common: names }
}

/// Id and name of each warning that applies to all that suit.
fn common(answers: &[(&Record, Suitability)]) -> BTreeMap<RecordId, String> {
    let suiting: Vec<&Suitability> = answers.iter().map(|(_, a)| a).filter(|a| a.verdict != Verdict::DoesNotSuit).collect();
    // What applies to one alone is its own reason.
    let [first, _, ..] = &suiting[..] else { return BTreeMap::new() };
    let applies =
        |answer: &Suitability, id: &RecordId| answer.rules.iter().any(|s| s.id == *id && s.outcome == RuleOutcome::Stands);
    let warnings = first.rules.iter().filter(|s| s.outcome == RuleOutcome::Stands && s.strength == RuleStrength::Warning);
    let shared = warnings.filter(|s| suiting.iter().all(|answer| applies(answer, &s.id)));
    shared.map(|s| (s.id.clone(), s.name.clone())).collect()
}

fn line(record: &Record, answer: Suitability, common: &BTreeMap<RecordId, String>) -> Ranked {
    let count = |levels: &[EvidenceLevel]| series_counted(&answer.evidence, levels);
    Ranked {
        id: record.id.clone(),
        name: record.name.to_string(),
        verdict: answer.verdict,
        why: why(&answer, common),
        same_pair: count(&[EvidenceLevel::SamePair]),
        family: count(&[EvidenceLevel::MaterialFamily, EvidenceLevel::BothFamilies]),
        answer,
    }
}

/// The decisive sentence.
fn why(answer: &Suitability, common: &BTreeMap<RecordId, String>) -> String {
    // What is said of some adhesives tells more than what is said of all.
    let first = |outcome: RuleOutcome, strength: RuleStrength| {
        let said = |s: &&Spoken| s.outcome == outcome && s.strength == strength && !common.contains_key(&s.id);
        answer.rules.iter().find(|s| said(s) && s.particular).or_else(|| answer.rules.iter().find(said))
    };
    if !answer.with_steps.is_empty() {
        return format!("needs {}", steps_in_words(&answer.with_steps));
    }
    let measured = answer.evidence.iter().any(GlueEvidence::counts);
    match answer.verdict {
        Verdict::DoesNotSuit => first(RuleOutcome::Stands, RuleStrength::Gate).map_or_else(String::new, |s| s.name.clone()),
        Verdict::Unknown => first(RuleOutcome::Unknown, RuleStrength::Gate).map_or_else(String::new, |s| {
            format!("not evaluated (value missing): {}", s.missing.first().map_or(s.name.as_str(), |m| m.what.as_str()))
        }),
        Verdict::WithCare if !measured => match first(RuleOutcome::Stands, RuleStrength::Warning) {
            Some(s) => format!("not measured; {}", s.continued()),
            None => "not measured on this pair or its families".into(),
        },
        Verdict::WithCare => match first(RuleOutcome::Stands, RuleStrength::Warning) {
            Some(s) => s.name.clone(),
            None => match answer.rules.iter().find(|s| s.outcome == RuleOutcome::Unknown) {
                Some(s) => format!("not evaluated: {}", s.continued()),
                None => "no rule of its own speaks against it".into(),
            },
        },
        Verdict::Suits | Verdict::ModelOnly => "no rule speaks against it".into(),
    }
}
