//! Factors for lower bounds: k in mean - k s.
//!
//! Two families that must never be mixed, because they answer different questions and cross (n = 3: 3.372 against 3.152;
//! n = 4: 2.631 against 2.681):
//! * the **tolerance** factor: with the stated confidence, at least the stated coverage of all specimens lies above.
//!   k = t'(γ; n-1, z_p √n)/√n with the noncentral t. Krishnamoorthy and Mathew 2009, eq. 2.2.3; ISO 16269-6:2014
//!   (clause from memory); CMH-17-1G tables 8.5 (A basis 99/95, B basis 90/95).
//! * the **predictive** factor: the next specimen lies above with the stated probability. k = t(p; n-1) √(1 + 1/n).
//!   EN 1990:2002 D.7.2 (formula seen in a commentary, table from memory).

use super::distribution::{normal_quantile, student_upper_quantile};
use super::noncentral::noncentral_t_quantile;
use super::refusal::{Refusal, require_positive, require_probability};

/// Share of specimens above the bound and confidence of that statement, as fractions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoverageConfidence {
    /// Share above the bound.
    pub coverage: f64,
    /// Confidence.
    pub confidence: f64,
}

/// A basis: 99 % above with 95 % confidence.
pub const A_BASIS: CoverageConfidence = CoverageConfidence { coverage: 0.99, confidence: 0.95 };

/// B basis: 90 % above with 95 % confidence.
pub const B_BASIS: CoverageConfidence = CoverageConfidence { coverage: 0.90, confidence: 0.95 };

/// 5 % value at 75 % confidence, the characteristic value of timber and adhesive standards.
pub const FIVE_AT_75: CoverageConfidence = CoverageConfidence { coverage: 0.95, confidence: 0.75 };

/// 5 % value at 90 % confidence, as in assessments of anchors.
pub const FIVE_AT_90: CoverageConfidence = CoverageConfidence { coverage: 0.95, confidence: 0.90 };

/// 5 % value at 95 % confidence.
pub const FIVE_AT_95: CoverageConfidence = CoverageConfidence { coverage: 0.95, confidence: 0.95 };

fn require_n(method: &'static str, n: usize, needed: usize) -> Result<(), Refusal> {
    if n < needed {
        return Err(Refusal::TooFew { method, needed, given: n });
    }
    Ok(())
}

/// One-sided tolerance factor k(n, coverage, confidence), pure number, n from 2 on; both arguments as fractions.
pub fn tolerance_factor(n: usize, ask: CoverageConfidence) -> Result<f64, Refusal> {
    require_n("the tolerance factor", n, 2)?;
    tolerance_factor_pooled(n, (n - 1) as f64, ask)
}

/// Tolerance factor when the standard deviation comes from a pool with its own degrees of freedom and the mean from n values.
pub fn tolerance_factor_pooled(n: usize, degrees_of_freedom: f64, ask: CoverageConfidence) -> Result<f64, Refusal> {
    require_n("the tolerance factor", n, 1)?;
    require_positive("degrees of freedom", degrees_of_freedom)?;
    require_probability("coverage", ask.coverage)?;
    require_probability("confidence", ask.confidence)?;
    let root = libm::sqrt(n as f64);
    let delta = normal_quantile(ask.coverage) * root;
    Ok(noncentral_t_quantile(ask.confidence, degrees_of_freedom, delta) / root)
}

/// Tolerance factor when σ is known: z_p + z_γ/√n.
pub fn tolerance_factor_sigma_known(n: usize, ask: CoverageConfidence) -> Result<f64, Refusal> {
    require_n("the tolerance factor", n, 1)?;
    require_probability("coverage", ask.coverage)?;
    require_probability("confidence", ask.confidence)?;
    let z = normal_quantile(ask.confidence);
    Ok(normal_quantile(ask.coverage) + z / libm::sqrt(n as f64))
}

/// Predictive factor t(coverage; n-1) √(1+1/n), for an unknown coefficient of variation; n from 2 on.
pub fn predictive_factor(n: usize, coverage: f64) -> Result<f64, Refusal> {
    require_n("the predictive factor", n, 2)?;
    predictive_factor_pooled(n, (n - 1) as f64, coverage)
}

/// Predictive factor with a pooled standard deviation.
pub fn predictive_factor_pooled(n: usize, degrees_of_freedom: f64, coverage: f64) -> Result<f64, Refusal> {
    require_n("the predictive factor", n, 1)?;
    require_positive("degrees of freedom", degrees_of_freedom)?;
    require_probability("coverage", coverage)?;
    let t = super::distribution::student_quantile(coverage, degrees_of_freedom);
    Ok(t * libm::sqrt(1.0 + 1.0 / n as f64))
}

/// Predictive factor z √(1+1/n), for a known coefficient of variation; n from 1 on.
pub fn predictive_factor_sigma_known(n: usize, coverage: f64) -> Result<f64, Refusal> {
    require_n("the predictive factor", n, 1)?;
    require_probability("coverage", coverage)?;
    Ok(normal_quantile(coverage) * libm::sqrt(1.0 + 1.0 / n as f64))
}

/// The simplified factor (6.5 n + 6)/(3.7 n - 3) for 5 % at 75 % of EN 14358 (memory); within 1.2 % of the exact one.
///
/// Largest difference between n = 3 and 30: +1.2 % at n = 4.
pub fn simplified_factor_five_at_75(n: usize) -> Result<f64, Refusal> {
    require_n("the simplified factor", n, 3)?;
    let n = n as f64;
    Ok((6.5 * n + 6.0) / (3.7 * n - 3.0))
}

/// Coefficient of variation raised to what small batches hide: 0.06 below 0.04, cv/2 + 0.04 up to 0.08, cv above.
///
/// CMH-17-1G 8.4.4 (memory); fractions in and out.
pub fn modified_cv(cv: f64) -> Result<f64, Refusal> {
    if !(cv.is_finite() && cv >= 0.0) {
        return Err(Refusal::OutOfRange { argument: "coefficient of variation", value: cv, allowed: "finite and not negative" });
    }
    Ok(if cv < 0.04 {
        0.06
    } else if cv < 0.08 {
        0.5 * cv + 0.04
    } else {
        cv
    })
}

/// Width of a t interval of the mean in units of s/√n, for callers that plan; two-sided confidence as a fraction.
pub fn mean_interval_factor(n: usize, confidence: f64) -> Result<f64, Refusal> {
    require_n("the interval of the mean", n, 2)?;
    require_probability("confidence", confidence)?;
    Ok(student_upper_quantile(0.5 * (1.0 - confidence), (n - 1) as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the design page of the series, computed with an independent library.
    #[test]
    fn pooled_factors() {
        for (f, k, predictive) in
            [(2.0, 3.152, 3.372), (5.0, 2.412, 2.327), (10.0, 2.214, 2.093), (20.0, 2.122, 1.992), (40.0, 2.078, 1.944)]
        {
            let own = tolerance_factor_pooled(3, f, FIVE_AT_75).unwrap();
            assert!((own - k).abs() < 6e-4, "{f} {own}");
            let next = predictive_factor_pooled(3, f, 0.95).unwrap();
            assert!((next - predictive).abs() < 6e-4, "{f} {next}");
        }
    }

    /// Factors beyond the usual tables, independent library.
    #[test]
    fn large_samples() {
        for (n, coverage, confidence, k) in [
            (40, 0.99, 0.95, 2.9409421215303055),
            (40, 0.9, 0.95, 1.6971793861605649),
            (40, 0.95, 0.75, 1.833661594174863),
            (50, 0.99, 0.95, 2.8624492638229597),
            (50, 0.9, 0.95, 1.6455648561425478),
            (50, 0.95, 0.75, 1.8108754389765112),
            (100, 0.99, 0.95, 2.683957855691278),
            (100, 0.9, 0.95, 1.5267487478503057),
            (100, 0.95, 0.75, 1.7576339660363456),
            (200, 0.99, 0.95, 2.5697371164080733),
            (200, 0.9, 0.95, 1.4495511784040194),
            (200, 0.95, 0.75, 1.7225020838585738),
            (500, 0.99, 0.95, 2.4754286807048933),
            (500, 0.9, 0.95, 1.3850521871312829),
            (500, 0.95, 0.75, 1.6928635121482363),
            (1000, 0.99, 0.95, 2.4301401532416937),
            (1000, 0.9, 0.95, 1.3538174712252624),
            (1000, 0.95, 0.75, 1.6784278979846061),
        ] {
            let ask = CoverageConfidence { coverage, confidence };
            let own = tolerance_factor(n, ask).unwrap();
            assert!((own - k).abs() < 1e-9, "{n} {coverage} {confidence}: {own}");
        }
    }

    #[test]
    fn falls_with_n_and_rises_with_what_is_asked() {
        for ask in [A_BASIS, B_BASIS, FIVE_AT_75, FIVE_AT_90, FIVE_AT_95] {
            let mut before = f64::INFINITY;
            for n in (2..40).chain([100, 300, 1000]) {
                let k = tolerance_factor(n, ask).unwrap();
                assert!(k < before && k > normal_quantile(ask.coverage), "{n} {k}");
                before = k;
            }
        }
        assert!(tolerance_factor(1, A_BASIS).is_err());
        let odd = CoverageConfidence { coverage: 1.0, confidence: 0.95 };
        assert!(tolerance_factor(5, odd).is_err());
    }

    /// The simplification stays within 1.2 % of the exact factor between 3 and 30; 3.148, 2.088 and 1.861 are printed for 3, 10 and 30 (memory).
    #[test]
    fn simplified_is_close() {
        for n in 3..=30 {
            let exact = tolerance_factor(n, FIVE_AT_75).unwrap();
            let ratio = simplified_factor_five_at_75(n).unwrap() / exact;
            assert!((ratio - 1.0).abs() < 0.012, "{n} {ratio}");
        }
        for (n, printed) in [(3, 3.148), (10, 2.088), (30, 1.861)] {
            let own = simplified_factor_five_at_75(n).unwrap();
            assert!((own - printed).abs() < 6e-4, "{n} {own}");
        }
    }
}
