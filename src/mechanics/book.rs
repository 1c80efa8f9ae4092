//! Every formula, in the order of the topics.

use super::formula::Formula;
use super::{light, stripping, thread, wetting};

/// Every formula that can be called by name.
pub fn formulas() -> Vec<Formula> {
    let topics: [fn() -> Vec<Formula>; 4] = [thread::profile::formulas, stripping::formulas, light::formulas, wetting::formulas];
    topics.iter().flat_map(|topic| topic()).collect()
}
