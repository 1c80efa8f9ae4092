//! What is expected of a pair before it is tested, and whether the pair can be tested at all.

use super::{By, Frame};
use crate::book::{Book, Record, Value};
use crate::joint::assumption::Assumptions;
use crate::joint::distribution::NINETY;
use crate::joint::judge::{Candidate, judge};
use crate::joint::need::Need;
use crate::suit::{self, GlueEvidence, Question, Verdict};

/// Joints of the test that is proposed: enough for a deviation, few enough for an afternoon.
pub const JOINTS: u32 = 5;
/// Draws of the joint model for one pair; the order of the questions needs no third digit.
const DRAWS: usize = 4000;

/// What the expectation rests on, nearest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum OutlookGround {
    /// Series of this pair.
    Pair,
    /// Series of this glue on the family of the material, or of both families.
    Family,
    /// The joint model, calibrated or not.
    Model,
    /// The class range of the glue on metal, times a judged share.
    Class,
}

impl OutlookGround {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            OutlookGround::Pair => "series of this pair",
            OutlookGround::Family => "series of the families",
            OutlookGround::Model => "the joint model",
            OutlookGround::Class => "an estimated share of the glue's range on metal",
        }
    }
}

/// What is expected, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// Lower end: the 5 % point of a model, the least of what was seen.
    pub low: f64,
    /// Upper end: the 95 % point of a model, the greatest of what was seen.
    pub high: f64,
    /// Share expected to hold the need, with a need.
    pub hold: Option<f64>,
    /// What it rests on.
    pub ground: OutlookGround,
}

impl Outlook {
    /// Upper over lower end.
    pub fn width(&self) -> f64 {
        self.high / self.low
    }
}

/// A pair: what is expected of it, or why it is not worth a test.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Prospect {
    /// What is expected.
    pub outlook: Option<Outlook>,
    /// Why it cannot work.
    pub ruled_out: Option<String>,
}

/// Width of the 90 % band of the next joint once a few of exactly this kind have been pulled: their scatter, the doubt of a
/// mean of few, and the next batch.
pub fn width_after() -> f64 {
    let assumptions = Assumptions::default();
    let (joint, batch) = (assumptions.value("joint_sd"), assumptions.value("batch_sd"));
    libm::exp(2.0 * NINETY * libm::sqrt(joint * joint * (1.0 + 1.0 / f64::from(JOINTS)) + batch * batch))
}

/// The prospects of a material with every column.
pub fn prospects(frame: &Frame<'_>, material: &Record, columns: &[String]) -> Vec<Prospect> {
    match frame.by {
        By::Adhesive => columns.iter().map(|c| bond(frame, material, c)).collect(),
        By::Method => joints(frame, material, columns),
    }
}

/// Every method on this material, without a load, so that only what cannot work is refused.
fn joints(frame: &Frame<'_>, material: &Record, columns: &[String]) -> Vec<Prospect> {
    let mut need = Need::new(frame.book, frame.rules, material, frame.thread, frame.length);
    need.draws = DRAWS;
    need.limit_states = false;
    let judgement = judge(&need, frame.methods, None);
    let of = |name: &String| -> Vec<&Candidate<'_>> { judgement.candidates.iter().filter(|c| c.method.name == *name).collect() };
    columns.iter().map(|c| joint(frame.need, &of(c))).collect()
}

fn joint(need: Option<f64>, candidates: &[&Candidate<'_>]) -> Prospect {
    let works = |c: &&&Candidate<'_>| c.verdict != Verdict::DoesNotSuit && c.impossible.is_none();
    let Some(best) = candidates.iter().find(|c| works(c) && c.capacity.is_some()).or_else(|| candidates.iter().find(works))
    else {
        let first = candidates.first();
        let why = first.and_then(|c| c.impossible.as_ref().map(|i| i.message.clone()).or_else(|| c.because.first().cloned()));
        return Prospect { outlook: None, ruled_out: Some(why.unwrap_or_else(|| "it does not apply".into())) };
    };
    let outlook = best.capacity.as_ref().filter(|c| c.load.low > 0.0).map(|capacity| {
        let share = |load: f64| capacity.loads.iter().filter(|f| **f >= load).count() as f64 / capacity.loads.len().max(1) as f64;
        Outlook { low: capacity.load.low, high: capacity.load.high, hold: need.map(share), ground: OutlookGround::Model }
    });
    Prospect { outlook, ruled_out: None }
}

/// A glue on a material: the rules first, then the bonds that were measured, then the class range.
fn bond(frame: &Frame<'_>, material: &Record, column: &str) -> Prospect {
    let Some(adhesive) = frame.book.record(column) else { return Prospect::default() };
    let question = Question::of(adhesive, material);
    let answer = suit::judge(question, frame.rules, frame.book);
    if answer.verdict == Verdict::DoesNotSuit {
        let gate = answer.rules.iter().find(|r| r.strength == suit::RuleStrength::Gate && r.outcome == suit::RuleOutcome::Stands);
        let why = gate.map_or_else(|| "the rules refuse it".to_owned(), |r| r.name.clone());
        return Prospect { outlook: None, ruled_out: Some(why) };
    }
    let seen = nearest(&answer.evidence);
    let band = seen.or_else(|| class_band(frame.book, adhesive).map(|(low, high)| (low, high, OutlookGround::Class)));
    let outlook =
        band.map(|(low, high, ground)| Outlook { low, high, hold: frame.need.map(|n| share_above(low, high, n)), ground });
    Prospect { outlook, ruled_out: None }
}

/// Least and greatest bond of the nearest level; a single figure spans the scatter of joints and batches only.
fn nearest(evidence: &[GlueEvidence]) -> Option<(f64, f64, OutlookGround)> {
    let strengths = ["lap_shear_strength", "shear_strength", "butt_strength", "pull_off_strength"];
    let right =
        |e: &&GlueEvidence| e.counts() && e.level != suit::EvidenceLevel::Metal && strengths.contains(&e.quantity.as_str());
    let level = evidence.iter().filter(right).map(|e| e.level).min()?;
    let values = evidence.iter().filter(right).filter(|e| e.level == level).flat_map(|e| e.values.iter().map(|w| w.si));
    let (low, high) = values.filter(|v| *v > 0.0).fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(v), h.max(v)));
    let ground = if level == suit::EvidenceLevel::SamePair { OutlookGround::Pair } else { OutlookGround::Family };
    let least = libm::sqrt(width_after());
    (high > 0.0).then(|| (low.min(libm::sqrt(low * high) / least), high.max(libm::sqrt(low * high) * least), ground))
}

/// The range of the glue's class on metal, times the share that plastics are judged to reach.
fn class_band(book: &Book, adhesive: &Record) -> Option<(f64, f64)> {
    let share = Assumptions::default().get("plastic_over_metal");
    let (low, high) = lap_range(adhesive).or_else(|| {
        book.family_chain(&adhesive.family).into_iter().find_map(|family| {
            let of_family = book.of_role("adhesive").filter(|r| &*r.family == family && r.current && !r.invented());
            of_family.filter_map(lap_range).next()
        })
    })?;
    Some((low * share.low, high * share.high))
}

fn lap_range(adhesive: &Record) -> Option<(f64, f64)> {
    let claims = adhesive.claims("lap_shear_strength").iter().filter(|c| c.in_use());
    let ends = claims.filter_map(|c| match &c.value {
        Value::Between { low: Some(low), high: Some(high) } => Some((low.si, high.si)),
        _ => c.value.middle_si().map(|m| (m, m)),
    });
    let (low, high) = ends.fold((f64::INFINITY, 0.0f64), |(l, h), (a, b)| (l.min(a), h.max(b)));
    (low > 0.0 && high >= low).then_some((low, high))
}

/// The part of a band above a value, on a logarithmic scale: nothing says where in the band the pair lies.
fn share_above(low: f64, high: f64, value: f64) -> f64 {
    match () {
        () if value <= low => 1.0,
        () if value >= high => 0.0,
        () => libm::log(high / value) / libm::log(high / low),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_need_in_the_middle_of_a_band_is_held_by_half_of_it() {
        assert!((share_above(1.0, 100.0, 10.0) - 0.5).abs() < 1e-12);
        assert_eq!((share_above(1.0, 2.0, 0.5), share_above(1.0, 2.0, 3.0)), (1.0, 0.0));
    }

    /// By hand from the assumptions: exp(2 · 1.6449 · √(0.115² · 1.2 + 0.1²)) = 1.698.
    #[test]
    fn five_joints_leave_scatter_and_batch() {
        assert!((width_after() - 1.698).abs() < 0.002, "{}", width_after());
    }
}
