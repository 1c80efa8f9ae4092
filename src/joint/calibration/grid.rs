//! The posterior of a bias on a grid.

use super::{LeftOut, at_least, exact, tau_weight};
use crate::joint::assumption::Assumptions;
use crate::joint::law::{Law, NINETY};
use crate::statistics::distribution::normal_pdf;
use std::collections::BTreeMap;

/// What the series of one material say of one mode.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Id of the material, or of the study.
    pub material: String,
    /// Class of the material: foam, thermoplastic, photopolymer, ….
    pub class: String,
    /// Whether that is the class of the material asked about; the bias of another class may differ.
    pub same_class: bool,
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
    /// Whether a group of the material asked about, within the scaling limits, is among them.
    pub own: bool,
    /// Leave-one-out check, where there are two groups or more.
    pub left_out: Option<LeftOut>,
}

/// Numbers of the prior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    bias_sd: f64,
    between_sd: f64,
    class_sd: f64,
}

impl Settings {
    /// From the assumptions.
    pub fn of(assumptions: &Assumptions) -> Settings {
        Settings {
            bias_sd: assumptions.value("bias_sd"),
            between_sd: assumptions.value("bias_between_sd"),
            class_sd: assumptions.value("bias_class_sd"),
        }
    }
}

/// Points of the bias grid on each side of zero.
const HALF: usize = 150;
/// Points of the grid of means on each side of zero.
const MEANS: usize = 20;
const TAU_STEPS: usize = 16;

/// A grid of ln bias; means lie on points of it, so that a normal density is one kernel shifted.
struct Grid {
    step: f64,
    bias: Vec<f64>,
    /// Place of the mean on the grid, place of tau, prior weight.
    nodes: Vec<(usize, usize, f64)>,
    taus: Vec<f64>,
    class_sd: f64,
}

impl Grid {
    fn of(settings: &Settings) -> Grid {
        let widest = 3.3 * (settings.bias_sd + settings.between_sd).max(0.1);
        let step = widest / HALF as f64;
        let stride = ((3.5 * settings.bias_sd / MEANS as f64 / step).round() as usize).max(1);
        // The smallest tau is not zero, so that no weight is a spike between grid points.
        let tau = |i: usize| settings.between_sd * (0.05 + 3.15 * i as f64 / (TAU_STEPS - 1) as f64);
        let taus: Vec<f64> = (0..TAU_STEPS).map(tau).collect();
        let bias: Vec<f64> = (0..=2 * HALF).map(|i| (i as f64 - HALF as f64) * step).collect();
        let mut nodes = Vec::with_capacity((2 * MEANS + 1) * TAU_STEPS);
        for k in 0..=2 * MEANS {
            let Some(place) = (HALF + k * stride).checked_sub(MEANS * stride).filter(|p| *p < bias.len()) else { continue };
            for (t, &tau) in taus.iter().enumerate() {
                let prior = normal_pdf(bias[place] / settings.bias_sd) * tau_weight(tau, settings.between_sd);
                nodes.push((place, t, prior));
            }
        }
        Grid { step, bias, nodes, taus, class_sd: settings.class_sd }
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
    /// Normal weights by distance on the grid, from -2·HALF to 2·HALF steps, summing to one.
    fn kernel(&self, sd: f64) -> Vec<f64> {
        let far = 2 * HALF;
        let mut kernel: Vec<f64> = (0..=2 * far).map(|i| normal_pdf((i as f64 - far as f64) * self.step / sd)).collect();
        let sum: f64 = kernel.iter().sum();
        kernel.iter_mut().for_each(|k| *k /= sum);
        kernel
    }
    /// The stretch of a kernel that lies on the grid when its middle lies at a place of it.
    fn shifted<'k>(&self, kernel: &'k [f64], place: usize) -> &'k [f64] {
        &kernel[2 * HALF - place..2 * HALF - place + self.bias.len()]
    }
    /// Weights of the nodes after the groups: those of the class asked about as they are, those of every other class
    /// through one shift of their mean.
    fn weights(&self, groups: &[&Group]) -> Vec<f64> {
        let mut classes: BTreeMap<&str, Vec<&Group>> = BTreeMap::new();
        groups.iter().for_each(|g| classes.entry(if g.same_class { "" } else { &g.class }).or_default().push(g));
        let mut weights: Vec<f64> = self.nodes.iter().map(|n| n.2).collect();
        for (class, groups) in classes {
            let seen = self.seen_at(&groups);
            let seen = if class.is_empty() || self.class_sd <= 0.0 { seen } else { self.shifted_class(&seen) };
            weights.iter_mut().zip(seen).for_each(|(weight, seen)| *weight *= seen);
        }
        let sum: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|w| *w /= sum);
        weights
    }
    /// Likelihood of groups at each node.
    fn seen_at(&self, groups: &[&Group]) -> Vec<f64> {
        let mut seen = vec![1.0; self.nodes.len()];
        for group in groups {
            let likelihood = self.likelihood(group);
            let kernels: Vec<Vec<f64>> = self.taus.iter().map(|t| self.kernel(libm::hypot(*t, group.extra))).collect();
            for (seen, &(place, tau, _)) in seen.iter_mut().zip(&self.nodes) {
                let density = self.shifted(&kernels[tau], place);
                *seen *= likelihood.iter().zip(density).map(|(a, b)| a * b).sum::<f64>();
            }
        }
        seen
    }
    /// A likelihood of the mean of one class as one of the mean of another: their means differ by a normal deviation.
    fn shifted_class(&self, seen: &[f64]) -> Vec<f64> {
        let kernel = self.kernel(self.class_sd);
        let at = |&(place, tau, _): &(usize, usize, f64)| -> f64 {
            let same_tau = self.nodes.iter().zip(seen).filter(|((_, t, _), _)| *t == tau);
            same_tau.map(|((other, ..), seen)| seen * kernel[2 * HALF + other - place]).sum()
        };
        self.nodes.iter().map(at).collect()
    }
    /// Density of the bias of a new material.
    fn predictive(&self, weights: &[f64]) -> Vec<f64> {
        let kernels: Vec<Vec<f64>> = self.taus.iter().map(|t| self.kernel(*t)).collect();
        let mut density = vec![0.0; self.bias.len()];
        for (&(place, tau, _), w) in self.nodes.iter().zip(weights).filter(|(_, w)| **w > 1e-12) {
            for (d, n) in density.iter_mut().zip(self.shifted(&kernels[tau], place)) {
                *d += w * n;
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
        let kernel = self.kernel(group.extra);
        let mut wide = vec![0.0; product.len()];
        for (place, p) in product.iter().enumerate() {
            for (w, n) in wide.iter_mut().zip(self.shifted(&kernel, place)) {
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

impl Posterior {
    /// Whether specimens of the material asked about failed in this mode, within the scaling limits.
    pub fn own_seen(&self) -> bool {
        self.groups.iter().any(|g| g.own && !g.exact.is_empty())
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
        let of_class = |g: &Group| Group { same_class: g.class == group.class, ..g.clone() };
        let others: Vec<Group> = seen.iter().enumerate().filter(|(j, _)| j != i).map(|(_, g)| of_class(g)).collect();
        let density = grid.predictive(&grid.weights(&others.iter().collect::<Vec<_>>()));
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

    const SETTINGS: Settings = Settings { bias_sd: 0.5, between_sd: 0.4, class_sd: 0.2 };

    fn group(y: f64, n: usize, own: bool) -> Group {
        Group {
            material: "m".into(),
            class: "thermoplastic".into(),
            same_class: true,
            own,
            exact: vec![(y, 0.1); n],
            censored: Vec::new(),
            extra: 0.0,
            n,
        }
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
        // Hand: with tau small the posterior of mu is nearly normal with precision 1/0.25 + 1/(tau² + 0.1²/4).
        let tight = Settings { bias_sd: 0.5, between_sd: 0.05, class_sd: 0.2 };
        let after = posterior(&[group(0.3, 4, false)], &tight);
        let doubt = 0.05 * 0.05 + 0.01 / 4.0;
        let mean = 0.3 / doubt / (4.0 + 1.0 / doubt);
        assert!((libm::log(after.median) - mean).abs() < 0.03, "{} against {mean}", libm::log(after.median));
    }

    #[test]
    fn another_class_says_less_by_its_own_doubt() {
        // Hand: as above, with the variance 0.2² of the class added to the observation's.
        let tight = Settings { bias_sd: 0.5, between_sd: 0.05, class_sd: 0.2 };
        let foam = Group { class: "foam".into(), same_class: false, ..group(0.3, 4, false) };
        let doubt = 0.05 * 0.05 + 0.01 / 4.0 + 0.04;
        let mean = 0.3 / doubt / (4.0 + 1.0 / doubt);
        let after = posterior(std::slice::from_ref(&foam), &tight);
        assert!((libm::log(after.median) - mean).abs() < 0.02, "{} against {mean}", libm::log(after.median));
        // Many groups of one foreign class leave the doubt of the class: its deviation 0.2 and that of tau remain.
        let many = posterior(&vec![foam; 30], &tight);
        assert!((0.17..0.25).contains(&sd(&many)), "{}", sd(&many));
        let same = posterior(&vec![group(0.3, 4, false); 30], &tight);
        assert!(sd(&same) < 0.6 * sd(&many));
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
