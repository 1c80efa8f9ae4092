//! Whether printed summary figures can belong to a sample at all.
//!
//! Bounds of the sample standard deviation for a given range: Thomson 1955, Biometrika 42:268 (memory); simple algebra.
//! Granularity of a mean of whole steps: Brown and Heathers 2017, Social Psychological and Personality Science 8:363 (memory).

use super::refusal::{Refusal, require_positive};

/// Smallest and largest sample standard deviation (divisor n - 1) that n values with one range can have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SdBounds {
    /// All other values in the middle: R/√(2(n-1)).
    pub low: f64,
    /// Values split between the two ends: (R/2)√(n/(n-1)) for even n, (R/2)√((n+1)/n) for odd n.
    pub high: f64,
}

/// Exact bounds of the sample standard deviation of n values whose largest minus smallest is `range` (same unit).
pub fn sd_bounds_from_range(range: f64, n: usize) -> Result<SdBounds, Refusal> {
    if n < 2 {
        return Err(Refusal::TooFew { method: "the standard deviation", needed: 2, given: n });
    }
    if !(range.is_finite() && range >= 0.0) {
        return Err(Refusal::OutOfRange { argument: "range", value: range, allowed: "finite and not negative" });
    }
    let count = n as f64;
    let spread = if n.is_multiple_of(2) { count / (count - 1.0) } else { (count + 1.0) / count };
    Ok(SdBounds { low: range / libm::sqrt(2.0 * (count - 1.0)), high: 0.5 * range * libm::sqrt(spread) })
}

/// Whether a mean printed to `places` decimals can be the mean of n values that are whole multiples of `step`.
///
/// Both directions of rounding at the last place are allowed. When n × 10^-places exceeds the step every mean is possible.
pub fn mean_is_reachable(mean: f64, places: u32, n: usize, step: f64) -> Result<bool, Refusal> {
    require_positive("step", step)?;
    if !mean.is_finite() {
        return Err(Refusal::NotFinite { index: 0 });
    }
    if n == 0 {
        return Err(Refusal::TooFew { method: "a mean", needed: 1, given: 0 });
    }
    let half = 0.5 * libm::pow(10.0, -f64::from(places));
    let grain = step / n as f64;
    // The printed mean has its own rounding in binary: a millionth of the last place is forgiven.
    let slack = 1e-6 * half;
    let steps = libm::floor((mean + half + slack) / grain);
    Ok(steps * grain >= mean - half - slack)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: n = 3 gives 0.500 R to 0.577 R, n = 5 0.354 to 0.548 R, n = 10 0.236 to 0.527 R.
    #[test]
    fn sd_bounds_by_hand() {
        for (n, low, high) in [(3, 0.5, 0.57735), (5, 0.353553, 0.547723), (10, 0.235702, 0.527046)] {
            let b = sd_bounds_from_range(1.0, n).unwrap();
            assert!((b.low - low).abs() < 1e-5 && (b.high - high).abs() < 1e-5, "{n}");
        }
    }

    /// The extreme samples themselves stand on the bounds.
    #[test]
    fn extreme_samples_reach_the_bounds() {
        let sd = |v: &[f64]| super::super::summary::summary(v).unwrap().sd;
        let b = sd_bounds_from_range(10.0, 5).unwrap();
        assert!((sd(&[0.0, 5.0, 5.0, 5.0, 10.0]) - b.low).abs() < 1e-12);
        assert!((sd(&[0.0, 0.0, 10.0, 10.0, 10.0]) - b.high).abs() < 1e-12);
        let even = sd_bounds_from_range(10.0, 4).unwrap();
        assert!((sd(&[0.0, 0.0, 10.0, 10.0]) - even.high).abs() < 1e-12);
    }

    /// Published example of the granularity test (memory): a mean of 5.19 cannot come from 28 whole numbers, 5.18 can.
    #[test]
    fn granularity_of_a_mean() {
        assert_eq!(mean_is_reachable(5.19, 2, 28, 1.0), Ok(false));
        assert_eq!(mean_is_reachable(5.18, 2, 28, 1.0), Ok(true));
        assert_eq!(mean_is_reachable(819.67, 2, 3, 1.0), Ok(true));
        assert_eq!(mean_is_reachable(819.5, 1, 3, 1.0), Ok(false));
    }
}
