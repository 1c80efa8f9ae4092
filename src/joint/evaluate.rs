//! From a model to its capacity: inputs drawn, weakest state in each draw, first-order propagation as a cross-check.

use super::calibration::Calibration;
use super::law::Law;
use super::mode::Mode;
use super::model::{Draw, Model, Var};
use crate::quantity::Measure;
use rayon::prelude::*;
use std::collections::BTreeMap;
use uom::si::f64::{Force, Ratio};

/// 5 %, 50 % and 95 % point, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// 5 % point.
    pub low: f64,
    /// Median.
    pub median: f64,
    /// 95 % point.
    pub high: f64,
}

impl Band {
    /// Upper over lower end.
    pub fn width(&self) -> f64 {
        self.high / self.low
    }
    fn of(values: &mut [f64]) -> Band {
        Band { low: quantile(values, 0.05), median: quantile(values, 0.5), high: quantile(values, 0.95) }
    }
}

/// Quantile by selection; reorders the values.
fn quantile(values: &mut [f64], p: f64) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let place = ((p * values.len() as f64) as usize).min(values.len() - 1);
    *values.select_nth_unstable_by(place, f64::total_cmp).1
}

/// First-order propagation of one limit state in ln (JCGM 100, 5.1.2) beside the drawn one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstOrder {
    /// Standard uncertainty of ln F, first order.
    pub first_order: f64,
    /// Standard deviation of ln F as drawn.
    pub drawn: f64,
}

/// Difference above which the two are flagged.
const FLAGGED: f64 = 0.15;

impl FirstOrder {
    /// Relative difference.
    pub fn differs_by(&self) -> f64 {
        (self.first_order / self.drawn - 1.0).abs()
    }
    /// Whether the difference is flagged.
    pub fn flagged(&self) -> bool {
        self.differs_by() > FLAGGED
    }
}

/// One limit state over all draws.
#[derive(Debug, Clone, PartialEq)]
pub struct StateResult {
    /// How it fails.
    pub mode: Mode,
    /// Which formula.
    pub formula: &'static str,
    /// Load at which it is reached (infinite where it is not).
    pub load: Band,
    /// Share of draws in which it is the weakest.
    pub share: f64,
    /// The cross-check; `None` where the state is a minimum or a switch itself.
    pub check: Option<FirstOrder>,
}

/// The capacity of a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Capacity {
    /// Load of the weakest state in each draw, N.
    pub loads: Vec<f64>,
    /// Its band.
    pub load: Band,
    /// Limit states.
    pub states: Vec<StateResult>,
    /// Share of each mode, largest first.
    pub modes: Vec<(Mode, f64)>,
    /// Torque that strips or turns, N·m.
    pub torque: Option<Band>,
    /// Draws in which a state gave no number: a fault of this program.
    pub faults: usize,
}

/// A model with the corrections of its states: bias of the mode, batch, scatter of like joints.
pub struct Sealed<'n> {
    /// The model.
    pub model: Model<'n>,
    corrections: Vec<Vec<Var<Ratio>>>,
}

/// Adds bias, batch and scatter to a model's polymer states.
pub fn seal<'n>(mut model: Model<'n>, calibration: &Calibration, scaled_by: f64) -> Sealed<'n> {
    let (batch, within) = (model.assumed("batch_sd"), model.assumed("joint_sd"));
    let scatter = model.scatter.max(within);
    let modes: Vec<Mode> = model.states.iter().map(|s| s.mode).collect();
    let mut corrections = Vec::new();
    for mode in modes {
        if mode.is_metal() {
            corrections.push(Vec::new());
            continue;
        }
        let mut of_state = vec![
            model.input(format!("bias {}", mode.word()), calibration.law(mode)),
            model.input("batch of the part", Law::LogNormal { median: 1.0, sd: batch }),
            model.own("scatter of like joints", Law::LogNormal { median: 1.0, sd: scatter }),
        ];
        if scaled_by > 0.0 && calibration.posterior(mode).own {
            of_state.push(model.own("scaling of the series", Law::LogNormal { median: 1.0, sd: scaled_by }));
        }
        corrections.push(of_state);
    }
    Sealed { model, corrections }
}

/// Drawn inputs, by name, shared by all models.
pub struct Columns(BTreeMap<String, Vec<f64>>);

impl Columns {
    /// Draws every input of these models once.
    pub fn draw<'s, 'n: 's>(models: impl Iterator<Item = &'s Sealed<'n>>, seed: u64, count: usize) -> Columns {
        let mut laws: BTreeMap<&str, &Law> = BTreeMap::new();
        for input in models.flat_map(|s| &s.model.inputs) {
            laws.entry(&input.name).or_insert(&input.law);
        }
        let laws: Vec<(&str, &Law)> = laws.into_iter().collect();
        let drawn: Vec<(String, Vec<f64>)> =
            laws.par_iter().map(|(name, law)| ((*name).to_string(), law.draws(name, seed, count))).collect();
        Columns(drawn.into_iter().collect())
    }
}

impl Sealed<'_> {
    /// Loads of every state in a draw, corrected.
    fn loads(&self, draw: &Draw<'_>, into: &mut [f64]) {
        for (i, state) in self.model.states.iter().enumerate() {
            let load: Force = (state.load)(draw);
            into[i] = self.corrections[i].iter().fold(load.si(), |f, c| f * draw.get(*c).si());
        }
    }
    /// The capacity over all draws.
    pub fn capacity(&self, columns: &Columns, count: usize) -> Capacity {
        let columns: Vec<&[f64]> =
            self.model.inputs.iter().map(|i| columns.0.get(&i.name).map_or(&[][..], Vec::as_slice)).collect();
        let states = self.model.states.len();
        let mut row = vec![0.0; columns.len()];
        let mut here = vec![0.0; states];
        let mut by_state: Vec<Vec<f64>> = vec![Vec::with_capacity(count); states];
        let mut worst = vec![0usize; states];
        let (mut loads, mut torques, mut faults) = (Vec::with_capacity(count), Vec::new(), 0);
        for at in 0..count {
            for (value, column) in row.iter_mut().zip(&columns) {
                *value = column.get(at).copied().unwrap_or(f64::NAN);
            }
            let draw = Draw(&row);
            self.loads(&draw, &mut here);
            if here.iter().any(|f| f.is_nan()) {
                faults += 1;
                continue;
            }
            let (place, load) = weakest(&here);
            worst[place] += 1;
            loads.push(load);
            for (list, f) in by_state.iter_mut().zip(&here) {
                list.push(*f);
            }
            if let Some(torque) = self.torque(&draw, load) {
                torques.push(torque);
            }
        }
        let total = loads.len().max(1) as f64;
        let results = self.model.states.iter().zip(by_state).zip(&worst).map(|((state, mut values), worst)| StateResult {
            mode: state.mode,
            formula: state.formula,
            check: self.check(state.mode, &values),
            load: Band::of(&mut values),
            share: *worst as f64 / total,
        });
        let mut states: Vec<StateResult> = results.collect();
        for (i, state) in states.iter_mut().enumerate() {
            if let Some(check) = &mut state.check {
                check.first_order = self.first_order(i).unwrap_or(f64::NAN);
            }
            state.check = state.check.filter(|c| c.first_order.is_finite());
        }
        let modes = shares(&states);
        Capacity {
            load: Band::of(&mut loads.clone()),
            loads,
            states,
            modes,
            torque: (!torques.is_empty()).then(|| Band::of(&mut torques)),
            faults,
        }
    }
    fn torque(&self, draw: &Draw<'_>, load: f64) -> Option<f64> {
        let torques = &self.model.torques;
        let strip = torques.strip.as_ref().map(|t| t(draw, Force::from_si(load)).si());
        let turn = torques.turn.as_ref().map(|t| t(draw).si());
        match (strip, turn) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }
    /// Spread of ln F as drawn; `None` for states that are a minimum or a switch, or not reached in some draws.
    fn check(&self, mode: Mode, values: &[f64]) -> Option<FirstOrder> {
        let switch = [Mode::GrooveShear, Mode::NotCured, Mode::NotFilled, Mode::MetalThreadShear];
        if switch.contains(&mode) || values.iter().any(|f| *f <= 0.0 || !f.is_finite()) || values.len() < 2 {
            return None;
        }
        let n = values.len() as f64;
        let mean = values.iter().map(|f| libm::log(*f)).sum::<f64>() / n;
        let squares: f64 = values.iter().map(|f| (libm::log(*f) - mean) * (libm::log(*f) - mean)).sum();
        Some(FirstOrder { first_order: f64::NAN, drawn: libm::sqrt(squares / (n - 1.0)) })
    }
    /// Standard uncertainty of ln F of a state from the uncertainties of its inputs, by central differences.
    fn first_order(&self, state: usize) -> Option<f64> {
        let mut middle = self.model.middle();
        let mut here = vec![0.0; self.model.states.len()];
        let mut ln_at = |values: &[f64]| {
            self.loads(&Draw(values), &mut here);
            libm::log(here[state])
        };
        if !ln_at(&middle).is_finite() {
            return None;
        }
        let mut sum = 0.0;
        for (i, input) in self.model.inputs.iter().enumerate() {
            let Some(u) = input.law.uncertainty().or_else(|| numeric(&input.law)) else { continue };
            if u == 0.0 {
                continue;
            }
            let centre = middle[i];
            let step = 1e-3 * u;
            let moved = |by: f64| if input.law.logarithmic() { centre * libm::exp(by) } else { centre + by };
            middle[i] = moved(step);
            let above = ln_at(&middle);
            middle[i] = moved(-step);
            let below = ln_at(&middle);
            middle[i] = centre;
            let slope = (above - below) / (2.0 * step);
            sum += slope * slope * u * u;
        }
        Some(libm::sqrt(sum))
    }
}

/// Standard deviation of a law without closed form, from its own draws (of the logarithm where it lives there).
fn numeric(law: &Law) -> Option<f64> {
    let draws = law.draws("standard deviation", 1, 2_000);
    let values: Vec<f64> = if law.logarithmic() { draws.into_iter().map(libm::log).collect() } else { draws };
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0);
    variance.is_finite().then(|| libm::sqrt(variance))
}

fn weakest(loads: &[f64]) -> (usize, f64) {
    let mut best = (0, f64::INFINITY);
    for (i, f) in loads.iter().enumerate() {
        if *f < best.1 {
            best = (i, *f);
        }
    }
    best
}

fn shares(states: &[StateResult]) -> Vec<(Mode, f64)> {
    let mut by_mode: BTreeMap<Mode, f64> = BTreeMap::new();
    for state in states {
        *by_mode.entry(state.mode).or_default() += state.share;
    }
    let mut list: Vec<(Mode, f64)> = by_mode.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    list
}
