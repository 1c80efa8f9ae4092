//! Noncentral t: both tails and quantile.
//!
//! T = (Z + δ)/√(χ²_ν/ν) with Z standard normal. Written over s = χ_ν/√ν,
//! P(T ≤ t) = ∫ Φ(t s - δ) f(s) ds and P(T > t) = ∫ Φ(δ - t s) f(s) ds.
//! Both integrands are positive, so each tail is found directly with full relative accuracy.
//! In x = ln s the integrand has one peak; it is cut where it has fallen by e^-40, and Gauss-Legendre panels are as
//! wide as the narrower of its two scales allows: 1/√(2ν) for the chi density, 1/(t s) for the normal step.
//!
//! Definition and use: Krishnamoorthy and Mathew 2009, Statistical Tolerance Regions, ch. 1 and 2 (memory);
//! NIST/SEMATECH e-Handbook 1.3.6 (memory). The quadrature is our own; tests hold independent values.

use super::distribution::{normal_cdf, normal_ln_cdf, normal_quantile};
use super::special::{Tails, gamma_tails, is_inside, ln_gamma, panel, root_increasing, stirling_rest};

/// Fall of the logarithm of the integrand at which the rest is dropped: e^-40 is 4e-18.
const CUT: f64 = 40.0;

/// Beyond this many standard deviations Φ is 0 or 1 to the last bit.
const STEP_REACH: f64 = 8.5;

/// Both tails of the noncentral t with `degrees_of_freedom` (above 0, accurate from 0.01 on) and noncentrality `delta`.
///
/// NaN when an argument is NaN, when the degrees of freedom are not above zero or when `delta` is infinite.
pub fn noncentral_t_tails(t: f64, degrees_of_freedom: f64, delta: f64) -> Tails {
    let nu = degrees_of_freedom;
    if t.is_nan() || !is_inside(nu, 0.0, f64::INFINITY) || !delta.is_finite() {
        return Tails { lower: f64::NAN, upper: f64::NAN };
    }
    if t < 0.0 {
        let mirrored = noncentral_t_tails(-t, nu, -delta);
        return Tails { lower: mirrored.upper, upper: mirrored.lower };
    }
    if t == f64::INFINITY {
        return Tails::from_upper(0.0);
    }
    if t == 0.0 {
        return Tails { lower: normal_cdf(-delta), upper: normal_cdf(delta) };
    }
    if delta.abs() > STEEPEST {
        return steep_tails(t, nu, delta);
    }
    // The median of s is close to 1: the smaller tail is the one with the far Φ there.
    if t > delta {
        Tails::from_upper(Integrand::new(t, nu, delta, false).integral().min(1.0))
    } else {
        Tails::from_lower(Integrand::new(t, nu, delta, true).integral().min(1.0))
    }
}

/// Noncentrality beyond which the normal part is a sharp step to the last digits.
const STEEPEST: f64 = 1e8;

/// Limit for a noncentrality so large that Z does not count: T = δ/s. Here t is above zero.
fn steep_tails(t: f64, nu: f64, delta: f64) -> Tails {
    if delta < 0.0 {
        return Tails::from_upper(0.0);
    }
    let s = delta / t;
    let chi = gamma_tails(0.5 * nu, 0.5 * nu * s * s);
    Tails { lower: chi.upper, upper: chi.lower }
}

/// P(T ≤ t) of the noncentral t.
pub fn noncentral_t_cdf(t: f64, degrees_of_freedom: f64, delta: f64) -> f64 {
    noncentral_t_tails(t, degrees_of_freedom, delta).lower
}

/// P(T > t) of the noncentral t.
pub fn noncentral_t_sf(t: f64, degrees_of_freedom: f64, delta: f64) -> f64 {
    noncentral_t_tails(t, degrees_of_freedom, delta).upper
}

/// Standard normal score of the tails: nearly straight in t and in δ, which makes root search quick.
fn score(tails: Tails) -> f64 {
    if tails.lower < tails.upper { normal_quantile(tails.lower.max(1e-300)) } else { -normal_quantile(tails.upper.max(1e-300)) }
}

/// Quantile of the noncentral t: the t with P(T ≤ t) = p.
///
/// NaN outside 0 < p < 1. The start value is that of Jennett and Welch 1939 (memory).
pub fn noncentral_t_quantile(p: f64, degrees_of_freedom: f64, delta: f64) -> f64 {
    let nu = degrees_of_freedom;
    if !is_inside(p, 0.0, 1.0) || !is_inside(nu, 0.0, f64::INFINITY) || !delta.is_finite() {
        return f64::NAN;
    }
    let z = normal_quantile(p);
    let bend = (1.0 - z * z / (2.0 * nu)).max(0.05);
    let guess = (delta + z * libm::sqrt((1.0 + (delta * delta - z * z) / (2.0 * nu)).max(0.1))) / bend;
    let step = 0.05 * (1.0 + guess.abs());
    root_increasing(guess, step, |t| score(noncentral_t_tails(t, nu, delta)) - z)
}

/// The noncentrality δ with P(T ≤ t) = p; P falls as δ grows.
pub fn noncentrality_for(t: f64, degrees_of_freedom: f64, p: f64) -> f64 {
    let nu = degrees_of_freedom;
    if !is_inside(p, 0.0, 1.0) || !is_inside(nu, 0.0, f64::INFINITY) || !t.is_finite() {
        return f64::NAN;
    }
    let z = normal_quantile(p);
    let spread = libm::sqrt(1.0 + t * t / (2.0 * nu));
    root_increasing(t - z * spread, 0.1 * spread, |delta| z - score(noncentral_t_tails(t, nu, delta)))
}

/// The integrand in x = ln s, with its peak and its ends.
struct Integrand {
    t: f64,
    nu: f64,
    delta: f64,
    /// +1 for the lower tail, Φ(ts - δ); -1 for the upper, Φ(δ - ts).
    sign: f64,
    /// ln of the constant in front of s^ν e^(-ν(s²-1)/2).
    ln_front: f64,
}

impl Integrand {
    fn new(t: f64, nu: f64, delta: f64, lower: bool) -> Self {
        let z = 0.5 * nu;
        // 2 z^z e^-z / Γ(z) = 2 √(z / 2π) e^-rest(z); the second form keeps digits when z is large.
        let ln_front = if z < 15.0 {
            std::f64::consts::LN_2 + z * libm::log(z) - z - ln_gamma(z)
        } else {
            std::f64::consts::LN_2 + 0.5 * libm::log(z / (2.0 * std::f64::consts::PI)) - stirling_rest(z)
        };
        Integrand { t, nu, delta, sign: if lower { 1.0 } else { -1.0 }, ln_front }
    }

    fn normal_argument(&self, s: f64) -> f64 {
        self.sign * (self.t * s - self.delta)
    }

    fn ln_value(&self, x: f64) -> f64 {
        let s = libm::exp(x);
        self.nu * (x - 0.5 * libm::expm1(2.0 * x)) + normal_ln_cdf(self.normal_argument(s))
    }

    /// The integrand over e^top; the plain product where Φ is far from underflow.
    fn value(&self, x: f64, top: f64) -> f64 {
        let s = libm::exp(x);
        let a = self.normal_argument(s);
        if a < -30.0 {
            return libm::exp(self.ln_value(x) - top);
        }
        libm::exp(self.nu * (x - 0.5 * (s * s - 1.0)) - top) * normal_cdf(a)
    }

    /// Slope of the logarithm of the integrand in s, falling in s; its root is the peak.
    fn slope(&self, s: f64) -> f64 {
        let a = self.normal_argument(s);
        let mills = if a < -25.0 { -a - 1.0 / a } else { super::distribution::normal_pdf(a) / normal_cdf(a) };
        self.nu / s - self.nu * s + self.sign * self.t * mills
    }

    fn peak(&self) -> f64 {
        let (mut low, mut high) = (-1.0, 1.0);
        while self.slope(libm::exp(low)) < 0.0 && low > -700.0 {
            high = low;
            low *= 2.0;
        }
        while self.slope(libm::exp(high)) > 0.0 && high < 700.0 {
            low = high;
            high = if high < 0.0 { 1.0 } else { 2.0 * high };
        }
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if self.slope(libm::exp(middle)) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Where the integrand has fallen by the cut, on the side given by `direction`.
    fn end(&self, peak: f64, top: f64, direction: f64) -> f64 {
        let mut width = 1e-3 / libm::sqrt(self.nu);
        let mut inside = 0.0;
        while self.ln_value(peak + direction * width) > top - CUT && width < 1e4 {
            inside = width;
            width *= 2.0;
        }
        // Within a third is near enough; an end far too wide would cost panels.
        for _ in 0..80 {
            if width <= 1.3 * inside {
                break;
            }
            let middle = if inside > 0.0 { 0.5 * (inside + width) } else { 0.125 * width };
            if self.ln_value(peak + direction * middle) > top - CUT {
                inside = middle;
            } else {
                width = middle;
            }
        }
        peak + direction * width
    }

    /// Where the panel that starts at x ends.
    fn panel_end(&self, x: f64) -> f64 {
        let chi = self.chi_width(x);
        let s = libm::exp(x);
        // Three standard deviations of the normal step: t (s' - s) = 3.
        let steep = libm::log1p(3.0 / (self.t * s)).min(chi);
        let argument = self.t * s - self.delta;
        let (flat, edge) = if self.sign < 0.0 {
            (argument < -STEP_REACH, self.delta - STEP_REACH)
        } else {
            (argument >= STEP_REACH, self.delta + STEP_REACH)
        };
        let edge = libm::log(edge.max(1e-300) / self.t);
        // A sliver next to the edge joins the panel behind it.
        let before_edge = edge > x + 1e-14 * (1.0 + x.abs());
        match (flat, before_edge) {
            (true, true) => (x + chi).min(edge),
            (true, false) if self.sign > 0.0 => x + chi,
            (false, true) => (x + steep).min(edge),
            _ => x + steep,
        }
    }

    /// Panel width the chi density allows: three of its standard deviations; far below it only falls as s^ν.
    fn chi_width(&self, x: f64) -> f64 {
        let near = (3.0 / libm::sqrt(2.0 * self.nu)).min(0.75);
        let far = 6.0 / self.nu;
        if x + far < -1.5 { near.max(far) } else { near }
    }

    fn integral(&self) -> f64 {
        let peak = self.peak();
        let top = self.ln_value(peak);
        let (left, right) = (self.end(peak, top, -1.0), self.end(peak, top, 1.0));
        let mut sum = 0.0;
        let mut from = left;
        while from < right {
            let to = self.panel_end(from).min(right);
            if to <= from {
                break;
            }
            sum += panel(from, to, |x| self.value(x, top));
            from = to;
        }
        sum * libm::exp(top + self.ln_front)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With δ = 0 it is Student's t.
    #[test]
    fn central_case_is_student() {
        for nu in [1.0, 2.0, 2.7, 5.0, 30.0, 400.0] {
            for t in [-40.0, -3.0, -0.2, 0.0, 0.7, 2.5, 12.0] {
                let own = noncentral_t_tails(t, nu, 0.0);
                let student = super::super::distribution::student_tails(t, nu);
                assert!((own.lower / student.lower - 1.0).abs() < 1e-12, "{t} {nu}");
                assert!((own.upper / student.upper - 1.0).abs() < 1e-12, "{t} {nu}");
            }
        }
    }

    /// Both tails by adaptive quadrature at 25 digits in an independent library.
    #[test]
    fn independent_values() {
        let table = [
            // t, ν, δ, lower tail, upper tail
            (3.0, 1.0, 0.5, 0.8231218864004438, 0.1768781135995562),
            (8.0, 1.35, 2.0, 0.865158486834102, 0.134841513165898),
            (10.661, 2.0, 2.219712424042684, 0.9499976644340471, 0.05000233556595289),
            (-1.0, 2.0, 3.0, 0.00015319636282512812, 0.9998468036371748),
            (40.0, 2.0, 43.3, 0.3100666729644604, 0.6899333270355396),
            (2500.0, 2.0, 1732.0, 0.6188008130258836, 0.38119918697411637),
            (2.0, 4.0, 3.7, 0.06832677702486319, 0.9316732229751368),
            (-9.0, 4.0, -2.5, 0.019392126042196593, 0.9806078739578034),
            (6.65, 9.0, 5.2, 0.7499103233316525, 0.25008967666834747),
            (2.5, 9.0, 0.0, 0.9830690861585071, 0.01693091384149287),
            (0.5, 9.0, 8.0, 4.3262892480735174e-14, 0.9999999999999567),
            (9.7, 29.0, 9.0, 0.6451868834333468, 0.35481311656665315),
            (22.0, 29.0, 12.7, 0.9992678328798785, 0.000732167120121426),
            (28.0, 99.0, 23.3, 0.9826064979132577, 0.01739350208674227),
            (10.0, 99.0, 16.4, 1.1010759280668053e-07, 0.9999998898924072),
            (54.3, 999.0, 52.0, 0.927186391754687, 0.072813608245313),
            (78.6, 999.0, 73.57, 0.9936112258951701, 0.006388774104829886),
            (60.0, 999.0, 73.57, 6.261321787817119e-16, 0.9999999999999993),
            (20.0, 17.0, 7.0, 0.9999759979933834, 2.400200661660532e-05),
            (100.0, 3.0, 2.0, 0.999980662454669, 1.933754533096943e-05),
        ];
        for (t, nu, delta, lower, upper) in table {
            let own = noncentral_t_tails(t, nu, delta);
            assert!((own.lower / lower - 1.0).abs() < 1e-11, "{t} {nu} {delta}: {own:?}");
            assert!((own.upper / upper - 1.0).abs() < 1e-11, "{t} {nu} {delta}: {own:?}");
        }
    }

    /// Beyond the steepest noncentrality the limit takes over without a jump, up to the largest numbers.
    #[test]
    fn huge_noncentrality() {
        for nu in [2.0, 20.0] {
            for share in [0.7, 1.0, 1.4] {
                let at = |delta: f64| noncentral_t_tails(share * delta, nu, delta).lower;
                assert!((at(0.999e8) / at(1.001e8) - 1.0).abs() < 1e-9, "{nu} {share}");
                assert_eq!(at(1e12), at(1e150));
            }
        }
        assert_eq!(noncentral_t_tails(5.0, 3.0, -1e200).upper, 0.0);
    }

    #[test]
    fn tails_add_to_one_and_rise() {
        for nu in [1.35, 2.0, 9.0, 99.0, 999.0] {
            for delta in [-4.0, 0.5, 3.0, 20.0, 73.0] {
                let mut before = 0.0;
                for i in -20..60 {
                    let t = delta + 0.4 * f64::from(i) * (1.0 + 0.05 * delta);
                    let tails = noncentral_t_tails(t, nu, delta);
                    assert!((tails.lower + tails.upper - 1.0).abs() < 1e-15);
                    assert!(tails.lower >= before - 1e-15, "{nu} {delta} {t}");
                    before = tails.lower;
                }
            }
        }
    }

    #[test]
    fn quantile_inverts() {
        for nu in [2.0, 5.0, 40.0, 999.0] {
            for delta in [-2.0, 0.0, 2.0, 70.0] {
                for p in [1e-6, 0.05, 0.5, 0.95, 0.999] {
                    let t = noncentral_t_quantile(p, nu, delta);
                    assert!((noncentral_t_cdf(t, nu, delta) / p - 1.0).abs() < 1e-10);
                }
            }
        }
    }
}
