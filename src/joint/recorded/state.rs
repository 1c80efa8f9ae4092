//! The limit states of a record: groups that the program has, and formulas whose inputs the record binds.

use super::shape::Hole;
use super::size::{self, Sizes};
use crate::book::Record;
use crate::book::view::Scalar;
use crate::book::view::method::{self, Input};
use crate::check::catalogue::Measures;
use crate::check::methods::DEEPEST;
use crate::joint::assumption;
use crate::joint::distribution::Law;
use crate::joint::fact::fact;
use crate::joint::geometry::Geometry;
use crate::joint::heat;
use crate::joint::limit_states::{bond, metal, nut as nut_states, torque};
use crate::joint::method::{Case, Glue};
use crate::joint::mode::Mode;
use crate::joint::model::{Draw, InputOrigin, Model, Var};
use crate::joint::part::{self, Part, PartStrength, Toughness};
use crate::mechanics::call;
use crate::mechanics::formula::{Formula, Parameter};
use crate::quantity::{Measure, Quantity};
use std::sync::Arc;
use uom::si::f64::{Force, Pressure, Ratio};

/// Groups of states that the program has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::joint) enum Group {
    /// A glued insert.
    GluedSleeve,
    /// A nut behind the plastic.
    ClampedNut,
    /// Screw and thread of an insert.
    InsertThread,
    /// The screw breaks.
    Screw,
    /// The torque that strips.
    Tightening,
}

impl Group {
    /// Their words, each with its group.
    pub const WORDS: [(&'static str, Group); 5] = [
        ("glued-sleeve", Group::GluedSleeve),
        ("clamped-nut", Group::ClampedNut),
        ("insert-thread", Group::InsertThread),
        ("screw", Group::Screw),
        ("tightening", Group::Tightening),
    ];
}

/// Assumptions in which one part differs from the next, so that each case draws its own.
const OF_THIS_PART: [&str; 5] = ["axial_flaw", "eccentricity", "knurl_fill", "plain_fill", "stepped_fill"];

/// A limit state of a record.
pub(super) enum State<'b> {
    Group(Group),
    Formula(ByFormula<'b>),
}

/// A state by formula.
pub(super) struct ByFormula<'b> {
    mode: Mode,
    formula: Bound<'b>,
    factor: Option<&'b method::Factor>,
    says: Option<&'b str>,
}

/// A formula with the binding of each of its inputs, in its order.
struct Bound<'b> {
    formula: Arc<Formula>,
    inputs: Vec<Binding<'b>>,
}

/// Where an input comes from: another formula, or what the record says.
enum Binding<'b> {
    Formula(Bound<'b>),
    Said(&'b Input),
}

/// What the states of a case are made of.
pub(super) struct Joint<'a> {
    /// Id of the record.
    pub record: &'a str,
    pub case: &'a Case<'a>,
    pub part: &'a Part,
    pub geometry: &'a Geometry,
    pub sizes: &'a Sizes<'a>,
    pub glue: Option<Glue>,
    pub hole: Hole,
}

impl<'b> State<'b> {
    /// The state that a record describes.
    ///
    /// # Errors
    /// What this program does not know.
    pub fn of(says: &'b method::FailureEntry, formulas: &[Arc<Formula>]) -> Result<State<'b>, String> {
        if let Some(word) = says.group.as_deref() {
            let group = Group::WORDS.into_iter().find(|(known, _)| *known == word);
            return group.map(|(_, group)| State::Group(group)).ok_or_else(|| format!("the group `{word}`"));
        }
        let mode = says.mode.as_deref().unwrap_or_default();
        let mode = Mode::from_word(mode).ok_or_else(|| format!("the mode `{mode}`"))?;
        let name = says.formula.as_deref().unwrap_or_default();
        let formula = Bound::of(name, &says.inputs, formulas, DEEPEST)?;
        Ok(State::Formula(ByFormula { mode, formula, factor: says.factor.as_ref(), says: says.says.as_deref() }))
    }
    /// Adds the state to a model.
    pub fn add(&self, model: &mut Model<'_>, joint: &Joint<'_>) {
        match self {
            State::Group(group) => add_group(*group, model, joint),
            State::Formula(state) => state.add(model, joint),
        }
    }
}

impl<'b> Bound<'b> {
    fn of(
        name: &str,
        inputs: &'b std::collections::BTreeMap<Box<str>, Input>,
        formulas: &[Arc<Formula>],
        deep: usize,
    ) -> Result<Bound<'b>, String> {
        let known = formulas.iter().find(|f| f.name == name).filter(|_| deep > 0);
        let formula = known.cloned().ok_or_else(|| format!("the formula `{name}`"))?;
        let one = |place: usize| {
            let argument = formula.parameters[place].argument;
            let said = inputs.iter().find(|(word, _)| formula.place(word) == Some(place)).map(|(_, input)| input);
            let said = said.ok_or_else(|| format!("the input `{}` of `{name}`", argument.name))?;
            Ok(match said.formula.as_deref() {
                Some(inner) => Binding::Formula(Bound::of(inner, &said.inputs, formulas, deep - 1)?),
                None => Binding::Said(said),
            })
        };
        let inputs = (0..formula.parameters.len()).map(one).collect::<Result<Vec<_>, String>>()?;
        Ok(Bound { formula, inputs })
    }
    /// The formula with a value for each of its inputs; `None` where one is missing, which is noted in the model.
    fn value(&self, model: &mut Model<'_>, joint: &Joint<'_>) -> Option<Value> {
        // Every missing value is noted, not the first one alone.
        let mut values = Vec::new();
        for (binding, parameter) in self.inputs.iter().zip(&self.formula.parameters) {
            values.push(match binding {
                Binding::Formula(inner) => inner.value(model, joint),
                Binding::Said(input) => said(input, parameter, self.formula.name, model, joint),
            });
        }
        Some(Value::Formula(self.formula.clone(), values.into_iter().collect::<Option<Vec<Value>>>()?))
    }
}

/// A value in a draw, SI.
enum Value {
    Fixed(f64),
    Drawn(usize),
    Strength(PartStrength),
    Toughness(Toughness),
    Left(usize, Var<Ratio>),
    Formula(Arc<Formula>, Vec<Value>),
}

impl Value {
    /// The value; `None` where a formula has none for these inputs.
    fn get(&self, draw: &Draw<'_>) -> Option<f64> {
        match self {
            Value::Fixed(si) => Some(*si),
            Value::Drawn(place) => Some(draw.value(*place)),
            Value::Strength(strength) => Some(strength.get(draw).si()),
            Value::Toughness(toughness) => Some(toughness.get(draw).si()),
            Value::Left(place, left) => Some(draw.value(*place) * draw.get(*left).si()),
            Value::Formula(formula, inputs) => {
                let si = inputs.iter().map(|input| input.get(draw)).collect::<Option<Vec<f64>>>()?;
                if call::has_meaning(formula, &si) { formula.evaluate(&si) } else { None }
            }
        }
    }
    /// The bounds of stated ranges that the inputs of a draw leave.
    fn left(&self, draw: &Draw<'_>, into: &mut Vec<String>) {
        let Value::Formula(formula, inputs) = self else { return };
        inputs.iter().for_each(|input| input.left(draw, into));
        if let Some(si) = inputs.iter().map(|input| input.get(draw)).collect::<Option<Vec<f64>>>() {
            into.extend(call::bounds_left(formula, &si).into_iter().map(|bound| format!("{}: {bound}", formula.name)));
        }
    }
}

impl ByFormula<'_> {
    fn add(&self, model: &mut Model<'_>, joint: &Joint<'_>) {
        let record = joint.record;
        let Some(value) = self.formula.value(model, joint) else { return };
        let name = self.formula.formula.name;
        let factor = self.factor.map(|factor| {
            let origin = InputOrigin::Method { record: record.into(), says: factor.origin.to_string() };
            let label = format!("{record} factor on {name}");
            stated(model, label, (Law::Fixed(factor.value), Quantity::Fraction), origin)
        });
        let middle = model.middle();
        let columns: Vec<&[f64]> = middle.chunks(1).collect();
        let draw = Draw::of(&columns, 0);
        if value.get(&draw).is_none() {
            model.blocked(
                format!("a value of `{name}` for this joint: its inputs contradict one another"),
                format!("other sizes, or a correction of {record}"),
            );
            return;
        }
        let mut left = Vec::new();
        value.left(&draw, &mut left);
        model.doubts.extend(left.into_iter().map(|bound| format!("outside the stated range of a formula, {bound}")));
        let words = self.says.map_or_else(|| name.to_owned(), |says| format!("{name}: {says}"));
        // Where the inputs of a draw have no meaning together (nothing is left of a section), nothing is held.
        let load = move |draw: &Draw<'_>| {
            let times = factor.map_or(1.0, |place| draw.value(place));
            Force::from_si(value.get(draw).unwrap_or(0.0).max(0.0) * times)
        };
        model.fails_alone(self.mode, words, Box::new(load));
    }
}

fn add_group(group: Group, model: &mut Model<'_>, joint: &Joint<'_>) {
    let Joint { case, part, geometry, .. } = joint;
    match group {
        Group::GluedSleeve => {
            let form = match joint.hole {
                Hole::Glued(form) => form,
                Hole::Clamped { .. } | Hole::Steps => bond::HoleForm::Plain,
            };
            bond::glued(model, case, part, geometry, form, joint.glue.unwrap_or(Glue::Adhesive));
        }
        Group::ClampedNut => nut_states::clamped(model, part, geometry, joint.hole == Hole::Clamped { pocket: true }),
        Group::InsertThread => {
            let inner = metal::insert_strength(model, case.insert);
            metal::in_metal(model, inner, geometry.thread.engaged);
        }
        Group::Screw => metal::breaks(model),
        Group::Tightening => torque::strips(model),
    }
}

/// The value of an input as the record binds it; what is missing is noted in the model.
fn said(input: &Input, parameter: &Parameter, formula: &str, model: &mut Model<'_>, joint: &Joint<'_>) -> Option<Value> {
    let (name, quantity) = (parameter.argument.name, parameter.quantity);
    if let (Some(property), Some(of)) = (input.claim.as_deref(), input.of.as_deref()) {
        return claimed(property, of, model, joint);
    }
    if let Some(word) = input.geometry.as_deref() {
        return match joint.sizes.named(word) {
            Ok(length) => {
                size::rests_on(word, model);
                let own = joint.sizes.input(word, length, model);
                Some(own.map_or(Value::Fixed(length.si()), Value::Drawn))
            }
            Err(lack) => {
                model.blocked(lack.what, lack.settle);
                None
            }
        };
    }
    if let Some(row) = input.assumption.as_deref().and_then(assumption::row) {
        return Some(Value::Drawn(model.assume_named(row.name, quantity, OF_THIS_PART.contains(&row.name))));
    }
    let number = |scalar: &Option<Scalar>| scalar.as_ref().and_then(|s| s.read(quantity)).map(|written| written.si);
    let law = match (number(&input.value), number(&input.low), number(&input.high)) {
        (Some(si), ..) => Law::Fixed(si),
        (None, Some(low), Some(high)) => Law::Uniform { low, high },
        _ => {
            model.blocked(format!("the input `{name}` of `{formula}`"), format!("a number with its unit in {}", joint.record));
            return None;
        }
    };
    let origin = InputOrigin::Method { record: joint.record.to_owned(), says: input.origin.to_string() };
    Some(Value::Drawn(stated(model, format!("{} {formula} {name}", joint.record), (law, quantity), origin)))
}

/// An input of a record's own; one more of the same name, where it has another value.
fn stated(model: &mut Model<'_>, label: String, (law, quantity): (Law, Quantity), origin: InputOrigin) -> usize {
    let taken = |name: &str| model.inputs.iter().any(|input| input.name == name && input.law != law);
    let name = (1..).map(|n| if n == 1 { label.clone() } else { format!("{label} ({n})") }).find(|name| !taken(name));
    model.measured(name.unwrap_or(label), law, origin, true, quantity)
}

/// The value of a property of part, insert, glue, screw or a record.
fn claimed(property: &str, of: &str, model: &mut Model<'_>, joint: &Joint<'_>) -> Option<Value> {
    let book = model.need.book;
    let record = match of {
        "part" => return of_part(property, model, joint.part),
        "insert" => joint.case.insert,
        "glue" => joint.case.adhesive,
        "screw" => {
            if model.need.screw.is_none() {
                model.caution("no screw is named: a steel screw of class 8.8 is assumed");
            }
            metal::screw_record(model)
        }
        id => book.in_use(id),
    };
    let Some(record) = record else {
        model.blocked(format!("{of}, for its {}", property.replace('_', " ")), format!("a record of {of}"));
        return None;
    };
    // What a screw or an insert is made of carries its strength.
    let behind = record.common().metal.as_deref().and_then(|id| book.in_use(id));
    let known = [Some(record), behind].into_iter().flatten().find_map(|r| Some((r, fact(model.need, r, property, None)?)));
    let Some((owner, known)) = known else {
        let owner = behind.unwrap_or(record);
        model.blocked(format!("{property} of {}", owner.id), format!("a claim of `{property}` in {}", owner.id));
        return None;
    };
    let plastic = ["material", "adhesive"].contains(&book.role(owner));
    let left = match plastic && property.ends_with("strength") {
        true => heat::left(model, owner).ok()?,
        false => None,
    };
    let scatter = model.scatter;
    let quantity = quantity_of(owner, property, model);
    let place = model.drawn_fact(&known, quantity);
    if !plastic || left.is_none() && !property.ends_with("strength") {
        // The scatter of metal or stiffness is none of the part.
        model.scatter = scatter;
    }
    Some(left.map_or(Value::Drawn(place), |left| Value::Left(place, left)))
}

/// What a property measures.
fn quantity_of(record: &Record, property: &str, model: &Model<'_>) -> Quantity {
    match model.need.book.catalogue().property(record.id.kind(), property).map(|card| &card.measures) {
        Some(Measures::Quantity(quantity)) => *quantity,
        _ => Quantity::Number,
    }
}

/// A property of the part, as all methods read it.
fn of_part(property: &str, model: &mut Model<'_>, part: &Part) -> Option<Value> {
    let typed = |strength: &PartStrength| Some(Value::Strength(strength.clone()));
    match property {
        "shear_strength" => typed(&part.shear),
        "tensile_strength" => typed(&part.tensile),
        "yield_strength" => typed(&part.yielding),
        "fracture_toughness" => Some(Value::Toughness(part::toughness(model, part))),
        "poisson_ratio" => Some(Value::Drawn(part::poisson(model).place())),
        "tensile_modulus" => {
            let missing = |model: &mut Model<'_>| {
                let id = &model.need.material.id;
                model.blocked(format!("elastic modulus of {id}"), format!("a claim of `tensile_modulus` in {id}"));
                None
            };
            part::modulus(model).map(|var| Value::Drawn(var.place())).or_else(|| missing(model))
        }
        other => {
            let need = model.need;
            let Some(known) = fact(need, need.material, other, Some("flat")) else {
                let id = &need.material.id;
                model.blocked(format!("{} of {id}", other.replace('_', " ")), format!("a claim of `{other}` in {id}"));
                return None;
            };
            if other.ends_with("strength") {
                let base: Var<Pressure> = model.fact(&known);
                return typed(&PartStrength::new(base, part.left.into_iter().collect()));
            }
            let scatter = model.scatter;
            let quantity = quantity_of(need.material, other, model);
            let place = model.drawn_fact(&known, quantity);
            model.scatter = scatter;
            Some(Value::Drawn(place))
        }
    }
}
