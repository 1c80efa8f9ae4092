//! What nuts behind the plastic share: a clearance hole, plastic that is pressed and sheared, metal that is loaded.
//! A method of that kind says only what differs: what bears on the plastic, whether it lies in a pocket, effort.

use super::geometry::Geometry;
use super::hole_shape;
use super::limit_states::{metal, torque};
use super::method::{Applies, Case, Effort, Impossible, Method, MethodCard};
use super::mode::Mode;
use super::model::{Lack, Model};
use super::need::Need;
use super::nut;
use super::part::Part;
use crate::mechanics::bond::bond_area;
use crate::mechanics::screw::head_bearing_load;
use uom::si::f64::Length;

/// A nut that clamps the plastic.
pub struct Clamped {
    /// What it is.
    pub card: &'static MethodCard,
    /// Whether the nut lies in a pocket of the part; otherwise it lies free, on a washer.
    pub pocket: bool,
    /// What it costs.
    pub effort: Effort,
}

impl Clamped {
    /// Diameter that bears on the plastic: the nut's flats in a pocket, else the washer under head and nut.
    fn bears(&self, need: &Need<'_>, head: Length) -> Length {
        let flats = nut::usual(need).filter(|_| self.pocket).map(|nut| nut.flats);
        flats.unwrap_or_else(|| head * need.assumptions.value("washer_over_head"))
    }
}

impl Method for Clamped {
    fn card(&self) -> &'static MethodCard {
        self.card
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        let thread = case.need.thread;
        if self.pocket && nut::usual(case.need).is_none() {
            return Applies::Unknown(Lack {
                blocks: true,
                what: format!("the nut of {}", thread.designation()),
                settle: "choose another thread, or add a record of the nut to your pack".into(),
            });
        }
        Applies::Yes
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let thread = case.need.thread;
        let nut = nut::usual(case.need).filter(|_| self.pocket);
        hole_shape::clearance(case, nut.as_ref(), self.bears(case.need, torque::head_diameter(&thread)))
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let thread = case.need.thread;
        let mut model = Model::new(case.need, self.card.name.into());
        let Some(part) = Part::of(&mut model) else { return model };
        let bore = geometry.hole.first().map_or(thread.major(), |s| s.finished.high);
        let bears = self.bears(case.need, torque::head_of(&model));
        if !self.pocket {
            model.assumptions.insert("washer_over_head");
        }
        let floor = case.need.length;
        let yielding = part.yielding.clone();
        model.fails(Mode::HeadBearing, "head-bearing-load on the ring under the nut or washer", move |draw| {
            head_bearing_load(yielding.get(draw), bears, bore)
        });
        let shear = part.shear.clone();
        model.fails(Mode::BreakOut, "shear of the plastic round the nut or washer: strength x pi D t", move |draw| {
            shear.get(draw) * bond_area(bears, floor)
        });
        let strength = metal::nut_strength(&mut model);
        let height = match nut::usual(case.need) {
            Some(nut) => {
                model.claims_used(&nut.claims);
                nut.height
            }
            None => thread.major() * model.assumed("nut_height"),
        };
        metal::in_metal(&mut model, strength, height);
        torque::strips(&mut model);
        model.caution("the length asked for counts as plastic under the nut");
        model.caution("the sizes of head and washer are recalled from their standards, not read there: measure yours");
        model
    }
    fn hazards(&self, _case: &Case<'_>) -> Vec<&'static str> {
        vec!["a part that splits under a nut throws fragments: wear eye protection"]
    }
    fn effort(&self) -> Effort {
        self.effort
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
    fn alternative(&self) -> bool {
        !self.pocket
    }
}
