//! What records say besides their head and their claims, as one type for each kind of the shared schemas.
//!
//! Made from the tree when a record is read, so that what does not fit is told with its place, and from remembered fields when
//! it is first asked for. This is the one place that knows the keys of a record; a test compares them with the schemas, key by
//! key. Kinds that packs declare by a schema alone stay generic; what they share with the parts of a joint (an insert with steps)
//! is read as such.

pub(super) mod json_text;
pub mod method;
mod parts;
mod plugin;
mod rule;
mod search;
mod series;
mod source;
mod stated;
#[cfg(test)]
mod tests;

pub use method::Method;
pub use parts::{HoleOffset, Insert, Nut, PostCure, Process, Rig, Screw, Step};
pub use plugin::Plugin;
pub use rule::{Is, Operand, Rule, RuleCondition, RuleOrigin, RuleStrength, Scope};
pub use search::Search;
pub use series::{Ageing, Joint, Measurement, Series, Specimen, Test};
pub use source::{Person, Source};
pub use stated::{Scalar, Stated};

use super::Basis;
use super::record::Record;
use crate::read::located::{self, Unfit};
use crate::read::tree::Node;
use serde::{Deserialize, Serialize, Serializer};
use serde_json::Value as Json;
use stated::lenient;
use std::fmt;
use std::sync::OnceLock;

/// What records of several kinds say in the same words.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(Serialize))]
#[serde(default)]
pub struct Common {
    /// `draft`, `current` or `withdrawn`.
    #[serde(deserialize_with = "lenient")]
    pub status: Option<Box<str>>,
    /// When and why it was taken back.
    #[serde(deserialize_with = "lenient")]
    pub withdrawn: Option<Withdrawn>,
    /// Findings that may stand.
    #[serde(deserialize_with = "lenient")]
    pub waive: Option<Vec<Waiver>>,
    /// How the source of the record as a whole knows.
    #[serde(deserialize_with = "lenient")]
    pub basis: Option<Basis>,
    /// Bare id of that source.
    #[serde(deserialize_with = "lenient")]
    pub source: Option<Box<str>>,
    /// Where in it.
    #[serde(deserialize_with = "lenient")]
    pub locator: Option<Box<str>>,
    /// Thread of a screw, insert or nut.
    #[serde(deserialize_with = "lenient")]
    pub thread: Option<Box<str>>,
    /// Id of its metal.
    #[serde(deserialize_with = "lenient")]
    pub metal: Option<Box<str>>,
}

/// When and why a record was taken back.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(Serialize))]
pub struct Withdrawn {
    /// Since when.
    pub date: Box<str>,
    /// Why.
    pub because: Box<str>,
    /// Id of the record that replaces it.
    pub replaced_by: Option<Box<str>>,
}

/// A finding that may stand.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(Serialize))]
pub struct Waiver {
    /// Name of the finding it is about.
    pub finding: Box<str>,
    /// Property, property and key, or quantity; everything of the record without.
    pub at: Option<Box<str>>,
    /// Why it may stand.
    pub because: Box<str>,
    /// Last date it holds.
    pub until: Option<Box<str>>,
}

/// The fields of a record that are neither head nor claims: as written, and in the types of its kind.
pub struct Fields {
    json: Json,
    views: OnceLock<Box<Views>>,
}

macro_rules! views {
    ($($field:ident $kind:literal $from_packs:literal $title:literal: $view:ty;)*) => {
        #[derive(Debug, Default)]
        struct Views {
            common: OnceLock<Common>,
            $($field: OnceLock<Option<Box<$view>>>,)*
        }

        impl Views {
            /// The views of a record of that kind, from its tree.
            fn of(kind: &str, tree: &Node) -> Result<Views, Unfit> {
                let views = Views { common: OnceLock::from(located::decode::<Common>(tree)?), ..Views::default() };
                match kind {
                    $($kind => Ok(Views { $field: OnceLock::from(Some(Box::new(located::decode(tree)?))), ..views }),)*
                    _ => Ok(views),
                }
            }
        }

        /// The kinds that have a type of their own.
        pub const KINDS: &[&str] = &[$($kind),*];

        impl Record {
            $(
                #[doc = $title]
                #[doc = "; `None` for another kind."]
                pub fn $field(&self) -> Option<&$view> {
                    let kind = self.id.kind();
                    let may = kind == $kind || ($from_packs && !BUILT_IN.contains(&kind));
                    let views = self.rest.views();
                    may.then(|| views.$field.get_or_init(|| Deserialize::deserialize(&self.rest.json).ok()).as_deref()).flatten()
                }
            )*
        }
    };
}

views! {
    source "source" false "What a source says": Source;
    rule "rule" false "What a rule says": Rule;
    series "series" false "What a series says": Series;
    insert "insert" true "What an insert says": Insert;
    screw "screw" true "What a screw says": Screw;
    nut "nut" true "What a nut says": Nut;
    process "process" true "What a printing process says": Process;
    rig "rig" true "What a test rig says": Rig;
    plugin "plugin" false "What the record of a plug-in says": Plugin;
    method "method" false "What the record of a method says": Method;
    search "search" false "What a literature search says": Search;
}

/// Kinds of the shared schemas.
const BUILT_IN: [&str; 16] = [
    "adhesive", "insert", "metal", "method", "nut", "plugin", "polymer", "primer", "process", "resin", "rig", "rule", "screw",
    "search", "series", "source",
];

impl Record {
    /// What records of several kinds say in the same words.
    pub fn common(&self) -> &Common {
        let read = || Common::deserialize(&self.rest.json).unwrap_or_default();
        self.rest.views().common.get_or_init(read)
    }
    /// Whether nobody reviewed it yet.
    pub fn is_draft(&self) -> bool {
        self.common().status.as_deref() == Some("draft")
    }
    /// Whether the record as a whole is invented.
    pub fn is_invented(&self) -> bool {
        self.common().basis == Some(Basis::Invented)
    }
}

impl Fields {
    /// The fields of a record of that kind.
    ///
    /// # Errors
    /// A value that does not fit the type of its field, with its place; `check` refuses such a record first.
    pub(super) fn of(kind: &str, tree: &Node, json: Json) -> Result<Fields, Unfit> {
        Ok(Fields { json, views: OnceLock::from(Box::new(Views::of(kind, tree)?)) })
    }
    fn views(&self) -> &Views {
        self.views.get_or_init(Box::default)
    }
    /// Takes what stands at a place out of use, with the reason.
    pub(super) fn withdraw(&mut self, pointer: &str, because: &str) {
        if let Some(entry) = self.json.pointer_mut(pointer).and_then(Json::as_object_mut) {
            entry.insert("standing".into(), "withdrawn".into());
            entry.insert("because".into(), because.into());
            self.views = OnceLock::new();
        }
    }
    /// All of them as written, for pages, exports and searches that tell whatever a record holds.
    pub fn json(&self) -> &Json {
        &self.json
    }
    /// Some of them as written, in the order of the names.
    pub fn some<'a>(&'a self, names: &'a [&'static str]) -> impl Iterator<Item = (&'static str, &'a Json)> {
        names.iter().filter_map(|name| Some((*name, self.json.get(name).filter(|json| !json.is_null())?)))
    }
    /// The joint of a series as written.
    pub fn joint(&self) -> &Json {
        &self.json["joint"]
    }
    /// The test of a series as written.
    pub fn test(&self) -> &Json {
        &self.json["test"]
    }
    /// The measurements of a series as written.
    pub fn measurements(&self) -> Option<&Vec<Json>> {
        self.json["measurements"].as_array()
    }
    /// A measurement of a series as written.
    pub fn measurement(&self, index: usize) -> &Json {
        &self.json["measurements"][index]
    }
    /// A specimen of a series as written.
    pub fn specimen(&self, measurement: usize, index: usize) -> &Json {
        &self.json["measurements"][measurement]["specimens"][index]
    }
    /// The condition of a rule as written.
    pub fn when(&self) -> &Json {
        &self.json["when"]
    }
}

/// As written: the typed form says no more, and is there or not by what was asked before.
impl fmt::Debug for Fields {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Fields").field(&self.json).finish()
    }
}

impl From<Json> for Fields {
    fn from(json: Json) -> Self {
        Fields { json, views: OnceLock::new() }
    }
}

impl Clone for Fields {
    fn clone(&self) -> Self {
        self.json.clone().into()
    }
}

impl PartialEq for Fields {
    fn eq(&self, other: &Self) -> bool {
        self.json == other.json
    }
}

impl fmt::Display for Fields {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.json.fmt(f)
    }
}

impl Serialize for Fields {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.json.serialize(to)
    }
}

impl<'de> Deserialize<'de> for Fields {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Json::deserialize(from).map(Fields::from)
    }
}
