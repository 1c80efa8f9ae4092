//! Lower bounds of a series: normal, lognormal, pooled spread, and without any distribution.
//!
//! A bound says what it promises: [`BoundKind::Tolerance`] with coverage and confidence or [`BoundKind::Predictive`] for the
//! next specimen. The lognormal bound is exp(mean - k s of the logarithms) and always above zero; a normal bound of a
//! strength that comes out negative is refused with the n that would mend it.
//! Sources as in `tolerance`; order statistics: ISO 16269-6 (memory), Wilks 1941, Annals of Mathematical Statistics 12:91 (memory).

use super::many::bartlett;
use super::refusal::{Refusal, logarithms, require, require_probability};
use super::summary::{moments, summary};
use super::tolerance::{
    CoverageConfidence, predictive_factor, predictive_factor_pooled, tolerance_factor, tolerance_factor_pooled,
};

/// What a lower bound promises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BoundKind {
    /// At least `coverage` of all specimens lie above, with `confidence`.
    Tolerance(CoverageConfidence),
    /// The next specimen lies above with probability `coverage` (EN 1990 D.7.2).
    Predictive {
        /// Probability, as a fraction.
        coverage: f64,
    },
}

/// Distribution the bound assumes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Values themselves are normal.
    Normal,
    /// Logarithms of the values are normal.
    Lognormal,
}

impl Form {
    /// The word in answers.
    pub fn word(self) -> &'static str {
        match self {
            Form::Normal => "normal",
            Form::Lognormal => "lognormal",
        }
    }
}

/// A lower bound with everything it was computed from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowerBound {
    /// The bound, in the unit of the values.
    pub value: f64,
    /// What it promises.
    pub kind: BoundKind,
    /// Distribution assumed.
    pub form: Form,
    /// Factor on the standard deviation.
    pub k: f64,
    /// Number of values behind the mean.
    pub n: usize,
    /// Degrees of freedom behind the standard deviation.
    pub degrees_of_freedom: f64,
    /// Mean: of the values (normal) or of their logarithms (lognormal).
    pub mean: f64,
    /// Standard deviation: of the values (normal) or of their logarithms (lognormal).
    pub sd: f64,
}

fn factor(kind: BoundKind, n: usize) -> Result<f64, Refusal> {
    match kind {
        BoundKind::Tolerance(ask) => tolerance_factor(n, ask),
        BoundKind::Predictive { coverage } => predictive_factor(n, coverage),
    }
}

/// Factor on a standard deviation with degrees of freedom of its own, for a mean of `n` values.
pub(super) fn factor_pooled(kind: BoundKind, n: usize, degrees_of_freedom: f64) -> Result<f64, Refusal> {
    match kind {
        BoundKind::Tolerance(ask) => tolerance_factor_pooled(n, degrees_of_freedom, ask),
        BoundKind::Predictive { coverage } => predictive_factor_pooled(n, degrees_of_freedom, coverage),
    }
}

/// Lower bound of a series of strengths (above zero, one unit), from its own mean and spread.
///
/// The normal form is refused when the bound is below zero, the lognormal form when a value is not above zero.
pub fn lower_bound(values: &[f64], form: Form, kind: BoundKind) -> Result<LowerBound, Refusal> {
    let taken = match form {
        Form::Normal => {
            require(values, 2, "a lower bound")?;
            values.to_vec()
        }
        Form::Lognormal => {
            require(values, 2, "a lower bound")?;
            logarithms(values, "the lognormal bound")?
        }
    };
    let s = summary(&taken)?;
    lower_bound_from_summary(s.mean, s.sd, s.n, form, kind)
}

/// Lower bound from mean, sample standard deviation (divisor n - 1) and n; of the logarithms for the lognormal form.
pub fn lower_bound_from_summary(mean: f64, sd: f64, n: usize, form: Form, kind: BoundKind) -> Result<LowerBound, Refusal> {
    let k = factor(kind, n)?;
    let bound = finish(mean, sd, n, (n - 1) as f64, k, form, kind);
    if bound.value < 0.0 && form == Form::Normal {
        return Err(Refusal::NegativeBound { value: bound.value, needed: smallest_n_above_zero(mean, sd, n, kind) });
    }
    Ok(bound)
}

fn finish(mean: f64, sd: f64, n: usize, degrees_of_freedom: f64, k: f64, form: Form, kind: BoundKind) -> LowerBound {
    let raw = mean - k * sd;
    LowerBound {
        value: match form {
            Form::Normal => raw,
            Form::Lognormal => libm::exp(raw),
        },
        kind,
        form,
        k,
        n,
        degrees_of_freedom,
        mean,
        sd,
    }
}

/// Smallest n, up to 1000, whose factor keeps the bound above zero with the same mean and spread.
fn smallest_n_above_zero(mean: f64, sd: f64, n: usize, kind: BoundKind) -> Option<usize> {
    let positive = |n: usize| factor(kind, n).is_ok_and(|k| mean - k * sd > 0.0);
    let (mut low, mut high) = (n, 1000);
    if !positive(high) {
        return None;
    }
    while high - low > 1 {
        let middle = (low + high) / 2;
        if positive(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// A standard deviation pooled over series of one method, mode and rig, in log space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PooledSpread {
    /// Pooled standard deviation of the natural logarithms, nearly a coefficient of variation.
    pub sd_of_logs: f64,
    /// Degrees of freedom Σ(n - 1).
    pub degrees_of_freedom: f64,
    /// p of Bartlett's test on the logarithms; `None` with one series.
    pub bartlett_p: Option<f64>,
    /// Number of series pooled.
    pub series: usize,
}

/// Degrees of freedom below which a pooled spread is refused.
pub const FEWEST_POOLED_DEGREES_OF_FREEDOM: usize = 5;

/// Pools the spread of the logarithms over series of at least two values each.
///
/// Refused with fewer than five degrees of freedom or when Bartlett's test says the spreads differ (p < 0.05).
pub fn pooled_spread(series: &[&[f64]]) -> Result<PooledSpread, Refusal> {
    let method = "the pooled spread";
    let mut logs = Vec::with_capacity(series.len());
    for values in series {
        require(values, 2, method)?;
        logs.push(logarithms(values, method)?);
    }
    let mut squares = 0.0;
    let mut freedom = 0;
    for values in &logs {
        squares += moments(values)?.sum_of_squares;
        freedom += values.len() - 1;
    }
    if freedom < FEWEST_POOLED_DEGREES_OF_FREEDOM {
        return Err(Refusal::TooFew {
            method: "the pooled spread (degrees of freedom)",
            needed: FEWEST_POOLED_DEGREES_OF_FREEDOM,
            given: freedom,
        });
    }
    if squares == 0.0 {
        return Err(Refusal::NoSpread { method });
    }
    let bartlett_p = if logs.len() > 1 {
        let views: Vec<&[f64]> = logs.iter().map(Vec::as_slice).collect();
        let p = bartlett(&views)?.p;
        if p < 0.05 {
            return Err(Refusal::SpreadsDiffer { p });
        }
        Some(p)
    } else {
        None
    };
    Ok(PooledSpread {
        sd_of_logs: libm::sqrt(squares / freedom as f64),
        degrees_of_freedom: freedom as f64,
        bartlett_p,
        series: logs.len(),
    })
}

/// Lognormal lower bound of one series with the spread taken from a pool.
pub fn lower_bound_pooled(values: &[f64], spread: &PooledSpread, kind: BoundKind) -> Result<LowerBound, Refusal> {
    let logs = logarithms(values, "the pooled bound")?;
    let m = moments(&logs)?;
    let k = factor_pooled(kind, m.n, spread.degrees_of_freedom)?;
    Ok(finish(m.mean, spread.sd_of_logs, m.n, spread.degrees_of_freedom, k, Form::Lognormal, kind))
}

/// A lower bound that assumes no distribution: one of the values themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderBound {
    /// The bound, in the unit of the values.
    pub value: f64,
    /// Rank of the value used, 1 for the smallest.
    pub rank: usize,
    /// Confidence actually reached, at least the one asked for.
    pub confidence: f64,
    /// Share of specimens above.
    pub coverage: f64,
    /// Number of values.
    pub n: usize,
}

/// Smallest n for which the smallest value is a bound: ⌈ln(1 - confidence)/ln(coverage)⌉.
pub fn smallest_n_for_order_bound(ask: CoverageConfidence) -> Result<usize, Refusal> {
    require_probability("coverage", ask.coverage)?;
    require_probability("confidence", ask.confidence)?;
    let ratio = libm::log1p(-ask.confidence) / libm::log(ask.coverage);
    // 1e-12 keeps an exact power (0.5 and 0.75: n = 2) from being pushed up by the last bit.
    Ok(libm::ceil(ratio - 1e-12).max(1.0) as usize)
}

/// Distribution-free lower bound; refused with the n it would take.
pub fn order_bound(values: &[f64], ask: CoverageConfidence) -> Result<OrderBound, Refusal> {
    let needed = smallest_n_for_order_bound(ask)?;
    require(values, needed, "the distribution-free bound")?;
    let n = values.len();
    let below = 1.0 - ask.coverage;
    let mut chosen = 1;
    let mut reached = rank_confidence(n, 1, below);
    for rank in 2..=n {
        let confidence = rank_confidence(n, rank, below);
        if confidence < ask.confidence {
            break;
        }
        chosen = rank;
        reached = confidence;
    }
    let list = super::summary::sorted(values)?;
    Ok(OrderBound { value: list[chosen - 1], rank: chosen, confidence: reached, coverage: ask.coverage, n })
}

/// P(at least `rank` of n values fall below the true quantile), by the incomplete beta function.
fn rank_confidence(n: usize, rank: usize, below: f64) -> f64 {
    super::special::beta_tails(rank as f64, (n - rank + 1) as f64, below, 1.0 - below).lower
}

#[cfg(test)]
mod tests {
    use super::super::tolerance::{A_BASIS, B_BASIS, FIVE_AT_75};
    use super::*;

    #[test]
    fn negative_bound_is_refused_with_a_way_out() {
        // Three values at CV 17 %: the B bound (k = 6.155) is below zero.
        let values = [83.0, 100.0, 117.0];
        let kind = BoundKind::Tolerance(B_BASIS);
        match lower_bound(&values, Form::Normal, kind) {
            Err(Refusal::NegativeBound { value, needed }) => {
                assert!(value < 0.0);
                assert_eq!(needed, Some(4));
            }
            other => panic!("{other:?}"),
        }
        assert!(lower_bound(&values, Form::Lognormal, kind).unwrap().value > 0.0);
    }

    #[test]
    fn lognormal_refuses_zero_load() {
        let kind = BoundKind::Predictive { coverage: 0.95 };
        assert!(matches!(lower_bound(&[1.0, 0.0, 2.0], Form::Lognormal, kind), Err(Refusal::NotPositive { index: 1, .. })));
    }

    /// Published smallest sizes: 28 (5 % at 75 %), 29 (B), 299 (A).
    #[test]
    fn order_bound_sizes() {
        assert_eq!(smallest_n_for_order_bound(FIVE_AT_75), Ok(28));
        assert_eq!(smallest_n_for_order_bound(B_BASIS), Ok(29));
        assert_eq!(smallest_n_for_order_bound(A_BASIS), Ok(299));
        let values: Vec<f64> = (1..=29).map(f64::from).collect();
        assert_eq!(order_bound(&values[..28], B_BASIS).unwrap_err().needed(), Some(29));
        let bound = order_bound(&values, B_BASIS).unwrap();
        assert_eq!((bound.rank, bound.value), (1, 1.0));
        // CMH-17-1G table 8.5.12 (memory): the second smallest serves from n = 46 on.
        let many: Vec<f64> = (1..=46).map(f64::from).collect();
        assert_eq!(order_bound(&many, B_BASIS).unwrap().rank, 2);
        assert_eq!(order_bound(&many[..45], B_BASIS).unwrap().rank, 1);
    }

    #[test]
    fn pooling_needs_freedom_and_like_spreads() {
        let a = [812.0, 857.0, 790.0];
        let b = [655.0, 702.0, 731.0];
        assert!(matches!(pooled_spread(&[&a, &b]), Err(Refusal::TooFew { needed: 5, given: 4, .. })));
        let c = [700.0, 760.0, 731.0];
        let pool = pooled_spread(&[&a, &b, &c]).unwrap();
        assert_eq!(pool.degrees_of_freedom, 6.0);
        let own = lower_bound(&a, Form::Lognormal, BoundKind::Tolerance(FIVE_AT_75)).unwrap();
        let pooled = lower_bound_pooled(&a, &pool, BoundKind::Tolerance(FIVE_AT_75)).unwrap();
        assert!(pooled.k < own.k);
        let wild = [10.0, 900.0, 100.0, 3.0];
        assert!(matches!(pooled_spread(&[&a, &b, &c, &wild]), Err(Refusal::SpreadsDiffer { .. })));
    }
}
