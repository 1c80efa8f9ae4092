//! Two-parameter Weibull distribution by maximum likelihood, with right censoring.
//!
//! P(failure below x) = 1 - exp(-(x/s0)^m). The shape m solves Σx^m ln x/Σx^m - 1/m - mean(ln x) = 0, sums over all
//! specimens, the mean over the failures only; s0 = (Σx^m/failures)^(1/m). One failure mode only: other modes are censored.
//! Sources: ASTM C1239 section 8 and ISO 20501:2019 6.4, 6.5 (bias and confidence; headings seen, text from memory);
//! pivotal intervals Thoman, Bain and Antle 1969, Technometrics 11:445; conditional bound of a quantile Lawless 1982,
//! Statistical Models and Methods for Lifetime Data, 4.1.2 (memory).

use super::distribution::normal_quantile;
use super::interval::Interval;
use super::refusal::{Refusal, logarithms, require_probability};
use super::special::{NODES, gamma_tails, ln_gamma, root_between, root_increasing};
use super::summary::{exact_sum, moments};
use super::weibull_table::{BIAS, BiasRow, Quantiles};

/// Fewest failures for which a fit is given: the shape from three is biased by a factor of 2.3.
pub const FEWEST_FAILURES: usize = 5;

/// Below this many failures a fit should carry a warning.
pub const FEW_FAILURES: usize = 10;

/// A fitted Weibull distribution.
#[derive(Debug, Clone, PartialEq)]
pub struct WeibullFit {
    /// Shape m, a pure number: large means little scatter.
    pub shape: f64,
    /// Scale s0, in the unit of the values: 63.2 % have failed there.
    pub scale: f64,
    /// Logarithm of the likelihood, densities in the unit of the values.
    pub log_likelihood: f64,
    /// Number of specimens.
    pub n: usize,
    /// Number that failed; the rest are censored.
    pub failures: usize,
    /// Standard error of ln s0, from the observed information.
    pub se_ln_scale: f64,
    /// Standard error of ln m, from the observed information.
    pub se_ln_shape: f64,
    /// True below ten failures: the intervals are wide.
    pub few: bool,
    /// Standardised logarithms (ln x - ln s0) m of failures, then of censored values.
    ancillary: Vec<f64>,
}

/// The two bases of the handbook of composite materials, both with 95 % confidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// 99 % above.
    A,
    /// 90 % above.
    B,
}

/// How an interval of a Weibull parameter was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeibullMethod {
    /// From the table of pivotal quantities; complete samples only.
    Pivotal,
    /// Normal approximation on the logarithm of the parameter.
    LogWald,
}

/// Intervals of both parameters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeibullIntervals {
    /// Interval of the shape.
    pub shape: Interval,
    /// Interval of the scale, in the unit of the values.
    pub scale: Interval,
    /// How it was found.
    pub method: WeibullMethod,
}

/// Fits failures and right-censored values (both above zero, one unit).
///
/// Refused below five failures, when all failures are equal, or when a value is not above zero.
pub fn weibull_fit(failures: &[f64], censored: &[f64]) -> Result<WeibullFit, Refusal> {
    let method = "the Weibull fit";
    let mut logs = logarithms(failures, method)?;
    if failures.len() < FEWEST_FAILURES {
        return Err(Refusal::TooFew { method: "the Weibull fit (failures)", needed: FEWEST_FAILURES, given: failures.len() });
    }
    let failed = logs.len();
    let centre = moments(&logs)?;
    if centre.sum_of_squares == 0.0 {
        return Err(Refusal::NoSpread { method });
    }
    logs.extend(logarithms(censored, method).map_err(|r| shift_index(r, failed))?);
    let shape = solve_shape(&logs, centre.mean, centre.variance());
    if !(shape.is_finite() && shape > 0.0) {
        return Err(Refusal::NoConvergence { method });
    }
    let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let power_sum = exact_sum(logs.iter().map(|y| libm::exp(shape * (y - highest))));
    let ln_scale = highest + libm::log(power_sum / failed as f64) / shape;
    let ancillary: Vec<f64> = logs.iter().map(|y| shape * (y - ln_scale)).collect();
    let errors = standard_errors(&ancillary, failed, shape).ok_or(Refusal::NoConvergence { method })?;
    let ln_shape = libm::log(shape);
    let log_likelihood = exact_sum(ancillary[..failed].iter().zip(&logs).map(|(z, y)| ln_shape + z - y))
        - exact_sum(ancillary.iter().map(|z| libm::exp(*z)));
    Ok(WeibullFit {
        shape,
        scale: libm::exp(ln_scale),
        log_likelihood,
        n: logs.len(),
        failures: failed,
        se_ln_scale: errors.ln_scale,
        se_ln_shape: errors.ln_shape,
        few: failed < FEW_FAILURES,
        ancillary,
    })
}

fn shift_index(refusal: Refusal, by: usize) -> Refusal {
    match refusal {
        Refusal::NotFinite { index } => Refusal::NotFinite { index: index + by },
        Refusal::NotPositive { method, index } => Refusal::NotPositive { method, index: index + by },
        other => other,
    }
}

/// Root of the likelihood equation, which rises with m; start 1.2/sd(ln x).
fn solve_shape(logs: &[f64], mean_of_failures: f64, variance: f64) -> f64 {
    let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let equation = |ln_shape: f64| {
        let m = libm::exp(ln_shape);
        let weight = |y: &f64| libm::exp(m * (y - highest));
        let below = exact_sum(logs.iter().map(weight));
        let above = exact_sum(logs.iter().map(|y| weight(y) * (y - highest)));
        above / below - 1.0 / m - (mean_of_failures - highest)
    };
    libm::exp(root_increasing(libm::log(1.2 / libm::sqrt(variance)), 0.3, equation))
}

struct Errors {
    ln_scale: f64,
    ln_shape: f64,
}

/// Standard errors from the observed information in (ln s0, ln 1/m).
fn standard_errors(ancillary: &[f64], failed: usize, shape: f64) -> Option<Errors> {
    let (mut e0, mut e1, mut e2) = (0.0, 0.0, 0.0);
    for z in ancillary {
        let e = libm::exp(*z);
        e0 += e;
        e1 += e * z;
        e2 += e * z * z;
    }
    let sum_failed: f64 = ancillary[..failed].iter().sum();
    let d = failed as f64;
    let scale_scale = e0 * shape * shape;
    let scale_spread = shape * (e0 + e1 - d);
    let spread_spread = e1 + e2 - sum_failed;
    let determinant = scale_scale * spread_spread - scale_spread * scale_spread;
    (determinant > 0.0)
        .then(|| Errors { ln_scale: libm::sqrt(spread_spread / determinant), ln_shape: libm::sqrt(scale_scale / determinant) })
}

impl WeibullFit {
    /// Quantile: value below which the fraction `p` fails, in the unit of the values.
    pub fn quantile(&self, p: f64) -> Result<f64, Refusal> {
        require_probability("probability", p)?;
        Ok(self.scale * libm::pow(-libm::log1p(-p), 1.0 / self.shape))
    }

    /// Mean s0 Γ(1 + 1/m), in the unit of the values.
    pub fn mean(&self) -> f64 {
        self.scale * libm::exp(ln_gamma(1.0 + 1.0 / self.shape))
    }

    /// Shape freed of its bias: m̂ times the unbiasing factor; complete samples only.
    pub fn unbiased_shape(&self) -> Result<f64, Refusal> {
        self.require_complete()?;
        Ok(self.shape * unbiasing_factor(self.n)?)
    }

    fn require_complete(&self) -> Result<(), Refusal> {
        if self.failures == self.n {
            Ok(())
        } else {
            Err(Refusal::Mismatch { what: "the bias table is for samples without censored values" })
        }
    }

    /// Intervals by the normal approximation on ln m and ln s0.
    pub fn log_wald_intervals(&self, confidence: f64) -> Result<WeibullIntervals, Refusal> {
        require_probability("confidence", confidence)?;
        let z = normal_quantile(0.5 * (1.0 + confidence));
        let around = |value: f64, error: f64| Interval {
            low: value * libm::exp(-z * error),
            high: value * libm::exp(z * error),
            confidence,
        };
        Ok(WeibullIntervals {
            shape: around(self.shape, self.se_ln_shape),
            scale: around(self.scale, self.se_ln_scale),
            method: WeibullMethod::LogWald,
        })
    }

    /// Intervals from the pivotal table at 80, 90 or 95 % confidence; complete samples only.
    pub fn pivotal_intervals(&self, confidence: f64) -> Result<WeibullIntervals, Refusal> {
        self.require_complete()?;
        let pivots = weibull_pivots(self.n, confidence)?;
        Ok(WeibullIntervals {
            shape: Interval { low: self.shape / pivots.shape.high, high: self.shape / pivots.shape.low, confidence },
            scale: Interval {
                low: self.scale * libm::exp(-pivots.scale.high / self.shape),
                high: self.scale * libm::exp(-pivots.scale.low / self.shape),
                confidence,
            },
            method: WeibullMethod::Pivotal,
        })
    }

    /// Lower confidence bound of the quantile below which 1 - `coverage` fail, in the unit of the values.
    ///
    /// Conditional on the standardised values (Lawless 1982): exact for complete and for Type II censored samples,
    /// approximate for other censoring. With coverage 0.90 and confidence 0.95 it is the Weibull B basis.
    pub fn lower_bound(&self, coverage: f64, confidence: f64) -> Result<f64, Refusal> {
        require_probability("coverage", coverage)?;
        require_probability("confidence", confidence)?;
        let aim = libm::log(-libm::log(coverage));
        let density = Conditional::new(&self.ancillary, self.failures);
        let reach = root_increasing(-aim, 1.0, |t| density.probability(aim, t) - confidence);
        Ok(self.scale * libm::exp(-reach / self.shape))
    }

    /// A or B basis by the approximation of CMH-17-1G 8.3.5 (formula from memory; it gives the printed worked example).
    ///
    /// Bound = quantile · exp(-V/(m √n)); complete samples only. [`WeibullFit::lower_bound`] needs no approximation and lies
    /// within half a percent of it on the worked example.
    pub fn handbook_basis(&self, basis: Basis) -> Result<f64, Refusal> {
        self.require_complete()?;
        let n = self.n as f64;
        let (fails, v) = match basis {
            Basis::B => (0.10, 3.803 + libm::exp(1.79 - 0.516 * libm::log(n) + 5.1 / (n - 1.0))),
            Basis::A => (0.01, 6.649 + libm::exp(2.55 - 0.526 * libm::log(n) + 4.76 / n)),
        };
        Ok(self.quantile(fails)? * libm::exp(-v / (self.shape * libm::sqrt(n))))
    }
}

/// Density of z = σ̂/σ given the standardised values, z^(r-2) exp(z Σ_failed a)/(Σ_all e^(za))^r, as weights on nodes.
struct Conditional {
    failed: f64,
    nodes: Vec<ConditionalNode>,
}

struct ConditionalNode {
    z: f64,
    /// ln Σ e^(za).
    ln_sum: f64,
    /// Share of the whole density.
    weight: f64,
}

impl Conditional {
    const PANELS: usize = 40;

    fn new(all: &[f64], failed: usize) -> Self {
        let r = failed as f64;
        let sum_failed: f64 = all[..failed].iter().sum();
        // Logarithm of the density of x = ln z, without its constant.
        let ln_value = |x: f64| {
            let z = libm::exp(x);
            (r - 1.0) * x + z * sum_failed - r * ln_sum(all, z)
        };
        // It has one peak, near z = 1.
        let peak = root_between(-4.0, 4.0, |x| ln_value(x - 1e-4) - ln_value(x + 1e-4));
        let top = ln_value(peak);
        let reach = |direction: f64| {
            let mut width = 0.02;
            while ln_value(peak + direction * width) > top - 38.0 && width < 60.0 {
                width *= 1.25;
            }
            direction * width
        };
        let (low, high) = (peak + reach(-1.0), peak + reach(1.0));
        let half = 0.5 * (high - low) / Self::PANELS as f64;
        let mut nodes = Vec::with_capacity(Self::PANELS * NODES.len());
        for i in 0..Self::PANELS {
            let middle = low + half * (2 * i + 1) as f64;
            nodes.extend(NODES.iter().map(|node| {
                let x = middle + half * node.at;
                let z = libm::exp(x);
                ConditionalNode { z, ln_sum: ln_sum(all, z), weight: node.weight * libm::exp(ln_value(x) - top) }
            }));
        }
        let whole = exact_sum(nodes.iter().map(|n| n.weight));
        for node in &mut nodes {
            node.weight /= whole;
        }
        Conditional { failed: r, nodes }
    }

    /// P((û - y_p)/σ̂ ≤ t), where y_p is the logarithm of the quantile and `aim` = ln(-ln(1-p)).
    fn probability(&self, aim: f64, t: f64) -> f64 {
        let below = |node: &ConditionalNode| {
            let reached = libm::exp((node.ln_sum + aim + t * node.z).min(700.0));
            node.weight * gamma_tails(self.failed, reached).lower
        };
        exact_sum(self.nodes.iter().map(below))
    }
}

/// ln Σ e^(za), kept from overflowing.
fn ln_sum(all: &[f64], z: f64) -> f64 {
    let highest = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    z * highest + libm::log(all.iter().map(|a| libm::exp(z * (a - highest))).sum())
}

/// Quantiles of the pivotal quantities between which the stated share lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeibullPivots {
    /// Of m̂/m.
    pub shape: Interval,
    /// Of m̂ ln(ŝ0/s0).
    pub scale: Interval,
}

/// Pivotal quantiles for n values at 80, 90 or 95 % confidence; between table sizes straight in 1/√n.
pub fn weibull_pivots(n: usize, confidence: f64) -> Result<WeibullPivots, Refusal> {
    let levels = [(0.95, 0, 5), (0.90, 1, 4), (0.80, 2, 3)];
    let Some((_, low, high)) = levels.into_iter().find(|(level, _, _)| (level - confidence).abs() < 1e-9) else {
        return Err(Refusal::OutOfRange {
            argument: "confidence",
            value: confidence,
            allowed: "0.80, 0.90 or 0.95 for the pivotal table",
        });
    };
    let shape = |i: usize| between(n, 0.5, |row| pick(&row.shape, i));
    let scale = |i: usize| between(n, 0.5, |row| pick(&row.scale, i));
    Ok(WeibullPivots {
        shape: Interval { low: shape(low)?, high: shape(high)?, confidence },
        scale: Interval { low: scale(low)?, high: scale(high)?, confidence },
    })
}

fn pick(quantiles: &Quantiles, i: usize) -> f64 {
    quantiles[i]
}

/// Factor that frees the fitted shape of its bias, 1/E[m̂/m]; n from 3 to 100, between table sizes straight in 1/n.
pub fn unbiasing_factor(n: usize) -> Result<f64, Refusal> {
    between(n, 1.0, |row| row.unbiasing)
}

/// Reads the table at n, straight in n^-power between its rows.
fn between(n: usize, power: f64, column: impl Fn(&BiasRow) -> f64) -> Result<f64, Refusal> {
    let outside =
        Refusal::OutOfRange { argument: "number of values", value: n as f64, allowed: "3 to 100 for the Weibull bias table" };
    let above = BIAS.iter().position(|row| row.n >= n);
    match above {
        Some(i) if BIAS[i].n == n => Ok(column(&BIAS[i])),
        Some(i) if i > 0 => {
            let place = |n: usize| libm::pow(n as f64, -power);
            let (a, b) = (&BIAS[i - 1], &BIAS[i]);
            let share = (place(n) - place(a.n)) / (place(b.n) - place(a.n));
            Ok(column(a) + share * (column(b) - column(a)))
        }
        _ => Err(outside),
    }
}

/// Rough shape from mean and standard deviation, m ≈ 1.10 mean/sd; Applied Sciences 2019;9(8):1575.
pub fn rough_shape(mean: f64, sd: f64) -> Result<f64, Refusal> {
    super::refusal::require_positive("mean", mean)?;
    super::refusal::require_positive("standard deviation", sd)?;
    Ok(1.10 * mean / sd)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refusals() {
        let four = [1.0, 2.0, 3.0, 4.0];
        assert_eq!(weibull_fit(&four, &[]).unwrap_err().needed(), Some(5));
        assert_eq!(weibull_fit(&four, &[5.0; 9]).unwrap_err().needed(), Some(5));
        assert!(matches!(weibull_fit(&[3.0; 6], &[]), Err(Refusal::NoSpread { .. })));
        assert!(matches!(weibull_fit(&[1.0, 2.0, -3.0, 4.0, 5.0], &[]), Err(Refusal::NotPositive { index: 2, .. })));
        assert!(matches!(weibull_fit(&[1.0, 2.0, 3.0, 4.0, 5.0], &[f64::NAN]), Err(Refusal::NotFinite { index: 5 })));
    }

    /// Scaling the values scales s0 and leaves m; a power of them divides m.
    #[test]
    fn equivariance() {
        let x = [21.3, 24.8, 26.1, 27.9, 30.4, 26.6];
        let fit = weibull_fit(&x, &[31.0]).unwrap();
        let big: Vec<f64> = x.iter().map(|v| v * 1e9).collect();
        let scaled = weibull_fit(&big, &[31.0e9]).unwrap();
        assert!((scaled.shape / fit.shape - 1.0).abs() < 1e-10);
        assert!((scaled.scale / fit.scale / 1e9 - 1.0).abs() < 1e-10);
        let square: Vec<f64> = x.iter().map(|v| v * v).collect();
        let squared = weibull_fit(&square, &[31.0 * 31.0]).unwrap();
        assert!((2.0 * squared.shape / fit.shape - 1.0).abs() < 1e-10);
    }

    /// Worked example of CMH-17-1G with 18 specimens prints 125.441 (B) and 109.150 (A).
    #[test]
    fn handbook_basis_as_printed() {
        let fit = weibull_fit(
            &[
                137.4438, 139.5395, 150.89, 141.4474, 141.8203, 151.8821, 143.9245, 132.9732, 136.6419, 138.1723, 148.7668,
                143.283, 143.5429, 141.7023, 137.4732, 152.338, 144.1589, 128.5218,
            ],
            &[],
        )
        .unwrap();
        for (basis, coverage, printed) in [(Basis::B, 0.9, 125.441), (Basis::A, 0.99, 109.150)] {
            let own = fit.handbook_basis(basis).unwrap();
            assert!((own - printed).abs() < 1e-3, "{own}");
            let exact = fit.lower_bound(coverage, 0.95).unwrap();
            assert!((exact / printed - 1.0).abs() < 0.005, "{exact}");
        }
    }

    /// With confidence ½ the bound lies near the quantile itself; more confidence or coverage lowers it.
    #[test]
    fn bound_moves_the_right_way() {
        let fit = weibull_fit(&[21.3, 24.8, 26.1, 27.9, 30.4, 26.6, 25.5, 28.8], &[]).unwrap();
        let at = |coverage, confidence| fit.lower_bound(coverage, confidence).unwrap();
        assert!((at(0.9, 0.5) / fit.quantile(0.1).unwrap() - 1.0).abs() < 0.03);
        assert!(at(0.9, 0.95) < at(0.9, 0.75) && at(0.9, 0.75) < at(0.9, 0.5));
        assert!(at(0.99, 0.75) < at(0.95, 0.75));
    }

    /// Between two table sizes the factor lies between its neighbours.
    #[test]
    fn table_is_read_between_rows() {
        let at = |n| unbiasing_factor(n).unwrap();
        assert!(at(30) < at(35) && at(35) < at(40));
        assert!(unbiasing_factor(2).is_err());
        assert!(unbiasing_factor(101).is_err());
        assert!(weibull_pivots(10, 0.99).is_err());
    }
}
