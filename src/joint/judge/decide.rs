//! From capacity, gates and doubts to a verdict.

use super::{Bound, Candidate, LowerBound};
use crate::joint::evaluate::Capacity;
use crate::joint::measured::Measured;
use crate::joint::mode::Mode;
use crate::joint::need::{Consequence, Duration, Need};
use crate::quantity::Measure;
use crate::statistics::bound::{BoundKind, Form, lower_bound};
use crate::statistics::tolerance::CoverageConfidence;
use crate::suit::Verdict;
use std::collections::BTreeMap;

/// A band wider than this from a model alone is no knowledge.
const TOO_WIDE: f64 = 4.0;
/// Probability from which a method suits, and below which it does not.
const ENOUGH: f64 = 0.95;
const TOO_LITTLE: f64 = 0.50;
/// Below this even a wide band says no.
const SURELY_TOO_LITTLE: f64 = 0.05;

pub(super) fn decide(need: &Need<'_>, candidate: &mut Candidate<'_>, series: &[Measured<'_>]) {
    let Some(sealed) = &candidate.model else { return };
    let model = &sealed.model;
    candidate.missing.extend(model.lacks.iter().cloned());
    candidate.missing.sort();
    candidate.missing.dedup();
    candidate.cautions = model.cautions.clone();
    let mut doubts = model.doubts.clone();
    let mut cares = model.cares.clone();
    use_of(need, candidate, &mut doubts, &mut cares);
    blind(need, candidate);
    if let Some(capacity) = &candidate.capacity {
        candidate.lower_bound = Some(bound(capacity, candidate, series));
        // Where somebody may be hurt no load is promised, so none is weighed either.
        let weighed = need.load.filter(|_| need.using.consequence != Consequence::Injury);
        candidate.probability = weighed.map(|load| {
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
        say_other_mode(candidate, series);
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

/// Where the series of this combination failed in another way than is predicted here, it is said.
fn say_other_mode(candidate: &mut Candidate<'_>, series: &[Measured<'_>]) {
    let own = series.iter().filter(|s| candidate.evidence.combination.iter().any(|id| id == s.record.id.as_str()));
    let mut seen: BTreeMap<Mode, usize> = BTreeMap::new();
    for mode in own.flat_map(|s| s.specimens.iter().filter_map(|x| x.mode)) {
        *seen.entry(mode).or_default() += 1;
    }
    let observed = seen.iter().max_by_key(|(_, n)| **n).map(|(m, _)| *m);
    let predicted = candidate.capacity.as_ref().and_then(|c| c.modes.first()).map(|(m, _)| *m);
    if let (Some(observed), Some(predicted)) = (observed, predicted)
        && observed != predicted
    {
        candidate.cautions.push(format!(
            "the measured joints failed otherwise ({}) than is predicted here ({})",
            observed.word(),
            predicted.word()
        ));
    }
}

/// Deep blind holes of vat prints keep resin.
fn blind(need: &Need<'_>, candidate: &mut Candidate<'_>) {
    let Some(geometry) = &candidate.geometry else { return };
    if geometry.through || !need.is("photopolymer") {
        return;
    }
    let hole = geometry.hole.first().map_or(0.0, |h| h.finished.nominal.si());
    if geometry.depth.si() > 3.0 * hole {
        candidate.cautions.push(
            "deeper than three diameters: residue narrows the hole and poisons the glue; wash it out with a syringe".into(),
        );
    }
    candidate.cautions.push("no suction cup while printing, no post-cure with liquid in the hole".into());
}
