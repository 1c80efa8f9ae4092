//! From capacity, gates and doubts to a verdict with its reasons.

use super::candidate::held as share_held;
use super::word::{VerdictBasis, word};
use super::{AnswerBound, Candidate, Ground, LowerBound, Settling, Survival};
use crate::joint::distribution::NINETY;
use crate::joint::evaluate::Capacity;
use crate::joint::fact::fact;
use crate::joint::held;
use crate::joint::measured::Measured;
use crate::joint::method::Life;
use crate::joint::mode::Mode;
use crate::joint::need::{Consequence, Duration, Need};
use crate::joint::part::lasting_property;
use crate::quantity::Measure;
use crate::statistics::batches::bound_over_batches;
use crate::statistics::bound::{BoundKind, Form, lower_bound};
use crate::statistics::distribution::normal_quantile;
use crate::statistics::tolerance::FIVE_AT_75;
use crate::suit::Verdict;
use std::collections::BTreeMap;

/// Joints of the test that would settle a candidate: enough for a deviation, few enough to be made in an afternoon.
const SETTLING_JOINTS: usize = 5;

/// `fails` is why the load is not held whatever is missing.
pub(super) fn decide(need: &Need<'_>, candidate: &mut Candidate<'_>, series: &[Measured<'_>], fails: Option<String>) {
    let Some(sealed) = &candidate.model else {
        if let Some(why) = fails {
            candidate.verdict = Verdict::DoesNotSuit;
            candidate.because.insert(0, why);
        }
        return;
    };
    let model = &sealed.model;
    candidate.missing.extend(model.lacks.iter().cloned());
    candidate.missing.sort();
    candidate.missing.dedup();
    candidate.cautions = model.cautions.clone();
    let mut doubts = model.doubts.clone();
    let mut cares = model.cares.clone();
    use_of(need, candidate, &mut doubts, &mut cares);
    candidate.evidence.governed = governed(need, candidate);
    if let Some(capacity) = &candidate.capacity {
        let lower = bound(capacity, candidate, series);
        candidate.lower_bound = Some(lower);
        let relaxes = candidate.model.as_ref().and_then(|m| m.model.relaxes.as_deref());
        candidate.held = held::held(need, relaxes, candidate.adhesive, lower.value);
        // Where somebody may be hurt no load is promised, so none is weighed either.
        let weighed = need.using.consequence != Consequence::Injury;
        candidate.survival = weighed.then(|| survival(need, capacity, lower, candidate.held.as_ref()));
        if capacity.faults > 0 {
            candidate
                .cautions
                .push(format!("{} draws gave no number: this is an internal error, please report it", capacity.faults));
        }
        say_what_breaks(candidate);
        say_split(candidate);
        say_other_mode(candidate, series);
    }
    let mut gates = candidate.model.as_ref().map_or(Vec::new(), |m| m.model.gates.clone());
    stays(candidate, &mut gates, &mut doubts, &mut cares);
    gates.extend(fails);
    let by_load = doubts.is_empty() && cares.is_empty();
    pronounce(need, candidate, gates, doubts, cares);
    if by_load && need.using.consequence != Consequence::Injury {
        candidate.settling = settling(need, candidate);
    }
}

/// Survival at the load asked for, or at the design load. A static pull says nothing of a load that stays, so a held need is
/// weighed against its share of the pull.
fn survival(need: &Need<'_>, capacity: &Capacity, bound: LowerBound, held: Option<&held::Held>) -> Survival {
    let share = held.filter(|_| need.load.is_some()).map_or(1.0, |held| held.share);
    let load = need.load.map_or_else(|| bound.design(), |l| l.si() * need.factor);
    Survival { load, share: share_held(capacity, load, share), asked: need.load.is_some() }
}

/// The word and its reasons, the one that decided first.
fn pronounce(need: &Need<'_>, candidate: &mut Candidate<'_>, gates: Vec<String>, doubts: Vec<String>, cares: Vec<String>) {
    if need.using.consequence == Consequence::Injury {
        let hurt = "no verdict is given where somebody may be hurt: that takes a licensed engineer and tests".to_string();
        candidate.verdict = if gates.is_empty() { Verdict::Unknown } else { Verdict::DoesNotSuit };
        candidate.because.extend(if gates.is_empty() { vec![hurt] } else { gates });
        return;
    }
    let known = VerdictBasis {
        gated: !gates.is_empty(),
        open: !doubts.is_empty(),
        warned: !cares.is_empty(),
        ground: candidate.evidence.ground(),
        survival: candidate.survival.map(|s| s.share),
    };
    candidate.verdict = word(known, &need.assumptions);
    let survival = candidate.survival.map(|s| s.text());
    let because: Vec<String> = match candidate.verdict {
        Verdict::DoesNotSuit if !gates.is_empty() => gates,
        // Of a joint that holds nothing no survival is told: there is no load it could be that of.
        Verdict::DoesNotSuit => nothing_left(candidate).or(survival).into_iter().chain(cares).collect(),
        Verdict::Unknown => {
            let missing = candidate.missing.iter().filter(|l| l.blocks).map(|l| format!("missing: {}", l.what));
            missing.chain(doubts).chain(survival).collect()
        }
        Verdict::WithCare => {
            let alone = match candidate.evidence.specimens {
                1 => "one specimen of this joint alone was measured",
                _ => "this joint itself was not measured",
            };
            let family = (known.ground == Ground::Family).then(|| alone.to_string());
            cares.into_iter().chain(survival).chain(family).collect()
        }
        Verdict::ModelOnly | Verdict::Suits => survival.into_iter().chain(cares).collect(),
    };
    candidate.because.extend(because);
}

/// Share of draws below a lower bound.
const NOTHING: f64 = 0.05;

/// Where so many draws hold nothing at all that the bound is zero: which state is reached before anything pulls.
fn nothing_left(candidate: &Candidate<'_>) -> Option<String> {
    let capacity = candidate.capacity.as_ref().filter(|_| candidate.lower_bound.is_some_and(|b| b.design() <= 0.0))?;
    let none = capacity.loads.iter().filter(|f| **f <= 0.0).count() as f64 / capacity.loads.len().max(1) as f64;
    let first = capacity.states.iter().find(|s| s.at_nothing > NOTHING).map_or("a limit state", |s| s.mode.text());
    Some(format!("holds nothing in {:.0} % of draws: {first} before any load", none * 100.0))
}

/// Whether what fails first in most draws is a mode that series have measured, or one of metal. A screw of plastic is none.
fn governed(need: &Need<'_>, candidate: &Candidate<'_>) -> bool {
    let of_screw = need.screw.and_then(|screw| need.book.record(screw.common().metal.as_deref()?));
    let is_metal = |mode: &Mode| mode.is_metal() && of_screw.is_none_or(|made_of| made_of.id.kind() == "metal");
    let first = candidate.capacity.as_ref().and_then(|c| c.modes.first());
    first.is_some_and(|(mode, _)| is_metal(mode) || candidate.evidence.calibrated.contains(mode))
}

/// What pulling a few such joints would give: their mean tells the level whatever the strength behind it, so that only the
/// scatter of joints, the batch and the doubt of a mean of few remain.
fn settling(need: &Need<'_>, candidate: &Candidate<'_>) -> Option<Settling> {
    let capacity = candidate.capacity.as_ref()?;
    if candidate.verdict == Verdict::Suits || candidate.survival.is_none() {
        return None;
    }
    let scatter = candidate.model.as_ref()?.model.scatter.max(need.assumptions.value("joint_sd"));
    let joints = SETTLING_JOINTS as f64;
    let spread = libm::sqrt(scatter * scatter * (1.0 + 1.0 / joints) + libm::pow(need.assumptions.value("batch_sd"), 2.0));
    let width = libm::exp(2.0 * NINETY * spread);
    let suits_from = need.load.map(|load| {
        let quantile = normal_quantile(need.assumptions.value("verdict_suits"));
        load.si() * need.factor * libm::exp(quantile * spread)
    });
    // A mean that hardly any of the draws reach is no test to propose.
    let likely = suits_from.is_none_or(|from| from < capacity.load.high);
    (likely && width < capacity.load.width()).then_some(Settling { joints: SETTLING_JOINTS, suits_from, width })
}

/// Time, cycles and place.
fn use_of(need: &Need<'_>, candidate: &mut Candidate<'_>, doubts: &mut Vec<String>, cares: &mut Vec<String>) {
    let Life { low, high, .. } = candidate.life;
    match need.using.cycles.map(f64::from) {
        Some(wanted) if wanted > high && high > low => {
            if let Some(sealed) = &mut candidate.model {
                sealed
                    .model
                    .gates
                    .push(format!("{wanted} openings are asked for: such a thread lasts {low} to {high} (practice)"));
            }
        }
        Some(wanted) if wanted > low && high > low => {
            cares.push(format!("{wanted} openings are asked for: such a thread lasts {low} to {high} (practice)"))
        }
        Some(wanted) if wanted > high => {
            cares.push(format!(
                "{wanted} openings are asked for: practice expects about {high} or more, but nothing was measured"
            ));
        }
        Some(_) => {}
        None => candidate.cautions.push("this is for one assembly; give --cycles N for more".into()),
    }
    match need.using.duration {
        Duration::Short | Duration::Held => {}
        Duration::Repeated => {
            lasting(need, candidate, doubts, cares);
            let share = need.assumptions.value("repeated_share");
            candidate.cautions.push(format!("by practice only, use not more than {:.0} % of the lower bound", share * 100.0));
        }
        Duration::Shock => {
            doubts.push("impact load: the strengths come from slow pulls, and there is no impact model of joints".into())
        }
    }
    moist(need, doubts);
}

/// A held load: a plain no is a gate, a share of practice no knowledge, a share by claims a matter of care.
fn stays(candidate: &Candidate<'_>, gates: &mut Vec<String>, doubts: &mut Vec<String>, cares: &mut Vec<String>) {
    let Some(held) = &candidate.held else { return };
    match &held.verdict {
        held::HeldVerdict::No(why) => gates.push(format!("no load for {}: {why}", held.how_long())),
        held::HeldVerdict::Practice(name) => doubts.push(format!(
            "the share for a load sustained for {} is practice only ({name}); no creep rupture data cover that time",
            held.how_long(),
        )),
        held::HeldVerdict::Claims(_) => {
            cares.push("the sustained load follows from creep rupture of the materials; no joint was tested that way".into())
        }
    }
}

/// Some joints of the model split before any load: what that is.
fn say_split(candidate: &mut Candidate<'_>) {
    if let Some(split) = candidate.split() {
        candidate.cautions.push(format!("{split}: forming, pressing in or cold alone brings the wall to its strength there"));
    }
}

/// A load that comes and goes: unknown without a claim that says what is left; with one, with care.
fn lasting(need: &Need<'_>, candidate: &Candidate<'_>, doubts: &mut Vec<String>, cares: &mut Vec<String>) {
    let Some(property) = lasting_property(need.using.duration) else { return };
    let load = "repeated load";
    let lacking = [Some(need.material), candidate.adhesive].into_iter().flatten();
    let lacking: Vec<String> = lacking.filter(|r| fact(need, r, property, None).is_none()).map(|r| r.id.to_string()).collect();
    if lacking.is_empty() {
        cares.push(format!("{load}: strengths fall as `{property}` of the material says; joints were not tested so"));
    } else {
        doubts.push(format!("{load}: there is no claim of `{property}` of {}", lacking.join(" and ")));
    }
}

fn moist(need: &Need<'_>, doubts: &mut Vec<String>) {
    use crate::suit::ServiceConditions;
    if !need.is("polyamide")
        || !matches!(need.using.place, Some(ServiceConditions::Damp | ServiceConditions::Wet | ServiceConditions::Immersed))
    {
        return;
    }
    let conditioned = |c: &crate::book::Claim| c.condition("moisture").is_some_and(|m| m.text() == "conditioned");
    let known = ["tensile_strength", "shear_strength", "yield_strength"]
        .iter()
        .any(|p| need.material.claims(p).iter().any(|c| c.in_use() && conditioned(c)));
    if !known {
        doubts.push(format!("{} takes up water and no claim is of conditioned specimens", need.material.name));
    }
}

/// The smaller of the predictive 5 % point and, for each measured series of the combination with three or more, its 5 %/75 %
/// bound: over its batches where it has several. A series of a joint beside holds it too, grown as far as this one has more
/// of what helps, so that the bound has no step where one joint ends and the next begins.
fn bound(capacity: &Capacity, candidate: &Candidate<'_>, series: &[Measured<'_>]) -> LowerBound {
    let predictive = LowerBound { value: capacity.load.low, kind: AnswerBound::Predictive5 };
    let beside = candidate.model.as_ref().map_or(&[][..], |m| m.beside.as_slice());
    let own = |s: &Measured<'_>| {
        let id = s.record.id.as_str();
        let very = candidate.evidence.combination.iter().any(|c| c == id);
        let grows = beside.iter().find(|b| b.series.iter().any(|b| b == id)).map(|b| b.grows);
        let grows = grows.or(very.then_some(1.0))?;
        let kind = if very { AnswerBound::Tolerance95At75 } else { AnswerBound::Beside95At75 };
        Some(LowerBound { value: characteristic(s)? * grows, kind })
    };
    series.iter().filter_map(own).fold(predictive, |least, one| if one.value < least.value { one } else { least })
}

/// What a series promises by itself; `None` of fewer than three loads, or where they do not differ.
fn characteristic(series: &Measured<'_>) -> Option<f64> {
    let ask = BoundKind::Tolerance(FIVE_AT_75);
    let mut batches: BTreeMap<Option<&str>, Vec<f64>> = BTreeMap::new();
    for specimen in series.specimens.iter().filter(|x| !x.censored) {
        batches.entry(specimen.batch.as_deref()).or_default().push(specimen.load);
    }
    let lists: Vec<&[f64]> = batches.values().map(Vec::as_slice).collect();
    if lists.concat().len() < 3 {
        return None;
    }
    match lists[..] {
        [one] => lower_bound(one, Form::Lognormal, ask).ok().map(|b| b.value),
        _ => bound_over_batches(&lists, Form::Lognormal, ask).ok().map(|b| b.value),
    }
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
            "the glue fails first in only {:.0} % of the draws: another glue would hardly change the answer",
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
            "the measured joints failed in another way ({}) than is predicted here ({})",
            observed.text(),
            predicted.text()
        ));
    }
}
