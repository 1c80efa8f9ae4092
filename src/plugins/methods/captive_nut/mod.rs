//! Captive nut in a pocket.

use crate::joint::blocks::{metal, torque};
use crate::joint::geometry::Geometry;
use crate::joint::method::{Applies, Card, Case, Effort, Impossible, Method, Takes};
use crate::joint::mode::Mode;
use crate::joint::model::Lack;
use crate::joint::model::Model;
use crate::joint::need::Need;
use crate::joint::part::Part;
use crate::joint::shape;
use crate::mechanics::bond::bond_area;
use crate::mechanics::screw::head_bearing_load;

/// Captive nut in a pocket.
pub struct CaptiveNut;

const CARD: Card = Card {
    name: "captive-nut",
    title: "captive nut in a pocket",
    purpose: "A nut sits in a pocket behind the plastic that the screw clamps.",
    needs: &[],
    takes: Takes::Nothing,
};

impl Method for CaptiveNut {
    fn card(&self) -> &'static Card {
        &CARD
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        if shape::nut(&case.need.thread).is_none() {
            return Applies::Unknown(Lack {
                blocks: true,
                what: format!("the nut of {}", case.need.thread.designation()),
                settle: "another thread: nut sizes are stored for the metric threads of the usual series".into(),
            });
        }
        Applies::Yes
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let nut = shape::nut(&case.need.thread);
        shape::clearance(case, nut, nut.map_or(case.need.thread.major(), |(flats, _)| flats))
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        let Some(part) = Part::of(&mut model) else { return model };
        let bore = geometry.hole.first().map_or(case.need.thread.major(), |s| s.finished.high);
        let bears = shape::nut(&case.need.thread).map_or(bore, |(flats, _)| flats);
        let floor = case.need.length;
        let yielding = part.yielding.clone();
        model.fails(Mode::HeadBearing, "head-bearing-load on the ring under the nut", move |draw| {
            head_bearing_load(yielding.get(draw), bears, bore)
        });
        let shear = part.shear.clone();
        model.fails(Mode::BreakOut, "shear of the plastic round the nut: strength x pi D t", move |draw| {
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
        Effort { tools: "nut, screwdriver", minutes: 1.0, wrong: "a loose pocket lets the nut turn; a tight one splits" }
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
}
