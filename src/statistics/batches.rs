//! Lower bounds over batches: the one-way random model, with few batches honestly paid for.
//!
//! A value is μ + B + E, with B of a batch (variance σb²) and E of a specimen (σw²). Bounds are quantiles of the generalised
//! pivotal quantity of Krishnamoorthy and Mathew 2004, Technometrics 46:44 (also Statistical Tolerance Regions, 2009,
//! chapters 4 and 5; both from memory). With a batches of nᵢ specimens, N in all, m the mean of the batch means, S the sum
//! of squares of the batch means about m, R the sum of squares within batches, h the mean of the 1/nᵢ:
//!
//! * S/U stands for σb² + h σw² (U chi-squared with a - 1 degrees of freedom), R/V for σw² (V with N - a);
//! * the variance of one specimen is T = S/U + (1 - h) R/V, that of m is S/(a U);
//! * tolerance: the lower quantile of m + Z √(S/(a U)) - z √T; predictive: that of m + Z √(S/(a U) + T).
//!
//! Balanced batches follow the paper; unequal ones the unweighted means of chapter 5, where S/U is an approximation. With one
//! specimen in each batch the bound is that of the batch means as one sample, exactly. The quantile is found from the
//! distribution itself, integrated over ln √U and ln √V (trapezoid: the integrand is analytic and dies at both ends), so the
//! same values give the same bits. Older: Mee and Owen 1983; Vangel 1992 (both Technometrics, memory).

use super::bound::{BoundKind, Form, factor_pooled};
use super::distribution::{normal_cdf, normal_quantile};
use super::refusal::{Refusal, logarithms, require, require_probability};
use super::special::{ln_gamma, root_increasing};
use super::summary::moments;
use super::tolerance::CoverageConfidence;

const METHOD: &str = "the bound over batches";

/// What a one-way random model keeps of its values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatchSums {
    /// Number of batches.
    pub batches: usize,
    /// Number of values.
    pub n: usize,
    /// Mean of the batch means.
    pub mean: f64,
    /// Mean of 1/nᵢ.
    pub inverse_size: f64,
    /// Sum of squares of the batch means about their mean.
    pub between: f64,
    /// Sum of squares within batches.
    pub within: f64,
}

/// Spread between and within batches, in the unit of the values (or of their logarithms).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatchSpread {
    /// Standard deviation between batches, by the method of moments; 0 where the means differ no more than specimens do.
    pub between_sd: f64,
    /// Degrees of freedom behind it: batches - 1.
    pub between_freedom: usize,
    /// Standard deviation within batches; `None` with one specimen in every batch.
    pub within_sd: Option<f64>,
    /// Degrees of freedom behind it.
    pub within_freedom: usize,
}

impl BatchSums {
    /// Sums of two or more batches with at least one value each.
    pub fn new(batches: &[&[f64]]) -> Result<Self, Refusal> {
        if batches.len() < 2 {
            return Err(Refusal::TooFew { method: METHOD, needed: 2, given: batches.len() });
        }
        batches.iter().try_for_each(|b| require(b, 1, METHOD))?;
        let each = batches.iter().map(|b| moments(b)).collect::<Result<Vec<_>, _>>()?;
        let means: Vec<f64> = each.iter().map(|m| m.mean).collect();
        let over = moments(&means)?;
        let sums = BatchSums {
            batches: batches.len(),
            n: each.iter().map(|m| m.n).sum(),
            mean: over.mean,
            inverse_size: each.iter().map(|m| 1.0 / m.n as f64).sum::<f64>() / batches.len() as f64,
            between: over.sum_of_squares,
            within: each.iter().map(|m| m.sum_of_squares).sum(),
        };
        if sums.between + sums.within > 0.0 { Ok(sums) } else { Err(Refusal::NoSpread { method: METHOD }) }
    }

    /// Batches of one size with these standard deviations, as one would see them on average.
    pub fn expected(mean: f64, between_sd: f64, within_sd: f64, batches: usize, each: usize) -> Self {
        let (a, size, w) = (batches as f64, each as f64, within_sd * within_sd);
        let n = batches * each;
        BatchSums {
            batches,
            n,
            mean,
            inverse_size: 1.0 / size,
            between: (a - 1.0) * (between_sd * between_sd + w / size),
            within: (n - batches) as f64 * w,
        }
    }

    fn within_freedom(&self) -> usize {
        self.n - self.batches
    }

    fn within_variance(&self) -> Option<f64> {
        (self.within_freedom() > 0).then(|| self.within / self.within_freedom() as f64)
    }

    /// Both spreads by the method of moments.
    pub fn spread(&self) -> BatchSpread {
        let freedom = self.batches - 1;
        let within = self.within_variance();
        let between = self.between / freedom as f64 - self.inverse_size * within.unwrap_or(0.0);
        BatchSpread {
            between_sd: libm::sqrt(between.max(0.0)),
            between_freedom: freedom,
            within_sd: within.map(libm::sqrt),
            within_freedom: self.within_freedom(),
        }
    }

    /// The lower bound, on the scale of the sums.
    pub fn lower_bound(&self, kind: BoundKind) -> Result<f64, Refusal> {
        let (coverage, tail) = asked(kind)?;
        let a = self.batches as f64;
        let (up, down) = ((self.batches - 1) as f64, self.within_freedom() as f64);
        // Batch means that lie closer together than specimens let them, by chance, would make the pivot a step; a fortieth of
        // what is expected without any difference between batches is far below what the bound can feel.
        let floor = LEAST_SHARE * up * self.inverse_size * self.within_variance().unwrap_or(0.0);
        let between = self.between.max(floor);
        if between.is_nan() || between <= 0.0 {
            return Err(Refusal::NoSpread { method: METHOD });
        }
        let ratio = (1.0 - self.inverse_size) * self.within / between;
        let (z, root) = (normal_quantile(coverage), libm::sqrt(a));
        let steep = if down > 0.0 { root * z * libm::sqrt(ratio * up / down) } else { 0.0 };
        let u = chi_nodes(up, root * z);
        let v = if down > 0.0 { chi_nodes(down, steep) } else { vec![(1.0, 1.0)] };
        let lies_below = |k: f64, s: f64, t: f64| match kind {
            BoundKind::Tolerance(_) => root * (z * libm::sqrt(1.0 + ratio * s * s / (t * t)) - k * s),
            BoundKind::Predictive { .. } => -k / libm::sqrt((1.0 + 1.0 / a) / (s * s) + ratio / (t * t)),
        };
        let probability = |k: f64| integral(&u, &v, |s, t| lies_below(k, s, t));
        let wanted = normal_quantile(tail);
        let guess = z * libm::sqrt(1.0 / up + if down > 0.0 { ratio / down } else { 0.0 });
        let k = root_increasing(guess, 0.5 * guess, |k| wanted - normal_quantile(probability(k).clamp(1e-300, 1.0 - 1e-16)));
        Ok(self.mean - k * libm::sqrt(between))
    }

    /// The lower bound if the standard deviation between batches were known to be `between_sd`.
    ///
    /// What a prior from elsewhere would give; the spread within batches stays that of the values.
    pub fn lower_bound_with_between(&self, between_sd: f64, kind: BoundKind) -> Result<f64, Refusal> {
        let (coverage, tail) = asked(kind)?;
        let down = self.within_freedom() as f64;
        if !(between_sd > 0.0 && between_sd.is_finite()) {
            return Err(Refusal::OutOfRange { argument: "spread between batches", value: between_sd, allowed: "above zero" });
        }
        let (z, a, b) = (normal_quantile(coverage), self.batches as f64, between_sd * between_sd);
        let v = if down > 0.0 { chi_nodes(down, libm::sqrt(a) * z) } else { vec![(1.0, 1.0)] };
        let lies_below = |c: f64, t: f64| {
            let w = if down > 0.0 { self.within / (t * t) } else { 0.0 };
            let (total, of_mean) = (b + w, (b + self.inverse_size * w) / a);
            match kind {
                BoundKind::Tolerance(_) => (z * libm::sqrt(total) - c) / libm::sqrt(of_mean),
                BoundKind::Predictive { .. } => -c / libm::sqrt(of_mean + total),
            }
        };
        let wanted = normal_quantile(tail);
        let probability = |c: f64| integral(&[(1.0, 1.0)], &v, |_, t| lies_below(c, t));
        let guess = z * libm::sqrt(b + self.within_variance().unwrap_or(0.0));
        let c = root_increasing(guess, 0.5 * guess, |c| wanted - normal_quantile(probability(c).clamp(1e-300, 1.0 - 1e-16)));
        Ok(self.mean - c)
    }
}

/// Share of the expected spread of batch means below which they are not believed to agree.
const LEAST_SHARE: f64 = 0.025;

/// Coverage, and the probability that the pivot lies below the bound.
fn asked(kind: BoundKind) -> Result<(f64, f64), Refusal> {
    let (coverage, tail) = match kind {
        BoundKind::Tolerance(ask) => {
            require_probability("confidence", ask.confidence)?;
            (ask.coverage, 1.0 - ask.confidence)
        }
        BoundKind::Predictive { coverage } => (coverage, 1.0 - coverage),
    };
    require_probability("coverage", coverage)?;
    if coverage < 0.5 {
        return Err(Refusal::OutOfRange { argument: "coverage", value: coverage, allowed: "0.5 to 1" });
    }
    Ok((coverage, tail))
}

/// Nodes s and weights of a chi variable with `nu` degrees of freedom, even in ln s; `steep` is the largest slope in ln s of
/// what is integrated, in standard deviations.
fn chi_nodes(nu: f64, steep: f64) -> Vec<(f64, f64)> {
    // e^-26 = 5e-12 is left out at either end.
    let centre = 0.5 * libm::log(nu);
    let low = centre - 26.0 / nu - (5.1 / libm::sqrt(nu)).min(0.5);
    let high = libm::log(libm::sqrt(nu) + 7.3);
    // 0.12 suits the strip in which the integrand stays small (error below 1e-9); the others the narrowest bell under it.
    let step = 0.12_f64.min(0.5 / libm::sqrt(nu)).min(0.7 / steep.max(1e-3));
    let count = libm::ceil((high - low) / step) as usize;
    let front = std::f64::consts::LN_2 * (1.0 - 0.5 * nu) - ln_gamma(0.5 * nu);
    (0..=count)
        .map(|i| {
            let x = low + step * i as f64;
            let s = libm::exp(x);
            (s, step * libm::exp(front + nu * x - 0.5 * s * s))
        })
        .collect()
}

/// ∬ Φ(argument) over two independent chi variables.
fn integral(u: &[(f64, f64)], v: &[(f64, f64)], argument: impl Fn(f64, f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for &(s, outer) in u {
        let mut inner = 0.0;
        for &(t, weight) in v {
            if outer * weight < 1e-15 {
                continue;
            }
            let x = argument(s, t);
            if x > 8.5 {
                inner += weight;
            } else if x > -8.5 {
                inner += weight * normal_cdf(x);
            }
        }
        sum += outer * inner;
    }
    sum
}

/// Lower bound of values in two or more batches, each with at least one value; lognormal through the logarithms.
///
/// Refused when nothing differs, and for the normal form when the bound is below zero.
pub fn lower_bound_over_batches(batches: &[&[f64]], form: Form, kind: BoundKind) -> Result<f64, Refusal> {
    let value = match form {
        Form::Normal => BatchSums::new(batches)?.lower_bound(kind)?,
        Form::Lognormal => libm::exp(sums_of_logs(batches)?.lower_bound(kind)?),
    };
    if value < 0.0 { Err(Refusal::NegativeBound { value, needed: None }) } else { Ok(value) }
}

/// A bound over batches and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatchBound {
    /// The bound.
    pub value: f64,
    /// Form it was worked out in.
    pub form: Form,
    /// Bound of all batches together, in that form.
    pub together: f64,
    /// Place of the batch that supports least, where that is less than all batches together do.
    pub least: Option<usize>,
}

/// Batches from which on the lognormal bound is held below the normal one of all batches. Of two batches the normal bound is
/// worth nothing: with one degree of freedom between them it falls to zero or to half of what they support.
const BOTH_FORMS: usize = 3;
/// What two batches are granted of the doubt that a lognormal bound may leave (25 % at a confidence of 75 %). Of normal loads
/// with a coefficient of variation of 25 % it keeps 3.4 points less than it promises otherwise, and 1.3 with this share;
/// found by simulation (`tests/statistics/batches.rs`), no published figure.
const DOUBT_OF_TWO: f64 = 5.0 / 6.0;

/// The bound over batches that is promised: that of the random model, and never above what any batch supports with its own
/// mean and the spread within batches that all of them share.
///
/// Few batches do not show whether loads are lognormal or normal: the lognormal bound of three batches or more is no higher
/// than the normal one of all batches, where that is above zero; of two it is asked with more confidence than it promises.
/// Refused as the bound over batches is.
pub fn bound_over_batches(batches: &[&[f64]], form: Form, kind: BoundKind) -> Result<BatchBound, Refusal> {
    let own = held_down(batches, form, kind)?;
    let other = (form == Form::Lognormal && batches.len() >= BOTH_FORMS)
        .then(|| lower_bound_over_batches(batches, Form::Normal, kind).ok())
        .flatten();
    let normal = |together: f64| BatchBound { value: together, form: Form::Normal, together, least: None };
    Ok(other.filter(|value| *value < own.value).map_or(own, normal))
}

fn held_down(batches: &[&[f64]], form: Form, kind: BoundKind) -> Result<BatchBound, Refusal> {
    let few = form == Form::Lognormal && batches.len() < BOTH_FORMS;
    let together = lower_bound_over_batches(batches, form, if few { surer(kind) } else { kind })?;
    let mut found = BatchBound { value: together, form, together, least: None };
    let logs = |b: &&[f64]| if form == Form::Lognormal { logarithms(b, METHOD) } else { Ok(b.to_vec()) };
    let lists = batches.iter().map(logs).collect::<Result<Vec<_>, _>>()?;
    let sums = BatchSums::new(&lists.iter().map(Vec::as_slice).collect::<Vec<_>>())?;
    let Some(variance) = sums.within_variance() else { return Ok(found) };
    for (place, values) in lists.iter().enumerate() {
        let k = factor_pooled(kind, values.len(), sums.within_freedom() as f64)?;
        let raw = moments(values)?.mean - k * libm::sqrt(variance);
        let value = if form == Form::Lognormal { libm::exp(raw) } else { raw };
        if value < found.value {
            found = BatchBound { value, least: Some(place), ..found };
        }
    }
    if found.value < 0.0 { Err(Refusal::NegativeBound { value: found.value, needed: None }) } else { Ok(found) }
}

/// The same bound with the doubt that two batches are granted; the prediction of the next specimen has no confidence to raise.
fn surer(kind: BoundKind) -> BoundKind {
    match kind {
        BoundKind::Tolerance(ask) => {
            BoundKind::Tolerance(CoverageConfidence { confidence: 1.0 - (1.0 - ask.confidence) * DOUBT_OF_TWO, ..ask })
        }
        BoundKind::Predictive { .. } => kind,
    }
}

/// Sums of the logarithms of the values.
pub fn sums_of_logs(batches: &[&[f64]]) -> Result<BatchSums, Refusal> {
    let logs = batches.iter().map(|b| logarithms(b, METHOD)).collect::<Result<Vec<_>, _>>()?;
    let views: Vec<&[f64]> = logs.iter().map(Vec::as_slice).collect();
    BatchSums::new(&views)
}
