//! What every glued insert shares. A method of that kind says only what differs: hole, glue, step, effort, best insert.

use super::geometry::{Geometry, Insert};
use super::hole_shape;
use super::limit_states::bond::{HoleForm, glued};
use super::method::{Applies, Case, Effort, Glue, Impossible, Method, MethodCard, no_insert};
use super::model::Model;
use super::need::Need;
use super::part::Part;

/// The fitting of inserts that are glued in.
pub const FITTING: &str = "glue-in";

/// A way to glue an insert in.
pub struct GluedInsert {
    /// What it is.
    pub card: &'static MethodCard,
    /// The hole.
    pub hole: HoleForm,
    /// The glue.
    pub glue: Glue,
    /// What is done besides the steps of every bond.
    pub step: &'static str,
    /// What it costs.
    pub effort: Effort,
    /// Which of several inserts it prefers: lower is better.
    pub prefers: fn(&Insert) -> u8,
}

impl Method for GluedInsert {
    fn card(&self) -> &'static MethodCard {
        self.card
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        if case.shape().is_none() { no_insert(case.need, FITTING) } else { Applies::Yes }
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        let Some(insert) = case.shape() else {
            return Err(Impossible { message: "there is no insert to glue in".into(), help: "--insert ID".into() });
        };
        hole_shape::glued(case, &insert, self.hole)
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let glue = case.adhesive.map_or("glue", |a| a.id.name());
        let mut model = Model::new(case.need, format!("{} {glue}", self.card.name));
        let Some(part) = Part::of(&mut model) else { return model };
        glued(&mut model, case, &part, geometry, self.hole, self.glue);
        model.steps.push(self.step.into());
        model
    }
    fn hazards(&self, case: &Case<'_>) -> Vec<&'static str> {
        let is = |family: &str| case.adhesive.is_some_and(|a| case.need.book.is_family(&a.family, family));
        let by_family = [
            (
                is("cyanoacrylate"),
                "cyanoacrylate bonds skin, and on cotton it can burn; wear eye protection near activator or spray",
            ),
            (is("epoxy"), "uncured epoxy sensitises the skin: wear gloves"),
            (is("photopolymer"), "uncured resin sensitises the skin: wear gloves; never look into a curing lamp"),
            (is("methacrylate"), "acrylic glue gives off vapour: ventilate, and keep flames away"),
        ];
        let mut hazards: Vec<&'static str> = by_family.into_iter().filter(|(is, _)| *is).map(|(_, text)| text).collect();
        hazards.push("follow the data sheet of the glue; it takes precedence over this page");
        hazards
    }
    fn effort(&self) -> Effort {
        self.effort
    }
    fn life(&self, _need: &Need<'_>) -> &'static str {
        "life_metal"
    }
    fn prefers(&self, insert: &Insert) -> u8 {
        (self.prefers)(insert)
    }
}

/// Prefers an insert of one diameter: in a plain hole its whole length is bonded over one gap.
pub fn one_diameter(insert: &Insert) -> u8 {
    u8::from(insert.steps.iter().any(|s| s.diameter != insert.largest()))
}
