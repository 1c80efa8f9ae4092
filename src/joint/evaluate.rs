//! From a model to its capacity: inputs drawn, weakest state in each draw, first-order propagation as a cross-check.

use super::beside::Room;
use super::block::{BLOCK, Block, Draws};
use super::correct::Corrected;
use super::distribution::{Drawer, Law};
use super::mode::Mode;
use super::model::{Draw, ModelInput};
use crate::quantity::Measure;
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use uom::si::f64::Force;

/// 5 %, 50 % and 95 % point, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantiles {
    /// 5 % point.
    pub low: f64,
    /// Median.
    pub median: f64,
    /// 95 % point.
    pub high: f64,
}

impl Quantiles {
    /// Upper over lower end.
    pub fn width(&self) -> f64 {
        self.high / self.low
    }
    /// By selection: the median first, then one end in each half; reorders the values.
    pub(super) fn of(values: &mut [f64]) -> Quantiles {
        if values.is_empty() {
            return Quantiles { low: f64::NAN, median: f64::NAN, high: f64::NAN };
        }
        let count = values.len();
        let place = |p: f64| ((p * count as f64) as usize).min(count - 1);
        let (low, middle, high) = (place(0.05), place(0.5), place(0.95));
        let (below, median, above) = values.select_nth_unstable_by(middle, f64::total_cmp);
        let median = *median;
        let pick = |part: &mut [f64], at: usize| match part.len() {
            0 => median,
            n => *part.select_nth_unstable_by(at.min(n - 1), f64::total_cmp).1,
        };
        Quantiles { low: pick(below, low), median, high: pick(above, high.saturating_sub(middle + 1)) }
    }
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
    pub formula: Cow<'static, str>,
    /// Share of draws in which it is the weakest.
    pub share: f64,
    /// Share of draws in which it is reached before any load.
    pub at_nothing: f64,
    /// Load of each draw, where limit states are wanted.
    loads: Vec<f64>,
    band: OnceLock<Quantiles>,
    /// Standard uncertainty of ln F, first order; `None` where nothing is to be compared with it.
    first_order: Option<f64>,
}

impl StateResult {
    /// Load at which it is reached (infinite where it is not); no numbers where [`super::need::Need::limit_states`] was not
    /// asked for.
    pub fn load(&self) -> Quantiles {
        *self.band.get_or_init(|| Quantiles::of(&mut self.loads.clone()))
    }
    /// The cross-check; `None` for states that are a minimum or a switch, or not reached in some draws.
    pub fn check(&self) -> Option<FirstOrder> {
        let switch = [Mode::GrooveShear, Mode::NotCured, Mode::NotFilled, Mode::MetalThreadShear];
        let some = &self.loads[..self.loads.len().min(LOOKED_AT)];
        let reached = self.loads.iter().all(|f| *f > 0.0 && f.is_finite());
        let first_order = self.first_order.filter(|u| u.is_finite())?;
        if switch.contains(&self.mode) || !reached || some.len() < 2 {
            return None;
        }
        Some(FirstOrder { first_order, drawn: deviation(some, true) })
    }
}

/// The capacity of a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Capacity {
    /// Load of the weakest state in each draw, N.
    pub loads: Vec<f64>,
    /// Its band.
    pub load: Quantiles,
    /// Limit states.
    pub states: Vec<StateResult>,
    /// Share of each mode, largest first.
    pub modes: Vec<(Mode, f64)>,
    /// Torque that strips or turns, N·m.
    pub torque: Option<Quantiles>,
    /// Draws in which a state gave no number: a fault of this program.
    pub faults: usize,
}

/// Drawn inputs that rival methods share, by name, each with its standard uncertainty (of ln where it lives there). The bias
/// of one mode may have a law of its own for each joint; drawn from one stream, it still rises and falls with the others.
pub struct Columns(BTreeMap<String, Vec<(Law, Column)>>);

struct Column {
    values: Vec<f64>,
    uncertainty: f64,
}

impl Column {
    /// A column for each law of a name; all are drawn from one stream.
    fn of_laws(name: &str, laws: &[&Law], seed: u64, count: usize) -> Vec<(Law, Column)> {
        let drawn = Law::all_draws(laws, name, seed, count).into_iter().zip(laws);
        let column = |(values, law): (Vec<f64>, &&Law)| {
            let uncertainty = law.uncertainty().unwrap_or_else(|| deviation(&values, law.logarithmic()));
            ((*law).clone(), Column { values, uncertainty })
        };
        drawn.map(column).collect()
    }
}

impl Columns {
    /// Draws every shared input of these models once.
    pub fn draw<'s, 'n: 's>(models: impl Iterator<Item = &'s Corrected<'n>>, seed: u64, count: usize) -> Columns {
        let mut laws: BTreeMap<&str, Vec<&Law>> = BTreeMap::new();
        for input in models.flat_map(|s| &s.model.inputs).filter(|i| i.shared) {
            let of_name = laws.entry(&input.name).or_default();
            if !of_name.contains(&&input.law) {
                of_name.push(&input.law);
            }
        }
        let draw = |(name, laws): (&str, Vec<&Law>)| (name.to_owned(), Column::of_laws(name, &laws, seed, count));
        let laws: Vec<(&str, Vec<&Law>)> = laws.into_iter().collect();
        Columns(laws.into_par_iter().with_max_len(1).map(draw).collect())
    }
    /// The column of an input, where it is shared.
    fn of(&self, input: &ModelInput) -> Option<&Column> {
        self.0.get(&input.name)?.iter().find(|(law, _)| *law == input.law).map(|(_, column)| column)
    }
}

/// Draws looked at for a spread: two thousand tell it to 2 %, and the cross-check flags at 15 %.
const LOOKED_AT: usize = 2_000;

/// Standard deviation of the first draws, of their logarithm where the law lives there; NaN where it has none.
fn deviation(values: &[f64], logarithmic: bool) -> f64 {
    let some = values.iter().take(LOOKED_AT).map(|v| if logarithmic { libm::log(*v) } else { *v });
    let (mut n, mut mean, mut squares) = (0.0, 0.0, 0.0);
    for v in some {
        n += 1.0;
        let off = v - mean;
        mean += off / n;
        squares += off * (v - mean);
    }
    libm::sqrt(squares / (n - 1.0))
}

/// Standard uncertainty of an input of one case.
fn uncertainty(input: &ModelInput, seed: u64) -> f64 {
    let drawn = || deviation(&input.law.draws(&input.name, seed, LOOKED_AT), input.law.logarithmic());
    input.law.uncertainty().unwrap_or_else(drawn)
}

/// What has been drawn so far.
struct Run {
    here: Block,
    room: Room,
    worst: Vec<usize>,
    at_nothing: Vec<usize>,
    /// Loads of each state, where they are wanted.
    by_state: Vec<Vec<f64>>,
    loads: Vec<f64>,
    torques: Vec<f64>,
    faults: usize,
}

impl Run {
    fn of(states: usize, count: usize, keeps: bool) -> Run {
        Run {
            here: Block::default(),
            room: Room::default(),
            worst: vec![0; states],
            at_nothing: vec![0; states],
            by_state: (0..states).map(|_| Vec::with_capacity(if keeps { count } else { 0 })).collect(),
            loads: Vec::with_capacity(count),
            torques: Vec::with_capacity(count),
            faults: 0,
        }
    }
}

impl Corrected<'_> {
    /// The capacity over all draws; the inputs of this case alone are drawn here, a block at a time.
    pub fn capacity(&self, shared: &Columns, seed: u64, count: usize) -> Capacity {
        let inputs = &self.model.inputs;
        let known: Vec<Option<&Column>> = inputs.iter().map(|i| shared.of(i)).collect();
        let alone = inputs.iter().zip(&known).filter(|(_, known)| known.is_none());
        let mut drawers: Vec<Drawer<'_>> = alone.map(|(i, _)| Drawer::of(&i.law, &i.name, seed)).collect();
        let mut run = Run::of(self.model.states.len(), count, self.model.need.limit_states);
        let mut own = Block::default();
        for begin in (0..count).step_by(BLOCK) {
            let end = (begin + BLOCK).min(count);
            own.reshape(drawers.len(), end - begin);
            drawers.iter_mut().zip(own.each_mut()).for_each(|(drawer, column)| drawer.fill(column));
            let mut own = own.each();
            let columns = known.iter().filter_map(|c| c.map_or_else(|| own.next(), |c| Some(&c.values[begin..end])));
            self.take(&Draws::of(columns.collect(), end - begin), &mut run);
        }
        let uncertainties: Vec<f64> =
            inputs.iter().map(|i| shared.of(i).map_or_else(|| uncertainty(i, seed), |c| c.uncertainty)).collect();
        self.finish(run, &uncertainties)
    }
    /// Some draws: the load of each state, the weakest of them, the torque at it.
    fn take(&self, draws: &Draws<'_>, run: &mut Run) {
        self.loads(draws, &mut run.room, &mut run.here);
        let (least, places) = run.here.least();
        let any_fault = run.here.values().iter().any(|f| f.is_nan());
        let sound = |line: usize| !any_fault || run.here.each().all(|state| !state[line].is_nan());
        for (line, (load, place)) in least.into_iter().zip(places).enumerate() {
            if !sound(line) {
                run.faults += 1;
                continue;
            }
            run.worst[place] += 1;
            run.loads.push(load);
            if let Some(torque) = self.torque(&draws.draw(line), load) {
                run.torques.push(torque);
            }
        }
        for (count, state) in run.at_nothing.iter_mut().zip(run.here.each()) {
            *count += state.iter().filter(|load| **load <= 0.0).count();
        }
        let keeps = self.model.need.limit_states;
        for (list, state) in run.by_state.iter_mut().zip(run.here.each()).filter(|_| keeps) {
            if any_fault {
                list.extend(state.iter().enumerate().filter(|(line, _)| sound(*line)).map(|(_, load)| *load));
            } else {
                list.extend_from_slice(state);
            }
        }
    }
    fn finish(&self, run: Run, uncertainties: &[f64]) -> Capacity {
        let Run { loads, by_state, worst, at_nothing, mut torques, faults, .. } = run;
        let total = loads.len().max(1) as f64;
        let is_checked = self.model.need.limit_states && !self.held_by_others();
        let first_order = if is_checked { self.first_order(uncertainties) } else { Vec::new() };
        let states: Vec<StateResult> = by_state
            .into_iter()
            .enumerate()
            .map(|(place, loads)| StateResult {
                mode: self.model.states[place].mode,
                formula: self.model.states[place].formula.clone(),
                share: worst[place] as f64 / total,
                at_nothing: at_nothing[place] as f64 / total,
                loads,
                band: OnceLock::new(),
                first_order: first_order.get(place).copied(),
            })
            .collect();
        let modes = shares(&states);
        let torque = (!torques.is_empty()).then(|| Quantiles::of(&mut torques));
        // The loads keep their order, which rivals are compared by; what held the torques has room for them.
        torques.clear();
        torques.extend_from_slice(&loads);
        Capacity { load: Quantiles::of(&mut torques), loads, states, modes, torque, faults }
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
    /// Standard uncertainty of ln F of each state from the uncertainties of its inputs, by central differences.
    fn first_order(&self, uncertainties: &[f64]) -> Vec<f64> {
        let spread = uncertainties.iter().copied().enumerate().filter(|(_, u)| *u > 0.0);
        let tried: Vec<(usize, f64)> = spread.map(|(input, u)| (input, STEP * u)).collect();
        let lines = Block::around(&self.model, &tried);
        let mut loads = Block::default();
        self.loads(&lines.draws(), &mut Room::default(), &mut loads);
        let of_state = |state: usize| {
            let mut square = 0.0;
            for ends in loads.column(state)[1..].chunks_exact(2) {
                // One logarithm of the ratio, so that equal ends give exactly no slope.
                let slope = libm::log(ends[0] / ends[1]) / (2.0 * STEP);
                square += slope * slope;
            }
            libm::sqrt(square)
        };
        (0..self.model.states.len()).map(of_state).collect()
    }
}

/// Step of the central differences, in standard uncertainties.
const STEP: f64 = 1e-3;

fn shares(states: &[StateResult]) -> Vec<(Mode, f64)> {
    let mut by_mode: BTreeMap<Mode, f64> = BTreeMap::new();
    for state in states {
        *by_mode.entry(state.mode).or_default() += state.share;
    }
    let mut list: Vec<(Mode, f64)> = by_mode.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    list
}
