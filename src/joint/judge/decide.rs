//! From capacity, gates and doubts to a verdict.

use super::{Bound, Candidate, LowerBound, Settling};
use crate::joint::evaluate::Capacity;
use crate::joint::fact::fact;
use crate::joint::law::NINETY;
use crate::joint::measured::Measured;
use crate::joint::mode::Mode;
use crate::joint::need::{Consequence, Duration, Need};
use crate::joint::part::lasting_property;
use crate::quantity::Measure;
use crate::statistics::bound::{BoundKind, Form, lower_bound};
use crate::statistics::distribution::normal_quantile;
use crate::statistics::tolerance::CoverageConfidence;
use crate::suit::Verdict;
use std::collections::BTreeMap;

/// Joints of the test that would settle a candidate: enough for a deviation, few enough to be made in an afternoon.
const SETTLING_JOINTS: usize = 5;

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
    candidate.evidence.governed = governed(candidate);
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
    let by_load = gates.is_empty() && doubts.is_empty() && cares.is_empty();
    let (verdict, because) = verdict(need, candidate, gates, doubts, cares);
    candidate.verdict = verdict;
    candidate.because.extend(because);
    let promised = matches!(candidate.verdict, Verdict::Suits | Verdict::WithCare);
    if promised && need.using.consequence == Consequence::Injury {
        candidate.verdict = Verdict::Unknown;
        candidate.because.insert(0, "no verdict where somebody may be hurt: that takes a licensed engineer and tests".into());
    }
    if by_load && need.using.consequence != Consequence::Injury {
        candidate.settling = settling(need, candidate);
    }
}

/// Whether what fails first in most draws is a mode that series have measured, or one of metal.
fn governed(candidate: &Candidate<'_>) -> bool {
    let first = candidate.capacity.as_ref().and_then(|c| c.modes.first());
    first.is_some_and(|(m, _)| m.is_metal() || candidate.evidence.calibrated.contains(m))
}

/// What pulling a few such joints would give: their mean tells the level whatever the strength behind it, so that only the
/// scatter of joints, the batch and the doubt of a mean of few remain.
fn settling(need: &Need<'_>, candidate: &Candidate<'_>) -> Option<Settling> {
    let capacity = candidate.capacity.as_ref()?;
    let open = matches!(candidate.verdict, Verdict::Unknown | Verdict::WithCare) || need.load.is_none();
    if !open {
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
    (width < capacity.load.width()).then_some(Settling { joints: SETTLING_JOINTS, suits_from, width })
}

fn verdict(
    need: &Need<'_>,
    candidate: &Candidate<'_>,
    gates: Vec<String>,
    doubts: Vec<String>,
    cares: Vec<String>,
) -> (Verdict, Vec<String>) {
    if !gates.is_empty() {
        return (Verdict::DoesNotSuit, gates);
    }
    let blocking = candidate.missing.iter().find(|l| l.blocks).map(|l| format!("not known: {}", l.what));
    let Some(capacity) = &candidate.capacity else {
        return (Verdict::Unknown, blocking.into_iter().chain(doubts).collect());
    };
    let probability = candidate.probability;
    let (enough, too_little) = (need.assumptions.value("verdict_suits"), need.assumptions.value("verdict_no"));
    // As sure as a yes has to be, a wide band may say no.
    if let Some(p) = probability.filter(|p| *p < 1.0 - enough) {
        return (Verdict::DoesNotSuit, vec![percent(p)]);
    }
    let too_wide = need.assumptions.value("verdict_wide");
    let wide = candidate.evidence.model_only() && capacity.load.width() > too_wide;
    if !doubts.is_empty() {
        return (Verdict::Unknown, doubts);
    }
    let Some(p) = probability else {
        let verdict = if cares.is_empty() { Verdict::Suits } else { Verdict::WithCare };
        return (verdict, cares);
    };
    if wide {
        return (Verdict::Unknown, vec![unknown(capacity, too_wide, p)]);
    }
    let mut because = vec![percent(p)];
    because.extend(cares.iter().cloned());
    match p {
        p if p < too_little => (Verdict::DoesNotSuit, because),
        p if p < enough || !cares.is_empty() => (Verdict::WithCare, because),
        _ => (Verdict::Suits, because),
    }
}

/// Why a model alone gives no verdict, in words.
fn unknown(capacity: &Capacity, too_wide: f64, p: f64) -> String {
    let first = capacity.modes.first().map_or("what fails first", |(m, _)| m.text());
    format!(
        "no joint in which {first} was ever measured against this model: it may be off so far that its 90 % band is {:.1} times wide \
         (above {too_wide:.0} a model alone is no knowledge). Taken at its word, {}",
        capacity.load.width(),
        percent(p)
    )
}

fn percent(p: f64) -> String {
    match p {
        p if p > 0.995 => "more than 99 % of such joints hold it".to_string(),
        p if p < 0.005 => "less than 1 % of such joints hold it".to_string(),
        p => format!("{:.0} % of such joints hold it", p * 100.0),
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
        Duration::Held | Duration::Repeated => {
            lasting(need, candidate, doubts, cares);
            let held = need.using.duration == Duration::Held;
            candidate.cautions.push(practice(need.assumptions.value(if held { "held_share" } else { "repeated_share" })));
        }
        Duration::Shock => doubts.push("shock: strengths are from slow pulls, and there is no impact model of joints".into()),
    }
    moist(need, doubts);
}

/// A load that stays or comes and goes: unknown without a claim that says what is left; with one, with care.
fn lasting(need: &Need<'_>, candidate: &Candidate<'_>, doubts: &mut Vec<String>, cares: &mut Vec<String>) {
    let Some(property) = lasting_property(need.using.duration) else { return };
    let load = if need.using.duration == Duration::Held { "a load that stays" } else { "a load that comes and goes" };
    let lacking = [Some(need.material), candidate.adhesive].into_iter().flatten();
    let lacking: Vec<String> = lacking.filter(|r| fact(need, r, property, None).is_none()).map(|r| r.id.to_string()).collect();
    if lacking.is_empty() {
        cares.push(format!("{load}: strengths fall as `{property}` of the material says; joints were not tested so"));
    } else {
        doubts.push(format!("{load}: there is no claim of `{property}` of {}", lacking.join(" and ")));
    }
}

fn moist(need: &Need<'_>, doubts: &mut Vec<String>) {
    use crate::suit::Place;
    if !need.is("polyamide") || !matches!(need.using.place, Some(Place::Damp | Place::Wet | Place::Immersed)) {
        return;
    }
    let conditioned = |c: &crate::book::Claim| c.condition("moisture").is_some_and(|m| m.text() == "conditioned");
    let known = ["tensile_strength", "shear_strength", "yield_strength"]
        .iter()
        .any(|p| need.material.claims(p).iter().any(|c| c.in_use() && conditioned(c)));
    if !known {
        doubts.push(format!("{} takes up water and no claim of it is conditioned", need.material.name));
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
