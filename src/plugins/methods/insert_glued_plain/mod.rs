//! An insert glued into a plain hole.

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

/// An insert glued into a plain hole.
pub struct InsertGluedPlain;

const CARD: Card = Card {
    name: "insert-glued-plain",
    title: "insert glued into a plain hole",
    purpose: "An insert is glued into a hole of one diameter.",
    needs: &[Lacking::Glue, Lacking::Insert],
    takes: Takes::GluedInsert("glue-in", Glue::Adhesive),
};

impl Method for InsertGluedPlain {
    fn card(&self) -> &'static Card {
        &CARD
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
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
        glued(&mut model, case, &part, geometry, HoleForm::Plain, Glue::Adhesive);
        model.steps.push("turn the insert while pushing it in, so that the glue wets all round".into());
        model
    }
    fn hazards(&self) -> &'static [&'static str] {
        &[
            "never bare eyes near activator or spray; cyanoacrylate bonds skin, and on cotton it burns",
            "epoxy sensitises the skin: gloves; follow the data sheet of the glue",
        ]
    }
    fn effort(&self) -> Effort {
        Effort { tools: "glue, file, degreaser", minutes: 8.0, wrong: "it sits crooked or too deep, because nothing stops it" }
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
    fn prefers(&self, insert: &Insert) -> u8 {
        u8::from(insert.steps.iter().any(|s| s.diameter != insert.largest()))
    }
}
