//! Grubbs' test for one outlying value.
//!
//! G = (extreme - mean)/s, critical value (n-1)/√n · √(t²/(n-2+t²)) with t(1-α/n, n-2) one-sided and t(1-α/2n, n-2) two-sided.
//! ASTM E178-21 section 6 prints the one-sided table; ISO 5725-2:2019 7.3.4 and the maximum normed residual of
//! CMH-17-1G 8.3.3 are two-sided (sections from memory). A value is only pointed at: nothing here ever drops one, and the test
//! is not repeated on the rest, because on five values that eats the sample.

use super::distribution::student_upper_quantile;
use super::refusal::{Refusal, require, require_probability};
use super::summary::moments;

/// Fewest values for the test: at three G can hardly exceed its critical value.
pub const FEWEST_FOR_GRUBBS: usize = 4;

/// Which alternative is tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GrubbsSide {
    /// The smallest value is suspected (one-sided, ASTM E178).
    Low,
    /// The largest value is suspected (one-sided, ASTM E178).
    High,
    /// The value farthest from the mean on either side (two-sided, ISO 5725-2 and CMH-17).
    Either,
}

/// What the test says of the most extreme value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grubbs {
    /// Which alternative was tested.
    pub side: GrubbsSide,
    /// Position of the extreme value, counted from 0.
    pub index: usize,
    /// The extreme value, in the unit of the values.
    pub value: f64,
    /// Distance from the mean in standard deviations.
    pub statistic: f64,
    /// Critical value.
    pub critical: f64,
    /// Largest value the statistic can take with n values: (n-1)/√n.
    pub largest_possible: f64,
    /// Significance level.
    pub alpha: f64,
    /// Whether the statistic exceeds the critical value. The value stays in the series all the same.
    pub suspect: bool,
}

/// Position, value and statistic of the most extreme value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// Position, counted from 0.
    pub index: usize,
    /// The value.
    pub value: f64,
    /// Its distance from the mean in standard deviations; 0 when all values are equal.
    pub statistic: f64,
}

/// The most extreme value on the side asked for; needs two values.
pub fn grubbs_statistic(values: &[f64], side: GrubbsSide) -> Result<Extreme, Refusal> {
    require(values, 2, "Grubbs' statistic")?;
    let m = moments(values)?;
    let sd = libm::sqrt(m.variance());
    let away = |v: f64| match side {
        GrubbsSide::Low => m.mean - v,
        GrubbsSide::High => v - m.mean,
        GrubbsSide::Either => (v - m.mean).abs(),
    };
    let mut index = 0;
    for (i, v) in values.iter().enumerate() {
        if away(*v) > away(values[index]) {
            index = i;
        }
    }
    let statistic = if sd > 0.0 { away(values[index]) / sd } else { 0.0 };
    Ok(Extreme { index, value: values[index], statistic })
}

/// Critical value of Grubbs' statistic; n from 3 on.
pub fn grubbs_critical(n: usize, alpha: f64, side: GrubbsSide) -> Result<f64, Refusal> {
    require_probability("alpha", alpha)?;
    if n < 3 {
        return Err(Refusal::TooFew { method: "Grubbs' critical value", needed: 3, given: n });
    }
    let count = n as f64;
    let tail = match side {
        GrubbsSide::Either => 0.5 * alpha / count,
        GrubbsSide::Low | GrubbsSide::High => alpha / count,
    };
    let t = student_upper_quantile(tail, count - 2.0);
    Ok(grubbs_largest(n) * libm::sqrt(t * t / (count - 2.0 + t * t)))
}

/// Largest value Grubbs' statistic can take: (n-1)/√n.
pub fn grubbs_largest(n: usize) -> f64 {
    let count = n as f64;
    (count - 1.0) / libm::sqrt(count)
}

/// Grubbs' test at significance `alpha`; refused below four values. Equal values are never suspect.
pub fn grubbs(values: &[f64], alpha: f64, side: GrubbsSide) -> Result<Grubbs, Refusal> {
    require(values, FEWEST_FOR_GRUBBS, "Grubbs' test")?;
    let extreme = grubbs_statistic(values, side)?;
    let critical = grubbs_critical(values.len(), alpha, side)?;
    Ok(Grubbs {
        side,
        index: extreme.index,
        value: extreme.value,
        statistic: extreme.statistic,
        critical,
        largest_possible: grubbs_largest(values.len()),
        alpha,
        suspect: extreme.statistic > critical,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_three_and_never_suspects_equal_values() {
        assert_eq!(grubbs(&[1.0, 2.0, 30.0], 0.05, GrubbsSide::Either).unwrap_err().needed(), Some(4));
        let same = grubbs(&[5.0; 6], 0.05, GrubbsSide::Either).unwrap();
        assert!(!same.suspect && same.statistic == 0.0);
    }

    /// Published raw series of notched-bend loads (doi:10.3390/ma18214966): G = 1.766 below 1.887, kept.
    #[test]
    fn published_series_is_kept() {
        let loads = [101.6, 67.4, 78.0, 52.5, 66.2, 69.8];
        let test = grubbs(&loads, 0.05, GrubbsSide::Either).unwrap();
        assert!((test.statistic - 1.766).abs() < 5e-4);
        assert!((test.critical - 1.887).abs() < 5e-4);
        assert!(!test.suspect);
        assert_eq!(test.index, 0);
    }

    #[test]
    fn sides_look_where_they_say() {
        let values = [1.0, 5.0, 5.1, 5.2, 7.0];
        let index = |side| grubbs(&values, 0.05, side).unwrap().index;
        assert_eq!(index(GrubbsSide::Low), 0);
        assert_eq!(index(GrubbsSide::High), 4);
        assert_eq!(index(GrubbsSide::Either), 0);
    }
}
