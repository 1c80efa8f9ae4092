//! Bolt through, with washer and nut.

use crate::joint::blocks::{metal, torque};
use crate::joint::geometry::Geometry;
use crate::joint::method::{Applies, Card, Case, Effort, Impossible, Method, Takes};
use crate::joint::mode::Mode;
use crate::joint::model::Model;
use crate::joint::need::Need;
use crate::joint::part::Part;
use crate::joint::shape;
use crate::mechanics::bond::bond_area;
use crate::mechanics::screw::head_bearing_load;

/// Bolt through, with washer and nut.
pub struct ThroughBolt;

const CARD: Card = Card {
    name: "through-bolt",
    title: "bolt through, with washer and nut",
    purpose: "A screw passes a clearance hole; washers and a nut on the other side carry.",
    needs: &[],
    takes: Takes::Nothing,
};

impl Method for ThroughBolt {
    fn card(&self) -> &'static Card {
        &CARD
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        if !case.need.through {
            return Applies::No("a bolt with a nut needs a hole that goes through".into());
        }
        Applies::Yes
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        shape::clearance(case, None, torque::head_diameter(&case.need.thread) * WASHER)
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        let Some(part) = Part::of(&mut model) else { return model };
        let bore = geometry.hole.first().map_or(case.need.thread.major(), |s| s.finished.high);
        let bears = torque::head_of(&model) * WASHER;
        let floor = case.need.length;
        let yielding = part.yielding.clone();
        model.fails(Mode::HeadBearing, "head-bearing-load on the ring under the nut or washer", move |draw| {
            head_bearing_load(yielding.get(draw), bears, bore)
        });
        let shear = part.shear.clone();
        model.fails(Mode::BreakOut, "shear of the plastic round the nut or washer: strength x pi D t", move |draw| {
            shear.get(draw) * bond_area(bears, floor)
        });
        let nut = metal::nut_strength(&mut model);
        let height = shape::nut(&case.need.thread).map_or(case.need.thread.major() * 0.8, |(_, h)| h);
        metal::in_metal(&mut model, nut, height);
        torque::strips(&mut model);
        model.caution("the length asked for counts as plastic under the nut");
        model
    }
    fn hazards(&self) -> &'static [&'static str] {
        &[]
    }
    fn effort(&self) -> Effort {
        Effort { tools: "nut, two washers, wrench", minutes: 1.0, wrong: "overtightened, the plastic creeps away under the head" }
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
}

/// A washer is about 1.27 times as wide as the head (M3: 7 mm under 5.5 mm; ISO 7089, recalled).
const WASHER: f64 = 7.0 / 5.5;
