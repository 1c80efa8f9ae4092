//! How the loads of a model lean on its inputs, to first order in ln (JCGM 100, 5.1.2).
//!
//! A strength claimed too high is too high for every joint of its material: two joints that read an input of one name share
//! its error. That error is a part of what the prediction is off by, and is told by series like the rest of it.

use super::place::JointCoordinates;
use crate::joint::block::Block;
use crate::joint::distribution::{Law, NINETY};
use crate::joint::mode::Mode;
use crate::joint::model::{LimitState, Model};
use crate::statistics::distribution::student_quantile;

/// One limit state at the medians of its inputs.
#[derive(Debug, Clone, PartialEq)]
pub struct Lean {
    /// How it fails.
    pub mode: Mode,
    /// Whether its formula is that of one method alone: joints of other methods say nothing of it.
    pub alone: bool,
    /// ln of its load in N with every input at its median.
    pub ln_load: f64,
    /// Change of ln load for one standard deviation of each input that other joints read too, by name.
    pub shared: Vec<(String, f64)>,
    /// Variance of ln load from the inputs of this case alone.
    pub own: f64,
}

impl Lean {
    /// Variance of ln load from all inputs.
    pub fn variance(&self) -> f64 {
        self.own + self.shared.iter().map(|(_, a)| a * a).sum::<f64>()
    }
    /// Covariance of the input errors of two joints that are so much alike.
    pub fn shared_with(&self, other: &Lean, alike: f64) -> f64 {
        let mut theirs = other.shared.iter().peekable();
        let mut sum = 0.0;
        for (name, a) in &self.shared {
            while theirs.next_if(|(n, _)| n < name).is_some() {}
            if let Some((_, b)) = theirs.next_if(|(n, _)| n == name) {
                sum += a * b;
            }
        }
        sum + libm::sqrt(self.own * other.own) * alike
    }
}

/// Whether two joints can tell anything of one another's state: always, unless the formula of one of them is that of its
/// method alone and the other is of another method.
pub fn related((a, b): (Option<&Lean>, Option<&Lean>), (here, there): (&JointCoordinates, &JointCoordinates)) -> bool {
    let alone = [a, b].into_iter().flatten().any(|lean| lean.alone);
    !alone || (here.method().is_some() && here.method() == there.method())
}

/// The states of a model; `None` for one that is not reached, or gives nothing, at the medians.
pub fn of(model: &Model<'_>) -> Vec<Option<Lean>> {
    // Half a deviation either way: a wide input is seen over its width, not at a point.
    let step = 0.5;
    let deviations = model.inputs.iter().map(|input| deviation(&input.law)).enumerate().filter(|(_, u)| *u > 0.0);
    let mut tried: Vec<(usize, f64)> = deviations.map(|(place, u)| (place, step * u)).collect();
    tried.sort_by(|(a, _), (b, _)| model.inputs[*a].name.cmp(&model.inputs[*b].name));
    let lines = Block::around(model, &tried);
    let draws = lines.draws();
    let of_state = |state: &LimitState| {
        let mut loads = vec![0.0; draws.count()];
        draws.load(state, &mut loads);
        let (at_medians, moved) = loads.split_first()?;
        let ln_load = Some(libm::log(*at_medians)).filter(|ln| ln.is_finite())?;
        let mut lean = Lean { mode: state.mode, alone: state.alone, ln_load, shared: Vec::new(), own: 0.0 };
        for ((place, _), ends) in tried.iter().zip(moved.chunks_exact(2)) {
            let slope = (libm::log(ends[0]) - libm::log(ends[1])) / (2.0 * step);
            if !slope.is_finite() || slope == 0.0 {
                continue;
            }
            let input = &model.inputs[*place];
            if input.shared {
                lean.shared.push((input.name.clone(), slope));
            } else {
                lean.own += slope * slope;
            }
        }
        Some(lean)
    };
    model.states.iter().map(of_state).collect()
}

/// Standard deviation of a law, of its logarithm where it lives there.
fn deviation(law: &Law) -> f64 {
    match law {
        Law::LogStudent { scale, freedom, .. } => scale * student_quantile(0.95, *freedom) / NINETY,
        Law::OneOf(all) if !all.is_empty() => {
            let n = all.len() as f64;
            let middle = |l: &Law| if law.logarithmic() { libm::log(l.median()) } else { l.median() };
            let mean = all.iter().map(middle).sum::<f64>() / n;
            let square = |l: &Law| libm::pow(deviation(l), 2.0) + libm::pow(middle(l) - mean, 2.0);
            libm::sqrt(all.iter().map(square).sum::<f64>() / n)
        }
        law => law.uncertainty().unwrap_or(0.0),
    }
}
