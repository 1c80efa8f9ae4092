//! A two-sided interval, used by most results.

/// A two-sided confidence interval, in the unit of what it is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end; infinite when the data do not limit it.
    pub high: f64,
    /// Confidence, as a fraction (0.95 for 95 %).
    pub confidence: f64,
}

impl Interval {
    /// Whether `value` lies inside, ends included.
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}
