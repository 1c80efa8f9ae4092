//! How many specimens a question needs, and what three of them can and cannot show.

use crate::series::bounds::PREDICTIVE_COVERAGE;
use crate::series::compare::ALPHA;
use crate::statistics::bound::{BoundKind, Form, lower_bound_from_summary};
use crate::statistics::power::{SampleSize, TestSides, power, sample_size_for_promise, sample_size_for_relative_difference};
use crate::statistics::refusal::Refusal;
use crate::statistics::tolerance::FIVE_AT_75;

/// Specimens per group to tell a difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Tell {
    /// Relative difference, as a fraction.
    pub difference: f64,
    /// Power asked for.
    pub power: f64,
    /// Specimens per group, with the power reached.
    pub size: SampleSize,
    /// What smaller and larger groups give.
    pub table: Vec<PowerRow>,
    /// Smallest difference three per group tell with the power asked for.
    pub three_tell: Option<f64>,
}

/// Power with so many per group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerRow {
    /// Per group.
    pub n: usize,
    /// Chance to tell the difference.
    pub power: f64,
    /// Difference told with the power asked for.
    pub tells: Option<f64>,
}

/// Specimens to promise a share of the mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Promise {
    /// Bound over mean, as a fraction.
    pub share: f64,
    /// Specimens for the 5 % bound at 75 % confidence; the refusal where no number does.
    pub five_at_75: Result<usize, Refusal>,
    /// Specimens for the predictive bound.
    pub predictive: Result<usize, Refusal>,
    /// Share of the mean that n specimens promise.
    pub table: Vec<PromiseRow>,
}

/// What n specimens promise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PromiseRow {
    /// Specimens.
    pub n: usize,
    /// 5 % bound at 75 % confidence over the mean.
    pub five_at_75: f64,
    /// Predictive bound over the mean.
    pub predictive: f64,
}

const ROWS: [usize; 6] = [3, 4, 6, 8, 12, 20];

/// Specimens per group that tell a relative difference; fractions.
///
/// # Errors
/// Values outside what the method is defined for.
pub fn tell(cv: f64, difference: f64, wanted: f64) -> Result<Tell, Refusal> {
    let size = sample_size_for_relative_difference(difference, cv, wanted, ALPHA, TestSides::Two)?;
    let mut numbers: Vec<usize> = ROWS.into_iter().chain([size.per_group]).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let table = numbers
        .into_iter()
        .filter_map(|n| {
            let reached = power(n as f64, difference / cv, ALPHA, TestSides::Two).ok()?;
            Some(PowerRow { n, power: reached, tells: told(cv, n, wanted) })
        })
        .collect();
    Ok(Tell { difference, power: wanted, size, table, three_tell: told(cv, 3, wanted) })
}

/// Smallest relative difference that n per group tell with that power.
pub fn told(cv: f64, n: usize, wanted: f64) -> Option<f64> {
    let (mut low, mut high) = (0.01, 100.0);
    let reaches = |effect: f64| power(n as f64, effect, ALPHA, TestSides::Two).is_ok_and(|p| p >= wanted);
    if !reaches(high) {
        return None;
    }
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if reaches(middle) { high = middle } else { low = middle }
    }
    Some(high * cv)
}

/// Specimens that promise a share of the mean, lognormal.
///
/// # Errors
/// A share or CV outside what the method is defined for.
pub fn promise(cv: f64, share: f64) -> Result<Promise, Refusal> {
    let sd = libm::sqrt(libm::log1p(cv * cv));
    let bound = |n, kind| lower_bound_from_summary(0.0, sd, n, Form::Lognormal, kind).map(|b| b.value);
    let (tolerance, predictive) = (BoundKind::Tolerance(FIVE_AT_75), BoundKind::Predictive { coverage: PREDICTIVE_COVERAGE });
    let need = |kind| sample_size_for_promise(share, sd, Form::Lognormal, kind);
    if !(share > 0.0 && share < 1.0) {
        return Err(Refusal::OutOfRange { argument: "share promised", value: share, allowed: "between 0 and 1" });
    }
    let table = ROWS
        .into_iter()
        .map(|n| Ok(PromiseRow { n, five_at_75: bound(n, tolerance)?, predictive: bound(n, predictive)? }))
        .collect::<Result<_, Refusal>>()?;
    Ok(Promise { share, five_at_75: need(tolerance), predictive: need(predictive), table })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Table of statistics.md section 6 (power 80 %, two-sided 5 %; library): CV 10 %, 20 % → 6; CV 15 %, 20 % → 10; CV 5 %, 10 % → 6.
    #[test]
    fn table_of_the_literature_note() {
        for (cv, difference, n) in [(0.10, 0.20, 6), (0.15, 0.20, 10), (0.05, 0.10, 6), (0.25, 0.10, 100)] {
            assert_eq!(tell(cv, difference, 0.8).unwrap().size.per_group, n, "{cv} {difference}");
        }
        // Three per group tell 2 sd with power 0.463, 3 sd with 0.783, 4 sd with 0.948.
        for (sd, p) in [(2.0, 0.463), (3.0, 0.783), (4.0, 0.948)] {
            let row = tell(0.1, sd * 0.1, 0.8).unwrap().table[0];
            assert!(row.n == 3 && (row.power - p).abs() < 5e-4, "{row:?}");
        }
    }

    #[test]
    fn the_number_promised_is_the_smallest() {
        let p = promise(0.1, 0.8).unwrap();
        let n = p.five_at_75.unwrap();
        let sd = libm::sqrt(libm::log1p(0.01));
        let bound = |n| lower_bound_from_summary(0.0, sd, n, Form::Lognormal, BoundKind::Tolerance(FIVE_AT_75)).unwrap().value;
        assert!(bound(n) >= 0.8 && bound(n - 1) < 0.8);
        assert!(promise(0.1, 1.2).is_err() && promise(0.3, 0.8).unwrap().five_at_75.is_err());
    }
}
