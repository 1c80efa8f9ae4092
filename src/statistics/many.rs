//! Several series at once: analysis of variance, equal spreads, ranks, batches.
//!
//! Sources: NIST/SEMATECH e-Handbook 7.4.3 (analysis of variance), 7.4.1 (Kruskal-Wallis), 1.3.5.7 (Bartlett), 1.3.5.10
//! (Brown-Forsythe); Welch 1951, Biometrika 38:330 (all from memory). Checked with the NIST StRD analysis of variance sets.
//! Deviations are taken from the first value before anything is squared, so that a large offset costs no digits.

use super::distribution::{chi_squared_tails, f_tails};
use super::refusal::{Refusal, require};
use super::special::is_above;
use super::summary::{exact_sum, median, moments};

/// One-way analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anova {
    /// Sum of squares between groups, square of the unit.
    pub between: f64,
    /// Sum of squares within groups.
    pub within: f64,
    /// Degrees of freedom between groups.
    pub between_freedom: f64,
    /// Degrees of freedom within groups.
    pub within_freedom: f64,
    /// F statistic.
    pub f: f64,
    /// p of F.
    pub p: f64,
    /// Share of the sum of squares that lies between groups.
    pub r_squared: f64,
    /// Residual standard deviation, in the unit of the values.
    pub residual_sd: f64,
}

fn require_groups(groups: &[&[f64]], needed_each: usize, method: &'static str) -> Result<(), Refusal> {
    if groups.len() < 2 {
        return Err(Refusal::TooFew { method, needed: 2, given: groups.len() });
    }
    groups.iter().try_for_each(|values| require(values, needed_each, method))
}

/// Refuses groups so far apart that squares of differences are no numbers any more.
fn require_range(groups: &[&[f64]]) -> Result<(), Refusal> {
    moments(&groups.concat()).map(|_| ())
}

/// One-way analysis of variance of two or more groups; refused when no group has any spread.
pub fn anova(groups: &[&[f64]]) -> Result<Anova, Refusal> {
    let method = "the analysis of variance";
    require_groups(groups, 1, method)?;
    require_range(groups)?;
    let pivot = groups[0][0];
    let centred: Vec<Vec<f64>> = groups.iter().map(|g| g.iter().map(|v| v - pivot).collect()).collect();
    let each = centred.iter().map(|g| moments(g)).collect::<Result<Vec<_>, _>>()?;
    let n: usize = each.iter().map(|m| m.n).sum();
    let grand = exact_sum(each.iter().map(|m| m.mean * m.n as f64)) / n as f64;
    let between = exact_sum(each.iter().map(|m| m.n as f64 * (m.mean - grand) * (m.mean - grand)));
    let within = exact_sum(each.iter().map(|m| m.sum_of_squares));
    if n <= groups.len() {
        return Err(Refusal::TooFew { method, needed: groups.len() + 1, given: n });
    }
    if !is_above(within, 0.0) {
        return Err(Refusal::NoSpread { method });
    }
    let between_freedom = (groups.len() - 1) as f64;
    let within_freedom = (n - groups.len()) as f64;
    let f = (between / between_freedom) / (within / within_freedom);
    Ok(Anova {
        between,
        within,
        between_freedom,
        within_freedom,
        f,
        p: f_tails(f, between_freedom, within_freedom).upper,
        r_squared: between / (between + within),
        residual_sd: libm::sqrt(within / within_freedom),
    })
}

/// A statistic with an F distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FTest {
    /// F statistic.
    pub f: f64,
    /// Numerator degrees of freedom.
    pub numerator: f64,
    /// Denominator degrees of freedom.
    pub denominator: f64,
    /// p.
    pub p: f64,
}

/// Welch's analysis of variance, for unequal spreads; every group needs two values and some spread.
pub fn welch_anova(groups: &[&[f64]]) -> Result<FTest, Refusal> {
    let method = "Welch's analysis of variance";
    require_groups(groups, 2, method)?;
    require_range(groups)?;
    let pivot = groups[0][0];
    let mut rows = Vec::with_capacity(groups.len());
    for group in groups {
        let m = moments(&group.iter().map(|v| v - pivot).collect::<Vec<_>>())?;
        if m.sum_of_squares == 0.0 {
            return Err(Refusal::NoSpread { method });
        }
        rows.push((m.mean, m.n as f64 / m.variance(), (m.n - 1) as f64));
    }
    let k = groups.len() as f64;
    let weights: f64 = rows.iter().map(|(_, w, _)| w).sum();
    let centre = rows.iter().map(|(mean, w, _)| mean * w).sum::<f64>() / weights;
    let between = rows.iter().map(|(mean, w, _)| w * (mean - centre) * (mean - centre)).sum::<f64>() / (k - 1.0);
    let lambda: f64 = rows
        .iter()
        .map(|(_, w, freedom)| {
            let rest = 1.0 - w / weights;
            rest * rest / freedom
        })
        .sum();
    let f = between / (1.0 + 2.0 * (k - 2.0) / (k * k - 1.0) * lambda);
    let denominator = (k * k - 1.0) / (3.0 * lambda);
    Ok(FTest { f, numerator: k - 1.0, denominator, p: f_tails(f, k - 1.0, denominator).upper })
}

/// A statistic with a chi-squared distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquaredTest {
    /// Statistic.
    pub statistic: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
    /// p.
    pub p: f64,
}

/// Bartlett's test that the spreads are equal; every group needs two values and some spread.
pub fn bartlett(groups: &[&[f64]]) -> Result<ChiSquaredTest, Refusal> {
    let method = "Bartlett's test";
    require_groups(groups, 2, method)?;
    let (mut freedom, mut squares, mut logs, mut inverse) = (0.0, 0.0, 0.0, 0.0);
    for group in groups {
        let m = moments(group)?;
        if m.sum_of_squares == 0.0 {
            return Err(Refusal::NoSpread { method });
        }
        let own = (m.n - 1) as f64;
        freedom += own;
        squares += m.sum_of_squares;
        logs += own * libm::log(m.variance());
        inverse += 1.0 / own;
    }
    let k = groups.len() as f64;
    let raw = freedom * libm::log(squares / freedom) - logs;
    let correction = 1.0 + (inverse - 1.0 / freedom) / (3.0 * (k - 1.0));
    let statistic = (raw / correction).max(0.0);
    Ok(ChiSquaredTest { statistic, degrees_of_freedom: k - 1.0, p: chi_squared_tails(statistic, k - 1.0).upper })
}

/// Brown-Forsythe test that the spreads are equal: analysis of variance of the distances from each group's median.
pub fn brown_forsythe(groups: &[&[f64]]) -> Result<FTest, Refusal> {
    require_groups(groups, 2, "the Brown-Forsythe test")?;
    let mut distances = Vec::with_capacity(groups.len());
    for group in groups {
        let centre = median(group)?;
        distances.push(group.iter().map(|v| (v - centre).abs()).collect::<Vec<_>>());
    }
    let views: Vec<&[f64]> = distances.iter().map(Vec::as_slice).collect();
    let table = anova(&views)?;
    Ok(FTest { f: table.f, numerator: table.between_freedom, denominator: table.within_freedom, p: table.p })
}

/// Kruskal-Wallis test on ranks, corrected for equal values; p from chi-squared (rough below five values a group).
pub fn kruskal_wallis(groups: &[&[f64]]) -> Result<ChiSquaredTest, Refusal> {
    let method = "the Kruskal-Wallis test";
    require_groups(groups, 1, method)?;
    let mut all: Vec<(f64, usize)> =
        groups.iter().enumerate().flat_map(|(g, values)| values.iter().map(move |v| (*v, g))).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = all.len() as f64;
    let mut rank_sums = vec![0.0; groups.len()];
    let mut ties = 0.0;
    let mut from = 0;
    while from < all.len() {
        let to = from + all[from..].iter().take_while(|v| v.0 == all[from].0).count();
        let count = (to - from) as f64;
        let rank = 0.5 * (from + 1 + to) as f64;
        ties += count * count * count - count;
        for (_, group) in &all[from..to] {
            rank_sums[*group] += rank;
        }
        from = to;
    }
    let correction = 1.0 - ties / (n * n * n - n);
    if !is_above(correction, 0.0) {
        return Err(Refusal::NoSpread { method });
    }
    let squares: f64 = rank_sums
        .iter()
        .zip(groups)
        .map(|(sum, g)| {
            let away = sum / g.len() as f64 - 0.5 * (n + 1.0);
            g.len() as f64 * away * away
        })
        .sum();
    let statistic = 12.0 / (n * (n + 1.0)) * squares / correction;
    let degrees_of_freedom = (groups.len() - 1) as f64;
    Ok(ChiSquaredTest { statistic, degrees_of_freedom, p: chi_squared_tails(statistic, degrees_of_freedom).upper })
}

/// How far specimens of one batch stand together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatchEffect {
    /// Share of the variance that lies between batches, 0 to 1.
    pub between_share: f64,
    /// Number of independent specimens the whole is worth for its mean.
    pub effective_n: f64,
    /// Number of specimens.
    pub n: usize,
    /// Analysis of variance behind it.
    pub anova: Anova,
}

/// Intraclass correlation of batches and the effective number of specimens n/(1 + (n0 - 1)ρ).
///
/// Components of variance by the method of moments; Kish 1965, Survey Sampling (design effect, memory). Two batches of three
/// that differ much are worth about two specimens, not six.
pub fn batch_effect(batches: &[&[f64]]) -> Result<BatchEffect, Refusal> {
    let table = anova(batches)?;
    let n: usize = batches.iter().map(|b| b.len()).sum();
    let squares: f64 = batches.iter().map(|b| (b.len() * b.len()) as f64).sum();
    let typical = (n as f64 - squares / n as f64) / table.between_freedom;
    let between = table.between / table.between_freedom;
    let within = table.within / table.within_freedom;
    let between_share = ((between - within) / (between + (typical - 1.0) * within)).clamp(0.0, 1.0);
    Ok(BatchEffect { between_share, effective_n: n as f64 / (1.0 + (typical - 1.0) * between_share), n, anova: table })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_batches_of_three_are_worth_about_two() {
        let effect = batch_effect(&[&[812.0, 857.0, 790.0], &[655.0, 702.0, 731.0]]).unwrap();
        assert!((effect.effective_n - 2.23).abs() < 0.01, "{effect:?}");
        // By hand: equal batch means give no share between.
        let same = batch_effect(&[&[1.0, 2.0, 3.0], &[0.0, 2.0, 4.0]]).unwrap();
        assert_eq!((same.between_share, same.effective_n), (0.0, 6.0));
    }

    /// Two groups: F is the square of the pooled t, here by hand 2·(3-1)²/… = 6 with 1 and 4 degrees of freedom.
    #[test]
    fn two_groups_by_hand() {
        let table = anova(&[&[0.0, 1.0, 2.0], &[2.0, 3.0, 4.0]]).unwrap();
        assert_eq!((table.between, table.within, table.f), (6.0, 4.0, 6.0));
    }

    #[test]
    fn refusals() {
        assert!(anova(&[&[1.0, 2.0]]).is_err());
        assert!(anova(&[&[1.0], &[2.0]]).is_err());
        assert!(anova(&[&[1.0, 1.0], &[2.0, 2.0]]).is_err());
        assert!(anova(&[&[1.0, f64::NAN], &[2.0, 2.0]]).is_err());
        assert!(welch_anova(&[&[1.0, 1.0], &[2.0, 3.0]]).is_err());
        assert!(bartlett(&[&[1.0, 1.0], &[2.0, 3.0]]).is_err());
        assert!(kruskal_wallis(&[&[1.0, 1.0], &[1.0]]).is_err());
    }

    /// Brown-Forsythe on PlantGrowth (R documentation data): F = 1.1191857, p = 0.34122662.
    #[test]
    fn brown_forsythe_published() {
        let test = brown_forsythe(&[
            &[4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14],
            &[4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69],
            &[6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26],
        ])
        .unwrap();
        assert!((test.f - 1.1191857).abs() < 1e-6 && (test.p - 0.34122662).abs() < 1e-6);
    }
}
