//! Mean, standard deviation, coefficient of variation with their intervals; median, MAD, quantile; drift.
//!
//! Sources: t interval of the mean ISO 2602:1980 (clause from memory), NIST/SEMATECH e-Handbook 1.3.5.2;
//! interval of the standard deviation by chi-squared, e-Handbook 1.3.5.8 (memory); exact interval of the coefficient of
//! variation by the noncentral t, Johnson and Welch 1940, Biometrika 31:362 (memory); c4 as in ISO 7870-2 (memory).
//! Sums are taken about the first value and compensated (Neumaier 1974, memory), so that a large offset costs no digits
//! beyond those the numbers themselves lack. Checked with the NIST StRD univariate sets.

use super::distribution::{chi_squared_quantile, student_upper_quantile};
use super::interval::Interval;
use super::noncentral::noncentrality_for;
use super::refusal::{Refusal, require, require_positive, require_probability};
use super::special::ln_gamma;

/// Sum that carries the rounding errors along.
pub(super) fn exact_sum(values: impl IntoIterator<Item = f64>) -> f64 {
    let (mut sum, mut lost) = (0.0_f64, 0.0);
    for v in values {
        let next = sum + v;
        lost += if sum.abs() >= v.abs() { (sum - next) + v } else { (v - next) + sum };
        sum = next;
    }
    sum + lost
}

/// Centre and sum of squares of a sample about its mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Number of values.
    pub n: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Sum of squared deviations from the mean, in the square of the unit.
    pub sum_of_squares: f64,
}

impl Moments {
    /// Sample variance with divisor n - 1; NaN below two values.
    pub fn variance(&self) -> f64 {
        if self.n < 2 { f64::NAN } else { self.sum_of_squares / (self.n - 1) as f64 }
    }
}

/// Mean and sum of squares of `values` (any unit); refuses an empty list and values that are not finite.
pub fn moments(values: &[f64]) -> Result<Moments, Refusal> {
    require(values, 1, "the mean")?;
    let pivot = values[0];
    let n = values.len() as f64;
    let shift = exact_sum(values.iter().map(|v| v - pivot)) / n;
    let mean = pivot + shift;
    let deviation = |v: &f64| (v - pivot) - shift;
    let rest = exact_sum(values.iter().map(deviation));
    let squares = exact_sum(values.iter().map(|v| deviation(v) * deviation(v)));
    if !squares.is_finite() {
        return Err(Refusal::OutOfRange {
            argument: "range of the values",
            value: f64::INFINITY,
            allowed: "small enough for its square to be a number",
        });
    }
    Ok(Moments { n: values.len(), mean: mean + rest / n, sum_of_squares: (squares - rest * rest / n).max(0.0) })
}

/// What a sample of at least two values says about centre and spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Number of values.
    pub n: usize,
    /// Arithmetic mean, in the unit of the values.
    pub mean: f64,
    /// Sample standard deviation, divisor n - 1.
    pub sd: f64,
    /// Standard deviation with divisor n, as some tables print it.
    pub sd_divisor_n: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
    /// Smallest value.
    pub min: f64,
    /// Largest value.
    pub max: f64,
    /// Median.
    pub median: f64,
}

impl Summary {
    /// Coefficient of variation sd/mean, a fraction; refused unless the mean is above zero.
    pub fn cv(&self) -> Result<f64, Refusal> {
        require_positive("mean", self.mean)?;
        Ok(self.sd / self.mean)
    }

    /// t interval of the mean: mean ± t(1-α/2, n-1) s/√n.
    pub fn mean_interval(&self, confidence: f64) -> Result<Interval, Refusal> {
        require_probability("confidence", confidence)?;
        let tail = 0.5 * (1.0 - confidence);
        let reach = student_upper_quantile(tail, (self.n - 1) as f64) * self.standard_error;
        Ok(Interval { low: self.mean - reach, high: self.mean + reach, confidence })
    }

    /// Chi-squared interval of the standard deviation.
    pub fn sd_interval(&self, confidence: f64) -> Result<Interval, Refusal> {
        let factors = sd_interval_factors(self.n, confidence)?;
        Ok(Interval { low: self.sd * factors.low, high: self.sd * factors.high, confidence })
    }

    /// Exact interval of the coefficient of variation.
    pub fn cv_interval(&self, confidence: f64) -> Result<Interval, Refusal> {
        cv_interval(self.cv()?, self.n, confidence)
    }

    /// Standard deviation freed of its bias under a normal distribution: s/c4(n).
    pub fn sd_unbiased(&self) -> Result<f64, Refusal> {
        Ok(self.sd / c4(self.n)?)
    }
}

/// Summary of at least two finite values, in any one unit.
pub fn summary(values: &[f64]) -> Result<Summary, Refusal> {
    require(values, 2, "the standard deviation")?;
    let m = moments(values)?;
    let n = m.n as f64;
    let sd = libm::sqrt(m.variance());
    Ok(Summary {
        n: m.n,
        mean: m.mean,
        sd,
        sd_divisor_n: libm::sqrt(m.sum_of_squares / n),
        standard_error: sd / libm::sqrt(n),
        min: values.iter().copied().fold(f64::INFINITY, f64::min),
        max: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        median: median(values)?,
    })
}

/// Factors on s that give the chi-squared interval of σ: √((n-1)/χ²).
pub fn sd_interval_factors(n: usize, confidence: f64) -> Result<Interval, Refusal> {
    require_probability("confidence", confidence)?;
    if n < 2 {
        return Err(too_few("the interval of the standard deviation", 2, n));
    }
    let nu = (n - 1) as f64;
    let tail = 0.5 * (1.0 - confidence);
    Ok(Interval {
        low: libm::sqrt(nu / chi_squared_quantile(1.0 - tail, nu)),
        high: libm::sqrt(nu / chi_squared_quantile(tail, nu)),
        confidence,
    })
}

/// Exact interval of the population's coefficient of variation from a sample `cv` (fraction) of n values, normal distribution.
///
/// √n/cv is a noncentral t with noncentrality √n/CV. Where the data do not exclude a mean of zero the upper end is infinite.
pub fn cv_interval(cv: f64, n: usize, confidence: f64) -> Result<Interval, Refusal> {
    require_probability("confidence", confidence)?;
    require_positive("coefficient of variation", cv)?;
    if n < 2 {
        return Err(too_few("the interval of the coefficient of variation", 2, n));
    }
    let root = libm::sqrt(n as f64);
    let nu = (n - 1) as f64;
    let tail = 0.5 * (1.0 - confidence);
    let largest = noncentrality_for(root / cv, nu, tail);
    let smallest = noncentrality_for(root / cv, nu, 1.0 - tail);
    let cv_of = |delta: f64| {
        if delta > 0.0 { root / delta } else { f64::INFINITY }
    };
    Ok(Interval { low: cv_of(largest), high: cv_of(smallest), confidence })
}

/// c4(n) = √(2/(n-1)) Γ(n/2)/Γ((n-1)/2): mean of s over σ in normal samples of n.
pub fn c4(n: usize) -> Result<f64, Refusal> {
    if n < 2 {
        return Err(too_few("c4", 2, n));
    }
    let n = n as f64;
    let gammas = ln_gamma(0.5 * n) - ln_gamma(0.5 * (n - 1.0));
    Ok(libm::sqrt(2.0 / (n - 1.0)) * libm::exp(gammas))
}

fn too_few(method: &'static str, needed: usize, given: usize) -> Refusal {
    Refusal::TooFew { method, needed, given }
}

/// Values in rising order; refuses values that are not finite.
pub fn sorted(values: &[f64]) -> Result<Vec<f64>, Refusal> {
    require(values, 0, "sorting")?;
    let mut list = values.to_vec();
    list.sort_by(f64::total_cmp);
    Ok(list)
}

/// How a quantile is read between two values of a sorted sample; Hyndman and Fan 1996, The American Statistician 50:361 (memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum QuantileType {
    /// Type 6: position p(n+1), the mean of the order statistic's distribution.
    Weibull,
    /// Type 7: position 1 + p(n-1), the default of most programs.
    Linear,
    /// Type 8: position p(n+1/3) + 1/3, nearly free of bias in the median.
    MedianUnbiased,
}

/// Quantile of a sample in rising order, by the type named.
pub fn quantile_of_sorted(sorted: &[f64], p: f64, kind: QuantileType) -> Result<f64, Refusal> {
    require(sorted, 1, "a quantile")?;
    if !(0.0..=1.0).contains(&p) {
        return Err(Refusal::OutOfRange { argument: "probability", value: p, allowed: "0 to 1" });
    }
    let n = sorted.len() as f64;
    let place = match kind {
        QuantileType::Weibull => p * (n + 1.0),
        QuantileType::Linear => 1.0 + p * (n - 1.0),
        QuantileType::MedianUnbiased => p * (n + 1.0 / 3.0) + 1.0 / 3.0,
    };
    let place = place.clamp(1.0, n);
    let below = libm::floor(place) as usize;
    let above = (below + 1).min(sorted.len());
    let share = place - below as f64;
    let (low, high) = (sorted[below - 1], sorted[above - 1]);
    Ok(low + share * (high - low))
}

/// Median of the values.
pub fn median(values: &[f64]) -> Result<f64, Refusal> {
    require(values, 1, "the median")?;
    quantile_of_sorted(&sorted(values)?, 0.5, QuantileType::Linear)
}

/// Centre and spread that one wild value cannot move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RobustSummary {
    /// Number of values.
    pub n: usize,
    /// Median, in the unit of the values.
    pub median: f64,
    /// Median of the absolute deviations from the median.
    pub mad: f64,
    /// MAD × 1.4826, which estimates the standard deviation of a normal distribution.
    pub scaled_mad: f64,
}

/// Median and median absolute deviation; refuses fewer than three values.
///
/// The factor is 1/Φ⁻¹(3/4); Rousseeuw and Croux 1993, JASA 88:1273 (memory).
pub fn robust_summary(values: &[f64]) -> Result<RobustSummary, Refusal> {
    require(values, 3, "the median absolute deviation")?;
    let centre = median(values)?;
    let away: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    let mad = median(&away)?;
    Ok(RobustSummary { n: values.len(), median: centre, mad, scaled_mad: mad / super::distribution::normal_quantile(0.75) })
}

/// Correlation of each value with the one before it, in the order tested: far from zero means drift.
///
/// NIST/SEMATECH e-Handbook 1.3.5.12 (memory); a pure number. Needs three values and some spread.
pub fn lag_one_autocorrelation(values: &[f64]) -> Result<f64, Refusal> {
    let method = "the lag-1 autocorrelation";
    require(values, 3, method)?;
    let m = moments(values)?;
    if m.sum_of_squares == 0.0 {
        return Err(Refusal::NoSpread { method });
    }
    let pivot = values[0];
    let shift = m.mean - pivot;
    let away: Vec<f64> = values.iter().map(|v| (v - pivot) - shift).collect();
    Ok(exact_sum(away.windows(2).map(|w| w[0] * w[1])) / m.sum_of_squares)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_has_no_spread_to_tell() {
        assert_eq!(summary(&[]).unwrap_err().needed(), Some(2));
        assert_eq!(summary(&[1.0]).unwrap_err().needed(), Some(2));
        assert_eq!(summary(&[1.0, f64::NAN, 2.0]), Err(Refusal::NotFinite { index: 1 }));
        assert_eq!(summary(&[f64::INFINITY, 2.0]), Err(Refusal::NotFinite { index: 0 }));
        assert!(matches!(summary(&[-1e200, 1e200]), Err(Refusal::OutOfRange { .. })));
        assert_eq!(summary(&[4.0, 4.0, 4.0]).unwrap().sd, 0.0);
    }

    /// Hyndman and Fan's types on 1..=10 (memory: type 7 gives 3.25, type 6 gives 2.75, type 8 gives 2.9166…).
    #[test]
    fn quantile_types_differ_as_published() {
        let list: Vec<f64> = (1..=10).map(f64::from).collect();
        let at = |kind| quantile_of_sorted(&list, 0.25, kind).unwrap();
        assert!((at(QuantileType::Linear) - 3.25).abs() < 1e-12);
        assert!((at(QuantileType::Weibull) - 2.75).abs() < 1e-12);
        assert!((at(QuantileType::MedianUnbiased) - 35.0 / 12.0).abs() < 1e-12);
        assert_eq!(quantile_of_sorted(&list, 0.0, QuantileType::Weibull), Ok(1.0));
        assert_eq!(quantile_of_sorted(&list, 1.0, QuantileType::Weibull), Ok(10.0));
    }

    /// By hand: 1, 2, 3, 4, 100 has median 3 and deviations 2, 1, 0, 1, 97.
    #[test]
    fn mad_ignores_the_wild_value() {
        let robust = robust_summary(&[1.0, 2.0, 3.0, 4.0, 100.0]).unwrap();
        assert_eq!((robust.median, robust.mad), (3.0, 1.0));
        assert!((robust.scaled_mad - 1.482602218505602).abs() < 1e-12);
    }

    #[test]
    fn wide_scatter_leaves_the_cv_open_above() {
        assert_eq!(cv_interval(2.0, 3, 0.95).unwrap().high, f64::INFINITY);
    }
}
