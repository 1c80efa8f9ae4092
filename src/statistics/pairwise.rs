//! Comparisons within a family: all pairs (Tukey, Games-Howell), all against a reference (Dunnett, Holm on Welch), and
//! adjustment of a list of p.
//!
//! Sources: NIST/SEMATECH e-Handbook 7.4.7.1 (Tukey); Tukey-Kramer for unequal sizes; Games and Howell 1976, Journal of
//! Educational Statistics 1:113; Dunnett 1955, JASA 50:1096; Holm 1979, Scandinavian Journal of Statistics 6:65;
//! Benjamini and Hochberg 1995, JRSS B 57:289; Hommel 1988, Biometrika 75:383 (all from memory).

use super::compare::welch;
use super::interval::Interval;
use super::many::anova;
use super::refusal::{Refusal, require, require_positive, require_probability};
use super::studentized::{dunnett_quantile, dunnett_sf, studentized_range_quantile, studentized_range_sf};
use super::summary::moments;

/// One comparison of the family.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairComparison {
    /// Position of the group subtracted (for a reference: the reference).
    pub from: usize,
    /// Position of the other group.
    pub to: usize,
    /// Mean of `to` minus mean of `from`, in the unit of the values.
    pub difference: f64,
    /// Interval of the difference; holds for all of the family at once, except for Holm, where it is that of the pair alone.
    pub interval: Interval,
    /// p adjusted for the family.
    pub p: f64,
}

/// Tukey's comparison of all pairs (Tukey-Kramer when sizes differ), spreads taken as equal.
pub fn tukey(groups: &[&[f64]], confidence: f64) -> Result<Vec<PairComparison>, Refusal> {
    let table = anova(groups)?;
    let means = groups.iter().map(|g| Ok(moments(g)?.mean)).collect::<Result<Vec<_>, Refusal>>()?;
    let sizes: Vec<usize> = groups.iter().map(|g| g.len()).collect();
    tukey_from_means(&means, &sizes, table.residual_sd, table.within_freedom, confidence)
}

/// Tukey's comparison from means, sizes and a residual standard deviation of any model.
pub fn tukey_from_means(
    means: &[f64],
    sizes: &[usize],
    residual_sd: f64,
    degrees_of_freedom: f64,
    confidence: f64,
) -> Result<Vec<PairComparison>, Refusal> {
    require(means, 2, "Tukey's comparison")?;
    require_positive("residual standard deviation", residual_sd)?;
    require_positive("degrees of freedom", degrees_of_freedom)?;
    require_probability("confidence", confidence)?;
    if sizes.len() != means.len() || sizes.contains(&0) {
        return Err(Refusal::Mismatch { what: "every mean needs its number of values" });
    }
    let reach = studentized_range_quantile(confidence, means.len(), degrees_of_freedom);
    Ok(pairs(means.len(), |from, to| {
        let inverse = 1.0 / sizes[from] as f64 + 1.0 / sizes[to] as f64;
        let unit = residual_sd * libm::sqrt(0.5 * inverse);
        let difference = means[to] - means[from];
        PairComparison {
            from,
            to,
            difference,
            interval: Interval { low: difference - reach * unit, high: difference + reach * unit, confidence },
            p: studentized_range_sf(difference.abs() / unit, means.len(), degrees_of_freedom),
        }
    }))
}

fn pairs(count: usize, make: impl Fn(usize, usize) -> PairComparison) -> Vec<PairComparison> {
    let mut list = Vec::with_capacity(count * (count - 1) / 2);
    for from in 0..count {
        for to in from + 1..count {
            list.push(make(from, to));
        }
    }
    list
}

/// Games-Howell comparison of all pairs, for unequal spreads; every group needs two values and some spread.
pub fn games_howell(groups: &[&[f64]], confidence: f64) -> Result<Vec<PairComparison>, Refusal> {
    let method = "the Games-Howell comparison";
    require_probability("confidence", confidence)?;
    if groups.len() < 2 {
        return Err(Refusal::TooFew { method, needed: 2, given: groups.len() });
    }
    let mut rows = Vec::with_capacity(groups.len());
    for group in groups {
        require(group, 2, method)?;
        let m = moments(group)?;
        if m.sum_of_squares == 0.0 {
            return Err(Refusal::NoSpread { method });
        }
        rows.push(m);
    }
    Ok(pairs(groups.len(), |from, to| {
        let (a, b) = (rows[from], rows[to]);
        let (va, vb) = (a.variance() / a.n as f64, b.variance() / b.n as f64);
        let sum = va + vb;
        let freedom = sum * sum / (va * va / (a.n - 1) as f64 + vb * vb / (b.n - 1) as f64);
        let unit = libm::sqrt(0.5 * sum);
        let difference = b.mean - a.mean;
        let reach = unit * studentized_range_quantile(confidence, groups.len(), freedom);
        PairComparison {
            from,
            to,
            difference,
            interval: Interval { low: difference - reach, high: difference + reach, confidence },
            p: studentized_range_sf(difference.abs() / unit, groups.len(), freedom),
        }
    }))
}

/// Dunnett's two-sided comparison of every group with the group at `reference`, spreads taken as equal.
pub fn dunnett(groups: &[&[f64]], reference: usize, confidence: f64) -> Result<Vec<PairComparison>, Refusal> {
    require_probability("confidence", confidence)?;
    require_reference(groups.len(), reference)?;
    let table = anova(groups)?;
    let base = moments(groups[reference])?;
    let others: Vec<usize> = (0..groups.len()).filter(|i| *i != reference).collect();
    let sizes: Vec<usize> = others.iter().map(|i| groups[*i].len()).collect();
    let reach = dunnett_quantile(confidence, &sizes, base.n, table.within_freedom);
    let mut list = Vec::with_capacity(others.len());
    for to in others {
        let m = moments(groups[to])?;
        let unit = table.residual_sd * libm::sqrt(1.0 / m.n as f64 + 1.0 / base.n as f64);
        let difference = m.mean - base.mean;
        list.push(PairComparison {
            from: reference,
            to,
            difference,
            interval: Interval { low: difference - reach * unit, high: difference + reach * unit, confidence },
            p: dunnett_sf(difference.abs() / unit, &sizes, base.n, table.within_freedom),
        });
    }
    Ok(list)
}

/// Welch's t of every group against the reference, p adjusted by Holm; for unequal spreads.
pub fn holm_against_reference(groups: &[&[f64]], reference: usize, confidence: f64) -> Result<Vec<PairComparison>, Refusal> {
    require_reference(groups.len(), reference)?;
    let mut list = Vec::with_capacity(groups.len() - 1);
    for (to, group) in groups.iter().enumerate() {
        if to != reference {
            let test = welch(group, groups[reference], confidence)?;
            list.push(PairComparison { from: reference, to, difference: test.difference, interval: test.interval, p: test.p });
        }
    }
    let raw: Vec<f64> = list.iter().map(|c| c.p).collect();
    for (comparison, p) in list.iter_mut().zip(adjust(&raw, Adjustment::Holm)?) {
        comparison.p = p;
    }
    Ok(list)
}

fn require_reference(groups: usize, reference: usize) -> Result<(), Refusal> {
    if reference >= groups {
        return Err(Refusal::Mismatch { what: "the reference is not among the groups" });
    }
    Ok(())
}

/// How a list of p is adjusted for its length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjustment {
    /// p times their number.
    Bonferroni,
    /// Holm's step-down; never worse than Bonferroni.
    Holm,
    /// Hommel's; needs independent or positively dependent tests.
    Hommel,
    /// Benjamini and Hochberg's false discovery rate.
    BenjaminiHochberg,
}

/// Adjusted p in the order given; refused when a p lies outside 0 to 1.
pub fn adjust(p: &[f64], adjustment: Adjustment) -> Result<Vec<f64>, Refusal> {
    if let Some(bad) = p.iter().find(|p| !(0.0..=1.0).contains(*p)) {
        return Err(Refusal::OutOfRange { argument: "p", value: *bad, allowed: "0 to 1" });
    }
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*a].total_cmp(&p[*b]));
    let rising: Vec<f64> = order.iter().map(|i| p[*i]).collect();
    let adjusted = match adjustment {
        Adjustment::Bonferroni => rising.iter().map(|v| v * p.len() as f64).collect(),
        Adjustment::Holm => holm(&rising),
        Adjustment::Hommel => hommel(&rising),
        Adjustment::BenjaminiHochberg => benjamini_hochberg(&rising),
    };
    let mut result = vec![0.0; p.len()];
    for (place, value) in order.into_iter().zip(adjusted) {
        result[place] = value.min(1.0);
    }
    Ok(result)
}

fn holm(rising: &[f64]) -> Vec<f64> {
    let mut highest = 0.0_f64;
    rising
        .iter()
        .enumerate()
        .map(|(i, v)| {
            highest = highest.max(v * (rising.len() - i) as f64);
            highest
        })
        .collect()
}

fn benjamini_hochberg(rising: &[f64]) -> Vec<f64> {
    let mut lowest = 1.0_f64;
    let mut list: Vec<f64> = rising
        .iter()
        .enumerate()
        .rev()
        .map(|(i, v)| {
            lowest = lowest.min(v * rising.len() as f64 / (i + 1) as f64);
            lowest
        })
        .collect();
    list.reverse();
    list
}

/// Hommel's adjustment in Wright's form (Biometrics 1992, 48:1005, memory).
fn hommel(rising: &[f64]) -> Vec<f64> {
    let n = rising.len();
    let mut adjusted = rising.to_vec();
    for m in (2..=n).rev() {
        let tail = n - m;
        let smallest = (tail + 1..=n).map(|i| m as f64 * rising[i - 1] / (m + i - n) as f64).fold(f64::INFINITY, f64::min);
        for value in &mut adjusted[tail..] {
            *value = value.max(smallest);
        }
        for i in 0..tail {
            adjusted[i] = adjusted[i].max(smallest.min(m as f64 * rising[i]));
        }
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    const CONTROL: &[f64] = &[7.40, 8.50, 7.20, 8.24, 9.84, 8.32];
    const DRUG_A: &[f64] = &[9.76, 8.80, 7.68, 9.36];
    const DRUG_B: &[f64] = &[12.80, 9.68, 12.16, 9.20, 10.55];

    /// Blood counts of Dunnett 1955; a statistics library documents p = 0.62004941 and 0.0058035 (memory), found by
    /// random integration good to about 2e-4; the closer values are a double integral by an independent quadrature.
    #[test]
    fn dunnett_blood_counts() {
        let list = dunnett(&[CONTROL, DRUG_A, DRUG_B], 0, 0.95).unwrap();
        assert!((list[0].p - 0.62004941).abs() < 1e-4, "{}", list[0].p);
        assert!((list[1].p - 0.0058035).abs() < 2e-4, "{}", list[1].p);
        assert!(list[0].interval.holds(0.0) && !list[1].interval.holds(0.0));
    }

    /// Games-Howell on PlantGrowth: trt2 - trt1 p = 0.0237 (independent library).
    #[test]
    fn games_howell_published() {
        let list = games_howell(
            &[
                &[4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14],
                &[4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69],
                &[6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26],
            ],
            0.95,
        )
        .unwrap();
        let pair = list.iter().find(|c| (c.from, c.to) == (1, 2)).unwrap();
        assert!((pair.p - 0.0237).abs() < 6e-5, "{}", pair.p);
    }

    #[test]
    fn holm_never_below_raw_and_reference_checked() {
        let groups = [CONTROL, DRUG_A, DRUG_B];
        let list = holm_against_reference(&groups, 0, 0.95).unwrap();
        for c in &list {
            let raw = welch(groups[c.to], groups[0], 0.95).unwrap().p;
            assert!(c.p >= raw);
        }
        assert!(dunnett(&groups, 3, 0.95).is_err());
        assert!(adjust(&[0.2, f64::NAN], Adjustment::Holm).is_err());
        assert_eq!(adjust(&[], Adjustment::Hommel), Ok(vec![]));
    }
}
