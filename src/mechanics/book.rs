//! Every formula, in the order of the topics.

use super::formula::Formula;
use super::{bond, bursting, fit, fracture, light, screw, shear_lag, stripping, thread, torque, wetting};

/// The formulas of each topic.
pub const TOPICS: &[fn() -> Vec<Formula>] = &[
    thread::profile::formulas,
    stripping::formulas,
    bursting::formulas,
    fracture::formulas,
    bond::formulas,
    shear_lag::formulas,
    light::formulas,
    torque::formulas,
    screw::formulas,
    fit::formulas,
    wetting::formulas,
];

/// Every formula that can be called by name.
pub fn formulas() -> Vec<Formula> {
    TOPICS.iter().flat_map(|topic| topic()).collect()
}
