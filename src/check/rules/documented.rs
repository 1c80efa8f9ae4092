//! What `why` says of a finding of `check`.

use crate::finding::Severity;

/// Documentation of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doc {
    /// Readable name.
    pub name: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What is wrong.
    pub what: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// An example with the fault.
    pub wrong: &'static str,
    /// The example put right.
    pub right: &'static str,
}
