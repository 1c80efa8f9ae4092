//! What a row of the table says.

use crate::quantity::Quantity;

/// Where such a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AssumptionOrigin {
    /// Common practice of the trade, no published source.
    Practice,
    /// Judgement of this program's authors.
    Judgement,
    /// From a published source, named in the reason.
    Published,
}

impl AssumptionOrigin {
    /// The word of answers.
    pub fn word(self) -> &'static str {
        match self {
            AssumptionOrigin::Practice => "practice",
            AssumptionOrigin::Judgement => "judgement",
            AssumptionOrigin::Published => "published",
        }
    }
}

/// How a band is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One value.
    One,
    /// Rectangular between the ends.
    Even,
    /// Lognormal with 90 % between the ends.
    Ninety,
}

/// One named assumption.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumption {
    /// Name, as `--set` takes it.
    pub name: &'static str,
    /// Practice or judgement.
    pub kind: AssumptionOrigin,
    /// What it measures.
    pub quantity: Quantity,
    /// Unit it is shown in.
    pub unit: &'static str,
    /// Lower end, or the value, in that unit.
    pub low: f64,
    /// Upper end, or the value again.
    pub high: f64,
    /// How it is drawn.
    pub shape: Shape,
    /// What it is.
    pub means: &'static str,
    /// Why this number.
    pub reason: &'static str,
}
