//! What the record of a plug-in says.

use serde::Deserialize;

/// A WebAssembly module of a pack.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Plugin {
    /// `importer` or `audit`.
    pub does: Box<str>,
    /// Which files it reads, or what it finds doubtful.
    pub purpose: Box<str>,
    /// Why what an audit finds matters.
    pub why: Option<Box<str>>,
    /// The gravest finding of an audit: `note` or `warning`.
    pub severity: Option<Box<str>>,
    /// Version of the contract.
    pub contract: u32,
    /// Checksum of the module, 64 hexadecimal digits.
    pub sha256: Box<str>,
    /// Under which it may be used.
    pub licence: Box<str>,
    /// Where the source code is.
    pub code: Option<Box<str>>,
}
