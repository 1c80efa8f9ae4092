//! Why a method will not answer, and what it would need.

use std::fmt;

/// Why a statistical method gives no answer for these data.
///
/// A refusal is an answer: it names the method, what is wrong and, where more specimens would help, how many.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// Fewer values than the method needs.
    TooFew {
        /// Name of the method.
        method: &'static str,
        /// Smallest number it works with.
        needed: usize,
        /// Number given.
        given: usize,
    },
    /// More work than is reasonable: the exact enumeration has too many arrangements.
    TooMany {
        /// Name of the method.
        method: &'static str,
        /// Largest number of arrangements enumerated.
        limit: u64,
    },
    /// A value is not a number or is infinite.
    NotFinite {
        /// Position of the value, counted from 0.
        index: usize,
    },
    /// A value is zero or negative where the method takes its logarithm.
    NotPositive {
        /// Name of the method.
        method: &'static str,
        /// Position of the value, counted from 0.
        index: usize,
    },
    /// All values are equal, so there is no spread to judge by.
    NoSpread {
        /// Name of the method.
        method: &'static str,
    },
    /// Equal values make the exact table of ranks invalid.
    Ties {
        /// Name of the method.
        method: &'static str,
        /// What to use instead.
        instead: &'static str,
    },
    /// A bound of a strength came out below zero: the normal form says nothing here.
    NegativeBound {
        /// The bound as computed, in the unit of the values.
        value: f64,
        /// Smallest n with which the same mean and spread would give a bound above zero, if any up to 1000.
        needed: Option<usize>,
    },
    /// An argument lies outside what the method is defined for.
    OutOfRange {
        /// Name of the argument.
        argument: &'static str,
        /// Its value.
        value: f64,
        /// What is allowed, in words.
        allowed: &'static str,
    },
    /// The spreads of the groups differ, so they may not be pooled.
    SpreadsDiffer {
        /// p of Bartlett's test.
        p: f64,
    },
    /// The lists given do not belong together (lengths differ, an index is outside).
    Mismatch {
        /// What does not fit.
        what: &'static str,
    },
    /// Text that is not a plain decimal number.
    NotDecimal {
        /// The text as given.
        text: String,
    },
    /// An iteration did not settle.
    NoConvergence {
        /// Name of the method.
        method: &'static str,
    },
}

impl Refusal {
    /// Number of specimens that would be needed, where more specimens are the cure.
    pub fn needed(&self) -> Option<usize> {
        match self {
            Refusal::TooFew { needed, .. } => Some(*needed),
            Refusal::NegativeBound { needed, .. } => *needed,
            _ => None,
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::TooFew { method, needed, given } => write!(f, "{method} needs at least {needed} values, {given} given"),
            Refusal::TooMany { method, limit } => {
                write!(f, "{method} stops at {limit} arrangements")
            }
            Refusal::NotFinite { index } => {
                write!(f, "value {} is not a finite number", index + 1)
            }
            Refusal::NotPositive { method, index } => {
                write!(f, "{method} needs values above zero, value {} is not", index + 1)
            }
            Refusal::NoSpread { method } => {
                write!(f, "{method} needs spread, all values are equal")
            }
            Refusal::Ties { method, instead } => {
                write!(f, "{method} is exact only without equal values: {instead}")
            }
            Refusal::NegativeBound { needed, .. } => {
                write!(f, "the normal bound lies below zero")?;
                match needed {
                    Some(n) => write!(f, ": use the lognormal form or n of {n} or more"),
                    None => write!(f, ": use the lognormal form"),
                }
            }
            Refusal::OutOfRange { argument, value, allowed } => write!(f, "{argument} is {value}, allowed is {allowed}"),
            Refusal::SpreadsDiffer { p } => {
                write!(f, "the spreads of the groups differ (Bartlett p = {p:.4})")
            }
            Refusal::Mismatch { what } => write!(f, "{what}"),
            Refusal::NotDecimal { text } => write!(f, "`{text}` is not a plain decimal number"),
            Refusal::NoConvergence { method } => write!(f, "{method} did not settle"),
        }
    }
}

impl std::error::Error for Refusal {}

/// Refuses unless there are `needed` values and all are finite.
pub(super) fn require(values: &[f64], needed: usize, method: &'static str) -> Result<(), Refusal> {
    if let Some(index) = values.iter().position(|v| !v.is_finite()) {
        return Err(Refusal::NotFinite { index });
    }
    if values.len() < needed {
        return Err(Refusal::TooFew { method, needed, given: values.len() });
    }
    Ok(())
}

/// Refuses unless `value` lies strictly between 0 and 1.
pub(super) fn require_probability(argument: &'static str, value: f64) -> Result<(), Refusal> {
    if value > 0.0 && value < 1.0 {
        Ok(())
    } else {
        Err(Refusal::OutOfRange { argument, value, allowed: "between 0 and 1, both excluded" })
    }
}

/// Refuses unless `value` is finite and above zero.
pub(super) fn require_positive(argument: &'static str, value: f64) -> Result<(), Refusal> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(Refusal::OutOfRange { argument, value, allowed: "finite and above zero" })
    }
}

/// Natural logarithms of the values; refuses the first one that is not above zero.
pub(super) fn logarithms(values: &[f64], method: &'static str) -> Result<Vec<f64>, Refusal> {
    require(values, 0, method)?;
    match values.iter().position(|v| *v <= 0.0) {
        Some(index) => Err(Refusal::NotPositive { method, index }),
        None => Ok(values.iter().map(|v| libm::log(*v)).collect()),
    }
}
