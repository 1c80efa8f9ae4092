//! What a source record says.

use serde::Deserialize;

/// Bibliography of a source.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default, rename_all = "kebab-case")]
pub struct Source {
    /// What it is: a word of CSL, or `campaign`.
    #[serde(rename = "type")]
    pub sort: Option<Box<str>>,
    /// Its title as printed; a source whose title was not seen has none.
    pub title: Option<Box<str>>,
    /// Who wrote it.
    pub author: Vec<Person>,
    /// Who edited it.
    pub editor: Vec<Person>,
    /// When it came out.
    pub issued: Option<Box<str>>,
    /// Journal or book it stands in.
    pub container_title: Option<Box<str>>,
    /// Book series it belongs to.
    pub collection_title: Option<Box<str>>,
    /// Volume.
    pub volume: Option<Box<str>>,
    /// Issue.
    pub issue: Option<Box<str>>,
    /// Pages.
    pub page: Option<Box<str>>,
    /// Edition.
    pub edition: Option<Box<str>>,
    /// Number of a report or standard.
    pub number: Option<Box<str>>,
    /// Publisher.
    pub publisher: Option<Box<str>>,
    /// Where the publisher sits.
    pub publisher_place: Option<Box<str>>,
    /// Digital object identifier.
    #[serde(rename = "DOI")]
    pub doi: Option<Box<str>>,
    /// Book number.
    #[serde(rename = "ISBN")]
    pub isbn: Option<Box<str>>,
    /// Number in the archive of open medical papers.
    #[serde(rename = "PMCID")]
    pub pmcid: Option<Box<str>>,
    /// Address.
    #[serde(rename = "URL")]
    pub url: Option<Box<str>>,
    /// When the address was read.
    pub accessed: Option<Box<str>>,
    /// Who made the tests of a campaign.
    pub by: Option<Box<str>>,
    /// Where they were made.
    pub place: Option<Box<str>>,
    /// Ids of the sources it takes numbers from.
    pub cites: Vec<Box<str>>,
}

/// A person or a body.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(default)]
pub struct Person {
    /// Family name.
    pub family: Option<Box<str>>,
    /// Given names.
    pub given: Option<Box<str>>,
    /// Name of a body.
    pub literal: Option<Box<str>>,
}

impl Person {
    /// Family name, or name of the body.
    pub fn name(&self) -> Option<&str> {
        self.family.as_deref().or(self.literal.as_deref())
    }
}

impl Source {
    /// Fields whose names and forms CSL-JSON has too.
    pub const CSL: [&'static str; 15] = [
        "author",
        "editor",
        "container-title",
        "collection-title",
        "volume",
        "issue",
        "page",
        "edition",
        "number",
        "publisher",
        "publisher-place",
        "DOI",
        "ISBN",
        "PMCID",
        "URL",
    ];
    /// Whether it is of this type.
    pub fn is(&self, sort: &str) -> bool {
        self.sort.as_deref() == Some(sort)
    }
    /// The year it came out, as written.
    pub fn year(&self) -> Option<&str> {
        self.issued.as_deref().map(|date| date.get(..4).unwrap_or(date))
    }
}
