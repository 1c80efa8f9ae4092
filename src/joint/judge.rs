//! The answer: every method's candidate with verdict, load and evidence, in order.

use super::calibration::place::Place;
use super::calibration::{Calibration, Exactly, calibrate};
use super::evaluate::{Band, Capacity, Columns, Sealed, seal};
use super::geometry::Geometry;
use super::held::Held;
use super::measured::{Measured, gather};
use super::method::{Applies, Card, Case, Effort, Impossible, Method, cases};
use super::mode::Mode;
use super::model::{Lack, Model};
use super::need::{Consequence, Need};
use super::rules;
use crate::book::Record;
use crate::quantity::{Amount, Measure, Quantity};
use crate::suit::{Spoken, Verdict};
use rayon::prelude::*;
use std::collections::BTreeSet;

mod decide;
mod order;
mod word;

use decide::decide;
use order::order;
pub use word::Ground;

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
            Bound::Predictive5 => "lower 5 % prediction bound",
            Bound::Tolerance95At75 => "characteristic value of the series: 5 % fractile, 75 % confidence",
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

impl LowerBound {
    /// The design load, N: the bound rounded down to two digits; zero where nothing is held.
    pub fn design(&self) -> f64 {
        rounded_down(self.value)
    }
}

/// A positive number rounded down to two significant digits, since what is promised is never rounded up; else zero.
pub fn rounded_down(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(value)) - 1.0);
    libm::floor(value / step + 1e-9) * step
}

/// Predicted survival: the share of like joints that hold a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Survival {
    /// The load, N: that asked for with its factor, else the design load.
    pub load: f64,
    /// Share of the draws that hold it.
    pub share: f64,
    /// Whether the load was asked for.
    pub asked: bool,
}

impl Survival {
    /// The share, never rounded up, so that it reads on the side of its limit on which it lies.
    pub fn percent(&self) -> String {
        match self.share {
            s if s >= 0.995 => "above 99 %".to_string(),
            s if s < 0.01 => "below 1 %".to_string(),
            s => format!("{:.0} %", libm::floor(s * 100.0 + 1e-9)),
        }
    }
    /// `predicted survival at 300 N: 98 %`.
    pub fn text(&self) -> String {
        let load = Amount::new(Quantity::Force, self.load).text(3);
        format!("predicted survival at {}{load}: {}", if self.asked { "" } else { "the design load of " }, self.percent())
    }
}

/// What an answer rests on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    /// Series of this very joint: method, thread, length, hole, insert, glue, material, axis.
    pub combination: Vec<String>,
    /// Specimens in them.
    pub specimens: usize,
    /// Batches those came from; one batch promises less than several.
    pub batches: usize,
    /// Series of the method on this material's family.
    pub family: Vec<String>,
    /// Series of this method and material at other sizes, or with another insert or glue: they count the less, the farther.
    pub beside: Vec<String>,
    /// Where no hole was asked for: the series whose hole this answer takes.
    pub hole_of: Option<String>,
    /// Where infill is stated: series of printed joints in this family with infill, quoted and never scaled.
    pub infill: Vec<Quoted>,
    /// Modes of this candidate in which specimens of any series failed.
    pub calibrated: Vec<Mode>,
    /// Whether what fails first in most draws is such a mode, or one of metal, which standards vouch for. Where it is not,
    /// the governing state is the model's alone.
    pub governed: bool,
}

impl Evidence {
    /// Whether only the model speaks: no series of this joint, the material or the family, and none of what most often fails
    /// first.
    pub fn model_only(&self) -> bool {
        self.combination.is_empty() && self.beside.is_empty() && self.family.is_empty() && !self.governed
    }
    /// `measured: 2 series of this joint, 1 of its family`, or `model only, not measured`.
    pub fn text(&self) -> String {
        match (self.combination.len(), self.beside.len(), self.family.len()) {
            (0, 0, 0) if self.governed => {
                "no series of this joint or family; the governing failure mode was compared with tests of other joints".into()
            }
            (0, 0, 0) => "model only, not measured".into(),
            (own, near, family) => {
                let near = if near > 0 { format!("{near} of it at other sizes or conditions, ") } else { String::new() };
                format!("measured: {own} series of this joint, {near}{family} of its family")
            }
        }
    }
}

/// A series that is quoted as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Quoted {
    /// Its id.
    pub series: String,
    /// What it is, in a line.
    pub text: String,
}

/// The one test that would settle a candidate: pull so many joints of exactly this kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settling {
    /// Joints to pull.
    pub joints: usize,
    /// Mean load from which the method suits, N; `None` without a need.
    pub suits_from: Option<f64>,
    /// Width of the 90 % band of the next joint then, upper over lower end.
    pub width: f64,
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
    /// What a held load may be, where one is asked for.
    pub held: Option<Held>,
    /// Predicted survival at the need (of a held one at its share of a short pull), or at the design load; `None` without a
    /// load or where somebody may be hurt.
    pub survival: Option<Survival>,
    /// Whether it is no thread in the part but a way round one that nobody named.
    pub alternative: bool,
    /// Shape.
    pub geometry: Option<Geometry>,
    /// Why there is no shape, where it cannot be made.
    pub impossible: Option<Impossible>,
    /// What it rests on.
    pub evidence: Evidence,
    /// Model facts: missing values, claims, assumptions, cautions, steps.
    pub model: Option<Sealed<'n>>,
    /// What the rules of threads and inserts say of it.
    pub rules: Vec<Spoken>,
    /// What is missing.
    pub missing: Vec<Lack>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What can hurt.
    pub hazards: Vec<&'static str>,
    /// The one test that would settle it.
    pub settling: Option<Settling>,
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

impl<'n> Judgement<'n> {
    /// The candidate the answer is about: the first that is no mere alternative.
    pub fn best(&self) -> Option<&Candidate<'n>> {
        self.candidates.iter().find(|c| !c.alternative).or_else(|| self.candidates.first())
    }
}

impl Candidate<'_> {
    /// The design load, N, and its kind: only where the verdict lets a load be promised at all.
    pub fn design(&self) -> Option<LowerBound> {
        let gated = self.model.as_ref().is_some_and(|m| !m.model.gates.is_empty());
        let promised = !gated && self.verdict != Verdict::Unknown;
        self.lower_bound.filter(|bound| promised && bound.design() > 0.0)
    }
    /// Name of the method, with the glue's short id.
    pub fn short_title(&self) -> String {
        match (self.adhesive, self.method.takes) {
            (Some(glue), super::method::Takes::GluedInsert(_, super::method::Glue::Adhesive)) => {
                format!("{}/{}", self.method.name, glue.id.name())
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
    let calibration = calibrate(need, &methods.iter().map(|m| *m as &dyn Method).collect::<Vec<_>>());
    let wanted = methods.iter().filter(|m| only.is_none_or(|name| m.card().name == name));
    let asked: Vec<(&'static dyn Method, Case<'n>)> =
        wanted.flat_map(|m| cases(*m, need).into_iter().map(|case| (*m, case))).collect();
    let mut candidates = weigh(need, &asked, &calibration);
    if only.is_some() {
        candidates.iter_mut().for_each(|c| c.alternative = false);
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

/// Candidates of these cases with capacity and verdict, in the order asked; all on the same draws.
pub fn weigh<'n>(need: &'n Need<'n>, asked: &[(&'static dyn Method, Case<'n>)], calibration: &Calibration) -> Vec<Candidate<'n>> {
    let (series, _) = gather(need.book, need.invented());
    let mut candidates: Vec<Candidate<'n>> =
        asked.iter().map(|(method, case)| prepare(*method, case, calibration, &series)).collect();
    let columns = Columns::draw(candidates.iter().filter_map(|c| c.model.as_ref()), need.seed, need.draws);
    let capacities: Vec<Option<Capacity>> = candidates
        .par_iter()
        .map(|c| c.model.as_ref().filter(|m| m.model.has_load()).map(|m| m.capacity(&columns, need.seed, need.draws)))
        .collect();
    for (candidate, capacity) in candidates.iter_mut().zip(capacities) {
        candidate.capacity = capacity;
        decide(need, candidate, &series);
    }
    candidates
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
        held: None,
        survival: None,
        alternative: method.alternative(),
        geometry: None,
        impossible: None,
        evidence: Evidence::default(),
        model: None,
        rules: Vec::new(),
        missing: Vec::new(),
        cautions: Vec::new(),
        hazards: method.hazards(case),
        settling: None,
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
    candidate.rules = rules::asked(case, card.name, None);
    let never = rules::gates(&candidate.rules);
    if !never.is_empty() {
        candidate.verdict = Verdict::DoesNotSuit;
        candidate.because = never;
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
            candidate.because.push(format!("missing: {}", lack.what));
            candidate.missing.push(lack);
            return candidate;
        }
        Applies::Yes => {}
    }
    let (hole_of, geometry) = shaped(method, case, series);
    match geometry {
        Err(impossible) => {
            candidate.verdict = Verdict::DoesNotSuit;
            candidate.because.push(format!("{}: {}", impossible.message, impossible.help));
            candidate.impossible = Some(impossible);
        }
        Ok(geometry) => {
            let mut model: Model<'n> = method.model(case, &geometry);
            model.assumptions.extend(geometry.assumed.iter().copied());
            let place = Place::of_need(need, card.name, (case.insert, case.adhesive), &geometry);
            candidate.evidence = evidence(case, card.name, series, &calibration.exactly(&place));
            candidate.rules = rules::asked(case, card.name, Some(&geometry));
            rules::heed(&mut model, &candidate.rules);
            candidate.evidence.calibrated = calibrated(&model, calibration);
            if let Some(one) = hole_of {
                model.caution(format!("no hole was asked for: this answer is for the hole of {}", one.record.id));
                candidate.evidence.hole_of = Some(one.record.id.to_string());
            }
            candidate.geometry = Some(geometry);
            candidate.model = Some(seal(model, calibration, &place));
        }
    }
    candidate
}

/// The shape of a joint; a hole that is not asked for is that of the series that tells most of it.
fn shaped<'s, 'b>(
    method: &dyn Method,
    case: &Case<'_>,
    series: &'s [Measured<'b>],
) -> (Option<&'s Measured<'b>>, Result<Geometry, Impossible>) {
    let need = case.need;
    let free = need.hole_size.is_none() && need.gap.is_none() && !need.any_material;
    let same = |a: Option<&Record>, b: Option<&Record>| a.map(|r| &r.id) == b.map(|r| &r.id);
    let like = |s: &&Measured<'_>| {
        free && s.method == method.card().name
            && s.material.id == need.material.id
            && s.thread == need.thread
            && same(s.insert, case.insert)
            && same(s.adhesive, case.adhesive)
            && (s.hole().is_some() || s.gap().is_some())
    };
    // The nearest length first, of equally near ones the most specimens.
    let apart = |s: &Measured<'_>| libm::log(need.length.si() / s.length.si()).abs();
    let count = |s: &Measured<'_>| s.specimens.iter().map(|x| x.stands_for).sum::<usize>();
    let best = series
        .iter()
        .filter(like)
        .min_by(|a, b| apart(a).total_cmp(&apart(b)).then(count(b).cmp(&count(a))).then(a.record.id.cmp(&b.record.id)));
    if let Some(best) = best {
        let told = Need { hole_size: best.hole(), gap: best.gap(), ..need.clone() };
        let shape = |need: &Need<'_>| method.geometry(&Case { need, insert: case.insert, adhesive: case.adhesive });
        // A hole in a stepped shape is given by its gap.
        if let Ok(geometry) = shape(&told).or_else(|_| shape(&Need { hole_size: None, ..told.clone() })) {
            return (Some(best), Ok(geometry));
        }
    }
    (None, method.geometry(case))
}

fn calibrated(model: &Model<'_>, calibration: &Calibration) -> Vec<Mode> {
    let modes: BTreeSet<Mode> = model.states.iter().map(|s| s.mode).filter(|m| calibration.posteriors.contains_key(m)).collect();
    modes.into_iter().collect()
}

/// Series of this combination and of the family, counted apart.
fn evidence(case: &Case<'_>, method: &str, series: &[Measured<'_>], exactly: &Exactly) -> Evidence {
    let need = case.need;
    let mut found = Evidence {
        combination: exactly.series.clone(),
        specimens: exactly.specimens,
        batches: exactly.batches,
        ..Evidence::default()
    };
    if need.using.infill.is_some_and(|i| i < 1.0) {
        found.infill = quoted_infill(need);
    }
    for one in series.iter().filter(|s| s.method == method) {
        let id = one.record.id.to_string();
        if exactly.series.contains(&id) {
            continue;
        }
        if one.material.id == need.material.id {
            found.beside.push(id);
        } else if need.book.is_family(&one.material.family, &need.material.family) {
            found.family.push(id);
        }
    }
    found
}

/// Series of joints printed with infill, of the material's own family, as they stand.
fn quoted_infill(need: &Need<'_>) -> Vec<Quoted> {
    let real = |r: &&Record| r.current && (need.invented() || !r.is_invented());
    let all = need.book.of_kind("series").filter(real).filter_map(|record| {
        let says = record.series()?;
        let infill = says.joint.infill.as_ref().filter(|_| says.joint.is("pull-out"))?;
        let material = need.book.record(says.joint.material.as_deref()?)?;
        let pull = says.measurements.iter().find(|m| &*m.quantity == "pull_out_load")?;
        let load = pull.mean.as_ref()?.as_text()?;
        let n = pull.n.map_or_else(|| "n not stated".into(), |n| format!("n = {n}"));
        let text = format!("{}: {load} ({n}, {} infill)", record.name, infill.text);
        need.book.is_family(&material.family, &need.material.family).then(|| Quoted { series: record.id.to_string(), text })
    });
    all.collect()
}

/// The torque to tighten with: half (an assumption) of the 5 % point of what strips or turns.
pub fn tighten(need: &Need<'_>, torque: &Band) -> f64 {
    torque.low * need.assumptions.value("tighten_share")
}
