//! A model with what measured joints make of it: what is told of its states, and the joints beside that hold it.

use super::beside::{Asked, Beside, Room};
use super::block::{Block, Draws};
use super::calibration::place::JointCoordinates;
use super::calibration::{Calibration, KnownJoint};
use super::model::Model;
use super::told::{Told, scatter};

/// A model with the corrections of its states.
pub struct Corrected<'n> {
    /// The model.
    pub model: Model<'n>,
    told: Told,
    /// Measured joints beside this one: it is never weaker than one that it has more of everything than.
    pub(super) beside: Vec<Beside>,
}

/// A model corrected by the series: as its own specimens say where this very joint was measured, else held by those beside.
pub(super) fn correct<'n>(asked: &Asked<'_, '_>, model: Model<'n>, calibration: &Calibration) -> Corrected<'n> {
    let near = calibration.measured_beside(asked.place);
    let very = |m: &KnownJoint<'_>| m.place.joint.as_ref().zip(asked.place.joint.as_ref()).is_some_and(|(a, b)| a.coincides(b));
    if near.is_empty() {
        return Corrected::of(model, calibration, asked.place);
    }
    let alike =
        near.iter().map(|m| if very(m) { 1.0 } else { calibration.parts().alike(m.place, asked.place) }).fold(0.0, f64::max);
    let series: Vec<String> = near.iter().flat_map(|m| m.series.iter().cloned()).collect();
    let failed = calibration.failed_modes(&series);
    let place = if near.iter().any(very) { asked.place.clone() } else { asked.place.of_any_joint() };
    let mut corrected = Corrected::of(model, calibration, &place);
    corrected.told.survive(&mut corrected.model, alike, &failed);
    if near.iter().any(very) {
        return corrected;
    }
    corrected.model.assumptions.insert("bias_joint_sd");
    corrected.beside = near.iter().filter_map(|m| asked.beside(m, calibration, &mut corrected.model)).collect();
    corrected
}

impl<'n> Corrected<'n> {
    /// A model with the corrections that the series make at a place.
    fn of(mut model: Model<'n>, calibration: &Calibration, place: &JointCoordinates) -> Corrected<'n> {
        let scatter = scatter(&mut model, calibration, place);
        let told = Told::of(&mut model, scatter, |mode, lean| calibration.correction(mode, place, lean));
        Corrected { model, told, beside: Vec::new() }
    }
    /// A model of metal alone, of which series say nothing.
    pub(super) fn of_metal(model: Model<'n>) -> Corrected<'n> {
        let told = Told::nothing(model.states.len());
        Corrected { model, told, beside: Vec::new() }
    }
    /// How much work a draw is, beside that of other models.
    pub(super) fn effort(&self) -> usize {
        (self.model.inputs.len() + 2 * self.model.states.len()) * (1 + self.beside.len())
    }
    /// Whether measured joints beside this one hold it.
    pub(super) fn held_by_others(&self) -> bool {
        !self.beside.is_empty()
    }
    /// Loads of every state in a block of draws, corrected and held by the measured joints beside.
    pub(super) fn loads(&self, draws: &Draws<'_>, room: &mut Room, into: &mut Block) {
        into.reshape(self.model.states.len(), draws.count());
        into.each_mut().zip(&self.model.states).for_each(|(loads, state)| draws.load(state, loads));
        if self.held_by_others() {
            room.begin(into);
            self.beside.iter().for_each(|b| b.narrow(draws, room));
        }
        self.told.correct(draws, into);
        if self.held_by_others() {
            let limits = room.limits.chunks_exact(draws.count().max(1));
            let of_part = into.each_mut().zip(&self.model.states).zip(limits).filter(|((_, s), _)| !s.mode.is_metal());
            of_part.for_each(|((loads, _), limits)| loads.iter_mut().zip(limits).for_each(|(f, l)| *f = l.hold(*f)));
        }
    }
}
