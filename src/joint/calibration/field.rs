//! One limit state over all measured joints: a Gaussian prior, and what each specimen says.
//!
//! The latent value f is the log discrepancy of one batch of one joint. A specimen that failed in this state at y is a value
//! of it; one that failed otherwise, or held, says that f plus scatter lies above y. Values go in exactly. All survivals of
//! one batch are one factor, replaced by the normal factor with the moments of the true one (expectation propagation: T. P.
//! Minka, 2001; Rasmussen and Williams 2006, 3.6) by quadrature in f: exact for a joint by itself. Specimens of a batch without
//! a mode on record count as failed alike, in each state in turn. No random numbers, a fixed order.

use super::dense::Lower;
use crate::statistics::distribution::{normal_cdf, normal_ln_cdf};
use rayon::prelude::*;

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
#[derive(Debug, Clone, Copy)]
pub struct Site {
    /// Place of its latent value.
    pub latent: usize,
    /// ln measured less ln predicted.
    pub y: f64,
    /// Log standard deviation of y about its latent value.
    pub sd: f64,
    /// What it says.
    pub word: Word,
}

/// A batch with specimens whose mode is not recorded: its latent value in each field it may have failed in.
#[derive(Debug, Clone, Default)]
pub struct Unrecorded {
    /// Field and latent in it.
    pub latents: Vec<(usize, usize)>,
    /// For each state that no series moves (screw and insert metal): ln likelihood that all failed in it, that all held.
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

/// A normal factor by its precision and precision times mean.
#[derive(Debug, Clone, Copy, Default)]
struct Natural {
    precision: f64,
    shift: f64,
}

/// What the specimens of one latent say.
#[derive(Debug, Clone, Default)]
struct Batch {
    values: Natural,
    held: Vec<(f64, f64)>,
    unsaid: Vec<(f64, f64)>,
    /// The normal factor in the place of what held and what is unsaid.
    factor: Natural,
    /// What the rest of the field said when the factor was made.
    seen: Option<Normal>,
}

/// The posterior of one limit state.
#[derive(Debug, Clone, Default)]
pub struct Field {
    n: usize,
    prior: Vec<f64>,
    sites: Vec<Site>,
    batches: Vec<Batch>,
    root: Vec<f64>,
    lower: Lower,
    weights: Vec<f64>,
    marginals: Vec<Normal>,
}

impl Field {
    /// A field with this prior covariance (rows in one list) and these specimens; not yet inferred.
    pub fn new(prior: Vec<f64>, n: usize, sites: Vec<Site>) -> Field {
        let mut batches = vec![Batch::default(); n];
        for site in &sites {
            let batch = &mut batches[site.latent];
            match site.word {
                Word::Failed => batch.values = batch.values.and(site.y, site.sd),
                Word::Held => batch.held.push((site.y, site.sd)),
                Word::Unsaid => batch.unsaid.push((site.y, site.sd)),
            }
        }
        let mut field = Field { n, prior, sites, batches, ..Field::default() };
        field.refresh(&[]);
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
        dot(k, &self.weights)
    }
    /// The field without what specimens of some latents say; the others keep their factors.
    pub fn without(&self, latents: &[usize]) -> Field {
        let mut field = self.clone();
        field.refresh(latents);
        field
    }
    /// Posterior of all latents from the factors (Rasmussen and Williams 2006, algorithm 3.5).
    fn refresh(&mut self, without: &[usize]) {
        let n = self.n;
        let of = |(place, batch): (usize, &Batch)| match without.contains(&place) {
            true => Natural::default(),
            false => batch.values.plus(batch.factor, 1.0),
        };
        let factors: Vec<Natural> = self.batches.iter().enumerate().map(of).collect();
        self.root = factors.iter().map(|f| libm::sqrt(f.precision)).collect();
        let mut b = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..n {
                b[i * n + j] = self.root[i] * self.prior[i * n + j] * self.root[j] + f64::from(u8::from(i == j));
            }
        }
        self.lower = Lower::of(b, n);
        let shifts: Vec<f64> = factors.iter().map(|f| f.shift).collect();
        let mut solved: Vec<f64> = (0..n).map(|i| dot(self.row(i), &shifts) * self.root[i]).collect();
        self.lower.forward(&mut solved);
        self.lower.backward(&mut solved);
        self.weights = shifts.iter().zip(&solved).zip(&self.root).map(|((f, s), t)| f - t * s).collect();
        let latent = |i: usize| {
            let row = self.row(i);
            Normal { mean: self.mean(row), variance: (row[i] - self.explained(row, row)).max(1e-12) }
        };
        self.marginals = (0..n).map(latent).collect();
    }
    fn row(&self, i: usize) -> &[f64] {
        &self.prior[i * self.n..(i + 1) * self.n]
    }
    /// What is known of a latent value without the survivals of its own batch.
    fn cavity(&self, place: usize) -> Normal {
        let here = Natural::of(self.marginals[place]);
        let left = here.plus(self.batches[place].factor, -1.0);
        if left.precision > 1e-9 { left.normal() } else { self.marginals[place] }
    }
    /// Renews the factor of every batch once; returns the largest change of what is known of a latent, in its deviations.
    fn sweep(&mut self, otherwise: &[Option<f64>], damping: f64) -> f64 {
        let mut change: f64 = 0.0;
        for (place, otherwise) in otherwise.iter().enumerate() {
            let (batch, cavity) = (&self.batches[place], self.cavity(place));
            if batch.held.is_empty() && batch.unsaid.is_empty() {
                continue;
            }
            if batch.seen.is_some_and(|s| s.near(cavity)) && otherwise.is_none() {
                continue;
            }
            let tilted = batch.tilted(cavity, otherwise.unwrap_or(f64::NEG_INFINITY));
            let mut wanted = Natural::of(tilted).plus(Natural::of(cavity), -1.0);
            if wanted.precision < 1e-10 {
                wanted = Natural {
                    precision: 1e-10,
                    shift: tilted.mean * (1e-10 + 1.0 / cavity.variance) - cavity.mean / cavity.variance,
                };
            }
            let old = batch.factor;
            let new = old.plus(wanted.plus(old, -1.0), damping);
            let by = self.marginals[place].variance;
            change = change.max((new.precision - old.precision).abs() * by).max((new.shift - old.shift).abs() * libm::sqrt(by));
            self.batches[place].factor = new;
            self.batches[place].seen = Some(cavity);
        }
        self.refresh(&[]);
        change
    }
}

impl Natural {
    fn of(normal: Normal) -> Natural {
        Natural { precision: 1.0 / normal.variance, shift: normal.mean / normal.variance }
    }
    fn normal(self) -> Normal {
        Normal { mean: self.shift / self.precision, variance: 1.0 / self.precision }
    }
    fn plus(self, other: Natural, times: f64) -> Natural {
        Natural { precision: self.precision + times * other.precision, shift: self.shift + times * other.shift }
    }
    fn and(self, y: f64, sd: f64) -> Natural {
        self.plus(Natural::of(Normal { mean: y, variance: sd * sd }), 1.0)
    }
}

impl Normal {
    /// The same to what a factor is settled to.
    fn near(self, other: Normal) -> bool {
        (self.mean - other.mean).abs() < SETTLED * libm::sqrt(self.variance)
            && (self.variance / other.variance - 1.0).abs() < SETTLED
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// A part of a likelihood: its moments and the logarithm of its weight.
#[derive(Debug, Clone, Copy)]
struct Moments {
    at: Normal,
    ln_weight: f64,
}

impl Batch {
    /// Moments of what is known elsewhere times what this batch says; `otherwise` is the ln likelihood that the unsaid
    /// specimens failed in another state.
    fn tilted(&self, cavity: Normal, otherwise: f64) -> Normal {
        if self.unsaid.is_empty() {
            return above(cavity, &self.held).at;
        }
        let (failed, held) = (self.failed_here(cavity), self.held_here(cavity));
        let ln_held = held.ln_weight + otherwise;
        let top = failed.ln_weight.max(ln_held);
        let (a, b) = (libm::exp(failed.ln_weight - top), libm::exp(ln_held - top));
        let (a, b) = (a / (a + b), b / (a + b));
        let mean = a * failed.at.mean + b * held.at.mean;
        let square = |n: Normal| n.variance + (n.mean - mean) * (n.mean - mean);
        Normal { mean, variance: a * square(failed.at) + b * square(held.at) }
    }
    /// All unsaid specimens failed in this state.
    fn failed_here(&self, cavity: Normal) -> Moments {
        let (mut here, mut ln_weight) = (cavity, 0.0);
        for (y, sd) in &self.unsaid {
            let spread = here.variance + sd * sd;
            ln_weight -= 0.5 * ((y - here.mean) * (y - here.mean) / spread + libm::log(spread * 2.0 * std::f64::consts::PI));
            here = Natural::of(here).and(*y, *sd).normal();
        }
        let part = above(here, &self.held);
        Moments { ln_weight: part.ln_weight + ln_weight, ..part }
    }
    /// All unsaid specimens held in this state.
    fn held_here(&self, cavity: Normal) -> Moments {
        let all: Vec<(f64, f64)> = self.held.iter().chain(&self.unsaid).copied().collect();
        above(cavity, &all)
    }
}

/// Points of the grid on each side of its middle, and its half width in deviations: far, because the tail of what only held
/// falls slowly.
const HALF: i32 = 40;
const WIDE: f64 = 12.0;
/// Times the grid is laid, each time round what the last one found.
const LAID: usize = 3;

/// Moments of a normal times the survivals of some specimens, and the logarithm of the whole.
fn above(normal: Normal, held: &[(f64, f64)]) -> Moments {
    if held.is_empty() {
        return Moments { at: normal, ln_weight: 0.0 };
    }
    let deviation = libm::sqrt(normal.variance);
    // The first grid reaches from below the normal to above the highest survival.
    let top = held.iter().map(|(y, sd)| y + WIDE * sd).fold(normal.mean + WIDE * deviation, f64::max);
    let bottom = normal.mean - WIDE * deviation;
    let (mut middle, mut half) = ((top + bottom) / 2.0, (top - bottom) / 2.0);
    let mut part = Moments { at: normal, ln_weight: 0.0 };
    for _ in 0..LAID {
        let step = half / f64::from(HALF);
        let at = |k: i32| middle + step * f64::from(k);
        let ln = |k: i32| {
            let z = (at(k) - normal.mean) / deviation;
            ln_survival(at(k), held) - 0.5 * z * z
        };
        let all: Vec<f64> = (-HALF..=HALF).map(ln).collect();
        let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (mut whole, mut first, mut second) = (0.0, 0.0, 0.0);
        for (k, ln) in (-HALF..=HALF).zip(&all) {
            let (weight, off) = (libm::exp(ln - most), step * f64::from(k));
            whole += weight;
            first += weight * off;
            second += weight * off * off;
        }
        let mean = first / whole;
        // A grid too coarse sees one point; its own step is then the width to look at next.
        let variance = (second / whole - mean * mean).max(step * step / 12.0);
        let ln_weight = most + libm::log(whole * step / deviation) - 0.5 * libm::log(2.0 * std::f64::consts::PI);
        part = Moments { at: Normal { mean: middle + mean, variance }, ln_weight };
        (middle, half) = (middle + mean, WIDE * libm::sqrt(variance));
    }
    part
}

/// ln of the product of Φ((f − y)/sd).
fn ln_survival(f: f64, held: &[(f64, f64)]) -> f64 {
    let product: f64 = held.iter().map(|(y, sd)| normal_cdf((f - y) / sd)).product();
    if product > 1e-250 { libm::log(product) } else { held.iter().map(|(y, sd)| normal_ln_cdf((f - y) / sd)).sum() }
}

/// Sweeps at most; damping is turned up after the first ones, should a factor swing.
const SWEEPS: usize = 200;
/// Change of a factor, in parts of what is known of its latent, below which all is settled.
const SETTLED: f64 = 1e-7;

/// Infers the fields of all limit states together; they meet in specimens whose mode is not recorded.
pub fn infer(fields: &mut [Field], unrecorded: &[Unrecorded]) {
    for sweep in 0..SWEEPS {
        let damping = if sweep < 30 { 1.0 } else { 0.5 };
        let otherwise = otherwise(fields, unrecorded);
        let changes = fields.par_iter_mut().zip(&otherwise).map(|(field, otherwise)| field.sweep(otherwise, damping));
        if changes.reduce(|| 0.0, f64::max) < SETTLED {
            break;
        }
    }
}

/// For each latent of each field with unsaid specimens: ln likelihood that they failed in another state.
fn otherwise(fields: &[Field], unrecorded: &[Unrecorded]) -> Vec<Vec<Option<f64>>> {
    let mut all: Vec<Vec<Option<f64>>> = fields.iter().map(|f| vec![None; f.n]).collect();
    for batch in unrecorded {
        let of = |&(field, latent): &(usize, usize)| {
            let (batch, cavity) = (&fields[field].batches[latent], fields[field].cavity(latent));
            (batch.failed_here(cavity).ln_weight, batch.held_here(cavity).ln_weight)
        };
        let odds: Vec<(f64, f64)> = batch.latents.iter().map(of).chain(batch.rivals.iter().copied()).collect();
        for (own, &(field, latent)) in batch.latents.iter().enumerate() {
            // That all others held is a factor of both cases but for the one that failed; it cancels where it stands in both.
            let ways = odds.iter().enumerate().filter(|(i, _)| *i != own).map(|(_, (failed, held))| failed - held);
            let ways: Vec<f64> = ways.collect();
            let top = ways.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let sum = libm::log(ways.iter().map(|w| libm::exp(w - top)).sum::<f64>());
            all[field][latent] = Some(if top.is_finite() { top + sum } else { f64::NEG_INFINITY });
        }
    }
    all
}
