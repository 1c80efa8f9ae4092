//! The posterior of a bias on a grid.

use super::{LeftOut, at_least, exact, tau_weight};
use crate::joint::assumption::Assumptions;
use crate::joint::law::{Law, NINETY};
use crate::statistics::distribution::normal_pdf;

/// What the series of one material say of one mode.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Id of the material, or of the study.
    pub material: String,
    /// Whether it is the material asked about, within the scaling limits.
    pub own: bool,
    /// ln (measured / predicted) with its standard deviation, for specimens that failed in this mode.
    pub exact: Vec<(f64, f64)>,
    /// The same for specimens that held at least so much.
    pub censored: Vec<(f64, f64)>,
    /// Further doubt common to the group (strength behind the prediction, scaling), log standard deviation.
    pub extra: f64,
    /// Specimens.
    pub n: usize,
}

/// What is known of a bias.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Spread of the bias of the next material, or of the one asked about.
    pub law: Law,
    /// Median, 5 % and 95 % point of the bias.
    pub median: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
    /// Groups behind it.
    pub groups: Vec<Group>,
    /// Whether a group of the material asked about is among them.
    pub own: bool,
    /// Leave-one-out check, where there are two groups or more.
    pub left_out: Option<LeftOut>,
}

/// Numbers of the prior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    bias_sd: f64,
    between_sd: f64,
}

impl Settings {
    /// From the assumptions.
    pub fn of(assumptions: &Assumptions) -> Settings {
        Settings { bias_sd: assumptions.value("bias_sd"), between_sd: assumptions.value("bias_between_sd") }
    }
}

const BIAS_STEPS: usize = 161;
const MU_STEPS: usize = 41;
const TAU_STEPS: usize = 16;

struct Grid {
    bias: Vec<f64>,
    /// (mu, tau, prior weight).
    nodes: Vec<(f64, f64, f64)>,
}

impl Grid {
    fn of(settings: &Settings) -> Grid {
        let widest = 3.0 * (settings.bias_sd + 2.0 * settings.between_sd).max(0.2);
        let along = |from: f64, to: f64, steps: usize| -> Vec<f64> {
            (0..steps).map(|i| from + (to - from) * i as f64 / (steps - 1) as f64).collect()
        };
        let mus = along(-3.5 * settings.bias_sd, 3.5 * settings.bias_sd, MU_STEPS);
        // The smallest tau is not zero, so that no weight is a spike between grid points.
        let taus = along(0.05 * settings.between_sd, 3.2 * settings.between_sd, TAU_STEPS);
        let mut nodes = Vec::with_capacity(MU_STEPS * TAU_STEPS);
        for &mu in &mus {
            for &tau in &taus {
                nodes.push((mu, tau, normal_pdf(mu / settings.bias_sd) * tau_weight(tau, settings.between_sd)));
            }
        }
        Grid { bias: along(-widest, widest, BIAS_STEPS), nodes }
    }
    /// Likelihood of a group at each bias of the grid, its common doubt folded in by the caller.
    fn likelihood(&self, group: &Group) -> Vec<f64> {
        // In logarithms, so that many specimens do not underflow.
        let ln = |b: f64| -> f64 {
            let seen: f64 = group.exact.iter().map(|(y, s)| libm::log(exact(*y, *s, b).max(1e-300))).sum();
            let held: f64 = group.censored.iter().map(|(y, s)| libm::log(at_least(*y, *s, b).max(1e-300))).sum();
            seen + held
        };
        let all: Vec<f64> = self.bias.iter().map(|b| ln(*b)).collect();
        let top = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        all.into_iter().map(|l| libm::exp(l - top)).collect()
    }
    /// Density of a bias N(mu, sd) at each point of the grid, summing to one.
    fn normal(&self, mu: f64, sd: f64) -> Vec<f64> {
        let step = self.bias[1] - self.bias[0];
        self.bias.iter().map(|b| normal_pdf((b - mu) / sd) / sd * step).collect()
    }
    /// Weights of the nodes after the groups.
    fn weights(&self, groups: &[&Group]) -> Vec<f64> {
        let likelihoods: Vec<(Vec<f64>, f64)> = groups.iter().map(|g| (self.likelihood(g), g.extra)).collect();
        let mut weights: Vec<f64> = self
            .nodes
            .iter()
            .map(|&(mu, tau, prior)| {
                likelihoods.iter().fold(prior, |w, (l, extra)| {
                    let density = self.normal(mu, libm::hypot(tau, *extra));
                    w * l.iter().zip(&density).map(|(a, b)| a * b).sum::<f64>()
                })
            })
            .collect();
        let sum: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|w| *w /= sum);
        weights
    }
    /// Density of the bias of a new material.
    fn predictive(&self, weights: &[f64]) -> Vec<f64> {
        let mut density = vec![0.0; self.bias.len()];
        for (&(mu, tau, _), w) in self.nodes.iter().zip(weights) {
            if *w > 1e-12 {
                for (d, n) in density.iter_mut().zip(self.normal(mu, tau)) {
                    *d += w * n;
                }
            }
        }
        density
    }
    /// A density times a likelihood, then widened by a doubt.
    fn after(&self, density: &[f64], group: &Group) -> Vec<f64> {
        let product: Vec<f64> = density.iter().zip(self.likelihood(group)).map(|(d, l)| d * l).collect();
        if group.extra <= 0.0 {
            return product;
        }
        let mut wide = vec![0.0; product.len()];
        for (b, p) in self.bias.iter().zip(&product) {
            for (w, n) in wide.iter_mut().zip(self.normal(*b, group.extra)) {
                *w += p * n;
            }
        }
        wide
    }
    fn law(&self, density: &[f64]) -> Law {
        let total: f64 = density.iter().sum();
        let mut sum = 0.0;
        let below = density.iter().map(|d| {
            let here = sum + d / 2.0;
            sum += d;
            (here / total).clamp(0.0, 1.0)
        });
        let below: Vec<f64> = below.collect();
        Law::LogTable { at: self.bias.clone(), below }
    }
}

/// The posterior after these groups: of the material asked about where one of them is, else of the next material.
pub fn posterior(groups: &[Group], settings: &Settings) -> Posterior {
    let grid = Grid::of(settings);
    let others: Vec<&Group> = groups.iter().filter(|g| !g.own).collect();
    let density = grid.predictive(&grid.weights(&others));
    let own = groups.iter().find(|g| g.own && !(g.exact.is_empty() && g.censored.is_empty()));
    let law = match own {
        Some(group) => grid.law(&grid.after(&density, group)),
        None => grid.law(&density),
    };
    let quantile = |p: f64| law_quantile(&law, p);
    Posterior {
        median: quantile(0.5),
        low: quantile(0.05),
        high: quantile(0.95),
        own: own.is_some(),
        left_out: left_out(&grid, groups),
        groups: groups.to_vec(),
        law,
    }
}

fn law_quantile(law: &Law, p: f64) -> f64 {
    let Law::LogTable { at, below } = law else { return f64::NAN };
    let place = below.partition_point(|b| *b < p).clamp(1, at.len() - 1);
    let (b0, b1) = (below[place - 1], below[place]);
    let share = if b1 > b0 { ((p - b0) / (b1 - b0)).clamp(0.0, 1.0) } else { 0.5 };
    libm::exp(at[place - 1] + (at[place] - at[place - 1]) * share)
}

fn left_out(grid: &Grid, groups: &[Group]) -> Option<LeftOut> {
    let seen: Vec<&Group> = groups.iter().filter(|g| !g.exact.is_empty()).collect();
    if seen.len() < 2 {
        return None;
    }
    let held = seen.iter().enumerate().filter(|(i, group)| {
        let others: Vec<&Group> = seen.iter().enumerate().filter(|(j, _)| j != i).map(|(_, g)| *g).collect();
        let density = grid.predictive(&grid.weights(&others));
        let law = grid.law(&density);
        let mean = group.exact.iter().map(|(y, _)| y).sum::<f64>() / group.exact.len() as f64;
        let slack = group.extra * NINETY;
        let (low, high) = (libm::log(law_quantile(&law, 0.05)) - slack, libm::log(law_quantile(&law, 0.95)) + slack);
        (low..=high).contains(&mean)
    });
    Some(LeftOut { tried: seen.len(), held: held.count() })
}

#[cfg(test)]
mod tests {
    use super::*;

    const SETTINGS: Settings = Settings { bias_sd: 0.5, between_sd: 0.4 };

    fn group(y: f64, n: usize, own: bool) -> Group {
        Group { material: "m".into(), own, exact: vec![(y, 0.1); n], censored: Vec::new(), extra: 0.0, n }
    }

    fn sd(p: &Posterior) -> f64 {
        libm::log(p.high / p.low) / (2.0 * NINETY)
    }

    #[test]
    fn the_prior_has_the_variance_of_its_parts() {
        // Hand: variance of ln bias = 0.5² + E[tau²] = 0.25 + 0.16 (a half-normal has second moment scale²).
        let prior = posterior(&[], &SETTINGS);
        assert!((prior.median - 1.0).abs() < 1e-6);
        assert!((sd(&prior) - libm::sqrt(0.41)).abs() < 0.03, "{}", sd(&prior));
    }

    #[test]
    fn one_material_with_known_tau_agrees_with_the_conjugate_formula() {
        // Hand: with tau nearly fixed at zero spread of its scale the posterior of mu is normal:
        // precision 1/0.25 + 1/(tau² + 0.1²/4), predictive variance that plus tau².
        let tight = Settings { bias_sd: 0.5, between_sd: 0.001 };
        let after = posterior(&[group(0.3, 4, false)], &tight);
        let precision = 4.0 + 1.0 / 0.0025;
        let mean = 0.3 / 0.0025 / precision;
        assert!((libm::log(after.median) - mean).abs() < 0.03, "{} against {mean}", libm::log(after.median));
    }

    #[test]
    fn series_narrow_and_own_series_narrow_most() {
        let prior = posterior(&[], &SETTINGS);
        let one = posterior(&[group(0.05, 3, false)], &SETTINGS);
        let own = posterior(&[group(0.05, 3, false), group(0.2, 5, true)], &SETTINGS);
        assert!(sd(&one) < sd(&prior) && sd(&own) < 0.5 * sd(&one), "{} {} {}", sd(&prior), sd(&one), sd(&own));
        assert!((libm::log(own.median) - 0.2).abs() < 0.05);
    }

    #[test]
    fn censored_specimens_push_up_only() {
        let mut held = group(0.0, 0, true);
        held.censored = vec![(0.5, 0.1); 5];
        let after = posterior(&[held], &SETTINGS);
        assert!(after.low > 1.4, "5 % point {}", after.low);
        let mut weak = group(0.0, 0, true);
        weak.censored = vec![(-1.5, 0.1); 5];
        let prior = posterior(&[], &SETTINGS);
        let nothing = posterior(&[weak], &SETTINGS);
        assert!((libm::log(nothing.median / prior.median)).abs() < 0.05);
    }
}
