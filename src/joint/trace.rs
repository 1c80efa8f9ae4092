//! What an answer rests on, typed: which inputs each limit state reads, how much of the spread each brings, and where each
//! comes from.
//!
//! Reading is found by trying: an input is read when another draw of it changes the load. The share of the spread is the
//! total effect of M. J. W. Jansen, Computer Physics Communications 117 (1999): half the mean square change of ln F when
//! that input alone is drawn again, over the variance of ln F. Shares may add up to more than one where inputs act together.

use super::beside::Room;
use super::block::{BLOCK, Block, Draws};
use super::correct::Corrected;
use super::evaluate::Quantiles;
use rayon::prelude::*;
use std::ops::Range;

/// Draws that are tried.
const PROBES: usize = 1_000;
/// Draws that tell which inputs are worth all of them: the share of one that brings a tenth comes out of so many within
/// a third of itself.
const GLANCE: usize = 150;
/// How far below what is wanted a share may come out of a glance.
const SAFELY: f64 = 2.5;
/// Change of an input that has no spread.
const NUDGE: f64 = 1.01;

/// An input as a state reads it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// Its place among the inputs of the model.
    pub input: usize,
    /// Share of the variance of ln F; zero for an input without spread.
    pub share: f64,
}

/// What the states and the capacity of a case read.
#[derive(Debug, Clone, PartialEq)]
pub struct InputTrace {
    /// For each state of the model, the inputs it reads, those of the largest share first.
    pub states: Vec<Vec<Read>>,
    /// The same for the weakest of all.
    pub capacity: Vec<Read>,
    /// Band of each input as drawn.
    pub bands: Vec<Quantiles>,
}

/// Tries every input of a sealed model.
pub fn of(sealed: &Corrected<'_>, seed: u64) -> InputTrace {
    let columns = columns(sealed, seed);
    let mut all = Tried::of(sealed, &columns, 0..PROBES, |_| true).reads();
    let capacity = all.pop().unwrap_or_default();
    let bands = columns.into_iter().map(|mut c| Quantiles::of(&mut c)).collect();
    InputTrace { states: all, capacity, bands }
}

/// Of the capacity alone, the inputs whose share is at least that, those of the largest share first. The others are found by
/// few draws, so that it takes a fraction of what [`of`] takes.
pub fn largest(sealed: &Corrected<'_>, seed: u64, worth: f64) -> Vec<Read> {
    let columns = columns(sealed, seed);
    let of_capacity = |tried: Tried| tried.reads().pop().unwrap_or_default();
    let glance = of_capacity(Tried::of(sealed, &columns, 0..GLANCE, |_| true));
    let likely = |input: usize| glance.iter().any(|r| r.input == input && r.share >= worth / SAFELY);
    let mut reads = of_capacity(Tried::of(sealed, &columns, 0..PROBES, likely));
    reads.retain(|r| r.share >= worth);
    reads
}

fn columns(sealed: &Corrected<'_>, seed: u64) -> Vec<Vec<f64>> {
    sealed.model.inputs.iter().map(|i| i.law.draws(&i.name, seed, PROBES)).collect()
}

/// What the loads did when inputs were drawn again, one by one: for each state and for the weakest of all.
struct Tried {
    spread: Vec<Spread>,
    changes: Vec<Vec<Sensitivity>>,
}

impl Tried {
    /// Tries the inputs that are `wanted` in some of the draws.
    fn of(sealed: &Corrected<'_>, columns: &[Vec<f64>], draws: Range<usize>, wanted: impl Fn(usize) -> bool) -> Tried {
        let states = sealed.model.states.len() + 1;
        let mut spread = vec![Spread::default(); states];
        let mut room = Room::default();
        let begins: Vec<usize> = draws.clone().step_by(BLOCK).collect();
        let end = |begin: usize| (begin + BLOCK).min(draws.end);
        let block = |begin: usize| {
            let (columns, end) = (columns.iter().map(|column| &column[begin..end(begin)]).collect(), end(begin));
            Draws::of(columns, end - begin)
        };
        let mut base = |begin: &usize| {
            let mut base = Block::default();
            loads(sealed, &block(*begin), &mut room, &mut base);
            spread.iter_mut().zip(base.each()).for_each(|(s, loads)| loads.iter().for_each(|f| s.add(*f)));
            base
        };
        let bases: Vec<Block> = begins.iter().map(&mut base).collect();
        let again = |(room, moved): &mut (Room, Block), i: usize| {
            let (column, mut changes) = (&columns[i], vec![Sensitivity::default(); states]);
            let other = |at: usize| column[(at + PROBES / 2) % PROBES];
            let nudged = |at: usize| if other(at) == column[at] { column[at] * NUDGE } else { other(at) };
            for (begin, base) in begins.iter().zip(&bases) {
                let drawn_again: Vec<f64> = (*begin..end(*begin)).map(nudged).collect();
                loads(sealed, &block(*begin).with(i, &drawn_again), room, moved);
                for (change, (before, after)) in changes.iter_mut().zip(base.each().zip(moved.each())) {
                    let each = before.iter().zip(after).zip(*begin..);
                    each.for_each(|((a, b), at)| change.add(*a, *b, other(at) != column[at]));
                }
            }
            (i, changes)
        };
        let inputs: Vec<usize> = (0..columns.len()).filter(|i| wanted(*i)).collect();
        let each = inputs.into_par_iter().map_init(Default::default, again).collect::<Vec<_>>();
        let mut changes = vec![vec![Sensitivity::default(); columns.len()]; states];
        for (input, of_input) in each {
            changes.iter_mut().zip(of_input).for_each(|(of_state, change)| of_state[input] = change);
        }
        Tried { spread, changes }
    }
    fn reads(&self) -> Vec<Vec<Read>> {
        self.changes.iter().zip(&self.spread).map(|(changes, spread)| reads(changes, spread)).collect()
    }
}

/// Loads of every state, the weakest of them last.
fn loads(sealed: &Corrected<'_>, draws: &Draws<'_>, room: &mut Room, into: &mut Block) {
    sealed.loads(draws, room, into);
    let (least, _) = into.least();
    into.append(&least);
}

fn reads(changes: &[Sensitivity], spread: &Spread) -> Vec<Read> {
    let mut reads: Vec<Read> = changes
        .iter()
        .enumerate()
        .filter(|(_, c)| c.any)
        .map(|(input, c)| Read { input, share: c.mean() / 2.0 / spread.variance() })
        .map(|r| if r.share.is_finite() { r } else { Read { share: 0.0, ..r } })
        .collect();
    reads.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.input.cmp(&b.input)));
    reads
}

/// Running variance of ln F where it is reached.
#[derive(Debug, Clone, Copy, Default)]
struct Spread {
    n: f64,
    mean: f64,
    squares: f64,
}

impl Spread {
    fn add(&mut self, load: f64) {
        let ln = libm::log(load);
        if !ln.is_finite() {
            return;
        }
        self.n += 1.0;
        let off = ln - self.mean;
        self.mean += off / self.n;
        self.squares += off * (ln - self.mean);
    }
    fn variance(&self) -> f64 {
        self.squares / (self.n - 1.0)
    }
}

/// Mean square change of ln F, and whether there was any.
#[derive(Debug, Clone, Copy, Default)]
struct Sensitivity {
    any: bool,
    n: f64,
    squares: f64,
}

impl Sensitivity {
    fn add(&mut self, before: f64, after: f64, drawn: bool) {
        let changed = before.to_bits() != after.to_bits();
        self.any |= changed;
        // Most inputs leave most states as they are: no logarithm then.
        let by = if changed || before <= 0.0 { libm::log(after / before) } else { before - after };
        if drawn && by.is_finite() {
            self.n += 1.0;
            self.squares += by * by;
        }
    }
    fn mean(&self) -> f64 {
        if self.n > 0.0 { self.squares / self.n } else { 0.0 }
    }
}
