//! What a sample says: centre, spread, bounds, modes, batches, and what it cannot say.

use super::bounds::{self, Bounds, NotComputable};
use super::reduction::{Apart, ModeCount, More, MoreBatches, PriorBound, Reduction, Weibull};
use super::specimen::{Sample, SpecimenGroup, batches};
use super::vocabulary;
use super::warnings;
use crate::statistics::batches::{BatchSums, asked_of, sums_of_logs};
use crate::statistics::bound::{BoundKind, Form, PooledSpread, lower_bound_from_summary};
use crate::statistics::many::batch_effect;
use crate::statistics::outlier::{FEWEST_FOR_GRUBBS, GrubbsSide, grubbs};
use crate::statistics::summary::{Summary, summary};
use crate::statistics::tolerance::{FIVE_AT_75, mean_interval_factor};
use crate::statistics::weibull::weibull_fit;

/// Confidence of the intervals shown.
pub const CONFIDENCE: f64 = 0.95;

/// Spread between batches published elsewhere: the method of moments on the logarithms of the three batches of
/// CMH-17-1G section 8.3.11.1.1, condition ETW2 (values as reprinted in the tests of R package cmstatr); a laminate, no print.
pub const PRIOR_BETWEEN: (f64, &str) =
    (0.0612, "three batches of a fibre-reinforced laminate, CMH-17-1G 8.3.11.1.1; not of printed parts");

/// Reduces a sample; `earlier` is a spread pooled over earlier series of one's own, where there is one.
pub fn reduce(sample: &Sample, earlier: Option<&PooledSpread>) -> Reduction {
    let failures = sample.failures();
    let held = sample.held();
    let modes = modes(sample);
    let apart = apart(sample);
    let summary = summary(&failures).ok();
    // Equal values show a limit or a coarse scale, no scatter: an interval of no width would promise exactness.
    let spread = summary.filter(|s| s.sd > 0.0);
    let batches: &[SpecimenGroup] = apart.as_ref().map_or(&[], |a| &a.groups);
    // Several batches are no one sample: intervals and fits that take them for independent would promise too much.
    let alike = spread.filter(|_| batches.is_empty());
    let (weibull, weibull_refused) = match batches {
        [] => weibull(&failures, &held, &modes),
        _ => (None, Some(bounds::not_over_batches(WEIBULL))),
    };
    let mut bounds = bounds::bounds(&failures, &held, batches, earlier, weibull.as_ref().map(|w| &w.fit));
    bounds.refused.extend(weibull_refused);
    let promises = vocabulary::above(&sample.word).is_some();
    if !promises {
        let title = vocabulary::quantity_title(&sample.word);
        let why = format!("a lower bound of a {title} is of no use; look at mean, spread and range");
        bounds = Bounds { given: Vec::new(), refused: vec![NotComputable { what: "Lower bounds".into(), why, needed: None }] };
    }
    let outlier = match grubbs(&failures, 0.05, GrubbsSide::Either) {
        Ok(outlier) => Some(outlier),
        Err(refusal) => {
            if failures.len() < FEWEST_FOR_GRUBBS {
                bounds.refused.push(NotComputable::of("Test for an outlying value", &refusal));
            }
            None
        }
    };
    let logs = log_sums(batches).filter(|_| promises && held.is_empty());
    let mut answer = Reduction {
        unit: sample.unit(),
        digits: sample.digits(),
        mean_interval: alike.and_then(|s| s.mean_interval(CONFIDENCE).ok()),
        sd_interval: alike.and_then(|s| s.sd_interval(CONFIDENCE).ok()),
        cv_interval: alike.and_then(|s| s.cv_interval(CONFIDENCE).ok()),
        // With batches the table of batches stands in its place; where some held, the spread is not that of the failures.
        more: alike.filter(|_| promises && held.is_empty()).map(|s| more(&s)).unwrap_or_default(),
        more_batches: logs.as_ref().map(more_batches).unwrap_or_default(),
        prior: logs.as_ref().and_then(prior),
        failures,
        held,
        summary,
        bounds,
        modes,
        apart,
        outlier,
        weibull,
        warnings: Vec::new(),
    };
    answer.warnings = warnings::of(&answer, sample);
    answer
}

/// How the specimens failed, in the order first seen.
pub fn modes(sample: &Sample) -> Vec<ModeCount> {
    let mut list: Vec<ModeCount> = Vec::new();
    for specimen in &sample.specimens {
        let mode = specimen.mode.as_deref().unwrap_or(if specimen.censored { "machine-limit" } else { "unknown" });
        match list.iter_mut().find(|m| &*m.mode == mode) {
            Some(known) => known.count += 1,
            None => list.push(ModeCount { mode: mode.into(), count: 1 }),
        }
    }
    list
}

fn apart(sample: &Sample) -> Option<Apart> {
    let (level, groups) = batches(sample)?;
    let lists: Vec<&[f64]> = groups.iter().map(|g| g.failures.as_slice()).filter(|f| !f.is_empty()).collect();
    let effect = batch_effect(&lists).ok();
    let spread = BatchSums::new(&lists).ok().map(|sums| sums.spread());
    Some(Apart { level, groups, effect, spread })
}

fn log_sums(batches: &[SpecimenGroup]) -> Option<BatchSums> {
    let lists: Vec<&[f64]> = batches.iter().map(|g| g.failures.as_slice()).filter(|f| !f.is_empty()).collect();
    sums_of_logs(&lists).ok()
}

const CHARACTERISTIC: BoundKind = BoundKind::Tolerance(FIVE_AT_75);

/// One specimen more in every batch, then one and three batches more of the usual size.
fn more_batches(logs: &BatchSums) -> Vec<MoreBatches> {
    let spread = logs.spread();
    let Some(within) = spread.within_sd else { return Vec::new() };
    let each = (logs.n as f64 / logs.batches as f64).round().max(1.0) as usize;
    let a = logs.batches;
    [(a, each + each.div_ceil(a)), (a + 1, each), (a + 3, each)]
        .into_iter()
        .filter_map(|(batches, each)| {
            let sums = BatchSums::expected(logs.mean, spread.between_sd, within, batches, each);
            let five_at_75 = libm::exp(sums.lower_bound(asked_of(batches, CHARACTERISTIC)).ok()?);
            Some(MoreBatches { batches, n: sums.n, five_at_75 })
        })
        .collect()
}

fn prior(logs: &BatchSums) -> Option<PriorBound> {
    let (between_sd_of_logs, source) = PRIOR_BETWEEN;
    let five_at_75 = libm::exp(logs.lower_bound_with_between(between_sd_of_logs, CHARACTERISTIC).ok()?);
    Some(PriorBound { between_sd_of_logs, source, five_at_75 })
}

const WEIBULL: &str = "Weibull fit";

/// A fit needs one failure mode: two mechanisms in one fit describe neither.
fn weibull(failures: &[f64], held: &[f64], modes: &[ModeCount]) -> (Option<Weibull>, Option<NotComputable>) {
    let failing = modes.iter().filter(|m| &*m.mode != "machine-limit").count();
    if failing > 1 {
        let why = "specimens failed in different ways; one fit over several failure modes describes none of them".to_owned();
        return (None, Some(NotComputable { what: WEIBULL.into(), why, needed: None }));
    }
    match weibull_fit(failures, held) {
        Ok(fit) => {
            let intervals = if held.is_empty() { fit.pivotal_intervals(0.9) } else { fit.log_wald_intervals(0.9) };
            let unbiased_shape = if held.is_empty() { fit.unbiased_shape().ok() } else { None };
            (Some(Weibull { fit, unbiased_shape, intervals: intervals.ok() }), None)
        }
        Err(refusal) => (None, Some(NotComputable::of_failed(WEIBULL, &refusal))),
    }
}

const MORE: [usize; 5] = [3, 5, 8, 12, 20];

/// Bounds with larger n, taking the mean and spread seen as the true ones.
fn more(summary: &Summary) -> Vec<More> {
    let Ok(cv) = summary.cv() else { return Vec::new() };
    if summary.mean <= 0.0 || cv <= 0.0 {
        return Vec::new();
    }
    // Logarithms of a lognormal with this mean and coefficient of variation.
    let square = libm::log1p(cv * cv);
    let (mean, sd) = (libm::log(summary.mean) - 0.5 * square, libm::sqrt(square));
    let bound = |n, kind| lower_bound_from_summary(mean, sd, n, Form::Lognormal, kind).map(|b| b.value);
    MORE.into_iter()
        .filter(|n| *n > summary.n)
        .filter_map(|n| {
            let five_at_75 = bound(n, BoundKind::Tolerance(FIVE_AT_75)).ok()?;
            let predictive = bound(n, BoundKind::Predictive { coverage: bounds::PREDICTIVE_COVERAGE }).ok()?;
            let factor = mean_interval_factor(n, CONFIDENCE).ok()?;
            Some(More { n, five_at_75, predictive, mean_within: factor * cv / libm::sqrt(n as f64) })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::loads::loads;
    use super::*;

    /// Two batches that differ: 365.1079 N by the pivot with 79.2 % asked (scipy, two-dimensional quadrature over U and V; library), less than
    /// the weaker batch supports alone.
    #[test]
    fn two_batches_that_differ_are_paid_for() {
        let two = reduce(&loads("812,857,790/655,702,731", Some("N")).unwrap(), None);
        let weak = reduce(&loads("655,702,731", Some("N")).unwrap(), None);
        let bound = &two.bounds.given[0];
        assert!((bound.value - 365.1079).abs() < 1e-3 && bound.held_down.is_none(), "{bound:?}");
        assert!(bound.value < weak.bounds.given[0].value);
        let effect = two.apart.as_ref().and_then(|a| a.effect).unwrap();
        assert!((effect.effective_n - 2.23).abs() < 0.01);
        // Six specimens that are worth two give no interval and no fit of six.
        assert!(two.mean_interval.is_none() && two.sd_interval.is_none() && two.cv_interval.is_none() && two.weibull.is_none());
        assert!(two.bounds.given.iter().all(|b| b.name != "five-at-75-weibull"));
        // More of the same batches helps less than other batches do.
        let [same, one, three] = &two.more_batches[..] else { panic!("{:?}", two.more_batches) };
        assert!(same.five_at_75 < one.five_at_75 && one.five_at_75 < three.five_at_75);
    }

    /// Five batches alike and one a third weaker: that one holds the bound down, with the spread that all share.
    #[test]
    fn the_weakest_batch_governs() {
        let text = ["600,610,590", "890,900,912", "901,895,906", "899,890,903", "905,893,899", "896,902,894"];
        let all = reduce(&loads(&text.join("/"), Some("N")).unwrap(), None);
        let bound = &all.bounds.given[0];
        // Hand: no more than its own mean, 600 N, less the factor of three with twelve degrees of freedom times 8 N.
        assert!(bound.value < 600.0, "{bound:?}");
        let like = ["790,800,812", "801,795,806", "799,790,803"];
        let like = reduce(&loads(&like.join("/"), Some("N")).unwrap(), None);
        let held = like.bounds.given[0].held_down.as_ref();
        assert!(held.is_none_or(|h| h.together > like.bounds.given[0].value), "{held:?}");
    }

    #[test]
    fn held_specimens_do_not_enter_the_mean() {
        let r = reduce(&loads("400, 420, 410, >520", Some("N")).unwrap(), None);
        assert_eq!((r.mean(), r.failures.len(), r.held.len()), (Some(410.0), 3, 1));
    }

    #[test]
    fn one_specimen_has_a_value_and_nothing_more() {
        let r = reduce(&loads("812 N", None).unwrap(), None);
        assert_eq!(r.mean(), Some(812.0));
        assert!(r.summary.is_none() && r.bounds.given.is_empty() && !r.bounds.refused.is_empty());
        let none = reduce(&loads(">812 N", None).unwrap(), None);
        assert_eq!((none.mean(), none.bounds.given.len()), (None, 0));
    }

    #[test]
    fn equal_values_promise_nothing() {
        let r = reduce(&loads("500,500,500", Some("N")).unwrap(), None);
        assert!(r.bounds.given.is_empty() && r.bounds.refused.iter().any(|x| x.why.contains("all values are equal")));
        assert!(r.warnings.iter().any(|w| w.name == "no-spread") && r.warnings.iter().all(|w| w.name != "few-specimens"));
        assert!(r.mean_interval.is_none() && r.sd_interval.is_none() && r.cv_interval.is_none());
    }

    #[test]
    fn what_takes_specimens_as_independent_is_not_told_of_several_batches() {
        let values: Vec<String> = (0..30).map(|i| (800 + (i * 37) % 61).to_string()).collect();
        let (alike, apart) = (values.join(","), format!("{} / {}", values[..15].join(","), values[15..].join(",")));
        let told = |text: &str| {
            let r = reduce(&loads(text, Some("N")).unwrap(), None);
            (r.bounds.given.iter().any(|b| b.name == "five-at-75-ranks"), r.weibull.is_some(), r.mean_interval.is_some())
        };
        assert_eq!(told(&alike), (true, true, true));
        assert_eq!(told(&apart), (false, false, false));
    }

    #[test]
    fn mixed_modes_are_not_fitted() {
        let mut sample = loads("800,812,857,790,820,805", Some("N")).unwrap();
        assert!(reduce(&sample, None).weibull.is_some());
        for (s, mode) in sample.specimens.iter_mut().zip(["glue", "glue", "substrate", "glue", "glue", "glue"]) {
            s.mode = Some(mode.into());
        }
        let r = reduce(&sample, None);
        assert!(r.weibull.is_none() && r.bounds.refused.iter().any(|x| x.what == "Weibull fit"));
    }
}
