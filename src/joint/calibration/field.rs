//! One limit state over all measured joints: a Gaussian prior, and what each specimen says.
//!
//! The latent value f is the log discrepancy of one batch of one joint. A specimen that failed in this state at y is a value
//! of it; one that failed otherwise, or held, says that f plus scatter lies above y; one whose mode is not recorded is the sum
//! over the states. The last two go in by expectation propagation (T. P. Minka, 2001; Rasmussen and Williams 2006, 3.6):
//! each specimen is a normal factor with the moments of the true one. No random numbers, a fixed order.

use super::dense::Lower;
use crate::statistics::distribution::{normal_cdf, normal_ln_cdf, normal_pdf};

/// What a specimen says of one limit state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Word {
    /// It failed in this state.
    Failed,
    /// It held at least that much in this state.
    Held,
    /// How it failed is not recorded.
    Unsaid,
}

/// One specimen, or the mean of several.
#[derive(Debug, Clone)]
pub struct Site {
    /// Place of its latent value.
    pub latent: usize,
    /// ln measured less ln predicted.
    pub y: f64,
    /// Log standard deviation of y about its latent value.
    pub sd: f64,
    /// What it says.
    pub word: Word,
    natural: Natural,
}

/// A normal factor by its precision and precision times mean.
#[derive(Debug, Clone, Copy, Default)]
struct Natural {
    precision: f64,
    shift: f64,
}

impl Site {
    /// A specimen that says this.
    pub fn new(latent: usize, y: f64, sd: f64, word: Word) -> Site {
        let precision = if word == Word::Failed { 1.0 / (sd * sd) } else { 0.0 };
        Site { latent, y, sd, word, natural: Natural { precision, shift: precision * y } }
    }
}

/// A specimen whose mode is not recorded: its site in each field it may have failed in.
#[derive(Debug, Clone, Default)]
pub struct Unrecorded {
    /// Field and site in it.
    pub sites: Vec<(usize, usize)>,
    /// Mean and variance of y in states that no series moves (screw and insert metal).
    pub rivals: Vec<(f64, f64)>,
}

/// A mean and a variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    /// Mean.
    pub mean: f64,
    /// Variance.
    pub variance: f64,
}

/// The posterior of one limit state.
#[derive(Debug, Clone, Default)]
pub struct Field {
    n: usize,
    prior: Vec<f64>,
    sites: Vec<Site>,
    root: Vec<f64>,
    lower: Lower,
    weights: Vec<f64>,
    marginals: Vec<Normal>,
}

impl Field {
    /// A field with this prior covariance (rows in one list) and these specimens; not yet inferred.
    pub fn new(prior: Vec<f64>, n: usize, sites: Vec<Site>) -> Field {
        let mut field = Field { n, prior, sites, ..Field::default() };
        field.refresh(None);
        field
    }
    /// Its specimens.
    pub fn sites(&self) -> &[Site] {
        &self.sites
    }
    /// What is known of a latent value.
    pub fn latent(&self, place: usize) -> Normal {
        self.marginals[place]
    }
    /// The part of a covariance with the latents that the specimens explain: for two such lists, kᵀ (K + V)⁻¹ l.
    pub fn explained(&self, k: &[f64], l: &[f64]) -> f64 {
        let half = |k: &[f64]| {
            let mut b: Vec<f64> = k.iter().zip(&self.root).map(|(k, t)| k * t).collect();
            self.lower.forward(&mut b);
            b
        };
        half(k).iter().zip(half(l)).map(|(a, b)| a * b).sum()
    }
    /// Posterior mean of a value with these covariances with the latents.
    pub fn mean(&self, k: &[f64]) -> f64 {
        k.iter().zip(&self.weights).map(|(k, w)| k * w).sum()
    }
    /// The field without what specimens of some latents say; the others keep their factors.
    pub fn without(&self, latents: &[usize]) -> Field {
        let mut field = self.clone();
        field.refresh(Some(latents));
        field
    }
    /// Posterior of all latents from the factors (Rasmussen and Williams 2006, algorithm 3.5).
    fn refresh(&mut self, without: Option<&[usize]>) {
        let n = self.n;
        let mut factor = vec![Natural::default(); n];
        for site in self.sites.iter().filter(|s| without.is_none_or(|w| !w.contains(&s.latent))) {
            factor[site.latent].precision += site.natural.precision;
            factor[site.latent].shift += site.natural.shift;
        }
        self.root = factor.iter().map(|f| libm::sqrt(f.precision)).collect();
        let mut b = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..n {
                b[i * n + j] = self.root[i] * self.prior[i * n + j] * self.root[j] + f64::from(u8::from(i == j));
            }
        }
        self.lower = Lower::of(b, n);
        let pulled: Vec<f64> = (0..n).map(|i| dot(self.row(i), factor.iter().map(|f| f.shift))).collect();
        let mut solved: Vec<f64> = pulled.iter().zip(&self.root).map(|(p, t)| p * t).collect();
        self.lower.forward(&mut solved);
        self.lower.backward(&mut solved);
        self.weights = factor.iter().zip(&solved).zip(&self.root).map(|((f, s), t)| f.shift - t * s).collect();
        self.marginals = (0..n)
            .map(|i| {
                let row = self.row(i);
                Normal { mean: self.mean(row), variance: (row[i] - self.explained(row, row)).max(1e-12) }
            })
            .collect();
    }
    fn row(&self, i: usize) -> &[f64] {
        &self.prior[i * self.n..(i + 1) * self.n]
    }
    /// What is known of a latent value without one site.
    fn cavity(&self, site: &Site, here: Normal) -> Option<Normal> {
        let precision = 1.0 / here.variance - site.natural.precision;
        let shift = here.mean / here.variance - site.natural.shift;
        (precision > 1e-9).then(|| Normal { mean: shift / precision, variance: 1.0 / precision })
    }
    /// Renews every factor once, sites of one latent after each other; returns the largest change.
    fn sweep(&mut self, shares: &[Option<(f64, f64)>], damping: f64) -> f64 {
        let mut here = self.marginals.clone();
        let mut change: f64 = 0.0;
        for (place, share) in shares.iter().enumerate() {
            let site = &self.sites[place];
            if site.word == Word::Failed {
                continue;
            }
            let Some(cavity) = self.cavity(site, here[site.latent]) else { continue };
            let tilted = match share {
                None => held(cavity, site.y, site.sd),
                Some(share) => either(cavity, site.y, site.sd, *share),
            };
            let (latent, old) = (site.latent, site.natural);
            let precision = (1.0 / tilted.variance - 1.0 / cavity.variance).max(1e-10);
            let shift = tilted.mean * (precision + 1.0 / cavity.variance) - cavity.mean / cavity.variance;
            let new = Natural {
                precision: old.precision + damping * (precision - old.precision),
                shift: old.shift + damping * (shift - old.shift),
            };
            change = change.max((new.precision - old.precision).abs() / (1.0 / here[latent].variance));
            change = change.max((new.shift - old.shift).abs() * libm::sqrt(here[latent].variance));
            let precision = 1.0 / here[latent].variance + new.precision - old.precision;
            let shift = here[latent].mean / here[latent].variance + new.shift - old.shift;
            here[latent] = Normal { mean: shift / precision, variance: 1.0 / precision };
            self.sites[place].natural = new;
        }
        change
    }
}

fn dot(a: &[f64], b: impl Iterator<Item = f64>) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Moments of a normal times Φ((f − y)/sd).
fn held(cavity: Normal, y: f64, sd: f64) -> Normal {
    let spread = cavity.variance + sd * sd;
    let z = (cavity.mean - y) / libm::sqrt(spread);
    let ratio = libm::exp(-0.5 * z * z - 0.5 * libm::log(2.0 * std::f64::consts::PI) - normal_ln_cdf(z));
    Normal {
        mean: cavity.mean + cavity.variance * ratio / libm::sqrt(spread),
        variance: cavity.variance * (1.0 - cavity.variance * ratio * (z + ratio) / spread),
    }
}

/// Moments of a normal times a sum: it failed here, or it held here and failed otherwise, with these weights.
fn either(cavity: Normal, y: f64, sd: f64, share: (f64, f64)) -> Normal {
    let spread = cavity.variance + sd * sd;
    let gain = cavity.variance / spread;
    let failed = Normal { mean: cavity.mean + gain * (y - cavity.mean), variance: cavity.variance * (1.0 - gain) };
    let above = held(cavity, y, sd);
    let (a, b) = (share.0 * density(cavity, y, sd), share.1 * survival(cavity, y, sd));
    let whole = a + b;
    if whole <= 0.0 || !whole.is_finite() {
        return above;
    }
    let (a, b) = (a / whole, b / whole);
    let mean = a * failed.mean + b * above.mean;
    let square = |n: Normal| n.variance + (n.mean - mean) * (n.mean - mean);
    Normal { mean, variance: a * square(failed) + b * square(above) }
}

fn density(at: Normal, y: f64, sd: f64) -> f64 {
    let spread = libm::sqrt(at.variance + sd * sd);
    normal_pdf((y - at.mean) / spread) / spread
}

fn survival(at: Normal, y: f64, sd: f64) -> f64 {
    normal_cdf((at.mean - y) / libm::sqrt(at.variance + sd * sd))
}

/// Sweeps at most; damping is turned up after the first ones, should a factor swing.
const SWEEPS: usize = 200;
/// Change of a factor, in parts of what is known of its latent, below which all is settled.
const SETTLED: f64 = 1e-9;

/// Infers the fields of all limit states together; they meet in specimens whose mode is not recorded.
pub fn infer(fields: &mut [Field], unrecorded: &[Unrecorded]) {
    for sweep in 0..SWEEPS {
        let damping = if sweep < 30 { 0.9 } else { 0.5 };
        let shares = shares(fields, unrecorded);
        let mut change: f64 = 0.0;
        for (field, shares) in fields.iter_mut().zip(&shares) {
            change = change.max(field.sweep(shares, damping));
            field.refresh(None);
        }
        if change < SETTLED {
            break;
        }
    }
}

/// For each site of each field of a specimen without a mode: weight of `failed here` and of `failed otherwise`.
fn shares(fields: &[Field], unrecorded: &[Unrecorded]) -> Vec<Vec<Option<(f64, f64)>>> {
    let mut shares: Vec<Vec<Option<(f64, f64)>>> = fields.iter().map(|f| vec![None; f.sites.len()]).collect();
    for specimen in unrecorded {
        let mut odds: Vec<(f64, f64)> = Vec::new();
        for &(field, site) in &specimen.sites {
            let field = &fields[field];
            let site = &field.sites[site];
            let here = field.marginals[site.latent];
            let cavity = field.cavity(site, here).unwrap_or(here);
            odds.push((density(cavity, site.y, site.sd), survival(cavity, site.y, site.sd)));
        }
        let of_metal = specimen.rivals.iter().map(|(mean, variance)| {
            let at = Normal { mean: *mean, variance: *variance };
            (density(at, 0.0, 0.0), survival(at, 0.0, 0.0))
        });
        odds.extend(of_metal);
        for (own, &(field, site)) in specimen.sites.iter().enumerate() {
            let rest = |skip: usize| -> f64 {
                odds.iter().enumerate().filter(|(i, _)| *i != own && *i != skip).map(|(_, o)| o.1).product()
            };
            let otherwise = (0..odds.len()).filter(|i| *i != own).map(|i| odds[i].0 * rest(i)).sum();
            shares[field][site] = Some((rest(own), otherwise));
        }
    }
    shares
}
