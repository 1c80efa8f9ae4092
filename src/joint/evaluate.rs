//! From a model to its capacity: inputs drawn, weakest state in each draw, first-order propagation as a cross-check.

use super::beside::Room;
use super::correct::Corrected;
use super::distribution::{Drawer, Law};
use super::mode::Mode;
use super::model::{Draw, ModelInput};
use crate::quantity::Measure;
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::BTreeMap;
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
    /// Load at which it is reached (infinite where it is not).
    pub load: Quantiles,
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
    fn of(name: &str, law: &Law, seed: u64, count: usize) -> Column {
        let values = law.draws(name, seed, count);
        let uncertainty = law.uncertainty().unwrap_or_else(|| deviation(&values, law.logarithmic()));
        Column { values, uncertainty }
    }
}

impl Columns {
    /// Draws every shared input of these models once.
    pub fn draw<'s, 'n: 's>(models: impl Iterator<Item = &'s Corrected<'n>>, seed: u64, count: usize) -> Columns {
        let mut laws: Vec<(&str, &Law)> = Vec::new();
        for input in models.flat_map(|s| &s.model.inputs).filter(|i| i.shared) {
            if !laws.iter().any(|(name, law)| *name == input.name && **law == input.law) {
                laws.push((&input.name, &input.law));
            }
        }
        let drawn: Vec<Column> = laws.par_iter().map(|(name, law)| Column::of(name, law, seed, count)).collect();
        let mut columns: BTreeMap<String, Vec<(Law, Column)>> = BTreeMap::new();
        for ((name, law), column) in laws.into_iter().zip(drawn) {
            columns.entry(name.into()).or_default().push((law.clone(), column));
        }
        Columns(columns)
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

/// Draws evaluated in one go: few enough that the inputs of a case stay near the processor.
const BLOCK: usize = 256;

/// An input of one case, drawn a block at a time.
struct Own<'l> {
    drawer: Drawer<'l>,
    block: Vec<f64>,
}

impl<'l> Own<'l> {
    fn of(input: &'l ModelInput, seed: u64) -> Own<'l> {
        Own { drawer: Drawer::of(&input.law, &input.name, seed), block: vec![0.0; BLOCK] }
    }
    /// So many draws more, at most a block.
    fn next(&mut self, count: usize) -> &[f64] {
        let block = &mut self.block[..count];
        self.drawer.fill(block);
        block
    }
}

/// Where the values of an input come from.
#[derive(Clone, Copy)]
enum Feed<'c> {
    Shared(&'c [f64]),
    Own(usize),
}

/// Standard uncertainty of an input of one case.
fn uncertainty(input: &ModelInput, seed: u64) -> f64 {
    let drawn = || deviation(&input.law.draws(&input.name, seed, LOOKED_AT), input.law.logarithmic());
    input.law.uncertainty().unwrap_or_else(drawn)
}

/// What has been drawn so far.
struct Run {
    here: Vec<f64>,
    room: Room,
    worst: Vec<usize>,
    by_state: Vec<Vec<f64>>,
    loads: Vec<f64>,
    torques: Vec<f64>,
    faults: usize,
}

impl Run {
    fn of(states: usize, count: usize) -> Run {
        Run {
            here: vec![0.0; states],
            room: Room::default(),
            worst: vec![0; states],
            by_state: (0..states).map(|_| Vec::with_capacity(count)).collect(),
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
        let mut own: Vec<Own<'_>> = inputs.iter().filter(|i| shared.of(i).is_none()).map(|i| Own::of(i, seed)).collect();
        let mut next_own = 0..own.len();
        let from: Vec<Feed<'_>> = inputs
            .iter()
            .filter_map(|i| shared.of(i).map(|c| Feed::Shared(&c.values)).or_else(|| next_own.next().map(Feed::Own)))
            .collect();
        let mut run = Run::of(self.model.states.len(), count);
        let width = inputs.len().max(1);
        let mut rows = vec![0.0; BLOCK * width];
        for begin in (0..count).step_by(BLOCK) {
            let end = (begin + BLOCK).min(count);
            for (place, feed) in from.iter().enumerate() {
                let values = match *feed {
                    Feed::Shared(values) => &values[begin..end],
                    Feed::Own(own_place) => own[own_place].next(end - begin),
                };
                for (row, value) in rows.chunks_exact_mut(width).zip(values) {
                    row[place] = *value;
                }
            }
            rows.chunks_exact(width).take(end - begin).for_each(|row| self.one(&Draw(row), &mut run));
        }
        let uncertainties: Vec<f64> =
            inputs.iter().map(|i| shared.of(i).map_or_else(|| uncertainty(i, seed), |c| c.uncertainty)).collect();
        self.finish(run, &uncertainties)
    }
    /// One draw: the load of each state, the weakest of them, the torque at it.
    fn one(&self, draw: &Draw<'_>, run: &mut Run) {
        self.loads(draw, &mut run.room, &mut run.here);
        if run.here.iter().any(|f| f.is_nan()) {
            run.faults += 1;
            return;
        }
        let (place, load) = weakest(&run.here);
        run.worst[place] += 1;
        run.loads.push(load);
        for (list, f) in run.by_state.iter_mut().zip(&run.here) {
            list.push(*f);
        }
        if let Some(torque) = self.torque(draw, load) {
            run.torques.push(torque);
        }
    }
    fn finish(&self, run: Run, uncertainties: &[f64]) -> Capacity {
        let Run { loads, by_state, worst, mut torques, faults, .. } = run;
        let total = loads.len().max(1) as f64;
        let first_order = self.first_order(uncertainties);
        let results = self.model.states.iter().zip(by_state).zip(&worst).zip(first_order);
        let states: Vec<StateResult> = results
            .map(|(((state, mut values), worst), first_order)| StateResult {
                mode: state.mode,
                formula: state.formula.clone(),
                check: check(state.mode, &values, first_order).filter(|_| !self.held_by_others()),
                load: Quantiles::of(&mut values),
                share: *worst as f64 / total,
            })
            .collect();
        let modes = shares(&states);
        Capacity {
            load: Quantiles::of(&mut loads.clone()),
            loads,
            states,
            modes,
            torque: (!torques.is_empty()).then(|| Quantiles::of(&mut torques)),
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
    /// Standard uncertainty of ln F of each state from the uncertainties of its inputs, by central differences.
    fn first_order(&self, uncertainties: &[f64]) -> Vec<f64> {
        let states = self.model.states.len();
        let mut middle = self.model.middle();
        let (mut above, mut below) = (vec![0.0; states], vec![0.0; states]);
        let mut squares = vec![0.0; states];
        let mut room = Room::default();
        for (i, input) in self.model.inputs.iter().enumerate() {
            let u = uncertainties[i];
            if u <= 0.0 || u.is_nan() {
                continue;
            }
            let (centre, step) = (middle[i], 1e-3 * u);
            let moved = |by: f64| if input.law.logarithmic() { centre * libm::exp(by) } else { centre + by };
            middle[i] = moved(step);
            self.loads(&Draw(&middle), &mut room, &mut above);
            middle[i] = moved(-step);
            self.loads(&Draw(&middle), &mut room, &mut below);
            middle[i] = centre;
            for ((square, above), below) in squares.iter_mut().zip(&above).zip(&below) {
                // One logarithm of the ratio, so that equal ends give exactly no slope.
                let slope = libm::log(above / below) / (2.0 * step);
                *square += slope * slope * u * u;
            }
        }
        squares.into_iter().map(libm::sqrt).collect()
    }
}

/// The cross-check; `None` for states that are a minimum or a switch, or not reached in some draws.
fn check(mode: Mode, values: &[f64], first_order: f64) -> Option<FirstOrder> {
    let switch = [Mode::GrooveShear, Mode::NotCured, Mode::NotFilled, Mode::MetalThreadShear];
    let some = &values[..values.len().min(LOOKED_AT)];
    let reached = values.iter().all(|f| *f > 0.0 && f.is_finite());
    if switch.contains(&mode) || !reached || some.len() < 2 || !first_order.is_finite() {
        return None;
    }
    Some(FirstOrder { first_order, drawn: deviation(some, true) })
}

/// Place and load of the weakest state.
pub(super) fn weakest(loads: &[f64]) -> (usize, f64) {
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
