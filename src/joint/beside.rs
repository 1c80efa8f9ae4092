//! A measured joint holds those beside it: more of what helps is never weaker, in every quantile.
//!
//! Of a joint that was not measured itself the series tell what they tell of any joint of its material, class and mode. That
//! does not lean on its sizes, so it grows with them as the model does. Every measured joint of its method and material then
//! holds it, draw by draw and state by state, between two loads:
//!
//! * at least what that joint's own posterior says of a joint with the worse of both in every size (of the two the shorter
//!   length, the thinner boss, the wider hole, the warmer place), less the distance in what harms;
//! * at most the same of one with the better of both, and the distance in what helps.
//!
//! A joint that has more of everything is therefore no weaker than the measured one, one that has less of everything no
//! stronger. All draws of one name come from one stream, and each bound never falls with a size that helps, so no quantile
//! does either (stochastic order: M. Shaked and J. G. Shanthikumar, Stochastic Orders, 2007, 1.A; memory).

use super::block::{Block, Draws};
use super::calibration::place::{JointCoordinates, MeasuredJoint};
use super::calibration::{Calibration, KnownJoint};
use super::method::{Case, Method};
use super::mode::Mode;
use super::model::{LimitState, Model, ModelInput};
use super::need::Need;
use super::told::{Told, scatter};
use crate::quantity::Measure;
use uom::si::f64::{Length, ThermodynamicTemperature};

/// A measured joint beside the one asked about.
pub(super) struct Beside {
    /// Its series.
    pub series: Vec<String>,
    /// What its own bound may grow by, up to the joint asked about.
    pub grows: f64,
    worse: Option<BoundingJoint>,
    better: Option<BoundingJoint>,
    distance: f64,
}

/// The states of a measured joint with what is told of it, on the inputs of the joint asked about.
struct BoundingJoint {
    /// Its states with the places of their inputs; `None` where they are those of the joint asked about.
    other: Option<(Vec<LimitState>, Vec<usize>)>,
    told: Told,
    times: f64,
}

/// What measured joints hold a state between in a draw: the greatest lower and the least upper limit, each with how far its
/// joint lies.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    low: (f64, f64),
    high: (f64, f64),
}

/// Room for the work on a block of draws, kept from one to the next.
#[derive(Default)]
pub(super) struct Room {
    /// Of each state in each draw, in the order of a block, what it is held between.
    pub limits: Vec<Limits>,
    /// Loads of the states of the joint asked about, as its model has them.
    own: Block,
    loads: Block,
}

/// The joint asked about, and how it is made.
pub(super) struct Asked<'a, 'n> {
    /// The way to make it.
    pub method: &'a dyn Method,
    /// What is asked.
    pub case: Case<'n>,
    /// Hole and gap that are answered, where they are asked for or told by a series.
    pub hole: (Option<Length>, Option<Length>),
    /// Where it lies.
    pub place: &'a JointCoordinates,
}

impl<'n> Asked<'_, 'n> {
    /// What a measured joint holds it between, on the inputs of its model; `None` where they cannot be compared.
    pub(super) fn beside(&self, measured: &KnownJoint<'_>, calibration: &Calibration, into: &mut Model<'_>) -> Option<Beside> {
        let ordered = self.method.wider_hole_is_weaker();
        let apart = calibration.parts().apart(measured.place, self.place, ordered)?;
        let (own, theirs) = self.place.joint.as_ref().zip(measured.place.joint.as_ref())?;
        let slope = calibration.parts().slope();
        let mut part = |better: bool, times: f64| {
            let (need, is_own) = self.need(own, theirs, better, ordered);
            self.part(&need, is_own, measured, calibration, into).map(|p| BoundingJoint { times, ..p })
        };
        let worse = part(false, libm::exp(-slope * apart.worse));
        let better = part(true, libm::exp(slope * apart.better));
        let grown = better.as_ref().map_or(f64::INFINITY, |b| libm::exp(b.told.ln_middle - measured.ln_middle) * b.times);
        Some(Beside {
            series: measured.series.clone(),
            grows: grown.max(1.0),
            worse,
            better,
            distance: libm::hypot(apart.worse, apart.better),
        })
    }
    /// The need of the better or the worse of two joints in every size; in what has no one way, that of the joint asked about.
    /// And whether it is that of the joint asked about altogether.
    fn need(&self, own: &MeasuredJoint, theirs: &MeasuredJoint, better: bool, ordered: bool) -> (Need<'n>, bool) {
        let mut need = self.case.need.clone();
        (need.hole_size, need.gap) = self.hole;
        let mut is_own = true;
        let mut pick = |own: f64, theirs: f64, more: bool| {
            let picked = if more == better { own.max(theirs) } else { own.min(theirs) };
            is_own &= picked == own;
            (picked != own).then_some(picked)
        };
        if let Some(length) = pick(own.length, theirs.length, true) {
            need.length = Length::from_si(length);
        }
        if let Some(boss) = pick(own.boss, theirs.boss, true) {
            need.boss = Some(Length::from_si(boss));
        }
        if let Some(hole) = ordered.then(|| pick(own.hole, theirs.hole, false)).flatten() {
            need.hole_size = Some(Length::from_si(hole));
        }
        if let Some(warm) = pick(own.temperature, theirs.temperature, false) {
            need.using.hottest = Some(ThermodynamicTemperature::from_si(warm));
        }
        (need, is_own)
    }
    /// The states of such a joint with what is told of the measured one; `None` where it cannot be made.
    fn part(
        &self,
        need: &Need<'_>,
        is_own: bool,
        measured: &KnownJoint<'_>,
        calibration: &Calibration,
        into: &mut Model<'_>,
    ) -> Option<BoundingJoint> {
        let case = Case { need, insert: self.case.insert, adhesive: self.case.adhesive };
        // A hole in a stepped shape is given by its gap.
        let plain = Need { hole_size: None, ..need.clone() };
        let geometry = self.method.geometry(&case).or_else(|_| self.method.geometry(&Case { need: &plain, ..case })).ok()?;
        let mut model = self.method.model(&case, &geometry);
        let modes = |states: &[LimitState]| states.iter().map(|s| s.mode).collect::<Vec<Mode>>();
        if !model.has_load() || modes(&model.states) != modes(&into.states) {
            return None;
        }
        let scatter = scatter(&mut model, calibration, measured.place);
        let mut told =
            Told::of(&mut model, scatter, |mode, _| calibration.correction(mode, measured.place, measured.leans.get(&mode)));
        told.survive(&mut model, 1.0, &calibration.failed_modes(&measured.series));
        let places: Vec<usize> = model.inputs.into_iter().map(|input| shared_place(into, input)).collect();
        let told = told.read_at(&places);
        // The states of the joint asked about are worked out once in a draw.
        Some(BoundingJoint { other: (!is_own).then_some((model.states, places)), told, times: 1.0 })
    }
}

/// The place of an input among those of another model, where it is added unless it is there.
fn shared_place(into: &mut Model<'_>, input: ModelInput) -> usize {
    let same = |known: &ModelInput| known.name == input.name && known.law == input.law;
    into.inputs.iter().position(same).unwrap_or_else(|| {
        into.inputs.push(input);
        into.inputs.len() - 1
    })
}

impl Room {
    /// Begins a block with these loads of the model.
    pub(super) fn begin(&mut self, own: &Block) {
        self.own.copy(own);
        self.limits.clear();
        self.limits.resize(own.values().len(), Limits::OPEN);
    }
}

impl BoundingJoint {
    /// Its loads, into the room.
    fn loads(&self, draws: &Draws<'_>, room: &mut Room) {
        match &self.other {
            None => room.loads.copy(&room.own),
            Some((states, places)) => {
                let inputs = draws.picked(places);
                room.loads.reshape(states.len(), draws.count());
                for (state, loads) in states.iter().zip(room.loads.each_mut()) {
                    // Metal is held by nothing.
                    if state.mode.is_metal() { loads.fill(0.0) } else { inputs.load(state, loads) }
                }
            }
        }
        self.told.correct(draws, &mut room.loads);
        room.loads.values_mut().iter_mut().for_each(|load| *load *= self.times);
    }
}

impl Beside {
    /// Narrows what every state is held between.
    pub(super) fn narrow(&self, draws: &Draws<'_>, room: &mut Room) {
        if let Some(worse) = &self.worse {
            worse.loads(draws, room);
            let each = room.limits.iter_mut().zip(room.loads.values());
            each.for_each(|(limits, load)| limits.at_least(*load, self.distance));
        }
        if let Some(better) = &self.better {
            better.loads(draws, room);
            let each = room.limits.iter_mut().zip(room.loads.values());
            each.for_each(|(limits, load)| limits.at_most(*load, self.distance));
        }
    }
}

impl Limits {
    /// Nothing holds.
    const OPEN: Limits = Limits { low: (f64::NEG_INFINITY, 0.0), high: (f64::INFINITY, 0.0) };

    fn at_least(&mut self, load: f64, distance: f64) {
        if load > self.low.0 {
            self.low = (load, distance);
        }
    }
    fn at_most(&mut self, load: f64, distance: f64) {
        if load < self.high.0 {
            self.high = (load, distance);
        }
    }
    /// The load of the state, held. Where two measured joints contradict one another (a longer one that was measured to be the
    /// weaker), the nearer counts more, so that each keeps what was measured of it.
    pub(super) fn hold(&self, load: f64) -> f64 {
        let (low, high) = (self.low, self.high);
        if low.0 <= high.0 {
            return load.clamp(low.0, high.0);
        }
        let whole = low.1 + high.1;
        let share = if whole > 0.0 { high.1 / whole } else { 0.5 };
        libm::pow(low.0.max(0.0), share) * libm::pow(high.0.max(0.0), 1.0 - share)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(all: &[(f64, f64, f64)]) -> Limits {
        let mut limits = Limits::OPEN;
        for (low, high, distance) in all {
            limits.at_least(*low, *distance);
            limits.at_most(*high, *distance);
        }
        limits
    }

    #[test]
    fn a_load_is_held_between_and_the_nearer_of_two_that_contradict_counts_more() {
        assert_eq!(limits(&[(6.0, 9.0, 1.0)]).hold(5.0), 6.0);
        assert_eq!(limits(&[(6.0, 9.0, 1.0), (1.0, 8.0, 2.0)]).hold(12.0), 8.0);
        assert_eq!(limits(&[(6.0, 9.0, 1.0)]).hold(7.0), 7.0);
        // Hand: at least 8 of a joint at no distance, at most 2 of another: what was measured here stands; half way, √16.
        assert_eq!(limits(&[(8.0, 9.0, 0.0), (1.0, 2.0, 1.0)]).hold(5.0), 8.0);
        assert!((limits(&[(8.0, 9.0, 1.0), (1.0, 2.0, 1.0)]).hold(5.0) - 4.0).abs() < 1e-12);
        assert!(limits(&[(6.0, 9.0, 1.0)]).hold(f64::NAN).is_nan(), "a fault stays one");
    }
}
