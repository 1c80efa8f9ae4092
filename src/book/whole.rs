//! The book: records of all loaded packs, with look-ups.

use super::kinds::Kinds;
use super::lazy::{Home, LazyRecord};
use super::load;
use super::memory::{Memory, NoMemory, Shelf};
use super::pack::Pack;
use super::record::{Head, Record, RecordId};
use super::roots::PackRoot;
use crate::check::catalogue::{Catalogue, KindCard};
use crate::finding::{self, Finding};
use rayon::prelude::*;
use std::collections::{BTreeSet, HashMap};
use std::path::Path;
use std::sync::OnceLock;

/// Everything known to a run.
#[derive(Debug)]
pub struct Book {
    pub(super) packs: Vec<Pack>,
    /// Of each pack.
    pub(super) homes: Vec<Home>,
    /// The records, sorted by id; each is decoded when it is first asked for.
    pub(super) slots: Vec<LazyRecord>,
    pub(super) kinds: Kinds,
    /// Findings on records left out because they do not pass `check`.
    pub left_out: Vec<Finding>,
    /// What the user should know about the loading, e.g. that a folder stands for a built-in pack.
    pub notices: Vec<String>,
    /// Of the records that are on no shelf.
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
            homes: Vec::new(),
            slots: Vec::new(),
            kinds: Kinds::default(),
            left_out: Vec::new(),
            notices: Vec::new(),
            references: OnceLock::new(),
        }
    }
    pub(super) fn settle(&mut self) {
        self.slots.par_sort_by(|a, b| a.id.cmp(&b.id));
        finding::settle(&mut self.left_out);
    }
    /// The packs, in the order of loading.
    pub fn packs(&self) -> &[Pack] {
        &self.packs
    }
    /// All records, by id.
    pub fn records(&self) -> Vec<&Record> {
        self.decoded(|_| true)
    }
    /// How many records there are.
    pub fn count(&self) -> usize {
        self.slots.len()
    }
    /// The records of some slots, by id.
    fn decoded(&self, wanted: impl Fn(&LazyRecord) -> bool + Sync) -> Vec<&Record> {
        let wanted = self.slots.par_iter().with_min_len(32).filter(|slot| wanted(slot));
        wanted.filter_map(|slot| slot.record(&self.homes, &self.kinds)).collect()
    }
    /// What the records of these roles are called (empty: any), by id. Nothing else of them is decoded.
    pub fn heads(&self, roles: &[&str]) -> Vec<Head> {
        let among = |slot: &&LazyRecord| roles.is_empty() || roles.contains(&self.role_of(slot.id.kind()));
        let among = self.slots.par_iter().with_min_len(32).filter(among);
        among.filter_map(|slot| slot.head(&self.homes, &self.kinds)).collect()
    }
    /// The ids of the records of these roles (empty: any), by id.
    pub fn ids<'a>(&'a self, roles: &'a [&str]) -> impl Iterator<Item = &'a RecordId> {
        let ids = self.slots.iter().map(|slot| &slot.id);
        ids.filter(move |id| roles.is_empty() || roles.contains(&self.role_of(id.kind())))
    }
    /// Kinds, properties and families.
    pub fn catalogue(&self) -> &Catalogue {
        &self.kinds.catalogue
    }
    /// The record with that full id.
    pub fn record(&self, id: &str) -> Option<&Record> {
        self.slot(id)?.record(&self.homes, &self.kinds)
    }
    fn slot(&self, id: &str) -> Option<&LazyRecord> {
        let at = self.slots.binary_search_by(|slot| slot.id.as_str().cmp(id)).ok()?;
        self.slots.get(at)
    }
    /// The records of a kind, by id.
    pub fn of_kind<'a>(&'a self, kind: &str) -> impl Iterator<Item = &'a Record> + use<'a> {
        self.decoded(|slot| slot.id.kind() == kind).into_iter()
    }
    /// The records of a role (material, adhesive, step, insert, screw, metal, process, rig, book), by id.
    pub fn of_role<'a>(&'a self, role: &str) -> impl Iterator<Item = &'a Record> + use<'a> {
        self.decoded(|slot| self.role_of(slot.id.kind()) == role).into_iter()
    }
    /// The role of a record's kind; empty for a kind without one.
    pub fn role(&self, record: &Record) -> &str {
        self.role_of(record.id.kind())
    }
    fn role_of(&self, kind: &str) -> &str {
        self.catalogue().kind(kind).map_or("", |k| &k.role)
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
    pub fn references_to(&self, id: &str) -> Vec<Reference> {
        let unshelved = || {
            super::references::by_target(
                self.slots.iter().filter(|slot| !slot.shelved).filter_map(|slot| self.record(slot.id.as_str())),
            )
        };
        let mut all = self.references.get_or_init(unshelved).get(id).cloned().unwrap_or_default();
        for home in &self.homes {
            let paths = home.shelf.as_ref().map_or_else(Vec::new, |shelf| shelf.naming(&|target| target == id));
            let ids = paths.iter().filter_map(|path| self.kinds.catalogue.id_of(path));
            let slots = ids.filter_map(|id| self.slot(&id)).filter(|slot| slot.shelved);
            let records = slots.filter_map(|slot| slot.record(&self.homes, &self.kinds));
            all.extend(super::references::by_target(records).remove(id).unwrap_or_default());
        }
        all.sort();
        all.dedup();
        all
    }
    /// Where the records of a pack wait, by its place in [`Book::packs`]; `None` when all of them were read.
    pub fn shelf(&self, place: usize) -> Option<&dyn Shelf> {
        self.homes.get(place)?.shelf.as_deref()
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
