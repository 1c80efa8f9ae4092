//! Every formula, in the order of the topics.

use super::formula::Formula;
use super::{bond, bursting, fit, fracture, light, pin, screw, shear_lag, stripping, thread, torque, wetting};

/// A topic and its formulas.
pub type Topic = (&'static str, fn() -> Vec<Formula>);

/// The topics in the order of the list.
pub const TOPICS: &[Topic] = &[
    ("Thread profile", thread::profile::formulas),
    ("Stripping of threads", stripping::formulas),
    ("Splitting and widening of a boss", bursting::formulas),
    ("Cracks and notches", fracture::formulas),
    ("Bonds and inserts", bond::formulas),
    ("Shear along a bond", shear_lag::formulas),
    ("Curing by light", light::formulas),
    ("Torque and preload", torque::formulas),
    ("Screw and head", screw::formulas),
    ("Pins across", pin::formulas),
    ("Press fits and temperature", fit::formulas),
    ("Wetting", wetting::formulas),
];

/// The formulas of some topics, each with its topic.
pub fn of(topics: &[Topic]) -> Vec<Formula> {
    topics.iter().flat_map(|(topic, formulas)| formulas().into_iter().map(|f| f.under(topic))).collect()
}

/// Every formula that can be called by name.
pub fn formulas() -> Vec<Formula> {
    of(TOPICS)
}
