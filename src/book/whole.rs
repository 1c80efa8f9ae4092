//! The book: records of all loaded packs, with look-ups.

use super::kinds::Kinds;
use super::load::{self, Memory, NoMemory};
use super::pack::Pack;
use super::record::{Record, RecordId};
use super::roots::PackRoot;
use crate::check::catalogue::{Catalogue, KindCard};
use crate::finding::{self, Finding};
use std::collections::{BTreeSet, HashMap};
use std::path::Path;
use std::sync::OnceLock;

/// Everything known to a run.
#[derive(Debug)]
pub struct Book {
    pub(super) packs: Vec<Pack>,
    /// Sorted by id.
    pub(super) records: Vec<Record>,
    pub(super) kinds: Kinds,
    /// Findings on records left out because they do not pass `check`.
    pub left_out: Vec<Finding>,
    /// What the user should know about the loading, e.g. that a folder stands for a built-in pack.
    pub notices: Vec<String>,
    references: OnceLock<HashMap<String, Vec<Reference>>>,
}

/// A record that names another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Reference {
    /// The record that names it.
    pub record: RecordId,
    /// Where: a property (`tg`) or a field (`joint.material`).
    pub at: String,
}

impl Book {
    /// Loads packs and reads every file. `here` is the folder relative paths start from.
    ///
    /// # Errors
    /// A pack that cannot be opened, and a record id that two packs use.
    pub fn load(roots: &[PackRoot], here: &Path) -> Result<Book, Box<Finding>> {
        load::load(roots, here, &NoMemory)
    }
    /// As [`Book::load`], with files remembered from earlier runs.
    ///
    /// # Errors
    /// As [`Book::load`].
    pub fn load_with(roots: &[PackRoot], here: &Path, memory: &dyn Memory) -> Result<Book, Box<Finding>> {
        load::load(roots, here, memory)
    }
    pub(super) fn empty() -> Book {
        Book {
            packs: Vec::new(),
            records: Vec::new(),
            kinds: Kinds::default(),
            left_out: Vec::new(),
            notices: Vec::new(),
            references: OnceLock::new(),
        }
    }
    pub(super) fn settle(&mut self) {
        self.records.sort_by(|a, b| a.id.cmp(&b.id));
        finding::settle(&mut self.left_out);
    }
    /// The packs, in the order of loading.
    pub fn packs(&self) -> &[Pack] {
        &self.packs
    }
    /// All records, by id.
    pub fn records(&self) -> &[Record] {
        &self.records
    }
    /// Kinds, properties and families.
    pub fn catalogue(&self) -> &Catalogue {
        &self.kinds.catalogue
    }
    /// The record with that full id.
    pub fn record(&self, id: &str) -> Option<&Record> {
        let at = self.records.binary_search_by(|r| r.id.as_str().cmp(id)).ok()?;
        self.records.get(at)
    }
    /// The records of a kind, by id.
    pub fn of_kind<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = &'a Record> {
        self.records.iter().filter(move |r| r.id.kind() == kind)
    }
    /// The records of a role (material, adhesive, step, insert, screw, metal, process, rig, book), by id.
    pub fn of_role<'a>(&'a self, role: &'a str) -> impl Iterator<Item = &'a Record> {
        self.records.iter().filter(move |r| self.role(r) == role)
    }
    /// The role of a record's kind; empty for a kind without one.
    pub fn role(&self, record: &Record) -> &str {
        self.catalogue().kind(record.id.kind()).map_or("", |k| &k.role)
    }
    /// The kind of a record.
    pub fn kind_of(&self, record: &Record) -> Option<&KindCard> {
        self.catalogue().kind(record.id.kind())
    }
    /// The source with that bare id.
    pub fn source(&self, id: &str) -> Option<&Record> {
        self.record(&format!("source/{id}"))
    }
    /// Whether a source is a campaign of one's own.
    pub fn own_campaign(&self, source: &str) -> bool {
        self.source(source).is_some_and(|r| r.rest["type"] == "campaign")
    }
    /// The family with its wider families, narrowest first; empty for an empty or unknown word.
    pub fn family_chain<'a>(&'a self, word: &'a str) -> Vec<&'a str> {
        self.catalogue().families.chain(word)
    }
    /// Whether a family is `ancestor` or one of its members.
    pub fn is_family(&self, word: &str, ancestor: &str) -> bool {
        self.catalogue().families.is_within(word, ancestor)
    }
    /// The records that name this one, by id; `id` is full (`source/petrie-2000-handbook`).
    pub fn references_to(&self, id: &str) -> &[Reference] {
        let all = self.references.get_or_init(|| super::references::all(self));
        all.get(id).map_or(&[], Vec::as_slice)
    }
    /// The pack of a record.
    pub fn pack_of(&self, record: &Record) -> &Pack {
        &self.packs[record.pack]
    }
    /// The packs that supplied the records of an answer with their hashes: `book 1f2e3d4c5b6a, mine 0a1b…`.
    pub fn hash_line<'a>(&self, used: impl IntoIterator<Item = &'a Record>) -> String {
        self.hash_line_of(used.into_iter().map(|r| r.pack))
    }
    /// As [`Book::hash_line`], for packs by their place in [`Book::packs`].
    pub fn hash_line_of(&self, places: impl IntoIterator<Item = usize>) -> String {
        let places: BTreeSet<usize> = places.into_iter().collect();
        let packs = places.into_iter().filter_map(|p| self.packs.get(p));
        packs.map(|p| format!("{} {}", p.id, p.hash)).collect::<Vec<_>>().join(", ")
    }
}
