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

use super::calibration::place::{JointCoordinates, MeasuredJoint};
use super::calibration::{Calibration, KnownJoint};
use super::method::{Case, Method};
use super::mode::Mode;
use super::model::{Draw, LimitState, Model, ModelInput};
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
    worse: Option<Part>,
    better: Option<Part>,
    distance: f64,
}

/// The states of a joint with what is told of the measured one, on the inputs of the joint asked about.
struct Part {
    states: Vec<LimitState>,
    told: Told,
    inputs: Vec<usize>,
    times: f64,
}

/// What a measured joint holds another one between, state by state, and how far it lies.
pub(super) struct Limits {
    low: Option<Vec<f64>>,
    high: Option<Vec<f64>>,
    distance: f64,
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
            let need = self.need(own, theirs, better, ordered);
            self.part(&need, measured, calibration, into).map(|p| Part { times, ..p })
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
    fn need(&self, own: &MeasuredJoint, theirs: &MeasuredJoint, better: bool, ordered: bool) -> Need<'n> {
        let mut need = self.case.need.clone();
        (need.hole_size, need.gap) = self.hole;
        let pick = |a: f64, b: f64, more: bool| if more == better { a.max(b) } else { a.min(b) };
        let length = |metres: f64, own: f64, now: Option<Length>| if metres == own { now } else { Some(Length::from_si(metres)) };
        let (long, boss) = (pick(own.length, theirs.length, true), pick(own.boss, theirs.boss, true));
        need.length = length(long, own.length, None).unwrap_or(need.length);
        need.boss = length(boss, own.boss, need.boss);
        if ordered {
            need.hole_size = length(pick(own.hole, theirs.hole, false), own.hole, need.hole_size);
        }
        let warm = pick(own.temperature, theirs.temperature, false);
        if warm != own.temperature {
            need.using.hottest = Some(ThermodynamicTemperature::from_si(warm));
        }
        need
    }
    /// The states of such a joint with what is told of the measured one; `None` where it cannot be made.
    fn part(&self, need: &Need<'_>, measured: &KnownJoint<'_>, calibration: &Calibration, into: &mut Model<'_>) -> Option<Part> {
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
        let told =
            Told::of(&mut model, scatter, |mode, _| calibration.correction(mode, measured.place, measured.leans.get(&mode)));
        let inputs = model.inputs.into_iter().map(|input| shared_place(into, input)).collect();
        Some(Part { states: model.states, told, inputs, times: 1.0 })
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

impl Part {
    fn loads(&self, draw: &Draw<'_>) -> Vec<f64> {
        let row: Vec<f64> = self.inputs.iter().map(|place| draw.0[*place]).collect();
        let mut loads = vec![0.0; self.states.len()];
        self.told.loads(&self.states, &Draw(&row), &mut loads);
        loads.iter_mut().for_each(|load| *load *= self.times);
        loads
    }
}

impl Beside {
    /// What it holds the joint asked about between, in a draw.
    pub(super) fn limits(&self, draw: &Draw<'_>) -> Limits {
        let of = |part: &Option<Part>| part.as_ref().map(|p| p.loads(draw));
        Limits { low: of(&self.worse), high: of(&self.better), distance: self.distance }
    }
}

/// The load of a state, held by all measured joints beside. Where two of them contradict one another (a longer one that was
/// measured to be the weaker), the nearer counts more, so that each keeps what was measured of it.
pub(super) fn hold(load: f64, limits: &[Limits], state: usize) -> f64 {
    let (mut low, mut high) = ((f64::NEG_INFINITY, 0.0), (f64::INFINITY, 0.0));
    for limit in limits {
        if let Some(at) = limit.low.as_ref().map(|l| l[state]).filter(|at| *at > low.0) {
            low = (at, limit.distance);
        }
        if let Some(at) = limit.high.as_ref().map(|h| h[state]).filter(|at| *at < high.0) {
            high = (at, limit.distance);
        }
    }
    if low.0 <= high.0 {
        return load.clamp(low.0, high.0);
    }
    let whole = low.1 + high.1;
    let share = if whole > 0.0 { high.1 / whole } else { 0.5 };
    libm::pow(low.0.max(0.0), share) * libm::pow(high.0.max(0.0), 1.0 - share)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(low: f64, high: f64, distance: f64) -> Limits {
        Limits { low: Some(vec![low]), high: Some(vec![high]), distance }
    }

    #[test]
    fn a_load_is_held_between_and_the_nearer_of_two_that_contradict_counts_more() {
        assert_eq!(hold(5.0, &[limits(6.0, 9.0, 1.0)], 0), 6.0);
        assert_eq!(hold(12.0, &[limits(6.0, 9.0, 1.0), limits(1.0, 8.0, 2.0)], 0), 8.0);
        assert_eq!(hold(7.0, &[limits(6.0, 9.0, 1.0)], 0), 7.0);
        // Hand: at least 8 of a joint at no distance, at most 2 of another: what was measured here stands; half way, √16.
        assert_eq!(hold(5.0, &[limits(8.0, 9.0, 0.0), limits(1.0, 2.0, 1.0)], 0), 8.0);
        assert!((hold(5.0, &[limits(8.0, 9.0, 1.0), limits(1.0, 2.0, 1.0)], 0) - 4.0).abs() < 1e-12);
        assert!(hold(f64::NAN, &[limits(6.0, 9.0, 1.0)], 0).is_nan(), "a fault stays one");
    }
}
