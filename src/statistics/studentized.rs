//! Studentized range (Tukey) and Dunnett's maximum: upper tail and quantile.
//!
//! Both are one integral over the spread s = χ_ν/√ν of a probability for known spread, itself one integral over a normal
//! variable. Upper tails are integrated directly, so that small p keep their digits. Both integrals use the trapezoidal rule,
//! which converges exponentially for such bell-shaped integrands; the outer step is halved until it no longer matters.
//! Sources: Lund and Lund 1983, Applied Statistics 32:204 (memory); Dunnett 1955, JASA 50:1096 (memory).

use super::distribution::{normal_cdf, normal_pdf};
use super::special::{is_above, ln_gamma, root_increasing, stirling_rest};

/// Step and reach of the inner rule over the normal variable.
const INNER_STEP: f64 = 0.25;
const INNER_REACH: f64 = 10.0;

/// P(Q > q) of the studentized range of `groups` means with `degrees_of_freedom`; NaN below two groups.
pub fn studentized_range_sf(q: f64, groups: usize, degrees_of_freedom: f64) -> f64 {
    if groups < 2 || !is_above(degrees_of_freedom, 0.0) || q.is_nan() {
        return f64::NAN;
    }
    if q <= 0.0 {
        return 1.0;
    }
    if q == f64::INFINITY {
        return 0.0;
    }
    let nodes = inner_nodes();
    over_spread(degrees_of_freedom, |s| range_sf(q * s, groups, &nodes)).min(1.0)
}

/// P(Q ≤ q) of the studentized range.
pub fn studentized_range_cdf(q: f64, groups: usize, degrees_of_freedom: f64) -> f64 {
    1.0 - studentized_range_sf(q, groups, degrees_of_freedom)
}

/// Quantile of the studentized range: the q with P(Q ≤ q) = p; NaN outside 0 < p < 1.
pub fn studentized_range_quantile(p: f64, groups: usize, degrees_of_freedom: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    upper_quantile(1.0 - p, |q| studentized_range_sf(q, groups, degrees_of_freedom))
}

/// P(max |T_i| > d) for comparisons of several groups with one reference.
///
/// `sizes` are the sizes of the groups, `reference` that of the reference; correlations follow from them:
/// ρ_ij = λ_i λ_j with λ_i = √(n_i/(n_i + n_0)).
pub fn dunnett_sf(d: f64, sizes: &[usize], reference: usize, degrees_of_freedom: f64) -> f64 {
    if sizes.is_empty() || reference == 0 || !is_above(degrees_of_freedom, 0.0) || d.is_nan() {
        return f64::NAN;
    }
    if d <= 0.0 {
        return 1.0;
    }
    if d == f64::INFINITY {
        return 0.0;
    }
    let loads: Vec<f64> = sizes.iter().map(|n| libm::sqrt(*n as f64 / (n + reference) as f64)).collect();
    let nodes = inner_nodes();
    over_spread(degrees_of_freedom, |s| maximum_sf(d * s, &loads, &nodes)).min(1.0)
}

/// Critical |t| of Dunnett's two-sided comparisons: the d with P(max |T_i| ≤ d) = p.
pub fn dunnett_quantile(p: f64, sizes: &[usize], reference: usize, degrees_of_freedom: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    upper_quantile(1.0 - p, |d| dunnett_sf(d, sizes, reference, degrees_of_freedom))
}

/// Root of a falling tail, searched on ln q.
fn upper_quantile(tail: f64, sf: impl Fn(f64) -> f64) -> f64 {
    let aim = libm::log(tail);
    libm::exp(root_increasing(1.2, 0.25, |x| aim - libm::log(sf(libm::exp(x)).max(1e-300))))
}

struct InnerNode {
    z: f64,
    density: f64,
    below: f64,
}

/// Nodes of the inner rule with density and distribution, which do not depend on q.
fn inner_nodes() -> Vec<InnerNode> {
    let steps = (2.0 * INNER_REACH / INNER_STEP) as usize;
    (0..=steps)
        .map(|i| {
            let z = -INNER_REACH + INNER_STEP * i as f64;
            InnerNode { z, density: normal_pdf(z), below: normal_cdf(z) }
        })
        .collect()
}

/// P(range of r standard normals > w): r ∫ φ(z) (Φ(z)^(r-1) - (Φ(z) - Φ(z-w))^(r-1)) dz.
fn range_sf(w: f64, groups: usize, nodes: &[InnerNode]) -> f64 {
    let r = groups as f64;
    let power = r - 1.0;
    let sum: f64 = nodes
        .iter()
        .map(|node| {
            if node.density == 0.0 || node.below == 0.0 {
                return 0.0;
            }
            let whole = libm::pow(node.below, power);
            let share = (normal_cdf(node.z - w) / node.below).min(1.0);
            let lost = if share >= 1.0 { 1.0 } else { -libm::expm1(power * libm::log1p(-share)) };
            node.density * whole * lost
        })
        .sum();
    r * INNER_STEP * sum
}

/// P(max |Y_i| > w) for normals with one common factor: 1 - ∫ φ(z) Π (Φ(b_i) - Φ(a_i)) dz.
fn maximum_sf(w: f64, loads: &[f64], nodes: &[InnerNode]) -> f64 {
    let sum: f64 = nodes
        .iter()
        .map(|node| {
            let mut ln_inside = 0.0;
            for load in loads {
                let own = libm::sqrt(1.0 - load * load);
                let above = normal_cdf((load * node.z - w) / own);
                let below = normal_cdf((-load * node.z - w) / own);
                let outside = above + below;
                if outside >= 1.0 {
                    return node.density;
                }
                ln_inside += libm::log1p(-outside);
            }
            -node.density * libm::expm1(ln_inside)
        })
        .sum();
    INNER_STEP * sum
}

/// Mean of `f` over s = χ_ν/√ν, integrated over x = ln s.
fn over_spread(nu: f64, f: impl Fn(f64) -> f64) -> f64 {
    if nu.is_infinite() {
        return f(1.0);
    }
    let half = 0.5 * nu;
    let ln_front = if half < 15.0 {
        std::f64::consts::LN_2 + half * libm::log(half) - half - ln_gamma(half)
    } else {
        std::f64::consts::LN_2 + 0.5 * libm::log(half / (2.0 * std::f64::consts::PI)) - stirling_rest(half)
    };
    let ln_weight = |x: f64| nu * (x - 0.5 * libm::expm1(2.0 * x));
    let (left, right) = spread_ends(nu, ln_weight);
    let value = |x: f64| libm::exp(ln_weight(x) + ln_front) * f(libm::exp(x));
    let mut pieces = 32_usize;
    let mut step = (right - left) / pieces as f64;
    let mut sum: f64 = (0..=pieces).map(|i| value(left + step * i as f64)).sum();
    for _ in 0..6 {
        let between: f64 = (0..pieces).map(|i| value(left + step * (i as f64 + 0.5))).sum();
        let coarse = sum * step;
        sum += between;
        step *= 0.5;
        pieces *= 2;
        let fine = sum * step;
        if (fine - coarse).abs() <= 1e-11 * fine.abs() {
            return fine;
        }
    }
    sum * step
}

/// Where the weight has fallen by e^-38 from its peak at x = 0.
fn spread_ends(nu: f64, ln_weight: impl Fn(f64) -> f64) -> (f64, f64) {
    let reach = |direction: f64| {
        let mut width = 1.0 / libm::sqrt(nu);
        while ln_weight(direction * width) > -38.0 && width < 1e4 {
            width *= 1.1;
        }
        direction * width
    };
    (reach(-1.0), reach(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With two groups the range is √2 |t|.
    #[test]
    fn two_groups_are_student() {
        for nu in [2.0, 3.5, 8.0, 60.0, 500.0] {
            for q in [0.3, 1.5, 3.0, 6.0, 11.0] {
                let own = studentized_range_sf(q, 2, nu);
                let t = super::super::distribution::student_two_sided(q / std::f64::consts::SQRT_2, nu);
                assert!((own / t - 1.0).abs() < 1e-9, "{q} {nu}: {own} {t}");
                if q > 8.0 {
                    // Beyond the reach of the inner rule for the maximum; p is below 1e-8 there unless ν is tiny.
                    continue;
                }
                let one = dunnett_sf(q, &[7], 4, nu);
                let direct = super::super::distribution::student_two_sided(q, nu);
                assert!((one / direct - 1.0).abs() < 1e-9, "{q} {nu}");
            }
        }
    }

    /// Upper tails and quantiles of an independent library.
    #[test]
    fn independent_values() {
        for (q, groups, nu, p) in [
            (3.5, 3, 12.0, 0.06999548527518362),
            (1.0, 5, 7.0, 0.948370741162547),
            (8.0, 10, 4.0, 0.046404375466152614),
            (4.5, 20, 40.0, 0.19799210733658124),
            (6.0, 4, 2.0, 0.12448921884187125),
            (3.0, 6, 120.0, 0.28347999609061036),
            (20.0, 3, 3.0, 0.0015753096230057828),
            (0.5, 2, 5.0, 0.7380926018939141),
            (3.77, 3, 17.4, 0.04053023408946832),
            (12.0, 4, 15.0, 2.255312448462554e-06),
        ] {
            let own = studentized_range_sf(q, groups, nu);
            assert!((own / p - 1.0).abs() < 1e-8, "{q} {groups} {nu}: {own}");
        }
        for (p, groups, nu, q) in [
            (0.95, 3, 2.0, 8.330782645637044),
            (0.99, 5, 10.0, 6.13609331339544),
            (0.95, 10, 20.0, 5.007882667595452),
            (0.9, 4, 6.0, 4.06511773821621),
            (0.95, 8, 500.0, 4.304595602708207),
        ] {
            let own = studentized_range_quantile(p, groups, nu);
            assert!((own - q).abs() < 1e-7, "{p} {groups} {nu}: {own}");
        }
    }

    /// Blood counts of Dunnett 1955 by a double integral of an independent library.
    #[test]
    fn dunnett_independent() {
        for (d, p) in [(0.8570321259343803, 0.620101980018456), (3.693752311235726, 0.0058253608479469305)] {
            assert!((dunnett_sf(d, &[4, 5], 6, 12.0) - p).abs() < 1e-10);
        }
    }

    /// Two-sided 5 % points of Dunnett 1964, Biometrics 20:482, equal sizes (memory), two decimals.
    #[test]
    fn dunnett_table() {
        for (groups, nu, printed) in
            [(2, 10.0, 2.57), (3, 10.0, 2.76), (4, 10.0, 2.89), (2, 20.0, 2.38), (3, 20.0, 2.54), (2, 5.0, 3.03), (3, 5.0, 3.29)]
        {
            let own = dunnett_quantile(0.95, &vec![6; groups], 6, nu);
            assert!((own - printed).abs() < 0.006, "{groups} {nu} {own}");
        }
    }
}
