//! Every formula, in the order of the topics.

use super::formula::Formula;
use super::{bond, bursting, fit, fracture, light, screw, shear_lag, stripping, thread, torque, wetting};

/// Every formula that can be called by name.
pub fn formulas() -> Vec<Formula> {
    let topics: [fn() -> Vec<Formula>; 11] = [
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
    topics.iter().flat_map(|topic| topic()).collect()
}
