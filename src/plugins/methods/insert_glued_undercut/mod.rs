//! An insert glued into a hole with an undercut.

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

/// An insert glued into a hole with an undercut.
pub struct InsertGluedUndercut;

const CARD: Card = Card {
    name: "insert-glued-undercut",
    title: "insert glued into a hole with an undercut",
    purpose: "Glue keys into a ring-shaped recess of the hole and into the grooves of the insert.",
    needs: &[Lacking::Glue, Lacking::Insert],
    takes: Takes::GluedInsert("glue-in", Glue::Adhesive),
};

impl Method for InsertGluedUndercut {
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
        shape::glued(case, &insert, HoleForm::Undercut)
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let glue = case.adhesive.map_or("glue", |a| a.id.name());
        let mut model = Model::new(case.need, format!("{} {glue}", CARD.name));
        let Some(part) = Part::of(&mut model) else { return model };
        glued(&mut model, case, &part, geometry, HoleForm::Undercut, Glue::Adhesive);
        model.steps.push("fill the undercut with glue first, then push the insert in slowly so that no air stays".into());
        model
    }
    fn hazards(&self) -> &'static [&'static str] {
        &[
            "never bare eyes near activator or spray; cyanoacrylate bonds skin, and on cotton it burns",
            "epoxy sensitises the skin: gloves; follow the data sheet of the glue",
        ]
    }
    fn effort(&self) -> Effort {
        Effort { tools: "glue, file, degreaser", minutes: 8.0, wrong: "an undercut that is not filled keys nothing" }
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
    fn prefers(&self, insert: &Insert) -> u8 {
        u8::from(!insert.steps.iter().any(|s| s.form == "groove"))
    }
}
