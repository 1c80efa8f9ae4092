//! What a method predicts: inputs with their spread, and limit states that compete.
//!
//! A limit state is a typed function of a draw; the inputs it reads are asked for by name, so that every number of the
//! answer can be followed to claims or to a named assumption.

use super::assumption::AssumptionSetting;
use super::distribution::Law;
use super::fact::{ClaimUse, Fact};
use super::mode::Mode;
use super::need::Need;
use crate::quantity::{Measure, Quantity};
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt;
use std::marker::PhantomData;
use uom::si::f64::{Force, Ratio, Torque};

/// Where an input comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum InputOrigin {
    /// Claims of a property, with the assumptions about their spread.
    Claims {
        /// Addresses of the claims.
        claims: Vec<String>,
        /// Names of the assumptions.
        assumed: Vec<&'static str>,
    },
    /// Named assumptions alone.
    Assumed(Vec<&'static str>),
    /// Limits of a thread, or its basic sizes where none are stored.
    Thread,
    /// Limits of the hole as it is made: by assumption, or by the ladder of the process.
    Hole,
    /// What is known of the bias of a limit state.
    Bias(Mode),
    /// The bias of a limit state whose formula is that of one method alone: series of that method speak of it, no others.
    OwnBias(Mode),
    /// Measured series.
    Series(Vec<String>),
    /// A number of a method's record, with what the record says of its origin.
    Method {
        /// Id of the record.
        record: String,
        /// Basis, source and reason.
        says: String,
    },
}

/// An input of a model.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelInput {
    /// Its name: the key of its stream.
    pub name: String,
    /// Its spread, SI.
    pub law: Law,
    /// Where it comes from.
    pub origin: InputOrigin,
    /// Whether rival methods share its draws; otherwise it belongs to this case alone.
    pub shared: bool,
    /// What it measures.
    pub quantity: Quantity,
}

impl InputOrigin {
    /// The claims and assumptions of a fact.
    pub fn of(fact: &Fact) -> InputOrigin {
        let claims = fact.claims.iter().map(|c| c.claim.clone()).collect();
        InputOrigin::Claims { claims, assumed: fact.assumed.clone() }
    }
}

/// A handle on an input, typed by what it measures.
pub struct Var<M> {
    at: usize,
    measures: PhantomData<fn() -> M>,
}

impl<M> Clone for Var<M> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<M> Copy for Var<M> {}
impl<M> Var<M> {
    /// Its place among the inputs of its model.
    pub fn place(self) -> usize {
        self.at
    }
    /// The same input at another place.
    pub(super) fn at(self, at: usize) -> Self {
        Var { at, ..self }
    }
}
impl<M> fmt::Debug for Var<M> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "input {}", self.at)
    }
}

/// One draw of every input of a model.
#[derive(Debug, Clone, Copy)]
pub struct Draw<'a> {
    /// Of each input, the values of several draws.
    columns: &'a [&'a [f64]],
    line: usize,
}

impl<'a> Draw<'a> {
    /// One of several draws.
    pub(super) fn of(columns: &'a [&'a [f64]], line: usize) -> Draw<'a> {
        Draw { columns, line }
    }
    /// The value of an input in this draw.
    pub fn get<M: Measure>(&self, var: Var<M>) -> M {
        M::from_si(self.value(var.at))
    }
    /// The same by its place, SI.
    pub(super) fn value(&self, place: usize) -> f64 {
        self.columns[place][self.line]
    }
}

/// Load at which a state is reached, in one draw.
pub type Load = Box<dyn Fn(&Draw<'_>) -> Force + Send + Sync>;

/// A limit state.
pub struct LimitState {
    /// How it fails.
    pub mode: Mode,
    /// At which load.
    pub load: Load,
    /// Which formula, in words.
    pub formula: Cow<'static, str>,
    /// Whether the formula is that of one method alone, so that series of other methods say nothing of it.
    pub alone: bool,
}

/// Torque that strips a thread, in one draw, given the load at which it fails.
pub type Strip = Box<dyn Fn(&Draw<'_>, Force) -> Torque + Send + Sync>;
/// Torque that turns an insert, in one draw.
pub type Turn = Box<dyn Fn(&Draw<'_>) -> Torque + Send + Sync>;

/// Torques of a joint: from the load that strips it, and of the insert in the part.
#[derive(Default)]
pub struct Torques {
    /// Torque that strips the thread, given the load at which it fails.
    pub strip: Option<Strip>,
    /// Torque that turns the insert in its hole.
    pub turn: Option<Turn>,
}

/// A value that is missing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lack {
    /// Whether there is no load without it.
    pub blocks: bool,
    /// What is missing.
    pub what: String,
    /// What would settle it.
    pub settle: String,
}

/// A model of one way to make the joint.
pub struct Model<'n> {
    /// What is asked.
    pub need: &'n Need<'n>,
    /// Name of the case, for inputs of its own.
    pub case: String,
    /// Inputs.
    pub inputs: Vec<ModelInput>,
    /// Limit states.
    pub states: Vec<LimitState>,
    /// Torques.
    pub torques: Torques,
    /// What is missing.
    pub lacks: Vec<Lack>,
    /// Why it does not suit whatever its load.
    pub gates: Vec<String>,
    /// Why it suits with care at best.
    pub cares: Vec<String>,
    /// Why it stays unknown at best.
    pub doubts: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// Steps to do.
    pub steps: Vec<String>,
    /// Assumptions used.
    pub assumptions: BTreeSet<&'static str>,
    /// Claims used.
    pub claims: Vec<ClaimUse>,
    /// What repeated load leaves of a short pull, where a claim says it.
    pub lasting: Option<Var<Ratio>>,
    /// Why a load that is held has nothing to hold on to after a while.
    pub relaxes: Option<String>,
    /// Largest scatter of single parts among the strengths used (log standard deviation).
    pub scatter: f64,
}

impl<'n> Model<'n> {
    /// An empty model of a case.
    pub fn new(need: &'n Need<'n>, case: String) -> Self {
        Model {
            need,
            case,
            inputs: Vec::new(),
            states: Vec::new(),
            torques: Torques::default(),
            lacks: Vec::new(),
            gates: Vec::new(),
            cares: Vec::new(),
            doubts: Vec::new(),
            cautions: Vec::new(),
            steps: Vec::new(),
            assumptions: BTreeSet::new(),
            claims: Vec::new(),
            lasting: None,
            relaxes: None,
            scatter: 0.0,
        }
    }
    /// An input that rival methods share; asking again for the same name gives the same input.
    pub fn input<M: Measure>(&mut self, name: impl Into<String>, law: Law, origin: InputOrigin) -> Var<M> {
        self.add(name.into(), law, origin, true)
    }
    /// An input of this case alone: another part, another draw.
    pub fn own<M: Measure>(&mut self, name: &str, law: Law, origin: InputOrigin) -> Var<M> {
        self.add(format!("{}: {name}", self.case), law, origin, false)
    }
    fn add<M: Measure>(&mut self, name: String, law: Law, origin: InputOrigin, shared: bool) -> Var<M> {
        Var { at: self.measured(name, law, origin, shared, M::QUANTITY), measures: PhantomData }
    }
    /// An input whose quantity is known only when the record that names it is read.
    pub fn measured(&mut self, name: String, law: Law, origin: InputOrigin, shared: bool, quantity: Quantity) -> usize {
        self.inputs.iter().position(|i| i.name == name).unwrap_or_else(|| {
            self.inputs.push(ModelInput { name, law, origin, shared, quantity });
            self.inputs.len() - 1
        })
    }
    /// An assumption whose name and quantity a record gives; of this part alone where parts differ in it.
    pub fn assume_named(&mut self, name: &'static str, quantity: Quantity, own: bool) -> usize {
        let law = self.setting(name).law();
        let label = format!("assumption {name}");
        let label = if own { format!("{}: {label}", self.case) } else { label };
        self.measured(label, law, InputOrigin::Assumed(vec![name]), !own, quantity)
    }
    /// An assumption, shared by all methods.
    pub fn assume<M: Measure>(&mut self, name: &'static str) -> Var<M> {
        let law = self.setting(name).law();
        self.input(format!("assumption {name}"), law, InputOrigin::Assumed(vec![name]))
    }
    /// An assumption about this part alone.
    pub fn assume_own<M: Measure>(&mut self, name: &'static str) -> Var<M> {
        let law = self.setting(name).law();
        self.own(&format!("assumption {name}"), law, InputOrigin::Assumed(vec![name]))
    }
    /// The value of an assumption that is not drawn.
    pub fn assumed(&mut self, name: &'static str) -> f64 {
        self.setting(name).law().median()
    }
    /// A multiplier of this case with median one and a log standard deviation that an assumption gives.
    pub fn spread_by<M: Measure>(&mut self, name: &'static str, label: &str) -> Var<M> {
        let law = Law::LogNormal { median: 1.0, sd: self.assumed(name) };
        self.own(label, law, InputOrigin::Assumed(vec![name]))
    }
    /// The same, shared by rival methods.
    pub fn spread_shared<M: Measure>(&mut self, name: &'static str, label: impl Into<String>) -> Var<M> {
        let law = Law::LogNormal { median: 1.0, sd: self.assumed(name) };
        self.input(label, law, InputOrigin::Assumed(vec![name]))
    }
    fn setting(&mut self, name: &'static str) -> AssumptionSetting {
        self.assumptions.insert(name);
        self.need.assumptions.get(name)
    }
    /// A property of a record.
    pub fn fact<M: Measure>(&mut self, fact: &Fact) -> Var<M> {
        Var { at: self.drawn_fact(fact, M::QUANTITY), measures: PhantomData }
    }
    /// The same where the quantity is known only when a record names it.
    pub fn drawn_fact(&mut self, fact: &Fact, quantity: Quantity) -> usize {
        self.rests_on(fact);
        let orientation = if fact.notes.iter().any(|n| n == "across the layers") { " across the layers" } else { "" };
        let name = format!("{} {}{orientation}", fact.record, fact.property);
        self.measured(name, fact.law.clone(), InputOrigin::of(fact), true, quantity)
    }
    /// Notes the claims and assumptions of a fact without drawing it.
    pub fn rests_on(&mut self, fact: &Fact) {
        self.assumptions.extend(fact.assumed.iter().copied());
        self.claims_used(&fact.claims);
        self.scatter = self.scatter.max(fact.scatter);
    }
    /// Notes claims.
    pub fn claims_used(&mut self, claims: &[ClaimUse]) {
        for claim in claims {
            if !self.claims.contains(claim) {
                self.claims.push(claim.clone());
            }
        }
    }
    /// A limit state.
    pub fn fails(&mut self, mode: Mode, formula: &'static str, load: impl Fn(&Draw<'_>) -> Force + Send + Sync + 'static) {
        self.states.push(LimitState { mode, load: Box::new(load), formula: formula.into(), alone: false });
    }
    /// A limit state whose formula is that of this method alone.
    pub fn fails_alone(&mut self, mode: Mode, formula: String, load: Load) {
        self.states.push(LimitState { mode, load, formula: formula.into(), alone: true });
    }
    /// A missing value without which there is no load.
    pub fn blocked(&mut self, what: impl Into<String>, settle: impl Into<String>) {
        self.lack(true, what.into(), settle.into());
    }
    /// A missing value that would narrow the answer.
    pub fn would_help(&mut self, what: impl Into<String>, settle: impl Into<String>) {
        self.lack(false, what.into(), settle.into());
    }
    fn lack(&mut self, blocks: bool, what: String, settle: String) {
        let lack = Lack { blocks, what, settle };
        if !self.lacks.contains(&lack) {
            self.lacks.push(lack);
        }
    }
    /// A caution, said once.
    pub fn caution(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !self.cautions.contains(&text) {
            self.cautions.push(text);
        }
    }
    /// Whether nothing blocks a load and there is a state to reach.
    pub fn has_load(&self) -> bool {
        !self.states.is_empty() && self.lacks.iter().all(|l| !l.blocks)
    }
    /// The draw in which every input is at its median.
    pub(super) fn middle(&self) -> Vec<f64> {
        self.inputs.iter().map(|i| i.law.median()).collect()
    }
}
