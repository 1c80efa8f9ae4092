//! A joint that was measured stays with its own specimens.
//!
//! Every estimate that borrows strength is drawn towards what it borrows from: a series that bursts at three times its
//! prediction would be answered a little below its own mean, and below its own interval where its specimens agree well. So the
//! translation is limited (B. Efron and C. Morris, Limiting the risk of Bayes and empirical Bayes estimators, part II, Journal
//! of the American Statistical Association 67 (1972), 130; memory): the predictive median of a measured joint never lies
//! farther than one standard error from the mean of its own loads. All polymer states of the joint move together, so what
//! fails first stays what it was, and no spread changes. Between joints, as where one is left out to be predicted from the
//! others, the move is weighed by distance (D. Shepard, A two-dimensional interpolation function for irregularly-spaced data,
//! ACM National Conference, 1968; memory) and dies with their likeness.

use super::place::{JointCoordinates, Parts};
use crate::statistics::distribution::{normal_cdf, normal_pdf};
use crate::statistics::special::root_increasing;

/// A measured joint and how far its states are moved, in ln load.
#[derive(Debug, Clone, PartialEq)]
pub struct Anchor {
    /// Where it lies.
    pub place: JointCoordinates,
    /// The move.
    pub by: f64,
}

/// Standard errors of its own mean within which a joint stays; the two-sided 95 % interval is 1.96 of them or more.
const WITHIN: f64 = 1.0;

/// How far the states of a joint are moved so that it stays with its own loads: the logarithms of these, batch by batch, mean
/// and variance of the ln load of each state, and the variance they have in common. Zero below two loads.
pub fn translation(batches: &[&[f64]], states: &[(f64, f64)], common: f64) -> f64 {
    let Some((mean, error)) = own_mean(batches) else { return 0.0 };
    let off = median_of_least(states, common) - mean;
    if off.is_finite() { off.clamp(-WITHIN * error, WITHIN * error) - off } else { 0.0 }
}

/// Mean of the batches and its standard error, from the batches where there are several.
fn own_mean(batches: &[&[f64]]) -> Option<(f64, f64)> {
    let filled: Vec<&[f64]> = batches.iter().copied().filter(|b| !b.is_empty()).collect();
    let of = |values: &[f64]| {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
        (n > 1.0).then(|| (mean, libm::sqrt(squares / (n - 1.0) / n)))
    };
    match filled[..] {
        [] => None,
        [one] => of(one),
        _ => of(&filled.iter().map(|b| b.iter().sum::<f64>() / b.len() as f64).collect::<Vec<f64>>()),
    }
}

/// Points on each side of the middle of the common part, and its half width in deviations.
const HALF: i32 = 12;
const WIDE: f64 = 5.0;

/// Median of the least of independent normal values with a normal part in common.
fn median_of_least(states: &[(f64, f64)], common: f64) -> f64 {
    let Some(least) = states.iter().map(|(mean, _)| *mean).min_by(f64::total_cmp) else { return f64::NAN };
    let (deviation, step) = (libm::sqrt(common), WIDE / f64::from(HALF));
    let below = |t: f64| {
        let at = |k: i32| {
            let z = step * f64::from(k);
            let above: f64 = states.iter().map(|(m, v)| normal_cdf((m + z * deviation - t) / libm::sqrt(v.max(1e-12)))).product();
            step * normal_pdf(z) * (1.0 - above)
        };
        (-HALF..=HALF).map(at).sum::<f64>()
    };
    root_increasing(least, 0.5, |t| below(t) - 0.5)
}

/// How far the states of a joint at a place are moved.
pub fn moved(anchors: &[Anchor], parts: &Parts, place: &JointCoordinates) -> f64 {
    let (mut sum, mut weights, mut most) = (0.0, 0.0, 0.0_f64);
    for anchor in anchors {
        let alike = parts.alike(&anchor.place, place);
        if parts.same(&anchor.place, place) || alike == 1.0 {
            return anchor.by;
        }
        let weight = alike / (1.0 - alike);
        sum += weight * anchor.by;
        weights += weight;
        most = most.max(alike);
    }
    if weights > 0.0 { most * sum / weights } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_of_the_least_is_that_of_its_law() {
        // Hand: of two equal standard normal values the least lies above t with Φ(-t)²; half at Φ(-t) = 0.70711, t = -0.54495.
        assert!((median_of_least(&[(0.0, 1.0), (0.0, 1.0)], 0.0) + 0.544_95).abs() < 1e-4);
        // A common part alone has its own median; a state far above does not matter.
        assert!((median_of_least(&[(0.3, 0.0), (9.0, 0.01)], 0.04) - 0.3).abs() < 1e-3);
    }

    #[test]
    fn it_stays_within_one_standard_error_and_moves_nothing_that_does() {
        // Hand: values 0, 0.1, 0.2: mean 0.1, standard error 0.1/√3 = 0.057735; one state 0.3 below is moved by 0.3 - 0.057735.
        let own: [&[f64]; 1] = [&[0.0, 0.1, 0.2]];
        assert!((translation(&own, &[(-0.2, 0.01)], 0.0) - 0.242_265).abs() < 1e-6);
        assert!((translation(&own, &[(0.4, 0.01)], 0.0) + 0.242_265).abs() < 1e-6);
        assert!(translation(&own, &[(0.05, 0.01)], 0.0).abs() < 1e-12);
        assert_eq!(translation(&[&[0.0]], &[(-0.9, 0.01)], 0.0), 0.0);
        // Two batches: their means 0.1 and 0.3, standard error 0.1.
        let two: [&[f64]; 2] = [&[0.0, 0.1, 0.2], &[0.3]];
        assert!((translation(&two, &[(-0.2, 0.01)], 0.0) - 0.3).abs() < 1e-6);
    }
}
