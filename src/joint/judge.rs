//! The answer: every method's candidate with verdict, load and evidence, in order.

use super::beside::Asked;
use super::calibration::place::{JointCoordinates, MeasuredJoint};
use super::calibration::{Calibration, Exactly, calibrate};
use super::correct::{Corrected, correct};
use super::evaluate::{Capacity, Columns};
use super::measured::{Measured, gather};
use super::method::{Applies, Case, Method, cases};
use super::mode::Mode;
use super::model::{LimitState, Model};
use super::need::{Axis, Consequence, Need};
use super::part::UNKNOWN_STRENGTH;
use super::rules;
use crate::book::Record;
use crate::quantity::{Amount, Quantity};
use crate::suit::Verdict;
use rayon::prelude::*;
use std::cmp::Reverse;
use std::collections::BTreeSet;

mod candidate;
mod decide;
mod known;
mod order;
mod told_hole;
mod word;

pub use candidate::{AnswerBound, Candidate, JointEvidence, LowerBound, Quoted, Settling, Survival, rounded_down};
use decide::decide;
use order::order;
use told_hole::shaped;
pub use word::Ground;

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
    /// The places of the candidates as programs are told them: alternatives last, so that the first is the best.
    pub fn listed(&self) -> Vec<usize> {
        let mut places: Vec<usize> = (0..self.candidates.len()).collect();
        places.sort_by_key(|place| self.candidates[*place].alternative);
        places
    }
    /// The candidate the answer is about: the first that is no mere alternative.
    pub fn best(&self) -> Option<&Candidate<'n>> {
        self.candidates.iter().find(|c| !c.alternative).or_else(|| self.candidates.first())
    }
}

/// Asks every method, or the one named, and orders the answers.
///
/// A method whose numbers are invented takes part for an invented material alone, unless it is named.
pub fn judge<'n>(need: &'n Need<'n>, methods: &[&'n dyn Method], only: Option<&str>) -> Judgement<'n> {
    let calibration = calibrate(need, methods);
    let wanted = methods.iter().filter(|m| match only {
        Some(name) => m.card().name == name,
        None => !m.invented() || need.invented(),
    });
    let asked: Vec<(&'n dyn Method, Case<'n>)> =
        wanted.flat_map(|m| cases(*m, need).into_iter().map(|case| (*m, case))).collect();
    let mut candidates = weigh(need, &asked, &calibration);
    for candidate in &mut candidates {
        // Who names an insert asks how to fasten that one: a way without it stands beside the answer.
        let is_without = need.insert.is_some_and(|named| candidate.insert.is_none_or(|own| own.id != named.id));
        candidate.alternative = only.is_none() && (candidate.alternative || is_without);
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
pub fn weigh<'n>(need: &'n Need<'n>, asked: &[(&'n dyn Method, Case<'n>)], calibration: &Calibration) -> Vec<Candidate<'n>> {
    let (series, _) = gather(need.book, need.invented());
    let mut candidates: Vec<Candidate<'n>> =
        asked.par_iter().with_max_len(1).map(|(method, case)| prepare(*method, case, calibration, &series)).collect();
    let columns = Columns::draw(candidates.iter().filter_map(|c| c.model.as_ref()), need.seed, need.draws);
    let capacities = capacities(need, &candidates, &columns);
    candidates.par_iter_mut().zip(capacities).for_each(|(candidate, capacity)| {
        let fails = known::fails(need, candidate, &columns, capacity.as_ref());
        candidate.capacity = capacity;
        decide(need, candidate, &series, fails);
    });
    candidates
}

/// The capacity of each candidate that has a load. They take long and not equally long: whoever is free takes the longest of
/// those that are left.
fn capacities(need: &Need<'_>, candidates: &[Candidate<'_>], columns: &Columns) -> Vec<Option<Capacity>> {
    let with_load = |c: &Candidate<'_>| c.model.as_ref().is_some_and(|m| m.model.has_load());
    let mut places: Vec<usize> = (0..candidates.len()).filter(|place| with_load(&candidates[*place])).collect();
    places.sort_by_key(|place| Reverse(candidates[*place].model.as_ref().map_or(0, Corrected::effort)));
    let one = |place: usize| Some((place, candidates[place].model.as_ref()?.capacity(columns, need.seed, need.draws)));
    let computed: Vec<(usize, Capacity)> = places.into_iter().par_bridge().filter_map(one).collect();
    let mut capacities = vec![None; candidates.len()];
    computed.into_iter().for_each(|(place, capacity)| capacities[place] = Some(capacity));
    capacities
}

fn prepare<'n>(method: &'n dyn Method, case: &Case<'n>, calibration: &Calibration, series: &[Measured<'n>]) -> Candidate<'n> {
    let need = case.need;
    let card = method.card();
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
        evidence: JointEvidence::default(),
        model: None,
        rules: Vec::new(),
        missing: Vec::new(),
        cautions: Vec::new(),
        hazards: method.hazards(case),
        settling: None,
        effort: method.effort(),
        life: method.life(need),
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
    let shaped = shaped(method, case, series);
    match shaped.geometry {
        Err(impossible) => {
            candidate.verdict = Verdict::DoesNotSuit;
            candidate.because.push(format!("{}: {}", impossible.message, impossible.help));
            candidate.impossible = Some(impossible);
        }
        Ok(geometry) => {
            let mut model: Model<'n> = method.model(case, &geometry);
            model.assumptions.extend(geometry.assumed.iter().copied());
            strength_known(&mut model, calibration);
            let place = JointCoordinates::of_need(need, card.name, (case.insert, case.adhesive), &geometry);
            candidate.evidence = evidence(case, card.name, series, &calibration.exactly(&place));
            candidate.evidence.would_be = would_be(calibration, &place);
            candidate.rules = rules::asked(case, card.name, Some(&geometry));
            rules::heed(&mut model, &candidate.rules);
            candidate.evidence.calibrated =
                calibrated(&model, card.name, calibration, place.family.as_deref().unwrap_or_default());
            if candidate.evidence.specimens == 1 {
                model.assumptions.insert("lone_sd");
                model.caution("one specimen of this joint was measured: it counts little until a second one agrees");
            }
            match &shaped.told_by[..] {
                [] => {}
                [one] => model.caution(format!("no hole was asked for: this answer is for the hole of {one}")),
                several => {
                    let ids = several.join(" and ");
                    model.caution(format!("no hole was asked for: this answer is for a hole between those of {ids}"));
                }
            }
            candidate.evidence.hole_of = shaped.told_by;
            candidate.geometry = Some(geometry);
            let asked = Asked { method, case: *case, hole: shaped.hole, place: &place };
            candidate.model = Some(correct(&asked, model, calibration));
        }
    }
    candidate
}

/// A strength that nobody claims is told by measured joints of the material; without any nothing of the part is predicted.
fn strength_known(model: &mut Model<'_>, calibration: &Calibration) {
    if !model.assumptions.contains(UNKNOWN_STRENGTH) {
        return;
    }
    let id = &model.need.material.id;
    if calibration.used.iter().any(|series| series.own) {
        model.caution(format!("no tensile strength of {id} is known: its measured joints tell how strong it is"));
        return;
    }
    let (what, settle) = (format!("tensile strength of {id}"), format!("a claim of `tensile_strength` in {id}"));
    model.blocked(what, settle);
    model.assumptions.remove(UNKNOWN_STRENGTH);
    model.states.retain(|state| state.mode.is_metal());
}

fn calibrated(model: &Model<'_>, method: &str, calibration: &Calibration, family: &str) -> Vec<Mode> {
    let seen = |s: &&LimitState| calibration.speaks_of(s.mode, s.alone.then_some(method), family);
    let modes: BTreeSet<Mode> = model.states.iter().filter(seen).map(|s| s.mode).collect();
    modes.into_iter().collect()
}

/// Series of this combination and of the family, counted apart.
fn evidence(case: &Case<'_>, method: &str, series: &[Measured<'_>], exactly: &Exactly) -> JointEvidence {
    let need = case.need;
    let mut found = JointEvidence {
        combination: exactly.series.clone(),
        specimens: exactly.specimens,
        batches: exactly.batches,
        ..JointEvidence::default()
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

/// The options with which the question would be about a measured joint, where nothing but boss and axis differ.
fn would_be(calibration: &Calibration, place: &JointCoordinates) -> Option<String> {
    let own = place.joint.as_ref()?;
    let options = |measured: &JointCoordinates| {
        // Of an axis that no source tells nobody can say that his is the same.
        let joint = measured.joint.as_ref().filter(|joint| joint.axis != Axis::Unknown)?;
        let is_it = |boss: f64, axis: Axis| {
            let joint = Some(MeasuredJoint { boss, axis, ..own.clone() });
            calibration.parts().same(&JointCoordinates { joint, ..place.clone() }, measured)
        };
        let boss =
            (!is_it(own.boss, joint.axis)).then(|| format!("--boss '{}'", Amount::new(Quantity::Length, joint.boss).trimmed(4)));
        let axis = (joint.axis != own.axis).then(|| format!("--axis {}", joint.axis.word()));
        let options: Vec<String> = [boss, axis].into_iter().flatten().collect();
        (is_it(joint.boss, joint.axis) && !options.is_empty()).then(|| options.join(" "))
    };
    calibration.places_beside(place).find_map(options)
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

/// The torque to tighten with, N·m: half (an assumption) of the 5 % point of what strips or turns, and of that no more than
/// what stays of a load for as long as the load is asked to stay, since the preload stays as long.
pub fn tighten(need: &Need<'_>, candidate: &Candidate<'_>) -> Option<f64> {
    let strip = candidate.capacity.as_ref()?.torque?.low;
    let stays = candidate.held.as_ref().map_or(1.0, |held| held.load().map_or(0.0, |_| held.share));
    Some(strip * need.assumptions.value("tighten_share") * stays)
}
