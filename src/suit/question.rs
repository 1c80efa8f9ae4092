//! What is asked: which adhesive, which material, which insert, in which joint, after which steps.

use super::condition::Missing;
use crate::book::Record;
use crate::quantity::{Amount, Quantity};
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Place {
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

impl Place {
    /// The word of the option and of rules.
    pub fn word(self) -> &'static str {
        match self {
            Place::Dry => "dry",
            Place::Damp => "damp",
            Place::Wet => "wet",
            Place::Immersed => "immersed",
            Place::Sun => "sun",
        }
    }
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
}

const fn fact(name: &'static str, quantity: Option<Quantity>, option: &'static str, meaning: &'static str) -> JointFact {
    JointFact { name, quantity, option, meaning }
}

/// Every fact of the joint, in one place: options, `--set` and rules all use this list.
pub const JOINT_FACTS: &[JointFact] = &[
    fact("gap", Some(Quantity::Length), "--gap", "thickness of the glue on one side"),
    fact("overlap", Some(Quantity::Length), "--set overlap=", "depth of the bond from its open edge"),
    fact("wall", Some(Quantity::Length), "--wall", "thickness of the part between the light and the glue"),
    fact("boss", Some(Quantity::Length), "--set boss=", "outer diameter of the boss"),
    fact("interference", Some(Quantity::Length), "--set interference=", "how much larger the insert is than its hole"),
    fact("temperature", Some(Quantity::Temperature), "--temperature", "hottest temperature in use"),
    fact("coldest", Some(Quantity::Temperature), "--set coldest=", "coldest temperature in use"),
    fact("swing", Some(Quantity::TemperatureDifference), "--set swing=", "temperature swing in use"),
    fact("place", None, "--place", "dry, damp, wet, immersed or sun"),
    fact("stress", None, "--stress", "whether the part is under stress while the glue is wet"),
    fact("load", None, "--set load=", "short, held, repeated or shock"),
    fact("metal_in_joint", None, "--insert ID or --set metal_in_joint=no", "whether one face of the joint is metal"),
    fact("humidity", Some(Quantity::Fraction), "--set humidity=", "relative humidity while gluing"),
    fact("wavelength", Some(Quantity::Length), "--wavelength", "wavelength of the lamp"),
    fact("dose", Some(Quantity::Dose), "--dose", "light dose at the part"),
    fact("light_through_wall", None, "--dose, --wall and --wavelength", "whether enough light passes the wall"),
    fact(
        "light_down_mouth",
        None,
        "--dose, --set overlap= and --wavelength",
        "whether light from the open mouth reaches the bottom of the bond",
    ),
    fact("light_reaches_bond", None, "--dose, --wall and --wavelength", "whether the glue gets enough light by any way"),
];

/// Steps that lift gates, as `--step NAME` declares them.
pub const STEPS: &[&str] =
    &["primer", "activator", "plasma", "flame", "sanded", "dried", "post-cured", "annealed", "degreased", "preheated"];

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

impl Question<'_> {
    /// The joint fact of that name and quantity, in SI.
    pub fn amount(&self, name: &str) -> Option<Amount> {
        match self.joint.get(name) {
            Some(Fact::Quantity(a)) => Some(*a),
            _ => None,
        }
    }
    /// Whether every subject of the question is invented; only then may invented records take part.
    pub fn invented(&self) -> bool {
        self.adhesive.invented() || self.material.invented()
    }
}

/// The joint fact of that name.
pub fn joint_fact(name: &str) -> Option<&'static JointFact> {
    JOINT_FACTS.iter().find(|f| f.name == name)
}
