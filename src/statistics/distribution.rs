//! Normal, half-normal, Student t, chi-squared and F: density, both tails, quantile.
//!
//! Arguments and results are pure numbers. A quantile of probability 0 or 1 is the end of the range;
//! a probability outside 0 to 1 gives NaN. Degrees of freedom need not be whole.
//! Sources: Abramowitz and Stegun, Handbook of Mathematical Functions, ch. 26 (memory);
//! normal quantile: Wichura 1988, Applied Statistics 37:477 (memory), then one Newton step.

use super::special::{Tails, beta_tails, gamma_tails, is_above, ln_gamma, root_increasing};
use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

/// Density of the standard normal distribution.
pub fn normal_pdf(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / libm::sqrt(2.0 * PI)
}

/// P(Z ≤ z) of the standard normal distribution; keeps its digits in the lower tail.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// P(Z > z) of the standard normal distribution; keeps its digits in the upper tail.
pub fn normal_sf(z: f64) -> f64 {
    normal_cdf(-z)
}

/// ln P(Z ≤ z), also far below where the probability itself would be 0.
pub fn normal_ln_cdf(z: f64) -> f64 {
    if z > -30.0 {
        return libm::log(normal_cdf(z));
    }
    let r = 1.0 / (z * z);
    let series = 1.0 - r * (1.0 - 3.0 * r * (1.0 - 5.0 * r * (1.0 - 7.0 * r)));
    -0.5 * z * z - libm::log(-z) - 0.5 * libm::log(2.0 * PI) + libm::log(series)
}

/// Quantile of the standard normal distribution.
pub fn normal_quantile(p: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    if p == 1.0 {
        return f64::INFINITY;
    }
    if p > 0.5 {
        return -normal_quantile(1.0 - p);
    }
    let mut z = rough_quantile(p);
    for _ in 0..3 {
        // Newton on ln Φ: converges from the rough value and keeps digits for tiny p.
        let density = normal_pdf(z);
        let below = normal_cdf(z);
        if density == 0.0 || below == 0.0 {
            break;
        }
        let miss = (below - p) / density;
        z -= miss / (1.0 + 0.5 * z * miss);
    }
    z
}

/// Rational start value for p ≤ ½; error below 4.5e-4 (Abramowitz and Stegun 26.2.23, memory).
fn rough_quantile(p: f64) -> f64 {
    let t = libm::sqrt(-2.0 * libm::log(p));
    let above = 2.515517 + t * (0.802853 + t * 0.010328);
    let below = 1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308));
    above / below - t
}

/// Density of the half-normal distribution with the given scale, the absolute value of a normal with mean 0.
pub fn half_normal_pdf(x: f64, scale: f64) -> f64 {
    if x < 0.0 { 0.0 } else { 2.0 * normal_pdf(x / scale) / scale }
}

/// P(X ≤ x) of the half-normal distribution.
pub fn half_normal_cdf(x: f64, scale: f64) -> f64 {
    if x <= 0.0 { 0.0 } else { libm::erf(x / (scale * SQRT_2)) }
}

/// Quantile of the half-normal distribution.
pub fn half_normal_quantile(p: f64, scale: f64) -> f64 {
    if p < 0.0 {
        return f64::NAN;
    }
    -scale * normal_quantile(0.5 * (1.0 - p))
}

/// Both tails of Student's t.
pub fn student_tails(t: f64, degrees_of_freedom: f64) -> Tails {
    if t.is_infinite() {
        return if t > 0.0 { Tails::from_upper(0.0) } else { Tails::from_lower(0.0) };
    }
    let nu = degrees_of_freedom;
    let square = t * t;
    let outer = beta_tails(0.5 * nu, 0.5, nu / (nu + square), square / (nu + square)).lower;
    if t >= 0.0 { Tails::from_upper(0.5 * outer) } else { Tails::from_lower(0.5 * outer) }
}

/// P(T ≤ t) of Student's t.
pub fn student_cdf(t: f64, degrees_of_freedom: f64) -> f64 {
    student_tails(t, degrees_of_freedom).lower
}

/// P(|T| ≥ |t|) of Student's t.
pub fn student_two_sided(t: f64, degrees_of_freedom: f64) -> f64 {
    (2.0 * student_tails(t.abs(), degrees_of_freedom).upper).min(1.0)
}

/// Density of Student's t.
pub fn student_pdf(t: f64, degrees_of_freedom: f64) -> f64 {
    let nu = degrees_of_freedom;
    let front = ln_gamma(0.5 * (nu + 1.0)) - ln_gamma(0.5 * nu) - 0.5 * libm::log(nu * PI);
    libm::exp(front - 0.5 * (nu + 1.0) * libm::log1p(t * t / nu))
}

/// Quantile of Student's t.
pub fn student_quantile(p: f64, degrees_of_freedom: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) || !is_above(degrees_of_freedom, 0.0) {
        return f64::NAN;
    }
    if p == 0.5 {
        return 0.0;
    }
    if p < 0.5 {
        return -student_upper_quantile(p, degrees_of_freedom);
    }
    student_upper_quantile(1.0 - p, degrees_of_freedom)
}

/// The t that is exceeded with probability `tail` (at most ½).
pub fn student_upper_quantile(tail: f64, degrees_of_freedom: f64) -> f64 {
    if tail == 0.0 {
        return f64::INFINITY;
    }
    let aim = libm::log(tail);
    let guess = -normal_quantile(tail);
    root_increasing(guess, 0.1 + 0.1 * guess, |t| aim - libm::log(student_tails(t, degrees_of_freedom).upper))
}

/// Both tails of chi-squared.
pub fn chi_squared_tails(x: f64, degrees_of_freedom: f64) -> Tails {
    gamma_tails(0.5 * degrees_of_freedom, 0.5 * x)
}

/// Quantile of chi-squared.
pub fn chi_squared_quantile(p: f64, degrees_of_freedom: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) || !is_above(degrees_of_freedom, 0.0) {
        return f64::NAN;
    }
    positive_quantile(p, degrees_of_freedom, |x| chi_squared_tails(x, degrees_of_freedom))
}

/// Both tails of F.
pub fn f_tails(f: f64, numerator: f64, denominator: f64) -> Tails {
    if f <= 0.0 {
        return Tails::from_lower(0.0);
    }
    if f.is_infinite() {
        return Tails::from_upper(0.0);
    }
    let sum = numerator * f + denominator;
    let reversed = beta_tails(0.5 * denominator, 0.5 * numerator, denominator / sum, numerator * f / sum);
    Tails { lower: reversed.upper, upper: reversed.lower }
}

/// Quantile of F.
pub fn f_quantile(p: f64, numerator: f64, denominator: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) || !(numerator > 0.0 && denominator > 0.0) {
        return f64::NAN;
    }
    positive_quantile(p, 1.0, |x| f_tails(x, numerator, denominator))
}

/// Quantile of a distribution on x > 0, searched on ln x in the smaller tail.
fn positive_quantile(p: f64, typical: f64, tails: impl Fn(f64) -> Tails) -> f64 {
    if p == 0.0 {
        return 0.0;
    }
    if p == 1.0 {
        return f64::INFINITY;
    }
    let miss = |y: f64| {
        let at = tails(libm::exp(y));
        if p <= 0.5 {
            libm::log(at.lower.max(1e-320)) - libm::log(p)
        } else {
            libm::log(1.0 - p) - libm::log(at.upper.max(1e-320))
        }
    };
    libm::exp(root_increasing(libm::log(typical), 0.3, miss))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// z table of any handbook (memory), more digits from an independent library.
    #[test]
    fn normal_values() {
        for (p, z) in [
            (0.975, 1.959963984540054),
            (0.95, 1.6448536269514722),
            (0.99, 2.3263478740408408),
            (1e-10, -6.361340902404056),
            (0.5, 0.0),
        ] {
            assert!((normal_quantile(p) - z).abs() < 1e-12, "{p}");
        }
        assert!(normal_quantile(-0.1).is_nan() && normal_quantile(f64::NAN).is_nan());
        assert_eq!(normal_quantile(1.0), f64::INFINITY);
        assert!((normal_ln_cdf(-29.999) - normal_ln_cdf(-30.001) - 0.06007).abs() < 1e-4);
    }

    /// Chi-squared and F tables of any handbook (memory), three decimals.
    #[test]
    fn table_values() {
        for (p, nu, x) in [(0.95, 1.0, 3.841), (0.95, 10.0, 18.307), (0.05, 10.0, 3.940), (0.99, 30.0, 50.892)] {
            assert!((chi_squared_quantile(p, nu) - x).abs() < 6e-4, "{p} {nu}");
        }
        for (p, a, b, x) in [(0.95, 1.0, 10.0, 4.965), (0.95, 5.0, 10.0, 3.326), (0.99, 3.0, 20.0, 4.938)] {
            assert!((f_quantile(p, a, b) - x).abs() < 6e-4, "{p} {a} {b}");
        }
    }

    #[test]
    fn half_normal_is_folded() {
        for x in [0.1, 1.0, 4.0] {
            let folded = normal_cdf(x / 2.0) - normal_cdf(-x / 2.0);
            assert!((half_normal_cdf(x, 2.0) - folded).abs() < 1e-15);
            assert!((half_normal_quantile(folded, 2.0) - x).abs() < 1e-12);
        }
        assert_eq!(half_normal_pdf(-1.0, 2.0), 0.0);
        assert!((half_normal_pdf(0.0, 2.0) - 0.3989422804014327).abs() < 1e-15);
    }

    /// An F with one numerator degree of freedom is t².
    #[test]
    fn f_and_t_agree() {
        for t in [0.1, 1.0, 2.5, 30.0] {
            let two = student_two_sided(t, 7.0);
            assert!((f_tails(t * t, 1.0, 7.0).upper / two - 1.0).abs() < 1e-13);
        }
        for p in [1e-9, 0.025, 0.5, 0.8, 0.999] {
            assert!((student_cdf(student_quantile(p, 4.5), 4.5) / p - 1.0).abs() < 1e-12);
        }
        // The slope of the distribution is the density.
        let slope = (student_cdf(1.2 + 1e-5, 6.0) - student_cdf(1.2 - 1e-5, 6.0)) / 2e-5;
        assert!((slope - student_pdf(1.2, 6.0)).abs() < 1e-9);
    }
}
