//! Planning: power, number of specimens to tell a difference, number of specimens to promise a bound.
//!
//! Power of the two-sample t test by the noncentral t: ν = 2n - 2, noncentrality effect·√(n/2), where effect is the
//! difference in standard deviations (relative difference over coefficient of variation).
//! Cohen 1988, Statistical Power Analysis, ch. 2 (memory); NIST/SEMATECH e-Handbook 7.2.2.2 (memory).

use super::bound::{BoundKind, Form, lower_bound_from_summary};
use super::distribution::{normal_quantile, student_upper_quantile};
use super::noncentral::{noncentral_t_cdf, noncentral_t_sf};
use super::refusal::{Refusal, require_positive, require_probability};
use super::special::root_increasing;

/// Which tails of the test are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TestSides {
    /// One-sided test.
    One,
    /// Two-sided test; a rejection in the wrong direction is not counted as power (the usual planning value).
    Two,
    /// Two-sided test; rejections in both directions counted.
    TwoBothCounted,
}

/// Power of the two-sample t test with `n` per group (need not be whole, above 1) for a difference of `effect` standard deviations.
pub fn power(n: f64, effect: f64, alpha: f64, sides: TestSides) -> Result<f64, Refusal> {
    if !(n > 1.0 && n.is_finite()) {
        return Err(Refusal::OutOfRange { argument: "number per group", value: n, allowed: "above 1" });
    }
    require_probability("alpha", alpha)?;
    require_positive("effect", effect)?;
    let nu = 2.0 * n - 2.0;
    let delta = effect * libm::sqrt(0.5 * n);
    let tail = if sides == TestSides::One { alpha } else { 0.5 * alpha };
    let critical = if tail <= 0.5 { student_upper_quantile(tail, nu) } else { -student_upper_quantile(1.0 - tail, nu) };
    let near = noncentral_t_sf(critical, nu, delta);
    Ok(match sides {
        TestSides::TwoBothCounted => near + noncentral_t_cdf(-critical, nu, delta),
        TestSides::One | TestSides::Two => near,
    })
}

/// Number of specimens per group for a wanted power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SampleSize {
    /// Solution of the equation, not whole.
    pub exact: f64,
    /// Specimens per group: the solution rounded up, at least 2.
    pub per_group: usize,
    /// Power with that many.
    pub power: f64,
}

/// Specimens per group that tell a difference of `effect` standard deviations with the wanted power.
pub fn sample_size(effect: f64, wanted: f64, alpha: f64, sides: TestSides) -> Result<SampleSize, Refusal> {
    require_probability("alpha", alpha)?;
    require_positive("effect", effect)?;
    if !(wanted > alpha && wanted < 1.0) {
        return Err(Refusal::OutOfRange { argument: "power", value: wanted, allowed: "above alpha and below 1" });
    }
    if effect < 1e-3 {
        return Err(Refusal::OutOfRange { argument: "effect", value: effect, allowed: "at least 0.001 standard deviations" });
    }
    let tail = if sides == TestSides::One { alpha } else { 0.5 * alpha };
    let scores = normal_quantile(wanted) - normal_quantile(tail);
    let guess = (2.0 * scores * scores / (effect * effect)).max(0.5);
    // Searched over ln(n - 1), so that n stays above 1.
    let miss = |x: f64| {
        power(1.0 + libm::exp(x), effect, alpha, sides).map_or(f64::NAN, |p| normal_quantile(p) - normal_quantile(wanted))
    };
    let exact = 1.0 + libm::exp(root_increasing(libm::log(guess), 0.2, miss));
    if !exact.is_finite() {
        return Err(Refusal::NoConvergence { method: "the sample size" });
    }
    let per_group = libm::ceil(exact - 1e-9).max(2.0);
    Ok(SampleSize { exact, per_group: per_group as usize, power: power(per_group, effect, alpha, sides)? })
}

/// Specimens per group that tell a relative difference at a coefficient of variation (both fractions).
pub fn sample_size_for_relative_difference(
    relative_difference: f64,
    cv: f64,
    wanted: f64,
    alpha: f64,
    sides: TestSides,
) -> Result<SampleSize, Refusal> {
    require_positive("relative difference", relative_difference)?;
    require_positive("coefficient of variation", cv)?;
    sample_size(relative_difference / cv, wanted, alpha, sides)
}

/// Largest number of specimens a plan is looked for.
pub const MOST_SPECIMENS: usize = 1000;

/// Specimens with which a series of coefficient of variation `cv` can promise `ratio` = bound/mean, both fractions.
///
/// For the lognormal form `cv` is taken as the standard deviation of the logarithms and the mean as the geometric one.
/// Refused when not even 1000 specimens would do.
pub fn sample_size_for_promise(ratio: f64, cv: f64, form: Form, kind: BoundKind) -> Result<usize, Refusal> {
    require_probability("ratio of bound to mean", ratio)?;
    require_positive("coefficient of variation", cv)?;
    let mean = match form {
        Form::Normal => 1.0,
        Form::Lognormal => 0.0,
    };
    let keeps = |n: usize| match lower_bound_from_summary(mean, cv, n, form, kind) {
        Ok(bound) => Ok(bound.value >= ratio),
        Err(Refusal::NegativeBound { .. }) => Ok(false),
        Err(other) => Err(other),
    };
    if !keeps(MOST_SPECIMENS)? {
        return Err(Refusal::OutOfRange {
            argument: "ratio of bound to mean",
            value: ratio,
            allowed: "lower: 1000 specimens with this spread would not promise it",
        });
    }
    let (mut low, mut high) = (1, MOST_SPECIMENS);
    while high - low > 1 {
        let middle = low.midpoint(high);
        if keeps(middle)? {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(high)
}

#[cfg(test)]
mod tests {
    use super::super::tolerance::{FIVE_AT_75, tolerance_factor};
    use super::*;

    #[test]
    fn promise_is_the_smallest_that_keeps() {
        let kind = BoundKind::Tolerance(FIVE_AT_75);
        for cv in [0.03, 0.06, 0.08, 0.1] {
            let n = sample_size_for_promise(0.8, cv, Form::Normal, kind).unwrap();
            let at = |n| 1.0 - tolerance_factor(n, FIVE_AT_75).unwrap() * cv;
            assert!(at(n) >= 0.8 && (n == 2 || at(n - 1) < 0.8), "{cv} {n}");
        }
        // 0.8 at CV 20 % is out of reach: 1 - 1.645·0.2 = 0.671 even for a known spread.
        assert!(sample_size_for_promise(0.8, 0.2, Form::Normal, kind).is_err());
    }

    #[test]
    fn refusals() {
        assert!(power(1.0, 1.0, 0.05, TestSides::Two).is_err());
        assert!(power(5.0, 0.0, 0.05, TestSides::Two).is_err());
        assert!(sample_size(1.0, 0.04, 0.05, TestSides::Two).is_err());
        assert!(sample_size(1.0, 1.0, 0.05, TestSides::Two).is_err());
        assert!(sample_size(f64::NAN, 0.8, 0.05, TestSides::Two).is_err());
    }

    #[test]
    fn huge_and_tiny_effects_settle() {
        assert_eq!(sample_size(1e3, 0.8, 0.05, TestSides::Two).unwrap().per_group, 2);
        let n = sample_size(0.01, 0.8, 0.05, TestSides::Two).unwrap().exact;
        // Normal approximation 2 (z + z)²/d² by hand: 156977.6.
        assert!((n / 156_978.0 - 1.0).abs() < 1e-4, "{n}");
    }
}
