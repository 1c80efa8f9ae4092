//! Two series against each other: Welch's t, ratio of means, effect size, equivalence.
//!
//! Headline of a comparison is the ratio of means with its interval (Welch on logarithms), p comes second. Absence of a
//! difference is never equality: that needs the two one-sided tests.
//! Sources: Welch 1947, Biometrika 34:28; NIST/SEMATECH e-Handbook 7.3.1; Hedges 1981, Journal of Educational Statistics 6:107;
//! Schuirmann 1987, Journal of Pharmacokinetics and Biopharmaceutics 15:657 (all from memory).

use super::distribution::{student_tails, student_two_sided, student_upper_quantile};
use super::interval::Interval;
use super::refusal::{Refusal, logarithms, require, require_positive, require_probability};
use super::special::{is_above, ln_gamma};
use super::summary::{Summary, summary};

/// Welch's comparison of two means without assuming equal spreads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Welch {
    /// Mean of the first minus mean of the second, in the unit of the values.
    pub difference: f64,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// t statistic.
    pub t: f64,
    /// Satterthwaite's degrees of freedom.
    pub degrees_of_freedom: f64,
    /// Two-sided p.
    pub p: f64,
    /// Interval of the difference.
    pub interval: Interval,
}

/// Welch's t test of first against second; refused below two values a side or when neither side has spread.
pub fn welch(first: &[f64], second: &[f64], confidence: f64) -> Result<Welch, Refusal> {
    require(first, 2, "Welch's t test")?;
    require(second, 2, "Welch's t test")?;
    welch_from_summaries(&summary(first)?, &summary(second)?, confidence)
}

/// Welch's t test from means, standard deviations and sizes alone.
pub fn welch_from_summaries(first: &Summary, second: &Summary, confidence: f64) -> Result<Welch, Refusal> {
    require_probability("confidence", confidence)?;
    let first_part = first.sd * first.sd / first.n as f64;
    let second_part = second.sd * second.sd / second.n as f64;
    let variance = first_part + second_part;
    if !is_above(variance, 0.0) {
        return Err(Refusal::NoSpread { method: "Welch's t test" });
    }
    // Shares of the variance keep the squares from under- or overflowing.
    let (a, b) = (first_part / variance, second_part / variance);
    let degrees_of_freedom = 1.0 / (a * a / (first.n - 1) as f64 + b * b / (second.n - 1) as f64);
    let standard_error = libm::sqrt(variance);
    let difference = first.mean - second.mean;
    let t = difference / standard_error;
    let tail = 0.5 * (1.0 - confidence);
    let reach = student_upper_quantile(tail, degrees_of_freedom) * standard_error;
    Ok(Welch {
        difference,
        standard_error,
        t,
        degrees_of_freedom,
        p: student_two_sided(t, degrees_of_freedom),
        interval: Interval { low: difference - reach, high: difference + reach, confidence },
    })
}

/// Ratio of two means, first over second, judged on logarithms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    /// Ratio of the geometric means, a pure number.
    pub ratio: f64,
    /// Its interval.
    pub interval: Interval,
    /// Welch's test on the logarithms.
    pub on_logs: Welch,
}

/// Ratio of means by Welch's test on logarithms; values above zero.
pub fn ratio_of_means(first: &[f64], second: &[f64], confidence: f64) -> Result<Ratio, Refusal> {
    let method = "the ratio of means";
    let on_logs = welch(&logarithms(first, method)?, &logarithms(second, method)?, confidence)?;
    Ok(Ratio {
        ratio: libm::exp(on_logs.difference),
        interval: Interval { low: libm::exp(on_logs.interval.low), high: libm::exp(on_logs.interval.high), confidence },
        on_logs,
    })
}

/// Standardised difference of two means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EffectSize {
    /// Cohen's d: difference over the pooled standard deviation.
    pub d: f64,
    /// Hedges' g with the exact correction.
    pub g: f64,
    /// Hedges' g with the approximate correction 1 - 3/(4ν-1).
    pub g_approximate: f64,
    /// Degrees of freedom ν of the pooled standard deviation.
    pub degrees_of_freedom: f64,
}

/// Correction J(ν) that frees d of its bias.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HedgesCorrection {
    /// Γ(ν/2)/(√(ν/2) Γ((ν-1)/2)).
    pub exact: f64,
    /// 1 - 3/(4ν-1).
    pub approximate: f64,
}

/// Both forms of Hedges' correction for ν > 1 degrees of freedom.
pub fn hedges_correction(degrees_of_freedom: f64) -> Result<HedgesCorrection, Refusal> {
    if !(degrees_of_freedom > 1.0 && degrees_of_freedom.is_finite()) {
        return Err(Refusal::OutOfRange { argument: "degrees of freedom", value: degrees_of_freedom, allowed: "above 1" });
    }
    let half = 0.5 * degrees_of_freedom;
    let gammas = ln_gamma(half) - ln_gamma(half - 0.5);
    Ok(HedgesCorrection {
        exact: libm::exp(gammas) / libm::sqrt(half),
        approximate: 1.0 - 3.0 / (4.0 * degrees_of_freedom - 1.0),
    })
}

/// Hedges' g of first against second.
pub fn hedges_g(first: &[f64], second: &[f64]) -> Result<EffectSize, Refusal> {
    let method = "Hedges' g";
    require(first, 2, method)?;
    require(second, 2, method)?;
    let (a, b) = (summary(first)?, summary(second)?);
    let freedom = (a.n + b.n - 2) as f64;
    let squares = a.sd * a.sd * (a.n - 1) as f64 + b.sd * b.sd * (b.n - 1) as f64;
    let pooled = libm::sqrt(squares / freedom);
    if !is_above(pooled, 0.0) {
        return Err(Refusal::NoSpread { method });
    }
    let d = (a.mean - b.mean) / pooled;
    let correction = hedges_correction(freedom)?;
    Ok(EffectSize { d, g: d * correction.exact, g_approximate: d * correction.approximate, degrees_of_freedom: freedom })
}

/// Outcome of two one-sided tests.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equivalence {
    /// Estimate: difference, or ratio when tested on logarithms.
    pub estimate: f64,
    /// Limits within which the two count as the same; confidence is that of the interval.
    pub limits: Interval,
    /// p against "below the lower limit".
    pub p_lower: f64,
    /// p against "above the upper limit".
    pub p_upper: f64,
    /// Larger of the two: the p of the whole test.
    pub p: f64,
    /// Interval with confidence 1 - 2 alpha, which lies inside the limits exactly when the test succeeds.
    pub interval: Interval,
    /// Whether sameness within the limits is shown at `alpha`. False means "not shown", not "different".
    pub shown: bool,
    /// Significance of each one-sided test.
    pub alpha: f64,
}

/// Two one-sided Welch tests that the difference first - second lies between `low` and `high` (unit of the values).
pub fn equivalence_of_difference(first: &[f64], second: &[f64], low: f64, high: f64, alpha: f64) -> Result<Equivalence, Refusal> {
    require_alpha(alpha)?;
    if !is_above(high, low) {
        return Err(Refusal::Mismatch { what: "the lower limit must lie below the upper one" });
    }
    let confidence = 1.0 - 2.0 * alpha;
    let test = welch(first, second, confidence)?;
    let tail = |t: f64| student_tails(t, test.degrees_of_freedom).upper;
    let p_lower = tail((test.difference - low) / test.standard_error);
    let p_upper = tail((high - test.difference) / test.standard_error);
    let p = p_lower.max(p_upper);
    Ok(Equivalence {
        estimate: test.difference,
        limits: Interval { low, high, confidence },
        p_lower,
        p_upper,
        p,
        interval: test.interval,
        shown: p <= alpha,
        alpha,
    })
}

/// Two one-sided Welch tests on logarithms that the ratio first/second lies between 1/(1+margin) and 1+margin.
///
/// `margin` is a fraction: 0.15 means "the same within 15 %".
pub fn equivalence_of_ratio(first: &[f64], second: &[f64], margin: f64, alpha: f64) -> Result<Equivalence, Refusal> {
    require_positive("margin", margin)?;
    let method = "the equivalence of two means";
    let edge = libm::log1p(margin);
    let logs = equivalence_of_difference(&logarithms(first, method)?, &logarithms(second, method)?, -edge, edge, alpha)?;
    let raise = |i: Interval| Interval { low: libm::exp(i.low), high: libm::exp(i.high), confidence: i.confidence };
    Ok(Equivalence { estimate: libm::exp(logs.estimate), limits: raise(logs.limits), interval: raise(logs.interval), ..logs })
}

fn require_alpha(alpha: f64) -> Result<(), Refusal> {
    if alpha > 0.0 && alpha < 0.5 {
        Ok(())
    } else {
        Err(Refusal::OutOfRange { argument: "alpha", value: alpha, allowed: "between 0 and 0.5" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: [f64; 3] = [812.0, 857.0, 790.0];
    const B: [f64; 3] = [655.0, 702.0, 731.0];

    /// The test succeeds exactly when the 90 % interval lies inside the limits.
    #[test]
    fn equivalence_agrees_with_its_interval() {
        for margin in [0.05, 0.1, 0.2, 0.28, 0.3, 0.5, 1.0] {
            let e = equivalence_of_ratio(&A, &B, margin, 0.05).unwrap();
            let inside = e.limits.low <= e.interval.low && e.interval.high <= e.limits.high;
            assert_eq!(e.shown, inside, "{margin}");
        }
        assert!(!equivalence_of_ratio(&A, &B, 0.15, 0.05).unwrap().shown);
        assert!(equivalence_of_ratio(&A, &B, 1.0, 0.05).unwrap().shown);
    }

    #[test]
    fn ratio_is_reciprocal_when_sides_swap() {
        let there = ratio_of_means(&A, &B, 0.95).unwrap();
        let back = ratio_of_means(&B, &A, 0.95).unwrap();
        assert!((there.ratio * back.ratio - 1.0).abs() < 1e-12);
        assert!((there.interval.low * back.interval.high - 1.0).abs() < 1e-12);
        assert!((there.on_logs.p - back.on_logs.p).abs() < 1e-15);
    }

    #[test]
    fn refusals() {
        assert_eq!(welch(&[1.0], &B, 0.95).unwrap_err().needed(), Some(2));
        assert!(matches!(welch(&[1.0, 1.0], &[2.0, 2.0], 0.95), Err(Refusal::NoSpread { .. })));
        // One side without spread is still a test.
        assert!(welch(&[1.0, 1.0], &B, 0.95).is_ok());
        assert!(hedges_g(&[1.0, 1.0], &[2.0, 2.0]).is_err());
        assert!(ratio_of_means(&[0.0, 1.0], &B, 0.95).is_err());
    }
}
