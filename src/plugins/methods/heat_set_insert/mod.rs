//! An insert melted into a thermoplastic.

use crate::joint::geometry::Geometry;
use crate::joint::geometry::Insert;
use crate::joint::hazard;
use crate::joint::hole_shape;
use crate::joint::limit_states::residual::StressFree;
use crate::joint::limit_states::{brittle, insert, metal, residual};
use crate::joint::method::no_insert;
use crate::joint::method::{Applies, Case, Effort, Impossible, Life, Method, MethodCard, Takes};
use crate::joint::model::Model;
use crate::joint::need::Lacking;
use crate::joint::need::Need;
use crate::joint::part::Part;
use uom::si::f64::Length;

/// An insert melted into a thermoplastic.
pub const METHOD: &dyn Method = &HeatSetInsert;

struct HeatSetInsert;

const CARD: MethodCard<'static> = MethodCard {
    name: "heat-set-insert",
    title: "insert set with heat",
    purpose: "A hot iron melts a knurled insert into an undersized hole.",
    record: None,
    needs: &[Lacking::Heat, Lacking::Insert],
    takes: Takes::insert("heat-set"),
};

/// The hole lets the knurl's roots pass: knurl diameter less twice its depth, else a tenth less.
fn hole_for(need: &Need<'_>, insert: &Insert) -> Length {
    let knurl = insert.steps.iter().find(|s| s.form == "knurl");
    let share = need.assumptions.value("insert_hole_share");
    knurl.map_or(insert.largest() * share, |k| match k.knurl_depth {
        Some(depth) => k.diameter - depth * 2.0,
        None => k.diameter * share,
    })
}

impl Method for HeatSetInsert {
    fn card(&self) -> MethodCard<'_> {
        CARD
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        if case.shape().is_none() { no_insert(case.need, "heat-set") } else { Applies::Yes }
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let Some(insert) = case.shape() else {
            return Err(Impossible { message: "there is no insert to set".into(), help: "--insert ID".into() });
        };
        hole_shape::knurled(case, &insert, hole_for(case.need, &insert))
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let mut model = Model::new(case.need, CARD.name.into());
        let Some(part) = Part::of(&mut model) else { return model };
        insert::knurled(&mut model, case, &part, geometry, None);
        insert::wedge(&mut model, &part, geometry);
        let anchored = geometry.insert.as_ref().map_or(geometry.depth, |i| i.length);
        brittle::break_out(&mut model, &part, geometry, anchored);
        let metal = metal::metal_of(&model, case.insert);
        residual::cold(&mut model, &part, metal, geometry, StressFree::Melt);
        model
    }
    fn hazards(&self, _case: &Case<'_>) -> Vec<&'static str> {
        vec![hazard::HEAT]
    }
    fn effort(&self) -> Effort<'_> {
        Effort {
            tools: "soldering iron with a tip for the insert",
            minutes: 1.5,
            wrong: "too hot, and it sinks in at an angle; too fast, and the knurl is not filled",
        }
    }
    fn life(&self, need: &Need<'_>) -> Life<'_> {
        Life::of(need, "life_metal")
    }
}
