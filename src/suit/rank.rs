//! Every adhesive for a material, every material for an adhesive.

use super::evidence::{Level, series_counted};
use super::question::Question;
use super::rule::{Rule, Strength};
use super::verdict::{Outcome, Spoken, Suitability, Verdict, judge};
use crate::book::{Book, Record, RecordId};

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
    let mut lines: Vec<Ranked> = answers.map(|(record, answer)| line(record, answer)).collect();
    lines.sort_by(|a, b| (a.verdict, b.same_pair, b.family, &a.id).cmp(&(b.verdict, a.same_pair, a.family, &b.id)));
    Ranking { lines }
}

fn line(record: &Record, answer: Suitability) -> Ranked {
    let count = |levels: &[Level]| series_counted(&answer.evidence, levels);
    Ranked {
        id: record.id.clone(),
        name: record.name.to_string(),
        verdict: answer.verdict,
        why: why(&answer),
        same_pair: count(&[Level::SamePair]),
        family: count(&[Level::MaterialFamily, Level::BothFamilies]),
        answer,
    }
}

/// The decisive sentence.
fn why(answer: &Suitability) -> String {
    // What is said of some adhesives tells more than what is said of all.
    let first = |outcome: Outcome, strength: Strength| {
        let said = |s: &&Spoken| s.outcome == outcome && s.strength == strength;
        answer.rules.iter().find(|s| said(s) && s.particular).or_else(|| answer.rules.iter().find(said))
    };
    if !answer.with_steps.is_empty() {
        return format!("needs {}", answer.with_steps.join(" and "));
    }
    let spoken = match answer.verdict {
        Verdict::DoesNotSuit => first(Outcome::Stands, Strength::Gate),
        Verdict::Unknown => first(Outcome::Unknown, Strength::Gate),
        Verdict::WithCare => {
            first(Outcome::Stands, Strength::Warning).or_else(|| answer.rules.iter().find(|s| s.outcome == Outcome::Unknown))
        }
        Verdict::Suits | Verdict::ModelOnly => None,
    };
    match (spoken, answer.verdict) {
        (Some(s), Verdict::Unknown) => {
            format!("cannot be judged: {}", s.missing.first().map_or(s.name.as_str(), |m| m.what.as_str()))
        }
        (Some(s), _) => s.name.clone(),
        (None, Verdict::WithCare) => "rules only: nothing measured on this pair or its families".into(),
        (None, _) => "no rule against it".into(),
    }
}
