//! Special functions, quadrature nodes and root search the other files stand on.
//!
//! The incomplete beta and gamma functions give both tails, so that a small upper tail keeps its digits
//! (`1 - lower` would lose them), and use `libm` only, so that every platform prints the same digits.
//! Tests compare them with `statrs`. Continued fractions by the modified Lentz method: Press et al.,
//! Numerical Recipes, 3rd ed. 2007, 6.2 and 6.4 (memory); Abramowitz and Stegun 26.5.8, 6.5.29, 6.5.31 (memory).

use std::sync::LazyLock;

/// Lower and upper tail of one distribution function; they add to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tails {
    /// P(X ≤ x).
    pub lower: f64,
    /// P(X > x).
    pub upper: f64,
}

impl Tails {
    pub(super) fn from_lower(lower: f64) -> Self {
        Tails { lower, upper: 1.0 - lower }
    }

    pub(super) fn from_upper(upper: f64) -> Self {
        Tails { lower: 1.0 - upper, upper }
    }
}

/// Whether `value` is above `limit`; false for NaN.
pub(super) fn is_above(value: f64, limit: f64) -> bool {
    value > limit
}

/// Whether `value` lies strictly between the limits; false for NaN.
pub(super) fn is_inside(value: f64, low: f64, high: f64) -> bool {
    value > low && value < high
}

const TINY: f64 = 1e-300;
const LAST_BIT: f64 = 1e-16;
const MOST_TERMS: usize = 20_000;

/// ln Γ(x) for x > 0.
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Rest of Stirling's formula: ln Γ(z) - ((z - ½) ln z - z + ½ ln 2π).
///
/// The series keeps its digits for large z, where the difference of the large terms would not.
pub(super) fn stirling_rest(z: f64) -> f64 {
    if z < 15.0 {
        let half_ln_two_pi = 0.5 * libm::log(2.0 * std::f64::consts::PI);
        return ln_gamma(z) - ((z - 0.5) * libm::log(z) - z + half_ln_two_pi);
    }
    let r = 1.0 / (z * z);
    (1.0 / 12.0 - r * (1.0 / 360.0 - r * (1.0 / 1260.0 - r * (1.0 / 1680.0 - r / 1188.0)))) / z
}

/// ln B(a, b).
fn ln_beta(a: f64, b: f64) -> f64 {
    if a < 15.0 || b < 15.0 {
        return ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b);
    }
    let half_ln_two_pi = 0.5 * libm::log(2.0 * std::f64::consts::PI);
    half_ln_two_pi + (a - 0.5) * libm::log(a / (a + b)) + b * libm::log(b / (a + b)) - 0.5 * libm::log(b)
        + stirling_rest(a)
        + stirling_rest(b)
        - stirling_rest(a + b)
}

/// Regularised incomplete beta function I_x(a, b), both tails; `y` is `1 - x`, given separately so that it keeps its digits.
pub(super) fn beta_tails(a: f64, b: f64, x: f64, y: f64) -> Tails {
    if x <= 0.0 {
        return Tails::from_lower(0.0);
    }
    if y <= 0.0 {
        return Tails::from_upper(0.0);
    }
    let front = libm::exp(a * libm::log(x) + b * libm::log(y) - ln_beta(a, b));
    if x < (a + 1.0) / (a + b + 2.0) {
        Tails::from_lower(front * beta_fraction(a, b, x) / a)
    } else {
        Tails::from_upper(front * beta_fraction(b, a, y) / b)
    }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let away = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for i in 1..MOST_TERMS {
        let m = i as f64;
        let even = m * (b - m) * x / ((a - 1.0 + 2.0 * m) * (a + 2.0 * m));
        d = 1.0 / away(1.0 + even * d);
        c = away(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 1.0 + 2.0 * m));
        d = 1.0 / away(1.0 + odd * d);
        c = away(1.0 + odd / c);
        let step = d * c;
        h *= step;
        if (step - 1.0).abs() <= LAST_BIT {
            break;
        }
    }
    h
}

/// Regularised incomplete gamma function P(a, x) and Q(a, x).
pub(super) fn gamma_tails(a: f64, x: f64) -> Tails {
    if x <= 0.0 {
        return Tails::from_lower(0.0);
    }
    if x == f64::INFINITY {
        return Tails::from_upper(0.0);
    }
    let front = libm::exp(gamma_front(a, x));
    if x < a + 1.0 {
        let mut term = 1.0 / a;
        let mut sum = term;
        for i in 1..MOST_TERMS {
            term *= x / (a + i as f64);
            sum += term;
            if term < sum * LAST_BIT {
                break;
            }
        }
        Tails::from_lower((front * sum).min(1.0))
    } else {
        Tails::from_upper((front * gamma_fraction(a, x)).min(1.0))
    }
}

/// a ln x - x - ln Γ(a), arranged so that large a and x near a do not cancel.
fn gamma_front(a: f64, x: f64) -> f64 {
    if a < 15.0 {
        return a * libm::log(x) - x - ln_gamma(a);
    }
    let half_ln_two_pi = 0.5 * libm::log(2.0 * std::f64::consts::PI);
    a * libm::log(x / a) + (a - x) + 0.5 * libm::log(a) - half_ln_two_pi - stirling_rest(a)
}

fn gamma_fraction(a: f64, x: f64) -> f64 {
    let away = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / away(b);
    let mut h = d;
    for i in 1..MOST_TERMS {
        let m = i as f64;
        let an = -m * (m - a);
        b += 2.0;
        d = 1.0 / away(an * d + b);
        c = away(b + an / c);
        let step = d * c;
        h *= step;
        if (step - 1.0).abs() <= LAST_BIT {
            break;
        }
    }
    h
}

/// Nodes on (-1, 1) and weights of Gauss-Legendre quadrature.
pub(super) const NODE_COUNT: usize = 20;

/// One node of the quadrature and its weight.
#[derive(Clone, Copy)]
pub(super) struct QuadratureNode {
    pub at: f64,
    pub weight: f64,
}

/// Twenty-point Gauss-Legendre rule, found by Newton's method on the Legendre polynomial.
pub(super) static NODES: LazyLock<[QuadratureNode; NODE_COUNT]> = LazyLock::new(|| {
    let n = NODE_COUNT as f64;
    let mut nodes = [QuadratureNode { at: 0.0, weight: 0.0 }; NODE_COUNT];
    for (i, node) in nodes.iter_mut().enumerate() {
        let mut x = libm::cos(std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5));
        let mut slope = 1.0;
        for _ in 0..30 {
            let (mut p, mut before) = (x, 1.0);
            for k in 2..=NODE_COUNT {
                let k = k as f64;
                let next = ((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k;
                before = p;
                p = next;
            }
            slope = n * (x * p - before) / (x * x - 1.0);
            let step = p / slope;
            x -= step;
            if step.abs() < 1e-16 {
                break;
            }
        }
        *node = QuadratureNode { at: x, weight: 2.0 / ((1.0 - x * x) * slope * slope) };
    }
    nodes
});

/// Integral of `f` over one panel by the twenty-point rule.
pub(super) fn panel(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let middle = 0.5 * (from + to);
    let half = 0.5 * (to - from);
    let sum: f64 = NODES.iter().map(|node| node.weight * f(middle + half * node.at)).sum();
    sum * half
}

/// One end of a bracket: a point and the value of the function there.
#[derive(Clone, Copy)]
struct End {
    at: f64,
    value: f64,
}

/// Width relative to the root at which a search stops.
const ROOT_WIDTH: f64 = 4e-15;

/// Root of `f` between `a` and `b`, where it changes sign; Brent 1973, Algorithms for Minimization without Derivatives, ch. 4.
///
/// Returns the last point when the values at the ends do not differ in sign.
pub(super) fn root_between(a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let end = |at: f64| End { at, value: f(at) };
    root_in_bracket(end(a), end(b), f)
}

fn root_in_bracket(mut a: End, mut b: End, f: impl Fn(f64) -> f64) -> f64 {
    let mut c = a;
    let (mut step, mut last) = (b.at - a.at, b.at - a.at);
    for _ in 0..200 {
        if (b.value > 0.0) == (c.value > 0.0) {
            c = a;
            step = b.at - a.at;
            last = step;
        }
        if c.value.abs() < b.value.abs() {
            (a, b, c) = (b, c, b);
        }
        let close = 0.5 * ROOT_WIDTH * b.at.abs() + 1e-300;
        let half = 0.5 * (c.at - b.at);
        if half.abs() <= close || b.value == 0.0 {
            return b.at;
        }
        match interpolated(a, b, c, half).filter(|s| {
            last.abs() >= close
                && a.value.abs() > b.value.abs()
                && 2.0 * s.abs() < (3.0 * half.abs() - close).min(last.abs())
                && (s * half) > 0.0
        }) {
            Some(inner) => {
                last = step;
                step = inner;
            }
            None => {
                last = half;
                step = half;
            }
        }
        a = b;
        let at = b.at + if step.abs() > close { step } else { close.copysign(half) };
        b = End { at, value: f(at) };
    }
    b.at
}

/// Step from b by the secant or, with three points, by inverse quadratic interpolation.
fn interpolated(a: End, b: End, c: End, half: f64) -> Option<f64> {
    let s = b.value / a.value;
    let (p, q) = if a.at == c.at {
        (2.0 * half * s, s - 1.0)
    } else {
        let (u, r) = (a.value / c.value, b.value / c.value);
        let p = s * (2.0 * half * u * (u - r) - (b.at - a.at) * (r - 1.0));
        (p, -(u - 1.0) * (r - 1.0) * (s - 1.0))
    };
    let step = p / q;
    step.is_finite().then_some(step)
}

/// Root of an increasing function, starting from a guess and a step; widens the bracket by doubling first.
pub fn root_increasing(guess: f64, step: f64, f: impl Fn(f64) -> f64) -> f64 {
    let end = |at: f64| End { at, value: f(at) };
    let mut low = end(guess);
    let mut high = low;
    let mut width = step;
    // 1100 doublings pass from the smallest to the largest number.
    for _ in 0..1100 {
        if low.value > 0.0 {
            high = low;
            low = end(low.at - width);
        } else if high.value < 0.0 {
            low = high;
            high = end(high.at + width);
        } else {
            break;
        }
        width *= 2.0;
    }
    root_in_bracket(low, high, f)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `statrs` as the independent library.
    #[test]
    fn incomplete_functions_agree_with_statrs() {
        for a in [0.3, 0.5, 1.0, 2.5, 9.0, 40.0, 400.0] {
            for b in [0.5, 1.0, 3.0, 17.5, 120.0] {
                for x in [1e-6, 0.02, 0.3, 0.5, 0.77, 0.98] {
                    let own = beta_tails(a, b, x, 1.0 - x);
                    let other = statrs::function::beta::beta_reg(a, b, x);
                    assert!((own.lower - other).abs() < 1e-11, "{a} {b} {x}");
                    assert!((own.lower + own.upper - 1.0).abs() < 1e-15);
                }
            }
            for x in [0.01, 0.4, 1.0, 3.0, 12.0, 390.0, 410.0] {
                let own = gamma_tails(a, x);
                let other = statrs::function::gamma::gamma_lr(a, x);
                assert!((own.lower - other).abs() < 1e-11, "{a} {x}: {own:?} {other}");
            }
        }
    }

    /// ln Γ(z) less Stirling's formula by the C library's lgamma (library): 1 - ½ ln 2π at 1 (hand), and on both sides of
    /// the place where the series takes over.
    #[test]
    fn the_rest_of_stirlings_formula() {
        for (z, rest) in [(1.0, 0.081_061_466_795), (2.0, 0.041_340_695_955), (3.0, 0.027_677_925_685), (14.5, 0.005_746_216_513)]
        {
            assert!((stirling_rest(z) - rest).abs() < 1e-12, "{z}: {}", stirling_rest(z));
        }
        for (z, rest) in [(15.0, 0.005_554_733_552), (100.0, 0.000_833_330_556)] {
            assert!((stirling_rest(z) - rest).abs() < 1e-12, "{z}: {}", stirling_rest(z));
        }
    }

    /// By hand: ∫ x^38 over (-1, 1) is 2/39, the highest even power the rule must give exactly.
    #[test]
    fn quadrature_is_exact_for_polynomials() {
        let own = panel(-1.0, 1.0, |x| x.powi(38));
        assert!((own - 2.0 / 39.0).abs() < 1e-14);
        assert!((panel(0.0, 3.0, |x| x * x) - 9.0).abs() < 1e-13);
    }

    #[test]
    fn roots() {
        assert!((root_increasing(0.0, 0.1, |x| x * x * x - 27.0) - 3.0).abs() < 1e-12);
        assert!((root_increasing(50.0, 0.1, |x| x - 2.0) - 2.0).abs() < 1e-12);
    }
}
