//! What a sample says, as reduced: the named results.

use super::bounds::Bounds;
use super::specimen::{FactorLevel, SpecimenGroup};
use crate::quantity::UnitId;
use crate::statistics::batches::BatchSpread;
use crate::statistics::interval::Interval;
use crate::statistics::many::BatchEffect;
use crate::statistics::outlier::Grubbs;
use crate::statistics::summary::Summary;
use crate::statistics::weibull::{WeibullFit, WeibullIntervals};

/// How many specimens failed in one way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModeCount {
    /// The mode; `unknown` where none is stated.
    pub mode: Box<str>,
    /// Specimens.
    pub count: usize,
}

/// Specimens apart by batch, or by job where there is one batch only.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// What the groups are.
    pub level: FactorLevel,
    /// The groups.
    pub groups: Vec<SpecimenGroup>,
    /// How far specimens of one group stand together, where it can be computed.
    pub effect: Option<BatchEffect>,
    /// Spread between and within the groups, in the unit shown.
    pub spread: Option<BatchSpread>,
}

/// What other batches would do to the characteristic value, the spreads seen taken as the true ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoreBatches {
    /// Batches in all.
    pub batches: usize,
    /// Specimens in all.
    pub n: usize,
    /// The characteristic value (5 % fractile, 75 % confidence), before the weakest batch is looked at.
    pub five_at_75: f64,
}

/// The characteristic value if the spread between batches were one published elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PriorBound {
    /// Standard deviation of the logarithms between batches.
    pub between_sd_of_logs: f64,
    /// Where it comes from.
    pub source: &'static str,
    /// The characteristic value (5 % fractile, 75 % confidence) with it, in the unit shown.
    pub five_at_75: f64,
}

/// A Weibull fit with its intervals.
#[derive(Debug, Clone, PartialEq)]
pub struct Weibull {
    /// The fit.
    pub fit: WeibullFit,
    /// Shape freed of its bias.
    pub unbiased_shape: Option<f64>,
    /// 90 % intervals, where the table has them.
    pub intervals: Option<WeibullIntervals>,
}

/// What more specimens with the same mean and spread would give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct More {
    /// Specimens in all.
    pub n: usize,
    /// The 5 % bound at 75 % confidence.
    pub five_at_75: f64,
    /// The predictive bound.
    pub predictive: f64,
    /// Half width of the 95 % interval of the mean, as a share of the mean.
    pub mean_within: f64,
}

/// What a sample says.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// Unit of every value here.
    pub unit: UnitId,
    /// Significant digits the values were written with.
    pub digits: usize,
    /// Values of the specimens that failed, in the order tested.
    pub failures: Vec<f64>,
    /// Values that specimens held without failing.
    pub held: Vec<f64>,
    /// Centre and spread of the failures; `None` below two.
    pub summary: Option<Summary>,
    /// 95 % interval of the mean.
    pub mean_interval: Option<Interval>,
    /// 95 % interval of the standard deviation.
    pub sd_interval: Option<Interval>,
    /// Exact 95 % interval of the coefficient of variation.
    pub cv_interval: Option<Interval>,
    /// Bounds, and those refused.
    pub bounds: Bounds,
    /// How they failed, in the order first seen.
    pub modes: Vec<ModeCount>,
    /// Batches or jobs, where there are two or more.
    pub apart: Option<Apart>,
    /// The most extreme value.
    pub outlier: Option<Grubbs>,
    /// Weibull fit, where one was allowed.
    pub weibull: Option<Weibull>,
    /// What more specimens would buy.
    pub more: Vec<More>,
    /// What more batches, and more specimens of these batches, would buy.
    pub more_batches: Vec<MoreBatches>,
    /// What a published spread between batches would give.
    pub prior: Option<PriorBound>,
    /// What to keep in mind.
    pub warnings: Vec<Warning>,
}

impl Reduction {
    /// Mean of the specimens that failed; of one specimen, its value.
    pub fn mean(&self) -> Option<f64> {
        self.summary.map(|s| s.mean).or_else(|| self.failures.first().copied().filter(|_| self.failures.len() == 1))
    }
    /// Coefficient of variation.
    pub fn cv(&self) -> Option<f64> {
        self.summary.and_then(|s| s.cv().ok())
    }
}

/// Something to keep in mind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Readable name.
    pub name: &'static str,
    /// One sentence.
    pub message: String,
}

impl Warning {
    /// A warning.
    pub fn new(name: &'static str, message: impl Into<String>) -> Self {
        Warning { name, message: message.into() }
    }
}
