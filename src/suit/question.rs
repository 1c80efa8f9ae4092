//! What is asked: which adhesive, which material, which insert, in which joint, after which steps.

use super::truth::Missing;
use crate::book::Record;
use crate::quantity::{Amount, Quantity};
use Quantity::{Dose, Fraction, Length, Number, Temperature, TemperatureDifference};
use Side::{Both, Method, Pair};
use std::collections::{BTreeMap, BTreeSet};

/// A fact of the joint that the person asking gives.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// A quantity.
    Quantity(Amount),
    /// A word.
    Word(String),
    /// Yes or no.
    YesNo(bool),
}

/// Where the joint lives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ServiceConditions {
    /// Indoors, dry.
    Dry,
    /// Damp air, condensation.
    Damp,
    /// Rain, splash.
    Wet,
    /// Under water.
    Immersed,
    /// Sunlight.
    Sun,
}

impl ServiceConditions {
    /// The word of the option and of rules.
    pub fn word(self) -> &'static str {
        match self {
            ServiceConditions::Dry => "dry",
            ServiceConditions::Damp => "damp",
            ServiceConditions::Wet => "wet",
            ServiceConditions::Immersed => "immersed",
            ServiceConditions::Sun => "sun",
        }
    }
}

/// Who can give a fact of the joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Whoever asks about a glue on a material.
    Pair,
    /// Whoever asks for a way to make a threaded joint: the method, its shape, its use. A rule that looks at such a fact
    /// speaks to that question only.
    Method,
    /// Either.
    Both,
}

/// A fact of the joint a rule may ask for: its name, what it measures (`None`: a word or yes/no), and how to give it.
#[derive(Debug, Clone, Copy)]
pub struct JointFact {
    /// Name in rules.
    pub name: &'static str,
    /// Its quantity.
    pub quantity: Option<Quantity>,
    /// The option that sets it.
    pub option: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// Who can give it.
    pub side: Side,
}

const fn fact(
    side: Side,
    name: &'static str,
    quantity: Option<Quantity>,
    option: &'static str,
    meaning: &'static str,
) -> JointFact {
    JointFact { name, quantity, option, meaning, side }
}

/// Every fact of the joint, in one place: options, `--set` and rules all use this list.
pub const JOINT_FACTS: &[JointFact] = &[
    fact(Pair, "gap", Some(Length), "--gap", "thickness of the glue on one side"),
    fact(Pair, "overlap", Some(Length), "--set overlap=", "depth of the bond from its open edge"),
    fact(Pair, "wall", Some(Length), "--wall", "thickness of the part between the light and the glue"),
    fact(Pair, "boss", Some(Length), "--set boss=", "outer diameter of the boss"),
    fact(Both, "interference", Some(Length), "--set interference=", "how much larger the insert is than its hole"),
    fact(Both, "temperature", Some(Temperature), "--temperature", "hottest temperature in use"),
    fact(Both, "coldest", Some(Temperature), "--set coldest=", "coldest temperature in use"),
    fact(Both, "swing", Some(TemperatureDifference), "--set swing=", "temperature swing in use"),
    fact(Both, "place", None, "--place", "dry, damp, wet, immersed or sun"),
    fact(Pair, "stress", None, "--stress", "whether the part is under stress while the glue is wet"),
    fact(Both, "load", None, "--set load=", "short, held, repeated or shock"),
    fact(Pair, "metal_in_joint", None, "--insert ID or --set metal_in_joint=no", "whether one face of the joint is metal"),
    fact(Pair, "humidity", Some(Fraction), "--set humidity=", "relative humidity while gluing"),
    fact(Pair, "wavelength", Some(Length), "--wavelength", "wavelength of the lamp"),
    fact(Pair, "dose", Some(Dose), "--dose", "light dose at the part"),
    fact(Pair, "light_through_wall", None, "--dose, --wall and --wavelength", "whether enough light passes the wall"),
    fact(
        Pair,
        "light_down_mouth",
        None,
        "--dose, --set overlap= and --wavelength",
        "whether light from the open mouth reaches the bottom of the bond",
    ),
    fact(Pair, "light_reaches_bond", None, "--dose, --wall and --wavelength", "whether the glue gets enough light by any way"),
    fact(Method, "method", None, "--method", "way the threaded joint is made"),
    fact(Method, "screw_type", None, "--screw ID", "machine, thread-forming or thread-cutting"),
    fact(Method, "screw_head", None, "--screw ID", "form of the screw head"),
    fact(Method, "fitting", None, "--insert ID", "how the insert is meant to be put in"),
    fact(Method, "knurl", None, "--insert ID", "direction of the knurl of the insert"),
    fact(Method, "ductility", None, "--material ID", "brittle or ductile part"),
    fact(Method, "printing", None, "--process ID", "vat, filament, powder-bed or jetting"),
    fact(Method, "axis", None, "--axis", "along-build or across-build"),
    fact(Method, "through", None, "--through or --blind", "whether the hole goes through"),
    fact(Method, "cycles", Some(Number), "--cycles", "openings and closings wanted"),
    fact(Method, "infill", Some(Fraction), "--infill", "share of the inside that is filled"),
    fact(Method, "perimeters", Some(Number), "--perimeters", "perimeters round the hole"),
    fact(Method, "thread_diameter", Some(Length), "--thread", "nominal diameter of the screw"),
    fact(Method, "pitch", Some(Length), "--thread", "pitch of the thread"),
    fact(
        Method,
        "pilot_ratio",
        Some(Number),
        "--hole-size",
        "hole over screw diameter, where the part itself carries the thread",
    ),
    fact(Method, "engagement_ratio", Some(Number), "--length", "engaged length over screw diameter"),
    fact(Method, "boss_ratio", Some(Number), "--boss", "boss over screw diameter, where the part itself carries the thread"),
    fact(Method, "insert_boss_ratio", Some(Number), "--boss", "boss over insert diameter"),
    fact(Method, "insert_hole_ratio", Some(Number), "--hole-size", "hole over insert diameter"),
    fact(Method, "wall_round", Some(Length), "--boss", "wall round the hole"),
    fact(Method, "edge_ratio", Some(Number), "--edge", "distance from the axis to the edge over screw diameter"),
    fact(Method, "depth_ratio", Some(Number), "--depth", "depth over diameter of the hole"),
    fact(Method, "room_below", Some(Length), "--depth", "room in a blind hole below the screw or insert"),
];

/// Steps that lift gates, as `--step NAME` declares them.
pub const STEPS: &[&str] = &[
    "primer",
    "silane",
    "activator",
    "plasma",
    "flame",
    "etched",
    "laser-textured",
    "sanded",
    "dried",
    "post-cured",
    "annealed",
    "degreased",
    "preheated",
    "warm-cured",
];

/// Steps that are taken to be done unless surfaces are said to stay as they are: clean, roughened and dry.
const USUAL: [&str; 3] = ["sanded", "degreased", "dried"];

/// Whether a step changes a bond so much that it counts only where it is declared.
pub fn must_be_declared(step: &str) -> bool {
    !USUAL.contains(&step)
}

/// What a step is called, where `--step` has a word for what was done.
fn noun(step: &str) -> &str {
    match step {
        "primer" => "a primer",
        "silane" => "a silane",
        "activator" => "an activator",
        "plasma" => "plasma treatment",
        "flame" => "flame treatment",
        "etched" => "etching",
        "laser-textured" => "laser texturing",
        "sanded" => "sanding",
        "dried" => "drying",
        "post-cured" => "post-curing",
        "annealed" => "annealing",
        "degreased" => "degreasing",
        "preheated" => "preheating",
        "warm-cured" => "curing the glue warm",
        other => other,
    }
}

/// Choices of steps in words: `plasma treatment or etching and annealing` of `plasma or etched` and `annealed`.
pub fn steps_in_words(choices: &[String]) -> String {
    let one = |choice: &String| choice.split(" or ").map(noun).collect::<Vec<_>>().join(" or ");
    choices.iter().map(one).collect::<Vec<_>>().join(" and ")
}

/// The question.
#[derive(Debug, Clone)]
pub struct Question<'b> {
    /// The adhesive.
    pub adhesive: &'b Record,
    /// The material of the part.
    pub material: &'b Record,
    /// The insert, when one is named.
    pub insert: Option<&'b Record>,
    /// Its metal.
    pub metal: Option<&'b Record>,
    /// Facts of the joint, by name.
    pub joint: BTreeMap<&'static str, Fact>,
    /// Facts of the joint the program tried to compute, and what it lacked for them.
    pub unsettled: BTreeMap<&'static str, Vec<Missing>>,
    /// Steps declared done.
    pub steps: BTreeSet<&'static str>,
}

impl<'b> Question<'b> {
    /// A glue on a material; of the joint nothing is known.
    pub fn of(adhesive: &'b Record, material: &'b Record) -> Self {
        Question {
            adhesive,
            material,
            insert: None,
            metal: None,
            joint: BTreeMap::new(),
            unsettled: BTreeMap::new(),
            steps: BTreeSet::new(),
        }
    }
}

/// What a rule looks at: the records and facts of a question, whichever it is.
#[derive(Debug, Clone, Copy)]
pub struct Grounds<'q> {
    /// The adhesive, where one is used.
    pub adhesive: Option<&'q Record>,
    /// The material of the part.
    pub material: &'q Record,
    /// The metal of the insert, when one is named.
    pub metal: Option<&'q Record>,
    /// Facts of the joint, by name.
    pub joint: &'q BTreeMap<&'static str, Fact>,
    /// Facts of the joint the program tried to compute, and what it lacked for them.
    pub unsettled: &'q BTreeMap<&'static str, Vec<Missing>>,
    /// Steps declared done.
    pub steps: &'q BTreeSet<&'static str>,
}

impl Grounds<'_> {
    /// Whether a subject of the question is invented; only then may invented records take part.
    pub fn invented(&self) -> bool {
        self.adhesive.is_some_and(Record::invented) || self.material.invented()
    }
}

impl Question<'_> {
    /// What rules look at.
    pub fn grounds(&self) -> Grounds<'_> {
        Grounds {
            adhesive: Some(self.adhesive),
            material: self.material,
            metal: self.metal,
            joint: &self.joint,
            unsettled: &self.unsettled,
            steps: &self.steps,
        }
    }
    /// The joint fact of that name and quantity, in SI.
    pub fn amount(&self, name: &str) -> Option<Amount> {
        match self.joint.get(name) {
            Some(Fact::Quantity(a)) => Some(*a),
            _ => None,
        }
    }
    /// Whether every subject of the question is invented; only then may invented records take part.
    pub fn invented(&self) -> bool {
        self.grounds().invented()
    }
}

/// The joint fact of that name.
pub fn joint_fact(name: &str) -> Option<&'static JointFact> {
    JOINT_FACTS.iter().find(|f| f.name == name)
}
