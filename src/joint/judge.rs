//! The answer: every method's candidate with verdict, load and evidence, in order.

use super::calibration::{self, Calibration};
use super::evaluate::{Band, Capacity, Columns, Sealed, seal};
use super::geometry::Geometry;
use super::measured::{Measured, gather};
use super::method::{Applies, Card, Case, Effort, Impossible, Method, cases};
use super::mode::Mode;
use super::model::{Lack, Model};
use super::need::{Consequence, Duration, Need};
use crate::book::Record;
use crate::statistics::bound::{BoundKind, Form, lower_bound};
use crate::statistics::tolerance::CoverageConfidence;
use crate::suit::Verdict;
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Kind of a lower bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// 5 % point of the predictive distribution of the next joint.
    Predictive5,
    /// At least 95 % of joints lie above with 75 % confidence, from the measured series of this combination.
    Tolerance95At75,
}

impl Bound {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Bound::Predictive5 => "predictive-5",
            Bound::Tolerance95At75 => "tolerance-5-75",
        }
    }
    /// The words on screen.
    pub fn text(self) -> &'static str {
        match self {
            Bound::Predictive5 => "19 of 20 such joints hold it by the model (predictive 5 % point)",
            Bound::Tolerance95At75 => "5 % bound with 75 % confidence of the measured series",
        }
    }
}

/// The lower bound of a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowerBound {
    /// N.
    pub value: f64,
    /// What it promises.
    pub kind: Bound,
}

/// What an answer rests on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    /// Series of this combination.
    pub combination: Vec<String>,
    /// Series of the method on this material's family.
    pub family: Vec<String>,
    /// Series quoted beside: of the combination, but outside the scaling limits.
    pub beside: Vec<String>,
    /// Modes of this candidate whose bias a series has moved.
    pub calibrated: Vec<Mode>,
}

impl Evidence {
    /// Whether only the model speaks.
    pub fn model_only(&self) -> bool {
        self.combination.is_empty() && self.family.is_empty()
    }
    /// `2 measured series of this combination, 1 of the family`, or `model only`.
    pub fn text(&self) -> String {
        if self.model_only() {
            return match self.calibrated.is_empty() {
                true => "model only".into(),
                false => "model only; the bias of its limit states was measured elsewhere".into(),
            };
        }
        format!("{} measured series of this combination, {} of the family", self.combination.len(), self.family.len())
    }
}

/// One way to make the joint.
pub struct Candidate<'n> {
    /// The method.
    pub method: &'static Card,
    /// Insert used.
    pub insert: Option<&'n Record>,
    /// Glue used.
    pub adhesive: Option<&'n Record>,
    /// The verdict.
    pub verdict: Verdict,
    /// Why.
    pub because: Vec<String>,
    /// Capacity; `None` where something blocks it.
    pub capacity: Option<Capacity>,
    /// The lower bound.
    pub lower_bound: Option<LowerBound>,
    /// P(capacity ≥ factor × need), with a need.
    pub probability: Option<f64>,
    /// Shape.
    pub geometry: Option<Geometry>,
    /// Why there is no shape, where it cannot be made.
    pub impossible: Option<Impossible>,
    /// What it rests on.
    pub evidence: Evidence,
    /// Model facts: missing values, claims, assumptions, cautions, steps.
    pub model: Option<Sealed<'n>>,
    /// What is missing.
    pub missing: Vec<Lack>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What can hurt.
    pub hazards: &'static [&'static str],
    /// What it costs.
    pub effort: Effort,
    /// How often it may be opened, low and high.
    pub life: (f64, f64),
    /// Name of the assumption behind the life.
    pub life_assumption: &'static str,
    /// Whether it is told apart from the next one below.
    pub tied_with_next: bool,
    /// P(this ≥ next) on the same draws, where both have a load.
    pub beats_next: Option<f64>,
}

/// The answer.
pub struct Judgement<'n> {
    /// What was asked.
    pub need: &'n Need<'n>,
    /// Candidates in order.
    pub candidates: Vec<Candidate<'n>>,
    /// What the series said.
    pub calibration: Calibration,
    /// Whether invented data is behind it.
    pub invented: bool,
    /// Whether a failure may hurt somebody: then no load is promised.
    pub no_promise: bool,
}

impl Candidate<'_> {
    /// Name of the method, with the glue's short id.
    pub fn short_title(&self) -> String {
        match (self.adhesive, self.method.takes) {
            (Some(glue), super::method::Takes::GluedInsert(_, super::method::Glue::Adhesive)) => {
                format!("{} + {}", self.method.name, glue.id.name())
            }
            _ => self.method.name.into(),
        }
    }
    /// Title with glue and insert.
    pub fn title(&self) -> String {
        match (self.adhesive, self.method.takes) {
            (Some(glue), super::method::Takes::GluedInsert(_, super::method::Glue::Adhesive)) => {
                format!("{}, {}", self.method.title, glue.name)
            }
            _ => self.method.title.into(),
        }
    }
}

/// Asks every method, or the one named, and orders the answers.
pub fn judge<'n>(need: &'n Need<'n>, methods: &[&'static dyn Method], only: Option<&str>) -> Judgement<'n> {
    let calibration = calibration::calibrate(need, &methods.iter().map(|m| *m as &dyn Method).collect::<Vec<_>>());
    let (series, _) = gather(need.book, need.invented());
    let wanted = methods.iter().filter(|m| only.is_none_or(|name| m.card().name == name));
    let mut candidates: Vec<Candidate<'n>> =
        wanted.flat_map(|m| cases(*m, need).into_iter().map(|case| prepare(*m, &case, &calibration, &series))).collect();
    let columns = Columns::draw(candidates.iter().filter_map(|c| c.model.as_ref()), need.seed, need.draws);
    let capacities: Vec<Option<Capacity>> = candidates
        .par_iter()
        .map(|c| c.model.as_ref().filter(|m| m.model.has_load()).map(|m| m.capacity(&columns, need.draws)))
        .collect();
    for (candidate, capacity) in candidates.iter_mut().zip(capacities) {
        candidate.capacity = capacity;
        decide(need, candidate, &series);
    }
    order(need, &mut candidates);
    Judgement {
        need,
        candidates,
        calibration,
        invented: need.any_invented(),
        no_promise: need.using.consequence == Consequence::Injury,
    }
}

fn prepare<'n>(
    method: &'static dyn Method,
    case: &Case<'n>,
    calibration: &Calibration,
    series: &[Measured<'n>],
) -> Candidate<'n> {
    let need = case.need;
    let card = method.card();
    let life_assumption = method.life(need);
    let life = need.assumptions.get(life_assumption);
    let mut candidate = Candidate {
        method: card,
        insert: case.insert,
        adhesive: case.adhesive,
        verdict: Verdict::Suits,
        because: Vec::new(),
        capacity: None,
        lower_bound: None,
        probability: None,
        geometry: None,
        impossible: None,
        evidence: evidence(case, card.name, series),
        model: None,
        missing: Vec::new(),
        cautions: Vec::new(),
        hazards: method.hazards(),
        effort: method.effort(),
        life: (life.low, life.high),
        life_assumption,
        tied_with_next: false,
        beats_next: None,
    };
    if let Some(lacking) = card.needs.iter().find(|n| need.without.contains(n)) {
        candidate.verdict = Verdict::DoesNotSuit;
        candidate.because.push(format!("without {}", lacking.word()));
        return candidate;
    }
    match method.applies(case) {
        Applies::No(why) => {
            candidate.verdict = Verdict::DoesNotSuit;
            candidate.because.push(why);
            return candidate;
        }
        Applies::Unknown(lack) => {
            candidate.verdict = Verdict::Unknown;
            candidate.because.push(format!("not known: {}", lack.what));
            candidate.missing.push(lack);
            return candidate;
        }
        Applies::Yes => {}
    }
    match method.geometry(case) {
        Err(impossible) => {
            candidate.verdict = Verdict::DoesNotSuit;
            candidate.because.push(format!("{}: {}", impossible.message, impossible.help));
            candidate.impossible = Some(impossible);
        }
        Ok(geometry) => {
            let model: Model<'n> = method.model(case, &geometry);
            candidate.evidence.calibrated = calibrated(&model, calibration);
            candidate.geometry = Some(geometry);
            let scaled_by = scaling(need, &candidate.evidence, series);
            candidate.model = Some(seal(model, calibration, scaled_by));
        }
    }
    candidate
}

fn calibrated(model: &Model<'_>, calibration: &Calibration) -> Vec<Mode> {
    let modes: BTreeSet<Mode> = model.states.iter().map(|s| s.mode).filter(|m| calibration.posteriors.contains_key(m)).collect();
    modes.into_iter().collect()
}

/// Log doubt of scaling the nearest own series to this length.
fn scaling(need: &Need<'_>, evidence: &Evidence, series: &[Measured<'_>]) -> f64 {
    let own = series.iter().filter(|s| evidence.combination.iter().any(|id| id == s.record.id.as_str()));
    let nearest = own.map(|s| {
        use crate::quantity::Measure;
        libm::log(need.length.si() / s.length.si()).abs()
    });
    match nearest.fold(f64::INFINITY, f64::min) {
        far if far.is_infinite() || far < 0.02 => 0.0,
        far => need.assumptions.value("scale_sd") + need.assumptions.value("scale_slope") * far,
    }
}

/// Series of this combination and of the family, counted apart.
fn evidence(case: &Case<'_>, method: &str, series: &[Measured<'_>]) -> Evidence {
    let need = case.need;
    let mut found = Evidence::default();
    let same = |a: Option<&Record>, b: Option<&Record>| a.map(|r| &r.id) == b.map(|r| &r.id);
    for one in series.iter().filter(|s| s.method == method) {
        let id = one.record.id.to_string();
        let parts = same(one.insert, case.insert) && same(one.adhesive, case.adhesive);
        if one.material.id == need.material.id && parts {
            if calibration::scales_to(need, one) { found.combination.push(id) } else { found.beside.push(id) }
        } else if need.book.is_family(&one.material.family, &need.material.family) {
            found.family.push(id);
        }
    }
    found
}

/// A band wider than this from a model alone is no knowledge.
const TOO_WIDE: f64 = 4.0;
/// Probability from which a method suits, and below which it does not.
const ENOUGH: f64 = 0.95;
const TOO_LITTLE: f64 = 0.50;
/// Below this even a wide band says no.
const SURELY_TOO_LITTLE: f64 = 0.05;

fn decide(need: &Need<'_>, candidate: &mut Candidate<'_>, series: &[Measured<'_>]) {
    let Some(sealed) = &candidate.model else { return };
    let model = &sealed.model;
    candidate.missing.extend(model.lacks.iter().cloned());
    candidate.missing.sort();
    candidate.missing.dedup();
    candidate.cautions = model.cautions.clone();
    let mut doubts = model.doubts.clone();
    let mut cares = model.cares.clone();
    use_of(need, candidate, &mut doubts, &mut cares);
    if let Some(capacity) = &candidate.capacity {
        candidate.lower_bound = Some(bound(capacity, candidate, series));
        candidate.probability = need.load.map(|load| {
            use crate::quantity::Measure;
            let wanted = load.si() * need.factor;
            let held = capacity.loads.iter().filter(|f| **f >= wanted).count();
            held as f64 / capacity.loads.len().max(1) as f64
        });
        if capacity.faults > 0 {
            candidate
                .cautions
                .push(format!("{} draws gave no number: a fault of this program, please report it", capacity.faults));
        }
        say_what_breaks(candidate);
    }
    let gates = candidate.model.as_ref().map_or(Vec::new(), |m| m.model.gates.clone());
    let (verdict, because) = verdict(candidate, gates, doubts, cares);
    candidate.verdict = verdict;
    candidate.because.extend(because);
}

fn verdict(candidate: &Candidate<'_>, gates: Vec<String>, doubts: Vec<String>, cares: Vec<String>) -> (Verdict, Vec<String>) {
    if !gates.is_empty() {
        return (Verdict::DoesNotSuit, gates);
    }
    let blocking = candidate.missing.iter().find(|l| l.blocks).map(|l| format!("not known: {}", l.what));
    let Some(capacity) = &candidate.capacity else {
        return (Verdict::Unknown, blocking.into_iter().chain(doubts).collect());
    };
    let percent = |p: f64| match p {
        p if p > 0.995 => "more than 99 % of such joints hold it".to_string(),
        p if p < 0.005 => "less than 1 % of such joints hold it".to_string(),
        p => format!("{:.0} % of such joints hold it", p * 100.0),
    };
    let probability = candidate.probability;
    if let Some(p) = probability.filter(|p| *p < SURELY_TOO_LITTLE) {
        return (Verdict::DoesNotSuit, vec![percent(p)]);
    }
    let wide = candidate.evidence.model_only() && capacity.load.width() > TOO_WIDE;
    if !doubts.is_empty() {
        return (Verdict::Unknown, doubts);
    }
    let Some(p) = probability else {
        let verdict = if cares.is_empty() { Verdict::Suits } else { Verdict::WithCare };
        return (verdict, cares);
    };
    if wide {
        let why = format!("model only, and its 90 % band is {:.1} times wide (above 4): {}", capacity.load.width(), percent(p));
        return (Verdict::Unknown, vec![why]);
    }
    let mut because = vec![percent(p)];
    because.extend(cares.iter().cloned());
    match p {
        p if p < TOO_LITTLE => (Verdict::DoesNotSuit, because),
        p if p < ENOUGH || !cares.is_empty() => (Verdict::WithCare, because),
        _ => (Verdict::Suits, because),
    }
}

/// Time, cycles and place.
fn use_of(need: &Need<'_>, candidate: &mut Candidate<'_>, doubts: &mut Vec<String>, cares: &mut Vec<String>) {
    let (low, high) = candidate.life;
    match need.using.cycles.map(f64::from) {
        Some(wanted) if wanted > high && high > low => {
            if let Some(sealed) = &mut candidate.model {
                sealed.model.gates.push(format!("{wanted} openings: it stands {low} to {high} (practice)"));
            }
        }
        Some(wanted) if wanted > low && high > low => {
            cares.push(format!("{wanted} openings: it stands {low} to {high} (practice)"))
        }
        Some(wanted) if wanted > high => {
            cares.push(format!("{wanted} openings: practice promises about {high} or more, nothing measured"));
        }
        Some(_) => {}
        None => candidate.cautions.push("meant for one assembly: say --cycles N for more".into()),
    }
    let practice = |share: f64| format!("practice only: not more than {:.0} % of the lower bound", share * 100.0);
    match need.using.duration {
        Duration::Short => {}
        Duration::Held => {
            doubts.push("a load that stays: there is no creep rupture claim".into());
            candidate.cautions.push(practice(need.assumptions.value("held_share")));
        }
        Duration::Repeated => {
            doubts.push("a load that comes and goes: there is no fatigue claim".into());
            candidate.cautions.push(practice(need.assumptions.value("repeated_share")));
        }
        Duration::Shock => doubts.push("shock: strengths are from slow pulls, and there is no impact model of joints".into()),
    }
    moist(need, candidate, doubts);
}

fn moist(need: &Need<'_>, candidate: &mut Candidate<'_>, doubts: &mut Vec<String>) {
    use crate::suit::Place;
    match need.using.place {
        Some(Place::Damp | Place::Wet | Place::Immersed) if need.is("polyamide") => {
            let conditioned = |c: &crate::book::Claim| c.condition("moisture").is_some_and(|m| m.text() == "conditioned");
            let known = ["tensile_strength", "shear_strength", "yield_strength"]
                .iter()
                .any(|p| need.material.claims(p).iter().any(|c| c.in_use() && conditioned(c)));
            if !known {
                doubts.push(format!("{} takes up water and no claim of it is conditioned", need.material.name));
            }
        }
        Some(Place::Sun) => candidate.cautions.push("sunlight ages printed plastics; nothing here says how fast".into()),
        Some(Place::Immersed) => candidate.cautions.push("under water the plastic itself is not judged, only the glue".into()),
        _ => {}
    }
}

/// The smaller of the predictive 5 % point and, for a measured combination with three or more, its 5 %/75 % bound.
fn bound(capacity: &Capacity, candidate: &Candidate<'_>, series: &[Measured<'_>]) -> LowerBound {
    let predictive = LowerBound { value: capacity.load.low, kind: Bound::Predictive5 };
    let ask = BoundKind::Tolerance(CoverageConfidence { coverage: 0.95, confidence: 0.75 });
    let own = series.iter().filter(|s| candidate.evidence.combination.iter().any(|id| id == s.record.id.as_str()));
    let measured = own.filter_map(|s| {
        let loads: Vec<f64> = s.specimens.iter().filter(|x| !x.censored).map(|x| x.load).collect();
        (loads.len() >= 3).then(|| lower_bound(&loads, Form::Lognormal, ask).ok()).flatten().map(|b| b.value)
    });
    let smallest = measured.fold(f64::INFINITY, f64::min);
    if smallest < predictive.value { LowerBound { value: smallest, kind: Bound::Tolerance95At75 } } else { predictive }
}

/// Where the part or the metal breaks first, another glue would not change the answer.
fn say_what_breaks(candidate: &mut Candidate<'_>) {
    let Some(capacity) = &candidate.capacity else { return };
    if candidate.adhesive.is_none() {
        return;
    }
    let glue: f64 = capacity.modes.iter().filter(|(m, _)| m.is_glue()).map(|(_, s)| s).sum();
    if glue < 0.2 {
        candidate.cautions.push(format!(
            "the glue fails first in only {:.0} % of draws: another glue would hardly change the answer",
            glue * 100.0
        ));
    }
}

fn rank_of(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Suits => 0,
        Verdict::WithCare => 1,
        Verdict::Unknown => 2,
        Verdict::DoesNotSuit => 3,
    }
}

/// Gates first, then the probability, then the median; without a need the 5 % point.
fn order(need: &Need<'_>, candidates: &mut [Candidate<'_>]) {
    let gated = |c: &Candidate<'_>| match (c.verdict, &c.capacity) {
        (Verdict::DoesNotSuit, _) => 2u8,
        (_, None) => 1,
        _ => 0,
    };
    let key = |c: &Candidate<'_>| {
        let load = c.capacity.as_ref().map_or((0.0, 0.0), |k| (k.load.median, k.load.low));
        match need.load {
            Some(_) => (c.probability.unwrap_or(0.0), load.0),
            None => (load.1, load.0),
        }
    };
    candidates.sort_by(|a, b| {
        let (ka, kb) = (key(a), key(b));
        gated(a)
            .cmp(&gated(b))
            .then(kb.0.total_cmp(&ka.0))
            .then(kb.1.total_cmp(&ka.1))
            .then(rank_of(a.verdict).cmp(&rank_of(b.verdict)))
            .then(a.method.name.cmp(b.method.name))
            .then(a.adhesive.map(|r| &r.id).cmp(&b.adhesive.map(|r| &r.id)))
    });
    for i in 1..candidates.len() {
        let (above, below) = candidates.split_at_mut(i);
        let (upper, lower) = (&mut above[i - 1], &below[0]);
        let beats = beats(upper, lower);
        upper.beats_next = beats;
        upper.tied_with_next = gated(upper) == gated(lower) && beats.is_some_and(|p| (0.2..=0.8).contains(&p));
    }
}

/// P(A ≥ B) on the same draws.
fn beats(a: &Candidate<'_>, b: &Candidate<'_>) -> Option<f64> {
    let (a, b) = (a.capacity.as_ref()?, b.capacity.as_ref()?);
    if a.loads.len() != b.loads.len() || a.loads.is_empty() {
        return None;
    }
    let wins = a.loads.iter().zip(&b.loads).filter(|(x, y)| x >= y).count();
    Some(wins as f64 / a.loads.len() as f64)
}

/// The torque to tighten with: half (an assumption) of the 5 % point of what strips or turns.
pub fn tighten(need: &Need<'_>, torque: &Band) -> f64 {
    torque.low * need.assumptions.value("tighten_share")
}
