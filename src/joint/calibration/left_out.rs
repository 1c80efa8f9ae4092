//! Leave-one-out: does the 90 % prediction from the other series hold what a series measured?

use super::field::{Field, Site, Word};
use super::place::{JointCoordinates, Parts};
use super::{Calibration, foam};
use crate::book::Book;
use crate::joint::assumption::Assumptions;
use crate::joint::distribution::NINETY;
use crate::joint::mode::Mode;

/// Series left out in turn.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct LeftOut {
    /// Series left out.
    pub tried: usize,
    /// Predictions that held.
    pub held: usize,
    /// Sum of the squares of what was measured less what was predicted, in the deviation predicted: `tried` on average.
    pub squares: f64,
}

impl LeftOut {
    /// `11 of 12 (0.80)`: held, tried, and the spread in parts of the one predicted.
    pub fn short(&self) -> String {
        format!("{} of {} ({:.2})", self.held, self.tried, libm::sqrt(self.squares / self.tried as f64))
    }
    /// `11 of 12 held, 0.80 of the spread`.
    pub fn text(&self) -> String {
        let spread = libm::sqrt(self.squares / self.tried as f64);
        format!("{} of {} held, {spread:.2} of the spread", self.held, self.tried)
    }
}

impl Calibration {
    /// Series whose specimens failed in a mode, each predicted from the others; `None` below two.
    pub fn left_out(&self, mode: Mode) -> Option<LeftOut> {
        let state = self.states.get(&mode)?;
        let mut series: Vec<&str> = state.latents.iter().map(|l| self.latents[*l].series.as_str()).collect();
        series.sort_unstable();
        series.dedup();
        let mut found = LeftOut::default();
        for id in series {
            let places: Vec<usize> = (0..state.latents.len()).filter(|p| self.latents[state.latents[*p]].series == id).collect();
            let failed = |s: &&Site| s.word == Word::Failed && places.contains(&s.latent);
            let seen: Vec<&Site> = state.field.sites().iter().filter(failed).collect();
            let Some(first) = seen.first() else { continue };
            let others = state.field.without(&places);
            let n = seen.len() as f64;
            let mean = seen.iter().map(|s| s.y).sum::<f64>() / n;
            found.add(&others, first, mean, n);
        }
        (found.tried > 1).then_some(found)
    }
}

impl LeftOut {
    /// Counts a value that was predicted by draws.
    pub fn told(&mut self, value: f64, mut drawn: Vec<f64>) {
        drawn.sort_by(f64::total_cmp);
        let (n, at) = (drawn.len() as f64, |share: f64| drawn[(share * drawn.len() as f64) as usize]);
        let mean = drawn.iter().sum::<f64>() / n;
        let variance = drawn.iter().map(|d| (d - mean) * (d - mean)).sum::<f64>() / (n - 1.0);
        self.tried += 1;
        self.held += usize::from((at(0.05)..=at(0.95)).contains(&value));
        self.squares += (value - mean) * (value - mean) / variance;
    }
    fn add(&mut self, others: &Field, site: &Site, mean: f64, n: f64) {
        let predicted = others.latent(site.latent);
        let sd = libm::sqrt(predicted.variance + site.sd * site.sd / n);
        let off = (mean - predicted.mean) / sd;
        self.tried += 1;
        self.held += usize::from(off.abs() <= NINETY);
        self.squares += off * off;
    }
}

/// Log deviation of a strength that nobody measured.
const UNKNOWN_STRENGTH: f64 = 1.0;

/// The published screws in one foam whose strength was fitted to all of them: each predicted from the others. They share that
/// unknown strength, so they test how joints of one material differ with their distance, not the level; what a mean is off by is
/// the scatter that the study states, so that nothing but the distance of joints explains why they differ.
pub fn foam_screws(book: &Book, assumptions: &Assumptions) -> Option<LeftOut> {
    let screws = foam::spread_only(book);
    let (parts, n) = (Parts::of(assumptions), screws.len());
    let shared = |a: &JointCoordinates, b: &JointCoordinates| {
        let strength = if a.material == b.material { UNKNOWN_STRENGTH * UNKNOWN_STRENGTH } else { 0.0 };
        parts.shared(a, b) + strength
    };
    let prior = (0..n * n).map(|k| shared(&screws[k / n].place, &screws[k % n].place)).collect();
    let site = |(latent, s): (usize, &foam::Ratio)| Site { latent, y: libm::log(s.ratio), sd: s.sd, word: Word::Failed };
    let field = Field::new(prior, n, screws.iter().enumerate().map(site).collect());
    let mut found = LeftOut::default();
    for (place, site) in field.sites().iter().enumerate() {
        found.add(&field.without(&[place]), site, site.y, 1.0);
    }
    (n > 1).then_some(found)
}
