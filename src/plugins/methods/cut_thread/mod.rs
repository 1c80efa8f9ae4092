//! A thread cut with a tap.

use crate::joint::geometry::Geometry;
use crate::joint::hazard;
use crate::joint::hole::Made;
use crate::joint::hole_shape;
use crate::joint::limit_states::diameters::Made as Thread;
use crate::joint::limit_states::{metal, thread, torque};
use crate::joint::method::{Applies, Case, Effort, Impossible, Life, Method, MethodCard, Takes};
use crate::joint::model::Model;
use crate::joint::need::Lacking;
use crate::joint::need::Need;
use crate::joint::part::Part;
use crate::quantity::Measure;
use uom::si::f64::Length;

/// A thread cut with a tap.
pub const METHOD: &dyn Method = &CutThread;

struct CutThread;

const CARD: MethodCard<'static> = MethodCard {
    name: "cut-thread",
    title: "thread cut with a tap",
    purpose: "The hole is drilled to the tap drill and tapped.",
    record: None,
    needs: &[Lacking::Tap],
    takes: Takes::NOTHING,
};

impl Method for CutThread {
    fn card(&self) -> MethodCard<'_> {
        CARD
    }
    fn applies(&self, _case: &Case<'_>) -> Applies {
        Applies::Yes
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let thread = case.need.thread;
        hole_shape::threaded(case.need, thread.length(thread.tap), Made::Cut, Length::from_si(0.0), "cut")
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        model.assumptions.insert("drill_tolerance");
        if let Some(part) = Part::of(&mut model) {
            thread::in_part(&mut model, &part, Thread::Cut, geometry);
            metal::in_plastic(&mut model, geometry);
            torque::strips(&mut model);
        }

        model
    }
    fn hazards(&self, _case: &Case<'_>) -> Vec<&'static str> {
        vec![hazard::CHIPS]
    }
    fn effort(&self) -> Effort<'_> {
        Effort {
            tools: "drill, tap, holder",
            minutes: 3.0,
            wrong: "a tap held at an angle cuts a loose thread; chips left in the hole jam the screw",
        }
    }
    fn life(&self, need: &Need<'_>) -> Life<'_> {
        Life::of(need, if need.brittle() { "life_thread_brittle" } else { "life_thread_tough" })
    }
}
