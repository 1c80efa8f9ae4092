//! Propagation of uncertainty through a formula: first order, with correlations and effective degrees of freedom.
//!
//! JCGM 100:2008 clause 5 (propagation), G.4 (Welch-Satterthwaite, degrees of freedom truncated), 7.2.6 (rounding, see
//! `round`); clause numbers from memory. Values are pure numbers here; the caller keeps units consistent.

use super::distribution::student_upper_quantile;
use super::refusal::{Refusal, require, require_probability};
use super::special::is_above;
use super::summary::{exact_sum, moments};

/// An input quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GumInput {
    /// Best value.
    pub value: f64,
    /// Standard uncertainty, not negative.
    pub uncertainty: f64,
    /// Degrees of freedom of the uncertainty; infinite when it is taken as known.
    pub degrees_of_freedom: f64,
}

/// Correlation of two inputs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlation {
    /// Position of one input.
    pub first: usize,
    /// Position of the other.
    pub second: usize,
    /// Correlation coefficient, -1 to 1.
    pub r: f64,
}

/// Result of a propagation.
#[derive(Debug, Clone, PartialEq)]
pub struct Propagated {
    /// Value of the formula at the best values.
    pub value: f64,
    /// Combined standard uncertainty.
    pub uncertainty: f64,
    /// Partial derivatives, in the order of the inputs.
    pub sensitivities: Vec<f64>,
    /// Uncertainty times sensitivity of each input, with sign.
    pub contributions: Vec<f64>,
    /// Effective degrees of freedom; `None` when inputs are correlated, where the formula does not hold.
    pub effective_degrees_of_freedom: Option<f64>,
}

/// An expanded uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expanded {
    /// Coverage factor from Student's t.
    pub factor: f64,
    /// Expanded uncertainty.
    pub uncertainty: f64,
    /// Degrees of freedom used, truncated to a whole number.
    pub degrees_of_freedom: f64,
    /// Confidence, as a fraction.
    pub confidence: f64,
}

impl Propagated {
    /// Expanded uncertainty at a confidence; correlated inputs are taken with infinite degrees of freedom.
    pub fn expanded(&self, confidence: f64) -> Result<Expanded, Refusal> {
        let freedom = self.effective_degrees_of_freedom.unwrap_or(f64::INFINITY);
        expand(self.uncertainty, freedom, confidence)
    }
}

/// Expanded uncertainty from a standard uncertainty and its effective degrees of freedom, truncated as in G.4.1.
pub fn expand(uncertainty: f64, freedom: f64, confidence: f64) -> Result<Expanded, Refusal> {
    require_probability("confidence", confidence)?;
    if freedom.is_nan() || freedom < 1.0 {
        return Err(Refusal::OutOfRange { argument: "effective degrees of freedom", value: freedom, allowed: "at least 1" });
    }
    let tail = 0.5 * (1.0 - confidence);
    let whole = libm::floor(freedom);
    let factor = if whole > 1e6 { -super::distribution::normal_quantile(tail) } else { student_upper_quantile(tail, whole) };
    Ok(Expanded { factor, uncertainty: factor * uncertainty, degrees_of_freedom: whole, confidence })
}

/// One contribution to a combined uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// Standard uncertainty times sensitivity.
    pub uncertainty: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

/// Effective degrees of freedom u_c⁴/Σ(u_i⁴/ν_i) of independent contributions; infinite when none limits them.
pub fn welch_satterthwaite(combined: f64, parts: &[Contribution]) -> f64 {
    let sum: f64 = parts
        .iter()
        .map(|part| {
            let share = part.uncertainty / combined;
            share * share * share * share / part.degrees_of_freedom
        })
        .sum();
    if sum > 0.0 { 1.0 / sum } else { f64::INFINITY }
}

/// Propagates uncertainties through `model` to first order, derivatives by five-point central differences.
pub fn propagate(
    model: impl Fn(&[f64]) -> f64,
    inputs: &[GumInput],
    correlations: &[Correlation],
) -> Result<Propagated, Refusal> {
    check(inputs, correlations)?;
    let at: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let value = model(&at);
    let sensitivities: Vec<f64> = (0..inputs.len()).map(|i| derivative(&model, &at, i, step_of(&inputs[i]))).collect();
    if !value.is_finite() || sensitivities.iter().any(|c| !c.is_finite()) {
        return Err(Refusal::NoConvergence { method: "the formula at the best values" });
    }
    let contributions: Vec<f64> = sensitivities.iter().zip(inputs).map(|(c, i)| c * i.uncertainty).collect();
    let variance = covariance(&contributions, &contributions, correlations);
    let uncertainty = libm::sqrt(variance.max(0.0));
    let effective_degrees_of_freedom = correlations.iter().all(|c| c.r == 0.0).then(|| {
        let parts: Vec<Contribution> = contributions
            .iter()
            .zip(inputs)
            .map(|(u, i)| Contribution { uncertainty: *u, degrees_of_freedom: i.degrees_of_freedom })
            .collect();
        welch_satterthwaite(uncertainty, &parts)
    });
    Ok(Propagated { value, uncertainty, sensitivities, contributions, effective_degrees_of_freedom })
}

fn check(inputs: &[GumInput], correlations: &[Correlation]) -> Result<(), Refusal> {
    let values: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    require(&values, 1, "the propagation of uncertainty")?;
    for input in inputs {
        if !(input.uncertainty >= 0.0 && input.uncertainty.is_finite()) {
            return Err(Refusal::OutOfRange {
                argument: "standard uncertainty",
                value: input.uncertainty,
                allowed: "finite and not negative",
            });
        }
        if !is_above(input.degrees_of_freedom, 0.0) {
            return Err(Refusal::OutOfRange {
                argument: "degrees of freedom",
                value: input.degrees_of_freedom,
                allowed: "above zero",
            });
        }
    }
    let outside = |c: &Correlation| {
        c.first >= inputs.len() || c.second >= inputs.len() || c.first == c.second || !(-1.0..=1.0).contains(&c.r)
    };
    if correlations.iter().any(outside) {
        return Err(Refusal::Mismatch { what: "a correlation must join two different inputs and lie between -1 and 1" });
    }
    Ok(())
}

/// Σ_i Σ_j a_i b_j r_ij of two lists of contributions.
fn covariance(a: &[f64], b: &[f64], correlations: &[Correlation]) -> f64 {
    let own = a.iter().zip(b).map(|(x, y)| x * y);
    let crossed = correlations.iter().map(|c| c.r * (a[c.first] * b[c.second] + a[c.second] * b[c.first]));
    exact_sum(own.chain(crossed))
}

/// Correlation of two results computed from the same inputs.
pub fn correlation_of_results(first: &Propagated, second: &Propagated, correlations: &[Correlation]) -> Result<f64, Refusal> {
    if first.contributions.len() != second.contributions.len() {
        return Err(Refusal::Mismatch { what: "both results must come from the same inputs" });
    }
    let product = first.uncertainty * second.uncertainty;
    if !is_above(product, 0.0) {
        return Err(Refusal::NoSpread { method: "the correlation of two results" });
    }
    let joint = covariance(&first.contributions, &second.contributions, correlations);
    Ok((joint / product).clamp(-1.0, 1.0))
}

/// Step of a difference: a hundredth of the uncertainty or a thousandth of the value.
fn step_of(input: &GumInput) -> f64 {
    (1e-2 * input.uncertainty).max(1e-3 * input.value.abs())
}

/// Combined standard uncertainty with the terms of second order, for a formula that bends or whose slopes vanish.
///
/// u² = Σ c_i² u_i² + Σ_i Σ_j (½ f_ij² + f_i f_ijj) u_i² u_j² (note to 5.1.2 of JCGM 100); independent inputs with symmetric
/// distributions. Derivatives by central differences, good to about six digits.
pub fn second_order_uncertainty(model: impl Fn(&[f64]) -> f64, inputs: &[GumInput]) -> Result<f64, Refusal> {
    let first = propagate(&model, inputs, &[])?;
    let at: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let shifted = |moves: &[(usize, f64)]| {
        let mut point = at.clone();
        for (i, times) in moves {
            point[*i] += times * step_of(&inputs[*i]);
        }
        model(&point)
    };
    let mut variance = first.uncertainty * first.uncertainty;
    for i in (0..inputs.len()).filter(|i| inputs[*i].uncertainty > 0.0) {
        for j in (0..inputs.len()).filter(|j| inputs[*j].uncertainty > 0.0) {
            let (hi, hj) = (step_of(&inputs[i]), step_of(&inputs[j]));
            // Bend along j, seen from a point moved along i.
            let bend = |moved: f64| {
                let along = |times: f64| shifted(&[(i, moved), (j, times)]);
                (along(1.0) - 2.0 * along(0.0) + along(-1.0)) / (hj * hj)
            };
            let cross = if i == j {
                bend(0.0)
            } else {
                let corner = |a: f64, b: f64| shifted(&[(i, a), (j, b)]);
                (corner(1.0, 1.0) - corner(1.0, -1.0) - corner(-1.0, 1.0) + corner(-1.0, -1.0)) / (4.0 * hi * hj)
            };
            let third = (bend(1.0) - bend(-1.0)) / (2.0 * hi);
            let scale = inputs[i].uncertainty * inputs[j].uncertainty;
            variance += (0.5 * cross * cross + first.sensitivities[i] * third) * scale * scale;
        }
    }
    if !variance.is_finite() {
        return Err(Refusal::NoConvergence { method: "the formula near the best values" });
    }
    Ok(libm::sqrt(variance.max(0.0)))
}

/// Five-point central difference of one input.
fn derivative(model: &impl Fn(&[f64]) -> f64, at: &[f64], i: usize, step: f64) -> f64 {
    if step == 0.0 {
        return 0.0;
    }
    let shifted = |times: f64| {
        let mut point = at.to_vec();
        point[i] += times * step;
        model(&point)
    };
    let near = shifted(1.0) - shifted(-1.0);
    let far = shifted(2.0) - shifted(-2.0);
    (8.0 * near - far) / (12.0 * step)
}

/// Correlation coefficient of paired observations, which is also that of their means (JCGM 100, 5.2.3).
pub fn correlation_of_observations(first: &[f64], second: &[f64]) -> Result<f64, Refusal> {
    let method = "the correlation of observations";
    require(first, 2, method)?;
    require(second, 2, method)?;
    if first.len() != second.len() {
        return Err(Refusal::Mismatch { what: "observations must be paired" });
    }
    let (a, b) = (moments(first)?, moments(second)?);
    let product = libm::sqrt(a.sum_of_squares) * libm::sqrt(b.sum_of_squares);
    if !is_above(product, 0.0) {
        return Err(Refusal::NoSpread { method });
    }
    let joint = exact_sum(first.iter().zip(second).map(|(x, y)| (x - a.mean) * (y - b.mean)));
    Ok((joint / product).clamp(-1.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(value: f64, uncertainty: f64) -> GumInput {
        GumInput { value, uncertainty, degrees_of_freedom: f64::INFINITY }
    }

    /// By hand: a product has relative variances that add; a fully correlated sum has uncertainties that add.
    #[test]
    fn by_hand() {
        let inputs = [known(3.0, 0.03), known(4.0, 0.08)];
        let product = propagate(|x| x[0] * x[1], &inputs, &[]).unwrap();
        let relative = (0.01_f64 * 0.01 + 0.02 * 0.02).sqrt();
        assert!((product.uncertainty / 12.0 - relative).abs() < 1e-12);
        assert_eq!(product.effective_degrees_of_freedom, Some(f64::INFINITY));
        let r = Correlation { first: 0, second: 1, r: 1.0 };
        let sum = propagate(|x| x[0] + x[1], &inputs, &[r]).unwrap();
        assert!((sum.uncertainty - 0.11).abs() < 1e-12);
        assert_eq!(sum.effective_degrees_of_freedom, None);
    }

    /// By hand: the square of a normal with mean 0 has standard deviation √2 u², which first order misses altogether.
    #[test]
    fn second_order_by_hand() {
        let zero = [known(0.0, 0.3)];
        assert!(propagate(|x| x[0] * x[0], &zero, &[]).unwrap().uncertainty < 1e-12);
        let u = second_order_uncertainty(|x| x[0] * x[0], &zero).unwrap();
        assert!((u / (0.09 * 2_f64.sqrt()) - 1.0).abs() < 1e-6, "{u}");
    }

    #[test]
    fn refusals() {
        assert!(propagate(|_| 0.0, &[], &[]).is_err());
        assert!(propagate(|x| x[0], &[known(1.0, -1.0)], &[]).is_err());
        assert!(propagate(|x| libm::log(x[0]), &[known(-1.0, 0.1)], &[]).is_err());
        let r = Correlation { first: 0, second: 0, r: 0.5 };
        assert!(propagate(|x| x[0], &[known(1.0, 1.0)], &[r]).is_err());
    }
}
