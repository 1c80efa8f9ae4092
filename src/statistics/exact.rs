//! Exact tests of two small series: permutation of the mean difference, and Mann-Whitney.
//!
//! With few specimens such a test cannot go below a floor, which is part of the result: 3 against 3 never below 0.1.
//! Sources: Fisher's randomisation test, Pitman 1937; Mann and Whitney 1947, Annals of Mathematical Statistics 18:50 (memory).

use super::refusal::{Refusal, require};
use super::summary::{moments, sorted};

/// Most arrangements that are enumerated; 12 against 12 values are 2.7 million.
pub const MOST_ARRANGEMENTS: u64 = 3_000_000;

/// Result of an exact test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExactTest {
    /// Statistic: mean difference first - second, or U of the first series.
    pub statistic: f64,
    /// Two-sided p.
    pub p: f64,
    /// One-sided p that the first series is the larger.
    pub p_greater: f64,
    /// One-sided p that the first series is the smaller.
    pub p_less: f64,
    /// Smallest two-sided p these data could have reached in any arrangement.
    pub floor: f64,
    /// Number of arrangements.
    pub arrangements: u64,
}

/// Number of ways to choose `some` of `all`; `None` above the enumeration limit.
fn arrangements(all: usize, some: usize) -> Option<u64> {
    let some = some.min(all - some);
    let mut count: u64 = 1;
    for i in 0..some {
        count = count.checked_mul((all - i) as u64)? / (i as u64 + 1);
        if count > MOST_ARRANGEMENTS {
            return None;
        }
    }
    Some(count)
}

/// Smallest two-sided p a rank or permutation test of two series without equal values can reach: 2/C(n1+n2, n1).
pub fn smallest_p(first: usize, second: usize) -> Result<f64, Refusal> {
    for given in [first, second] {
        if given == 0 {
            return Err(Refusal::TooFew { method: "an exact test", needed: 1, given });
        }
    }
    let mut ways = 1.0;
    for i in 0..first {
        ways *= (second + i + 1) as f64 / (i + 1) as f64;
    }
    Ok((2.0 / libm::round(ways)).min(1.0))
}

/// Exact permutation test of the mean difference, every arrangement counted; differences equal to 1e-9 count as equal.
///
/// Needs two values a side; refused above three million arrangements and when all values are equal.
pub fn permutation_test(first: &[f64], second: &[f64]) -> Result<ExactTest, Refusal> {
    let method = "the exact permutation test";
    require(first, 2, method)?;
    require(second, 2, method)?;
    let all: Vec<f64> = first.iter().chain(second).copied().collect();
    let total = arrangements(all.len(), first.len()).ok_or(Refusal::TooMany { method, limit: MOST_ARRANGEMENTS })?;
    let whole = moments(&all)?;
    if whole.sum_of_squares == 0.0 {
        return Err(Refusal::NoSpread { method });
    }
    // Sums of deviations from the common mean: the mean difference is a fixed multiple of them.
    let away: Vec<f64> = all.iter().map(|v| v - whole.mean).collect();
    let observed: f64 = away[..first.len()].iter().sum();
    let slack = 1e-9 * libm::sqrt(whole.sum_of_squares);
    let count = count_arrangements(&away, first.len(), observed, slack);
    let share = |n: u64| n as f64 / total as f64;
    Ok(ExactTest {
        statistic: moments(first)?.mean - moments(second)?.mean,
        p: share(count.as_far),
        p_greater: share(count.as_high),
        p_less: share(count.as_low),
        floor: share(count.at_farthest),
        arrangements: total,
    })
}

#[derive(Default)]
struct Counts {
    as_far: u64,
    as_high: u64,
    as_low: u64,
    at_farthest: u64,
}

fn count_arrangements(away: &[f64], size: usize, observed: f64, slack: f64) -> Counts {
    let mut counts = Counts::default();
    let mut farthest = 0.0_f64;
    let mut chosen: Vec<usize> = (0..size).collect();
    loop {
        let sum: f64 = chosen.iter().map(|i| away[*i]).sum();
        counts.as_far += u64::from(sum.abs() >= observed.abs() - slack);
        counts.as_high += u64::from(sum >= observed - slack);
        counts.as_low += u64::from(sum <= observed + slack);
        if sum.abs() > farthest + slack {
            farthest = sum.abs();
            counts.at_farthest = 1;
        } else if sum.abs() >= farthest - slack {
            counts.at_farthest += 1;
        }
        if !next_choice(&mut chosen, away.len()) {
            return counts;
        }
    }
}

/// Next choice in lexicographic order; false after the last.
fn next_choice(chosen: &mut [usize], all: usize) -> bool {
    let size = chosen.len();
    let Some(i) = (0..size).rev().find(|i| chosen[*i] < all - size + i) else {
        return false;
    };
    chosen[i] += 1;
    for j in i + 1..size {
        chosen[j] = chosen[j - 1] + 1;
    }
    true
}

/// Exact Mann-Whitney test; U counts pairs in which the first series is the larger.
///
/// Refused when two values are equal anywhere, because the exact table then does not hold.
pub fn mann_whitney(first: &[f64], second: &[f64]) -> Result<ExactTest, Refusal> {
    let method = "the exact Mann-Whitney test";
    require(first, 2, method)?;
    require(second, 2, method)?;
    let all: Vec<f64> = first.iter().chain(second).copied().collect();
    if sorted(&all)?.windows(2).any(|w| w[0] == w[1]) {
        return Err(Refusal::Ties { method, instead: "use the permutation test" });
    }
    let total = arrangements(all.len(), first.len()).ok_or(Refusal::TooMany { method, limit: MOST_ARRANGEMENTS })?;
    let u = first.iter().map(|a| second.iter().filter(|b| a > b).count()).sum::<usize>();
    let ways = ways_of_u(first.len(), second.len());
    let at_most: u64 = ways[..=u].iter().sum();
    let at_least: u64 = ways[u..].iter().sum();
    let share = |n: u64| n as f64 / total as f64;
    Ok(ExactTest {
        statistic: u as f64,
        p: (2.0 * share(at_most.min(at_least))).min(1.0),
        p_greater: share(at_least),
        p_less: share(at_most),
        floor: smallest_p(first.len(), second.len())?,
        arrangements: total,
    })
}

/// Number of arrangements for each value of U: coefficients of the Gaussian binomial.
fn ways_of_u(first: usize, second: usize) -> Vec<u64> {
    let most = first * second;
    // ways[j][u]: j of the first series placed, U so far.
    let mut ways = vec![vec![0_u64; most + 1]; first + 1];
    ways[0][0] = 1;
    for below in 0..=second {
        // Each element of the first series that has `below` of the second under it adds `below` to U.
        for j in 1..=first {
            for u in below..=most {
                let before = ways[j - 1][u - below];
                ways[j][u] += before;
            }
        }
    }
    ways.swap_remove(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published floors: 3 against 3 is 0.1, 4 against 4 is 0.0286, 5 against 5 is 0.0079.
    #[test]
    fn floors() {
        for (n, floor) in [(3, 0.1), (4, 0.0286), (5, 0.0079)] {
            assert!((smallest_p(n, n).unwrap() - floor).abs() < 5e-5);
        }
        assert!(smallest_p(0, 3).is_err());
    }

    /// Documented example of a statistics library: males 19 22 16 29 24, females 20 11 17 12: U = 17, p = 1/9.
    #[test]
    fn mann_whitney_documented_example() {
        let test = mann_whitney(&[19.0, 22.0, 16.0, 29.0, 24.0], &[20.0, 11.0, 17.0, 12.0]).unwrap();
        assert_eq!(test.statistic, 17.0);
        assert!((test.p - 1.0 / 9.0).abs() < 1e-12);
    }

    #[test]
    fn refusals() {
        let a = [1.0, 2.0, 3.0];
        assert!(matches!(mann_whitney(&a, &a), Err(Refusal::Ties { .. })));
        assert!(matches!(permutation_test(&[2.0; 3], &[2.0; 3]), Err(Refusal::NoSpread { .. })));
        let many: Vec<f64> = (0..40).map(f64::from).collect();
        assert!(matches!(permutation_test(&many[..20], &many[20..]), Err(Refusal::TooMany { .. })));
    }

    #[test]
    fn separate_series_reach_the_floor() {
        let test = permutation_test(&[1.0, 2.0, 3.0], &[7.0, 8.0, 9.5]).unwrap();
        assert_eq!(test.p, test.floor);
        assert_eq!(test.p, 0.1);
        assert_eq!((test.p_less, test.p_greater), (0.05, 1.0));
    }
}
