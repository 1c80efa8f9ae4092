//! A loaded pack: what its `pack.yaml` says, how much it holds, the hash of its content.

use super::roots::PackRoot;
use crate::finding::{Finding, Severity};
use crate::read::{self, tree::Node};
use serde::{Deserialize, Serialize};

/// A loaded pack.
#[derive(Debug, Clone, Serialize)]
pub struct Pack {
    /// Its id.
    pub id: Box<str>,
    /// Its title.
    pub title: Box<str>,
    /// What it holds, in a sentence.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub description: Option<Box<str>>,
    /// SPDX id of its licence.
    pub licence: Box<str>,
    /// `built in`, or the folder.
    pub origin: Box<str>,
    /// Records by kind, sorted by kind.
    pub counts: Vec<Count>,
    /// Claims in all records.
    pub claims: usize,
    /// First 12 hex digits of the hash over its content; see [`super::files::pack_hash`].
    pub hash: Box<str>,
    /// Where it comes from.
    #[serde(skip)]
    pub root: PackRoot,
}

/// How many records of a kind.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// The kind.
    pub kind: Box<str>,
    /// How many.
    pub records: usize,
}

/// What `pack.yaml` says.
#[derive(Debug, Clone)]
pub struct Manifest {
    /// Its id.
    pub id: Box<str>,
    /// Its title.
    pub title: Box<str>,
    /// What it holds.
    pub description: Option<Box<str>>,
    /// SPDX id of its licence.
    pub licence: Box<str>,
    /// Whether it adds families.
    pub families: bool,
}

impl Manifest {
    /// Reads `pack.yaml`. `file` is its path as the user would name it.
    ///
    /// # Errors
    /// `pack-unreadable` with what is wrong.
    pub fn read(bytes: &[u8], file: &str) -> Result<Manifest, Box<Finding>> {
        let reading = read::read(bytes);
        if let Some(fault) = reading.faults.first() {
            let message = format!("the pack cannot be read: {}", fault.message);
            return Err(Box::new(Finding::new("pack-unreadable", Severity::Error, file, message).at(fault.span)));
        }
        let text = |key: &str| reading.tree.as_ref().and_then(|t| t.get(key)).and_then(Node::written).map(Box::<str>::from);
        let need = |key: &str| {
            text(key).ok_or_else(|| {
                let message = format!("the pack does not say its {key}");
                Box::new(
                    Finding::new("pack-unreadable", Severity::Error, file, message)
                        .help("a pack.yaml names id, title and licence"),
                )
            })
        };
        let families = reading.tree.as_ref().is_some_and(|t| t.get("families").is_some());
        Ok(Manifest {
            id: need("id")?,
            title: need("title")?,
            description: text("description"),
            licence: need("licence")?,
            families,
        })
    }
}
