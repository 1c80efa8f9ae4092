//! What the record of a method says: a way to make a threaded joint, as data.

use super::stated::{Scalar, Stated};
use crate::book::Basis;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;
use uom::si::f64::Length;

/// A way to make a threaded joint.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Method {
    /// What is done, in one sentence.
    pub purpose: Box<str>,
    /// What it takes besides screw and part.
    pub takes: TakenParts,
    /// What the bench must have.
    pub needs: Vec<Box<str>>,
    /// Which of several inserts it prefers.
    pub prefers: Option<Box<str>>,
    /// Whether it is no thread in the part but a way round one.
    pub alternative: bool,
    /// Lengths of its own, in the order in which they may follow one another.
    pub sizes: Vec<NamedSize>,
    /// The hole.
    pub hole: Hole,
    /// The ways it fails.
    pub fails: Vec<FailureEntry>,
    /// What can hurt.
    pub hazards: Vec<Box<str>>,
    /// What it costs.
    pub effort: Effort,
    /// How often it may be opened.
    pub life: Life,
    /// What is done, in order.
    pub steps: Vec<Box<str>>,
    /// What a reader of the number must know.
    pub cautions: Vec<Box<str>>,
}

/// What a method takes.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct TakenParts {
    /// Fitting of the insert.
    pub insert: Option<Box<str>>,
    /// `adhesive` or `own-resin`.
    pub glue: Option<Box<str>>,
    /// Whether a nut of the thread is needed.
    pub nut: bool,
    /// The only sort of screw it works with.
    pub screw: Option<Box<str>>,
}

/// Where a number of a method comes from. Keys that are not given are left out when it is written, as those of an [`Input`].
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct NumberOrigin {
    /// How its source knows.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub basis: Option<Basis>,
    /// Id of the source.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub source: Option<Box<str>>,
    /// Where in it.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub locator: Option<Box<str>>,
    /// Why this number.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub because: Option<Box<str>>,
}

impl NumberOrigin {
    fn is_invented(&self) -> bool {
        self.basis == Some(Basis::Invented)
    }
}

impl fmt::Display for NumberOrigin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [self.basis.map(Basis::word), self.source.as_deref(), self.locator.as_deref(), self.because.as_deref()];
        f.write_str(&parts.into_iter().flatten().collect::<Vec<_>>().join(", "))
    }
}

/// A length that follows another one, or a fixed one.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Size {
    /// The length it follows.
    pub of: Option<Box<str>>,
    /// Factor on it.
    pub times: Option<f64>,
    /// Clearance added to it.
    pub plus: Option<Stated<Length>>,
    /// The fixed length.
    pub value: Option<Stated<Length>>,
}

/// A length of the method's own.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct NamedSize {
    /// Its name.
    pub name: Box<str>,
    /// The length.
    #[serde(flatten)]
    pub size: Size,
    /// Where it comes from.
    #[serde(flatten)]
    pub origin: NumberOrigin,
}

/// The hole: a shape that the program has, or steps.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Hole {
    /// `plain`, `stepped`, `undercut`, `clearance` or `pocket`.
    pub shape: Option<Box<str>>,
    /// `printed` or `drilled`.
    pub made: Option<Box<str>>,
    /// The least boss advised.
    pub boss: Option<Boss>,
    /// Stretches from the mouth to the bottom.
    pub steps: Vec<Stretch>,
}

/// The least boss advised: so many times as wide as a length.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Boss {
    /// What it goes round.
    pub round: Size,
    /// Name of the assumption.
    pub times: Box<str>,
}

/// A stretch of the hole.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Stretch {
    /// What it is for.
    pub purpose: Box<str>,
    /// `round` or `hexagon`.
    pub section: Option<Box<str>>,
    /// Its diameter, or the width across flats.
    pub diameter: Size,
    /// Depth at which it begins.
    pub from: Size,
    /// Depth at which it ends.
    pub to: Size,
}

/// One way the joint fails.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct FailureEntry {
    /// States that the program has.
    pub group: Option<Box<str>>,
    /// How it fails.
    pub mode: Option<Box<str>>,
    /// A formula that gives a force.
    pub formula: Option<Box<str>>,
    /// Its inputs by name.
    pub inputs: BTreeMap<Box<str>, Input>,
    /// Factor on the result.
    pub factor: Option<Factor>,
    /// The formula in words.
    pub says: Option<Box<str>>,
}

/// A factor with its origin.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Factor {
    /// The factor.
    pub value: f64,
    /// Where it comes from.
    #[serde(flatten)]
    pub origin: NumberOrigin,
}

/// Where the value of an input comes from. Keys that are not given are left out when it is written, since inputs have free names.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Input {
    /// A property.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub claim: Option<Box<str>>,
    /// Whose.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub of: Option<Box<str>>,
    /// A length of the joint.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub geometry: Option<Box<str>>,
    /// Name of an assumption.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub assumption: Option<Box<str>>,
    /// A number with its unit.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub value: Option<Scalar>,
    /// Lower end of a range.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub low: Option<Scalar>,
    /// Upper end.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub high: Option<Scalar>,
    /// A formula whose result it is.
    #[cfg_attr(test, serde(skip_serializing_if = "Option::is_none"))]
    pub formula: Option<Box<str>>,
    /// Its inputs by name.
    #[cfg_attr(test, serde(skip_serializing_if = "BTreeMap::is_empty"))]
    pub inputs: BTreeMap<Box<str>, Input>,
    /// Where a number comes from.
    #[serde(flatten)]
    pub origin: NumberOrigin,
}

/// What one joint costs.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Effort {
    /// Tools and parts.
    pub tools: Box<str>,
    /// Minutes of work.
    pub minutes: f64,
    /// What goes wrong most often.
    pub wrong: Box<str>,
}

/// How often a joint may be opened.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Life {
    /// Name of an assumption.
    pub assumption: Option<Box<str>>,
    /// At least.
    pub low: Option<f64>,
    /// At most.
    pub high: Option<f64>,
    /// Where they come from.
    #[serde(flatten)]
    pub origin: NumberOrigin,
}

impl Method {
    /// Whether any number of it is invented.
    pub fn holds_invented(&self) -> bool {
        let of_state = |s: &FailureEntry| {
            s.factor.as_ref().is_some_and(|f| f.origin.is_invented()) || s.inputs.values().any(Input::is_invented)
        };
        self.sizes.iter().any(|s| s.origin.is_invented()) || self.fails.iter().any(of_state) || self.life.origin.is_invented()
    }
}

impl Input {
    fn is_invented(&self) -> bool {
        self.origin.is_invented() || self.inputs.values().any(Input::is_invented)
    }
}
