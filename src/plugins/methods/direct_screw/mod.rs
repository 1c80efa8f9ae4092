//! A screw driven straight into an undersized hole: it forms its thread.

use crate::joint::geometry::Geometry;
use crate::joint::hazard;
use crate::joint::hole::Made;
use crate::joint::hole_shape;
use crate::joint::limit_states::diameters::Made as Thread;
use crate::joint::limit_states::{metal, thread, torque};
use crate::joint::method::{Applies, Case, Effort, Impossible, Life, Method, MethodCard, Takes};
use crate::joint::model::Model;
use crate::joint::need::Need;
use crate::joint::part::Part;
use crate::quantity::Measure;
use uom::si::f64::Length;

/// A screw driven straight into an undersized hole: it forms its thread.
pub const METHOD: &dyn Method = &DirectScrew;

struct DirectScrew;

const CARD: MethodCard<'static> = MethodCard {
    name: "direct-screw",
    title: "screw driven straight into an undersized hole",
    purpose: "The screw forms its own thread in the part.",
    record: None,
    needs: &[],
    takes: Takes::NOTHING,
};

impl Method for DirectScrew {
    fn card(&self) -> MethodCard<'_> {
        CARD
    }
    fn applies(&self, _case: &Case<'_>) -> Applies {
        Applies::Yes
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let need = case.need;
        // Share of the thread's height as tap drill tables count it: (d - Dh)/(1.299038 P).
        let share = need.assumptions.value("direct_thread_share");
        let whole = need.thread.pitch() * (1.5 * 3f64.sqrt() / 2.0);
        hole_shape::threaded(need, need.thread.major() - whole * share, Made::Printed, Length::from_si(0.0), "formed")
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        model.assumptions.insert("direct_thread_share");
        if let Some(part) = Part::of(&mut model) {
            thread::in_part(&mut model, &part, Thread::Formed, geometry);
            metal::in_plastic(&mut model, geometry);
            torque::strips(&mut model);
        }
        model
    }
    fn hazards(&self, _case: &Case<'_>) -> Vec<&'static str> {
        vec![hazard::SPLINTERS]
    }
    fn effort(&self) -> Effort<'_> {
        Effort {
            tools: "screwdriver",
            minutes: 0.5,
            wrong: "driven too far, it strips; driven at an angle, it starts a second thread",
        }
    }
    fn life(&self, need: &Need<'_>) -> Life<'_> {
        Life::of(need, if need.brittle() { "life_direct_brittle" } else { "life_direct_tough" })
    }
}
