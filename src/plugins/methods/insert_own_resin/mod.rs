//! An insert bonded with the part's own resin.

use crate::joint::blocks::bond::{HoleForm, glued};
use crate::joint::geometry::Geometry;
use crate::joint::geometry::Insert;
use crate::joint::method::{Applies, Card, Case, Effort, Impossible, Method, Takes};
use crate::joint::method::{Glue, no_insert};
use crate::joint::model::Model;
use crate::joint::need::Lacking;
use crate::joint::need::Need;
use crate::joint::part::Part;
use crate::joint::shape;

/// An insert bonded with the part's own resin.
pub struct InsertOwnResin;

const CARD: Card = Card {
    name: "insert-own-resin",
    title: "insert bonded with the part's own resin",
    purpose: "A drop of the printing resin is cured round the insert.",
    needs: &[Lacking::Glue, Lacking::Insert],
    takes: Takes::GluedInsert("glue-in", Glue::OwnResin),
};

impl Method for InsertOwnResin {
    fn card(&self) -> &'static Card {
        &CARD
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        if !case.need.is("photopolymer") {
            return Applies::No(format!("{} is no printing resin: there is no own resin to glue with", case.need.material.name));
        }
        if case.shape().is_none() { no_insert(case.need, "glue-in") } else { Applies::Yes }
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let Some(insert) = case.shape() else {
            return Err(Impossible { message: "there is no insert to glue in".into(), help: "--insert ID".into() });
        };
        shape::glued(case, &insert, HoleForm::Plain)
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let glue = case.adhesive.map_or("glue", |a| a.id.name());
        let mut model = Model::new(case.need, format!("{} {glue}", CARD.name));
        let Some(part) = Part::of(&mut model) else { return model };
        glued(&mut model, case, &part, geometry, HoleForm::Plain, Glue::OwnResin);
        model.steps.push("cure from the open mouth with the lamp close, then post-cure the part again".into());
        model
    }
    fn hazards(&self) -> &'static [&'static str] {
        &["uncured resin sensitises the skin: gloves; never look into a curing lamp"]
    }
    fn effort(&self) -> Effort {
        Effort {
            tools: "curing lamp",
            minutes: 10.0,
            wrong: "behind a dark wall the resin stays liquid; in a plain hole it runs out",
        }
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
    fn prefers(&self, insert: &Insert) -> u8 {
        u8::from(insert.steps.iter().any(|s| s.diameter != insert.largest()))
    }
}
