//! The book: records of all loaded packs, with look-ups.

use super::kinds::{Kinds, SchemasHash};
use super::lazy::{Home, LazyRecord};
use super::lost::{self, Around, Citation, Loss, Spread};
use super::memory::Shelf;
use super::pack::Pack;
use super::record::{Head, Record, RecordId};
use super::references::{self, Reference};
use crate::check::catalogue::{Catalogue, KindCard};
use crate::finding::{self, Finding};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, OnceLock};

/// Everything known to a run.
#[derive(Debug)]
pub struct Book {
    pub(super) packs: Vec<Pack>,
    /// Of each pack.
    pub(super) homes: Vec<Home>,
    /// The records, sorted by id; each is decoded when it is first asked for.
    pub(super) slots: Vec<LazyRecord>,
    pub(super) kinds: Kinds,
    pub(super) schemas: SchemasHash,
    /// Findings on records left out because they do not pass `check`.
    pub left_out: Vec<Finding>,
    /// What the user should know about the loading, e.g. that a folder stands for a built-in pack.
    pub notices: Vec<String>,
    /// What was withdrawn, and what is lost with it; sorted by name.
    losses: Vec<Loss>,
    /// Of each pack: paths of records that its index holds as they were before they lost something.
    outdated: Vec<Vec<String>>,
    /// Of the records that are on no shelf.
    references: OnceLock<HashMap<String, Vec<Reference>>>,
}

impl Book {
    pub(super) fn empty() -> Book {
        Book {
            packs: Vec::new(),
            homes: Vec::new(),
            slots: Vec::new(),
            kinds: Kinds::default(),
            schemas: SchemasHash::default(),
            left_out: Vec::new(),
            notices: Vec::new(),
            losses: Vec::new(),
            outdated: Vec::new(),
            references: OnceLock::new(),
        }
    }
    pub(super) fn settle(&mut self) {
        self.slots.par_sort_by(|a, b| a.id.cmp(&b.id));
        finding::settle(&mut self.left_out);
    }
    /// The records of a pack by the paths of their files, as those have them: nothing is lost by what was withdrawn.
    pub(crate) fn as_read(&self, place: usize) -> impl Iterator<Item = (Arc<str>, Record)> + use<'_> {
        let of_pack = self.slots.iter().filter(move |slot| slot.pack == place);
        of_pack.filter_map(move |slot| Some((slot.path.clone(), slot.fetch(self.homes.get(place)?, &self.kinds)?)))
    }
    /// The hash of the schemas in force.
    pub(crate) fn schemas_hash(&self) -> &SchemasHash {
        &self.schemas
    }
    /// What the schemas in force say.
    pub(crate) fn kinds(&self) -> &Kinds {
        &self.kinds
    }
    /// The packs, in the order of loading.
    pub fn packs(&self) -> &[Pack] {
        &self.packs
    }
    /// All records, by id.
    pub fn records(&self) -> Vec<&Record> {
        self.decoded(&self.slots).collect()
    }
    /// How many records there are.
    pub fn count(&self) -> usize {
        self.slots.len()
    }
    /// The records of some slots.
    fn decoded<'a>(&'a self, slots: &'a [LazyRecord]) -> impl ParallelIterator<Item = &'a Record> {
        slots.par_iter().with_min_len(32).filter_map(|slot| slot.record(&self.homes, &self.kinds))
    }
    /// The slots of a kind: they lie side by side.
    fn slots_of(&self, kind: &str) -> &[LazyRecord] {
        let first = format!("{kind}/");
        let begin = self.slots.partition_point(|slot| slot.id.as_str() < first.as_str());
        let count = self.slots[begin..].partition_point(|slot| slot.id.as_str().starts_with(&first));
        &self.slots[begin..][..count]
    }
    /// The slots of these roles (empty: any), kind by kind.
    fn slots_of_roles(&self, roles: &[&str]) -> Vec<&[LazyRecord]> {
        if roles.is_empty() {
            return vec![&self.slots];
        }
        let kinds = self.catalogue().kinds.iter().filter(|kind| roles.contains(&&*kind.role));
        kinds.map(|kind| self.slots_of(&kind.word)).collect()
    }
    /// What the records of these roles are called (empty: any), by id. Nothing else of them is decoded.
    pub fn heads(&self, roles: &[&str]) -> Vec<Head> {
        let among = self.slots_of_roles(roles).into_par_iter().flat_map(|slots| slots.par_iter().with_min_len(32));
        let mut heads: Vec<Head> = among.filter_map(|slot| slot.head(&self.homes, &self.kinds)).collect();
        heads.sort_by(|a, b| a.id.cmp(&b.id));
        heads
    }
    /// The ids of the records of these roles (empty: any), by id.
    pub fn ids(&self, roles: &[&str]) -> impl Iterator<Item = &RecordId> {
        let mut ids: Vec<&RecordId> = self.slots_of_roles(roles).into_iter().flatten().map(|slot| &slot.id).collect();
        ids.sort();
        ids.into_iter()
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
    /// The record with that full id, if it may be used.
    pub fn in_use(&self, id: &str) -> Option<&Record> {
        self.record(id).filter(|record| record.current)
    }
    /// The records of a kind that may be used, by id.
    pub fn of_kind<'a>(&'a self, kind: &str) -> impl Iterator<Item = &'a Record> + use<'a> {
        let records: Vec<&Record> = self.decoded(self.slots_of(kind)).collect();
        records.into_iter().filter(|record| record.current)
    }
    /// The records of a role (material, adhesive, step, insert, screw, metal, process, rig, book) that may be used, by id.
    pub fn of_role<'a>(&'a self, role: &str) -> impl Iterator<Item = &'a Record> + use<'a> {
        let slots = self.slots_of_roles(&[role]);
        let mut records: Vec<&Record> = slots.into_par_iter().flat_map(|slots| self.decoded(slots)).collect();
        records.sort_by(|a, b| a.id.cmp(&b.id));
        records.into_iter().filter(|record| record.current)
    }
    /// What was withdrawn, and what is lost with it, by name.
    pub fn losses(&self) -> &[Loss] {
        &self.losses
    }
    /// The loss of a record as a whole.
    pub fn loss(&self, id: &str) -> Option<&Loss> {
        self.losses.iter().find(|loss| loss.what == id)
    }
    /// Where records in use still name what was withdrawn.
    pub fn citations(&self) -> Vec<Citation> {
        let roots = self.losses.iter().filter(|loss| loss.through.is_none());
        let roots: BTreeMap<String, &Loss> = roots.map(|loss| (loss.what.clone(), loss)).collect();
        let named: BTreeSet<&str> = roots.values().map(|loss| loss.record.as_str()).collect();
        let ids: BTreeSet<String> = named
            .into_iter()
            .flat_map(|id| self.naming(id).into_iter().map(|r| r.id.to_string()).chain([id.to_owned()]))
            .collect();
        ids.iter().filter_map(|id| self.record(id)).flat_map(|record| lost::citations(record, &roots)).collect()
    }
    /// What would be lost if a record, or the parts of it with these addresses, were withdrawn; itself left out.
    pub fn resting_on(&self, record: &Record, parts: &[String]) -> Vec<Loss> {
        let mut spread = Spread::default();
        spread.suppose(record, parts);
        while let Some(id) = spread.next() {
            spread.follow(&id, self);
        }
        spread.losses().into_iter().filter(|loss| loss.through.is_some()).collect()
    }
    /// Addresses of the claims in use that name this address among those they were computed from.
    pub fn computed_from(&self, address: &str) -> Vec<String> {
        let id = address.split(':').next().unwrap_or(address);
        let ids: BTreeSet<String> = self.references_to(id).into_iter().map(|reference| reference.record.to_string()).collect();
        let mut all = Vec::new();
        for record in ids.iter().filter_map(|id| self.in_use(id)) {
            for property in &record.properties {
                let claims = property.claims.iter().filter(|c| c.in_use() && c.from.iter().any(|from| **from == *address));
                all.extend(claims.map(|claim| record.address(&property.word, claim)));
            }
        }
        all
    }
    /// Paths of records of a pack that its index holds as they were before they lost something.
    pub fn outdated(&self, pack: usize) -> &[String] {
        self.outdated.get(pack).map_or(&[], Vec::as_slice)
    }
    /// Takes out of use what was withdrawn, and what rests on it.
    pub(super) fn lose(&mut self) {
        self.outdated = vec![Vec::new(); self.homes.len()];
        let mut spread = Spread::default();
        self.fetch_naming(references::WITHDRAWS);
        self.withdrawing().into_iter().for_each(|record| spread.begin(record));
        while let Some(id) = spread.next() {
            self.fetch_naming(&id);
            spread.follow(&id, self);
        }
        for id in spread.records() {
            let Ok(at) = self.slots.binary_search_by(|slot| slot.id.as_str().cmp(&id)) else { continue };
            if let Some(record) = self.slots[at].loaded_mut() {
                spread.apply(record);
            }
        }
        self.losses = spread.losses();
    }
    /// Brings the records that name an id from the indexes of large packs into the book.
    fn fetch_naming(&mut self, id: &str) {
        for place in 0..self.homes.len() {
            let home = &self.homes[place];
            let Some(shelf) = home.shelf.as_ref().filter(|shelf| shelf.apart().is_some()) else { continue };
            for path in shelf.clone().naming(&|name| references::means(name, id)) {
                let Some(known) = self.kinds.catalogue.id_of(&path) else { continue };
                let Err(at) = self.slots.binary_search_by(|slot| slot.id.as_str().cmp(&known)) else { continue };
                let (kind, name) = known.split_once('/').unwrap_or_default();
                let mut slot = LazyRecord::shelved(RecordId::new(kind, name), place, path.as_str().into());
                if slot.record(&self.homes, &self.kinds).is_some() {
                    slot.shelved = false;
                    self.slots.insert(at, slot);
                    self.outdated[place].push(path);
                    self.references = OnceLock::new();
                }
            }
        }
    }
    /// The records that withdraw something.
    fn withdrawing(&self) -> Vec<&Record> {
        let unshelved = self.slots.iter().filter(|slot| !slot.shelved);
        let unshelved = unshelved.filter_map(|slot| slot.record(&self.homes, &self.kinds)).filter(|r| references::withdraws(r));
        let shelves = self.homes.iter().filter_map(|home| home.shelf.as_ref());
        let paths = shelves.flat_map(|shelf| shelf.naming(&|target| target == references::WITHDRAWS));
        let ids = paths.filter_map(|path| self.kinds.catalogue.id_of(&path));
        let shelved = ids.filter_map(|id| self.slot(&id)).filter(|slot| slot.shelved);
        unshelved.chain(shelved.filter_map(|slot| slot.record(&self.homes, &self.kinds))).collect()
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
        self.source(source).and_then(Record::source).is_some_and(|s| s.is("campaign"))
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
            references::by_target(self.slots.iter().filter(|slot| !slot.shelved).filter_map(|slot| self.record(slot.id.as_str())))
        };
        let mut all = self.references.get_or_init(unshelved).get(id).cloned().unwrap_or_default();
        for home in &self.homes {
            let paths = home.shelf.as_ref().map_or_else(Vec::new, |shelf| shelf.naming(&|name| references::means(name, id)));
            let ids = paths.iter().filter_map(|path| self.kinds.catalogue.id_of(path));
            let slots = ids.filter_map(|id| self.slot(&id)).filter(|slot| slot.shelved);
            let records = slots.filter_map(|slot| slot.record(&self.homes, &self.kinds));
            all.extend(references::by_target(records).remove(id).unwrap_or_default());
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

impl Around for Book {
    fn record(&self, id: &str) -> Option<&Record> {
        Book::record(self, id)
    }
    fn naming(&self, id: &str) -> Vec<&Record> {
        let mut ids: Vec<RecordId> = self.references_to(id).into_iter().map(|reference| reference.record).collect();
        ids.dedup();
        ids.iter().filter_map(|id| Book::record(self, id.as_str())).collect()
    }
}
