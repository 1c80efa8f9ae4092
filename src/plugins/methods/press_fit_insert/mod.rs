//! A knurled insert pressed in cold.

use crate::joint::geometry::Geometry;
use crate::joint::geometry::Insert;
use crate::joint::hazard;
use crate::joint::hole_shape;
use crate::joint::limit_states::{insert, metal, residual};
use crate::joint::method::no_insert;
use crate::joint::method::{Applies, Case, Effort, Impossible, Life, Method, MethodCard, Takes};
use crate::joint::model::Model;
use crate::joint::need::Lacking;
use crate::joint::need::Need;
use crate::joint::part::Part;
use crate::quantity::Measure;
use uom::si::f64::Length;

/// A knurled insert pressed in cold.
pub const METHOD: &dyn Method = &PressFitInsert;

struct PressFitInsert;

const CARD: MethodCard<'static> = MethodCard {
    name: "press-fit-insert",
    title: "insert pressed in cold",
    purpose: "A straight-knurled insert is pressed into a slightly smaller hole.",
    record: None,
    needs: &[Lacking::Insert],
    takes: Takes::insert("press-in"),
};

/// How much wider the insert is than its hole.
fn interference(insert: &Insert, geometry: &Geometry) -> Length {
    let hole = geometry.hole.iter().find(|s| s.purpose == "insert").map(|s| s.finished.nominal);
    hole.map_or(Length::from_si(0.0), |h| insert.largest() - h)
}

impl Method for PressFitInsert {
    fn card(&self) -> MethodCard<'_> {
        CARD
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        if case.shape().is_none() { no_insert(case.need, "press-in") } else { Applies::Yes }
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let Some(insert) = case.shape() else {
            return Err(Impossible { message: "there is no insert to press in".into(), help: "--insert ID".into() });
        };
        let hole = insert.largest() - Length::from_si(case.need.assumptions.value("press_interference"));
        hole_shape::knurled(case, &insert, hole)
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        let Some(part) = Part::of(&mut model) else { return model };
        let aimed = Length::from_si(model.assumed("press_interference"));
        insert::knurled(&mut model, case, &part, geometry, Some(aimed));
        if let Some(shape) = &geometry.insert {
            let by = interference(shape, geometry);
            let metal = metal::metal_of(&model, case.insert);
            residual::pressed(&mut model, &part, metal, geometry, by);
        }
        model.relaxes = Some("plastic under pressure creeps, and the grip is lost with the pressure".into());
        model
    }
    fn hazards(&self, _case: &Case<'_>) -> Vec<&'static str> {
        vec![hazard::PRESS]
    }
    fn effort(&self) -> Effort<'_> {
        Effort { tools: "arbor press or vice", minutes: 1.0, wrong: "pressed in at an angle, it splits the boss" }
    }
    fn wider_hole_is_weaker(&self) -> bool {
        // A tighter hole holds the knurl better and bursts its boss sooner.
        false
    }
    fn life(&self, need: &Need<'_>) -> Life<'_> {
        Life::of(need, "life_metal")
    }
}
