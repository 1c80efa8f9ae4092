//! A way of joining that a record describes: what it takes, its hole, the ways it fails by formula.
//!
//! The record is judged as any other method is: same draws, warmth, rules, missing values. Its limit states by formula have a
//! bias of their own, since what series say of another method's formula says nothing of these.

use super::geometry::{Geometry, Insert};
use super::hazard;
use super::hole_shape;
use super::limit_states::{nut as nut_states, torque};
use super::method::{Applies, Case, Effort, Glue, Impossible, Life, Method, MethodCard, Takes, no_insert};
use super::model::{Lack, Model};
use super::need::{Lacking, Need};
use super::nut;
use super::part::Part;
use super::rules::screw_type;
use crate::book::Record;
use crate::book::view;
use crate::mechanics::formula::Formula;
use std::sync::Arc;

mod shape;
mod size;
mod state;

use shape::Hole;
use size::Sizes;
use state::State;

/// A method of a record.
pub struct RecordedMethod<'b> {
    record: &'b Record,
    says: &'b view::Method,
    needs: Vec<Lacking>,
    hole: Hole,
    states: Vec<State<'b>>,
    /// What of the record this program cannot follow.
    unknown: Option<String>,
}

/// The words that a record may use, as the program knows them.
pub struct Vocabulary {
    /// Groups of limit states.
    pub groups: Vec<&'static str>,
    /// Hazards.
    pub hazards: Vec<&'static str>,
    /// What the bench may lack.
    pub needs: Vec<&'static str>,
    /// Purposes of a stretch of the hole.
    pub purposes: Vec<&'static str>,
}

impl Vocabulary {
    /// All of them.
    pub fn of() -> Vocabulary {
        Vocabulary {
            groups: state::Group::WORDS.iter().map(|(word, _)| *word).collect(),
            hazards: hazard::WORDS.to_vec(),
            needs: Lacking::ALL.iter().map(|one| one.word()).collect(),
            purposes: shape::PURPOSES.to_vec(),
        }
    }
}

impl<'b> RecordedMethod<'b> {
    /// The method of a record; `None` for a record of another kind. What cannot be followed makes every answer unknown: `check`
    /// says it first, unless the program at hand lacks a formula.
    pub fn of(record: &'b Record, formulas: &[Arc<Formula>]) -> Option<RecordedMethod<'b>> {
        let says = record.method()?;
        let hole = Hole::of(&says.hole);
        let mut unknown = hole.is_none().then(|| "its hole".to_owned());
        let mut states = Vec::new();
        for state in &says.fails {
            match State::of(state, formulas) {
                Ok(state) => states.push(state),
                Err(what) => unknown = unknown.or(Some(what)),
            }
        }
        let needs = says.needs.iter().filter_map(|word| Lacking::from_word(word)).collect();
        Some(RecordedMethod { record, says, needs, hole: hole.unwrap_or(Hole::Steps), states, unknown })
    }
    fn glue(&self) -> Option<Glue> {
        match self.says.takes.glue.as_deref()? {
            "own-resin" => Some(Glue::OwnResin),
            _ => Some(Glue::Adhesive),
        }
    }
    fn takes_nut(&self) -> bool {
        self.says.takes.nut || self.hole == Hole::Clamped { pocket: true }
    }
    /// The lengths that its sizes and its hole follow.
    fn followed(&self) -> impl Iterator<Item = &str> {
        let steps = self.says.hole.steps.iter().flat_map(|s| [&s.diameter, &s.from, &s.to]);
        let hole = steps.chain(self.says.hole.boss.as_ref().map(|boss| &boss.round)).filter_map(|size| size.of.as_deref());
        self.says.sizes.iter().filter_map(|size| size.size.of.as_deref()).chain(hole)
    }
    fn sizes<'a>(&'a self, case: &'a Case<'a>, geometry: Option<&'a Geometry>) -> Result<Sizes<'a>, Lack> {
        Sizes::of(self.record.id.as_str(), &self.says.sizes, case, geometry)
    }
}

impl Method for RecordedMethod<'_> {
    fn card(&self) -> MethodCard<'_> {
        MethodCard {
            name: self.record.id.name(),
            title: &self.record.name,
            purpose: &self.says.purpose,
            record: Some(self.record.id.as_str()),
            needs: &self.needs,
            takes: Takes { insert: self.says.takes.insert.as_deref(), glue: self.glue() },
        }
    }
    fn applies(&self, case: &Case<'_>) -> Applies {
        let lack = |what: String, settle: &str| Applies::Unknown(Lack { blocks: true, what, settle: settle.into() });
        if let Some(what) = &self.unknown {
            return lack(format!("{what} of {}", self.record.id), "correct the record: `gripbook check` names the place");
        }
        if self.invented() && !case.need.invented() {
            return Applies::No(format!("the numbers of {} are invented, and the material is not", self.record.id));
        }
        if let Some(screw) = self.says.takes.screw.as_deref()
            && screw_type(case.need.screw) != screw
        {
            return Applies::No(format!("it takes a {screw} screw"));
        }
        if let Some(fitting) = self.says.takes.insert.as_deref()
            && case.shape().is_none()
        {
            return no_insert(case.need, fitting);
        }
        if self.takes_nut() && nut::usual(case.need).is_none() {
            let what = format!("the nut of {}", case.need.thread.designation());
            return lack(what, "choose another thread, or add a record of the nut to your pack");
        }
        match self.sizes(case, None) {
            Err(missing) => Applies::Unknown(missing),
            Ok(_) => Applies::Yes,
        }
    }
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible> {
        match self.hole {
            Hole::Glued(form) => {
                let Some(insert) = case.shape() else {
                    return Err(Impossible { message: "there is no insert to glue in".into(), help: "--insert ID".into() });
                };
                hole_shape::glued(case, &insert, form)
            }
            Hole::Clamped { pocket } => {
                let nut = nut::usual(case.need).filter(|_| pocket);
                let bears = nut_states::bears(case.need, pocket, torque::head_diameter(&case.need.thread));
                hole_shape::clearance(case, nut.as_ref(), bears)
            }
            Hole::Steps => {
                let missing = |lack: Lack| Impossible { message: format!("missing: {}", lack.what), help: lack.settle };
                let sizes = self.sizes(case, None).map_err(missing)?;
                shape::stepped(case, &self.says.hole, &sizes)
            }
        }
    }
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n> {
        let name = self.record.id.name();
        let mut model = match (self.glue(), case.adhesive) {
            (None, _) => Model::new(case.need, name.into()),
            (Some(_), glue) => Model::new(case.need, format!("{name} {}", glue.map_or("glue", |a| a.id.name()))),
        };
        let Some(part) = Part::of(&mut model) else { return model };
        match self.sizes(case, Some(geometry)) {
            Err(lack) => model.blocked(lack.what, lack.settle),
            Ok(sizes) => {
                let joint = state::Joint {
                    record: self.record.id.as_str(),
                    case,
                    part: &part,
                    geometry,
                    sizes: &sizes,
                    glue: self.glue(),
                    hole: self.hole,
                };
                self.states.iter().for_each(|state| state.add(&mut model, &joint));
                self.followed().for_each(|word| size::rests_on(word, &mut model));
            }
        }
        model.steps.extend(self.says.steps.iter().map(|step| step.to_string()));
        self.says.cautions.iter().for_each(|caution| model.caution(&**caution));
        model
    }
    fn hazards(&self, case: &Case<'_>) -> Vec<&'static str> {
        self.says.hazards.iter().flat_map(|word| hazard::said(word, case)).collect()
    }
    fn effort(&self) -> Effort<'_> {
        let effort = &self.says.effort;
        Effort { tools: &effort.tools, minutes: effort.minutes, wrong: &effort.wrong }
    }
    fn life(&self, need: &Need<'_>) -> Life<'_> {
        let life = &self.says.life;
        match life.assumption.as_deref().and_then(super::assumption::row) {
            Some(row) => Life::of(need, row.name),
            None => {
                let low = life.low.unwrap_or(0.0);
                Life { low, high: life.high.unwrap_or(low), origin: self.record.id.as_str() }
            }
        }
    }
    fn alternative(&self) -> bool {
        self.says.alternative
    }
    fn invented(&self) -> bool {
        self.record.is_invented() || self.says.holds_invented()
    }
    fn prefers(&self, insert: &Insert) -> u8 {
        match self.says.prefers.as_deref() {
            Some("one-diameter") => insert.other_diameters(),
            Some("shoulder") => insert.without_shoulder(),
            Some("groove") => insert.without_groove(),
            _ => 0,
        }
    }
}
