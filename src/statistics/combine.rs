//! Combining values of several sources: common mean, and random effects when the sources disagree.
//!
//! Inverse-variance mean and Birge ratio: Birge 1932, Physical Review 40:207; DerSimonian and Laird 1986, Controlled Clinical
//! Trials 7:177; Paule and Mandel 1982, Journal of Research NBS 87:377; Hartung and Knapp 2001, Statistics in Medicine 20:3875
//! (all from memory). With four sources or fewer the Knapp-Hartung interval is the one to quote.

use super::distribution::{chi_squared_tails, normal_quantile, student_upper_quantile};
use super::interval::Interval;
use super::refusal::{Refusal, require, require_positive, require_probability};
use super::special::{is_above, root_between};

/// A value with its standard uncertainty, same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Standard uncertainty, above zero.
    pub uncertainty: f64,
}

/// Mean weighted by inverse variance, as if all sources measured the same thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CommonMean {
    /// Weighted mean.
    pub mean: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Cochran's Q.
    pub q: f64,
    /// p of Q.
    pub q_p: f64,
    /// Birge ratio √(Q/(k-1)): above 1 the sources disagree more than they claim.
    pub birge_ratio: f64,
    /// Standard error times the larger of 1 and the Birge ratio.
    pub standard_error_birge: f64,
    /// I²: share of the scatter not explained by the stated uncertainties, percent.
    pub i_squared_percent: f64,
    /// Number of sources.
    pub sources: usize,
}

fn checked(list: &[Estimate]) -> Result<(), Refusal> {
    let values: Vec<f64> = list.iter().map(|e| e.value).collect();
    require(&values, 2, "combining sources")?;
    list.iter().try_for_each(|e| require_positive("standard uncertainty", e.uncertainty))?;
    // Third powers of the weights must stay numbers.
    let sizes = list.iter().flat_map(|e| [e.uncertainty, 1.0 / e.uncertainty, e.value.abs()]);
    match sizes.into_iter().find(|v| *v > 1e50) {
        Some(value) => {
            Err(Refusal::OutOfRange { argument: "size of a value or of an uncertainty", value, allowed: "1e-50 to 1e50" })
        }
        None => Ok(()),
    }
}

struct Weighted {
    mean: f64,
    sum: f64,
    q: f64,
}

/// Weighted mean and Q with an extra variance added to every source.
fn weighted(list: &[Estimate], extra: f64) -> Weighted {
    let weight = |e: &Estimate| 1.0 / (e.uncertainty * e.uncertainty + extra);
    let sum: f64 = list.iter().map(weight).sum();
    let pivot = list[0].value;
    let shift = list.iter().map(|e| weight(e) * (e.value - pivot)).sum::<f64>() / sum;
    let away = |e: &Estimate| (e.value - pivot) - shift;
    Weighted { mean: pivot + shift, sum, q: list.iter().map(|e| weight(e) * away(e) * away(e)).sum() }
}

/// Inverse-variance mean of two or more sources.
pub fn common_mean(list: &[Estimate]) -> Result<CommonMean, Refusal> {
    checked(list)?;
    let w = weighted(list, 0.0);
    let freedom = (list.len() - 1) as f64;
    let birge_ratio = libm::sqrt(w.q / freedom);
    let standard_error = 1.0 / libm::sqrt(w.sum);
    Ok(CommonMean {
        mean: w.mean,
        standard_error,
        q: w.q,
        q_p: chi_squared_tails(w.q, freedom).upper,
        birge_ratio,
        standard_error_birge: standard_error * birge_ratio.max(1.0),
        i_squared_percent: if w.q > freedom { 100.0 * (w.q - freedom) / w.q } else { 0.0 },
        sources: list.len(),
    })
}

/// How the variance between sources is estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BetweenVariance {
    /// DerSimonian and Laird's moment estimate.
    DerSimonianLaird,
    /// Paule and Mandel's: Q with the added variance equals its degrees of freedom.
    PauleMandel,
    /// Restricted maximum likelihood.
    Reml,
}

/// Mean of sources that may truly differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RandomEffects {
    /// Mean over sources.
    pub mean: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Normal interval of the mean.
    pub interval: Interval,
    /// Standard error after Knapp and Hartung.
    pub standard_error_knapp_hartung: f64,
    /// Interval after Knapp and Hartung, t with k-1 degrees of freedom.
    pub interval_knapp_hartung: Interval,
    /// Variance between sources, square of the unit.
    pub between_variance: f64,
    /// How it was estimated.
    pub method: BetweenVariance,
    /// Number of sources.
    pub sources: usize,
}

/// Random-effects mean of two or more sources.
pub fn random_effects(list: &[Estimate], method: BetweenVariance, confidence: f64) -> Result<RandomEffects, Refusal> {
    checked(list)?;
    require_probability("confidence", confidence)?;
    let between_variance = match method {
        BetweenVariance::DerSimonianLaird => dersimonian_laird(list),
        BetweenVariance::PauleMandel => paule_mandel(list),
        BetweenVariance::Reml => reml(list)?,
    };
    let w = weighted(list, between_variance);
    let freedom = (list.len() - 1) as f64;
    let standard_error = 1.0 / libm::sqrt(w.sum);
    let standard_error_knapp_hartung = libm::sqrt(w.q / freedom / w.sum);
    let tail = 0.5 * (1.0 - confidence);
    let around = |reach: f64| Interval { low: w.mean - reach, high: w.mean + reach, confidence };
    let t = student_upper_quantile(tail, freedom);
    Ok(RandomEffects {
        mean: w.mean,
        standard_error,
        interval: around(-normal_quantile(tail) * standard_error),
        standard_error_knapp_hartung,
        interval_knapp_hartung: around(t * standard_error_knapp_hartung),
        between_variance,
        method,
        sources: list.len(),
    })
}

fn dersimonian_laird(list: &[Estimate]) -> f64 {
    let w = weighted(list, 0.0);
    let freedom = (list.len() - 1) as f64;
    // Σw - Σw²/Σw as a sum of products of different weights, which cannot cancel.
    let weight = |e: &Estimate| 1.0 / (e.uncertainty * e.uncertainty);
    let others = |i: usize| -> f64 { list.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, e)| weight(e)).sum() };
    let divisor: f64 = list.iter().enumerate().map(|(i, e)| weight(e) / w.sum * others(i)).sum();
    ((w.q - freedom) / divisor).max(0.0)
}

fn paule_mandel(list: &[Estimate]) -> f64 {
    let freedom = (list.len() - 1) as f64;
    let miss = |extra: f64| weighted(list, extra).q - freedom;
    if miss(0.0) <= 0.0 {
        return 0.0;
    }
    // 2100 doublings pass from the smallest to the largest number.
    let mut high = dersimonian_laird(list).max(f64::MIN_POSITIVE);
    for _ in 0..2100 {
        if !is_above(miss(high), 0.0) {
            break;
        }
        high *= 2.0;
    }
    root_between(0.0, high, miss)
}

/// Fisher scoring from the moment estimate; Viechtbauer 2005, Journal of Educational and Behavioral Statistics 30:261 (memory).
fn reml(list: &[Estimate]) -> Result<f64, Refusal> {
    let mut extra = dersimonian_laird(list);
    for _ in 0..500 {
        let w = weighted(list, extra);
        let (mut squares, mut cubes, mut score) = (0.0, 0.0, 0.0);
        for e in list {
            let weight = 1.0 / (e.uncertainty * e.uncertainty + extra);
            let away = e.value - w.mean;
            squares += weight * weight;
            cubes += weight * weight * weight;
            score += weight * weight * away * away;
        }
        score -= w.sum - squares / w.sum;
        let information = squares - 2.0 * cubes / w.sum + squares * squares / (w.sum * w.sum);
        let next = (extra + score / information).max(0.0);
        if !next.is_finite() {
            break;
        }
        if (next - extra).abs() <= 1e-12 * (next + extra) || next == extra {
            return Ok(next);
        }
        extra = next;
    }
    Err(Refusal::NoConvergence { method: "restricted maximum likelihood" })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(values: &[(f64, f64)]) -> Vec<Estimate> {
        values.iter().map(|(value, uncertainty)| Estimate { value: *value, uncertainty: *uncertainty }).collect()
    }

    /// Sources that agree leave nothing between them.
    #[test]
    fn agreement_gives_no_extra_variance() {
        let agreeing = list(&[(10.0, 1.0), (10.1, 1.0), (9.9, 2.0)]);
        for method in [BetweenVariance::DerSimonianLaird, BetweenVariance::PauleMandel, BetweenVariance::Reml] {
            let r = random_effects(&agreeing, method, 0.95).unwrap();
            assert_eq!(r.between_variance, 0.0, "{method:?}");
        }
        let common = common_mean(&agreeing).unwrap();
        assert_eq!(common.standard_error, common.standard_error_birge);
        assert_eq!(common.i_squared_percent, 0.0);
    }

    #[test]
    fn refusals() {
        assert!(common_mean(&list(&[(1.0, 1.0)])).is_err());
        assert!(common_mean(&list(&[(1.0, 1.0), (2.0, 0.0)])).is_err());
        assert!(common_mean(&list(&[(1.0, 1.0), (f64::NAN, 1.0)])).is_err());
    }
}
