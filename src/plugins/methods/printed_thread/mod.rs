//! A thread printed with a radial offset.

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

/// A thread printed with a radial offset.
pub const METHOD: &dyn Method = &PrintedThread;

struct PrintedThread;

const CARD: MethodCard<'static> = MethodCard {
    name: "printed-thread",
    title: "thread printed with an offset",
    purpose: "The thread is printed with the part, enlarged radially so that the screw enters.",
    record: None,
    needs: &[],
    takes: Takes::NOTHING,
};

impl Method for PrintedThread {
    fn card(&self) -> MethodCard<'_> {
        CARD
    }
    fn applies(&self, _case: &Case<'_>) -> Applies {
        Applies::Yes
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let need = case.need;
        let offset = need.offset.unwrap_or_else(|| Length::from_si(need.assumptions.value("printed_offset")));
        let minor = need.thread.minor_diameter() + offset * 2.0;
        if minor >= need.thread.major() {
            return Err(Impossible {
                message: format!("enlarged by {:.2} mm radially, the thread lets the screw slide through", offset.si() * 1e3),
                help: format!("common practice is {:.2} mm", need.assumptions.value("printed_offset") * 1e3),
            });
        }
        hole_shape::threaded(need, minor, Made::Printed, offset, "printed")
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        model.assumptions.insert("printed_offset");
        if let Some(part) = Part::of(&mut model) {
            thread::in_part(&mut model, &part, Thread::Printed, geometry);
            metal::in_plastic(&mut model, geometry);
            torque::strips(&mut model);
        }
        model
    }
    fn hazards(&self, case: &Case<'_>) -> Vec<&'static str> {
        hazard::resin(case)
    }
    fn effort(&self) -> Effort<'_> {
        Effort {
            tools: "none besides the printer",
            minutes: 1.0,
            wrong: "with too little offset the screw jams; with too much it disengages",
        }
    }
    fn life(&self, need: &Need<'_>) -> Life<'_> {
        Life::of(need, if need.brittle() { "life_thread_brittle" } else { "life_thread_tough" })
    }
}
