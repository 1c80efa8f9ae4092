//! Straight line by least squares, for slopes of load against displacement.
//!
//! NIST/SEMATECH e-Handbook 4.1.4.1 (memory); checked with JCGM 100:2008 example H.3.

use super::refusal::{Refusal, require};
use super::summary::{exact_sum, moments};

/// A fitted line y = intercept + slope x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedLine {
    /// Slope, unit of y over unit of x.
    pub slope: f64,
    /// Value at x = 0, unit of y.
    pub intercept: f64,
    /// Residual standard deviation, divisor n - 2; 0 with two points.
    pub residual_sd: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Correlation of the two errors.
    pub correlation: f64,
    /// Share of the scatter of y explained by the line; 1 when y has none.
    pub r_squared: f64,
    /// Number of points.
    pub n: usize,
}

impl FittedLine {
    /// Value of the line at x.
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// Standard error of the line at x.
    pub fn error_at(&self, x: f64) -> f64 {
        let joint = 2.0 * x * self.correlation * self.intercept_error * self.slope_error;
        let square = self.intercept_error * self.intercept_error + x * x * self.slope_error * self.slope_error + joint;
        libm::sqrt(square.max(0.0))
    }

    /// Where the line crosses zero, unit of x (toe compensation); `None` when it is level.
    pub fn zero(&self) -> Option<f64> {
        (self.slope != 0.0).then(|| -self.intercept / self.slope)
    }
}

/// Least-squares line through paired points; two points and some spread of x are needed.
pub fn fit_line(x: &[f64], y: &[f64]) -> Result<FittedLine, Refusal> {
    let method = "the straight line";
    require(x, 2, method)?;
    require(y, 2, method)?;
    if x.len() != y.len() {
        return Err(Refusal::Mismatch { what: "every x needs its y" });
    }
    let (mx, my) = (moments(x)?, moments(y)?);
    if mx.sum_of_squares == 0.0 {
        return Err(Refusal::NoSpread { method });
    }
    let joint = exact_sum(x.iter().zip(y).map(|(a, b)| (a - mx.mean) * (b - my.mean)));
    let slope = joint / mx.sum_of_squares;
    let intercept = my.mean - slope * mx.mean;
    let n = x.len() as f64;
    let misses = exact_sum(x.iter().zip(y).map(|(a, b)| {
        let miss = (b - my.mean) - slope * (a - mx.mean);
        miss * miss
    }));
    let residual_sd = if x.len() > 2 { libm::sqrt(misses / (n - 2.0)) } else { 0.0 };
    let raw_squares = mx.sum_of_squares + n * mx.mean * mx.mean;
    Ok(FittedLine {
        slope,
        intercept,
        residual_sd,
        slope_error: residual_sd / libm::sqrt(mx.sum_of_squares),
        intercept_error: residual_sd * libm::sqrt(raw_squares / (n * mx.sum_of_squares)),
        correlation: -mx.mean * libm::sqrt(n / raw_squares),
        r_squared: if my.sum_of_squares > 0.0 { (1.0 - misses / my.sum_of_squares).max(0.0) } else { 1.0 },
        n: x.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_line_and_refusals() {
        let line = fit_line(&[1.0, 2.0, 4.0], &[900.0, 1900.0, 3900.0]).unwrap();
        assert!((line.slope - 1000.0).abs() < 1e-9 && (line.intercept + 100.0).abs() < 1e-9);
        assert!((line.zero().unwrap() - 0.1).abs() < 1e-12);
        assert!(fit_line(&[1.0, 1.0], &[1.0, 2.0]).is_err());
        assert!(fit_line(&[1.0, 2.0], &[1.0]).is_err());
        assert!(fit_line(&[1.0, 2.0, 3.0], &[1.0, 2.0]).is_err());
        assert!(fit_line(&[1.0, f64::NAN], &[1.0, 2.0]).is_err());
    }
}
