//! The index of a large pack, in the user's cache folder.
//!
//! It answers which records may match and in which order; the records found are judged again by [`matching`], from the
//! bytes stored beside them, so that an answer has the same bytes as one made without it.

use super::matching::{self, Interval};
use super::snapshot::SmallShelf;
use super::words::{self, Field as Place};
use crate::book::memory::{Fresh, Shelf};
use crate::book::{Head, Record, Value, codec, references};
use crate::check::catalogue::Catalogue;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::any::Any;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use tantivy::collector::DocSetCollector;
use tantivy::indexer::IndexWriterOptions;
use tantivy::query::{TermQuery, TermSetQuery};
use tantivy::schema::{
    BytesOptions, FAST, Field, IndexRecordOption, JsonObjectOptions, OwnedValue, Schema, TextFieldIndexing, TextOptions,
    Value as _,
};
use tantivy::{DocAddress, Index, IndexReader, IndexWriter, ReloadPolicy, Searcher, TantivyDocument, Term};

/// Memory of the writer while it builds a new index, in bytes.
const WRITER_MEMORY: usize = 50_000_000;
/// Memory of the writer that changes an index: the least it takes, since it is cleared before the first record.
const CHANGE_MEMORY: usize = 15_000_000;
/// What marks a record whose data are all invented, one with a claim that names no source, and a withdrawn one.
pub(super) const INVENTED: &str = "invented";
pub(super) const UNSOURCED: &str = "unsourced";
pub(super) const WITHDRAWN: &str = "withdrawn";

/// The fields of the index.
#[derive(Debug, Clone)]
pub(super) struct Fields {
    /// Path of the file inside the pack.
    pub path: Field,
    /// Words, one field per [`Place`], in its order.
    pub words: [Field; 5],
    /// The kind.
    pub kind: Field,
    /// The family.
    pub family: Field,
    /// Tags.
    pub tag: Field,
    /// Properties with a usable claim, and `property=word` of facts and words.
    pub has: Field,
    /// Short id, name and synonyms as whole texts.
    pub whole: Field,
    /// Marks.
    pub mark: Field,
    /// Ids the record names.
    pub names: Field,
    /// The id, for the order.
    pub id: Field,
    /// The name, for the order.
    pub name: Field,
    /// `PROPERTY.low`, `PROPERTY.high`, `PROPERTY.sort`.
    pub bounds: Field,
    /// The record's bytes.
    blob: Field,
}

fn schema() -> (Schema, Fields) {
    let mut schema = Schema::builder();
    let raw = || {
        let indexing = TextFieldIndexing::default().set_tokenizer("raw").set_fieldnorms(false);
        TextOptions::default().set_indexing_options(indexing.set_index_option(IndexRecordOption::Basic))
    };
    let fields = Fields {
        path: schema.add_text_field("path", raw().set_stored()),
        words: ["in_id", "in_name", "in_tag", "in_family", "in_text"].map(|name| schema.add_text_field(name, raw())),
        kind: schema.add_text_field("kind", raw()),
        family: schema.add_text_field("family", raw()),
        tag: schema.add_text_field("tag", raw()),
        has: schema.add_text_field("has", raw()),
        whole: schema.add_text_field("whole", raw()),
        mark: schema.add_text_field("mark", raw()),
        names: schema.add_text_field("names", raw()),
        id: schema.add_text_field("id", TextOptions::default().set_fast("raw")),
        name: schema.add_text_field("name", TextOptions::default().set_fast("raw")),
        bounds: schema.add_json_field("bounds", JsonObjectOptions::from(FAST)),
        blob: schema.add_bytes_field("blob", BytesOptions::default().set_stored()),
    };
    (schema.build(), fields)
}

/// An open index.
pub struct Disk {
    index: Index,
    reader: IndexReader,
    pub(super) fields: Fields,
}

impl std::fmt::Debug for Disk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Disk").finish_non_exhaustive()
    }
}

impl Disk {
    /// Opens the index in a folder; `None` when there is none that can be used.
    pub fn open(folder: &Path) -> Option<Disk> {
        let (wanted, fields) = schema();
        let index = Index::open_in_dir(folder).ok().filter(|index| index.schema() == wanted)?;
        Disk::ready(index, fields)
    }
    /// A new, empty index in a folder.
    pub fn create(folder: &Path) -> Option<Disk> {
        let (schema, fields) = schema();
        std::fs::create_dir_all(folder).ok()?;
        Disk::ready(Index::create_in_dir(folder, schema).ok()?, fields)
    }
    fn ready(index: Index, fields: Fields) -> Option<Disk> {
        let reader = index.reader_builder().reload_policy(ReloadPolicy::Manual).try_into().ok()?;
        Some(Disk { index, reader, fields })
    }
    /// The records as they are now.
    pub fn searcher(&self) -> Searcher {
        self.reader.searcher()
    }
    /// What the last writer called its state.
    pub fn state(&self) -> Option<String> {
        self.index.load_metas().ok()?.payload
    }
    /// Begins a change; `None` when another process writes, or nothing can be written.
    pub fn change(self: &Arc<Self>) -> Option<IndexChange> {
        let memory = if self.searcher().num_docs() == 0 { WRITER_MEMORY } else { CHANGE_MEMORY };
        // Every further thread would reserve address space of its own, which may be short.
        let options = IndexWriterOptions::builder().num_worker_threads(1).num_merge_threads(1).memory_budget_per_thread(memory);
        let writer = self.index.writer_with_options(options.build()).ok()?;
        Some(IndexChange { disk: self.clone(), writer })
    }
    /// The record at an address with its path; `None` when its bytes are damaged.
    pub fn record(&self, searcher: &Searcher, at: DocAddress) -> Option<(String, Record)> {
        let (path, bytes) = self.stored(searcher, at)?;
        Some((path, codec::decode(&bytes)?))
    }
    fn stored(&self, searcher: &Searcher, at: DocAddress) -> Option<(String, Vec<u8>)> {
        let stored: TantivyDocument = searcher.doc(at).ok()?;
        let path = stored.get_first(self.fields.path)?.as_str()?.to_owned();
        let bytes = stored.get_first(self.fields.blob)?.as_bytes()?;
        let (sum, bytes) = bytes.split_at_checked(8)?;
        (Sha256::digest(bytes)[..8] == *sum).then_some(())?;
        Some((path, bytes.to_vec()))
    }
    /// The bytes of the record of a file; `None` when there is none undamaged.
    fn bytes(&self, path: &str) -> Option<Vec<u8>> {
        let searcher = self.searcher();
        let query = TermQuery::new(Term::from_field_text(self.fields.path, path), IndexRecordOption::Basic);
        let found = searcher.search(&query, &DocSetCollector).ok()?;
        let (stored, bytes) = self.stored(&searcher, *found.iter().next()?)?;
        (stored == path).then_some(bytes)
    }
    /// Every id that some record names and that `is_meant`, sorted.
    fn named(&self, is_meant: &dyn Fn(&str) -> bool) -> Option<BTreeSet<String>> {
        let mut all = BTreeSet::new();
        for segment in self.searcher().segment_readers() {
            let terms = segment.inverted_index(self.fields.names).ok()?;
            let mut stream = terms.terms().stream().ok()?;
            while stream.advance() {
                let id = String::from_utf8_lossy(stream.key());
                if is_meant(&id) {
                    all.insert(id.into_owned());
                }
            }
        }
        Some(all)
    }
    /// Paths of the records that name an id which `is_meant`.
    fn naming(&self, is_meant: &dyn Fn(&str) -> bool) -> BTreeSet<String> {
        let named = self.named(is_meant).unwrap_or_default();
        if named.is_empty() {
            return BTreeSet::new();
        }
        let searcher = self.searcher();
        let terms = named.iter().map(|id| Term::from_field_text(self.fields.names, id));
        let found = searcher.search(&TermSetQuery::new(terms), &DocSetCollector).unwrap_or_default();
        found.into_iter().filter_map(|at| self.stored(&searcher, at)).map(|(path, _)| path).collect()
    }
}

/// A change of an index, not visible before it is committed.
pub struct IndexChange {
    disk: Arc<Disk>,
    writer: IndexWriter,
}

impl IndexChange {
    /// Takes the record of a file out.
    pub fn take_out(&self, path: &str) {
        self.writer.delete_term(Term::from_field_text(self.disk.fields.path, path));
    }
    /// Puts records in, in the place of those that have the same path.
    pub fn put(&self, records: &[Fresh<'_>], kinds: &Catalogue) -> Option<()> {
        let documents: Vec<TantivyDocument> = records.par_iter().map(|one| document(one, kinds, &self.disk.fields)).collect();
        for (one, document) in records.iter().zip(documents) {
            self.take_out(one.path);
            self.writer.add_document(document).ok()?;
        }
        Some(())
    }
    /// Makes the change visible under a name of its own; `None` when it could not be written.
    pub fn commit(mut self, state: &str) -> Option<()> {
        let mut commit = self.writer.prepare_commit().ok()?;
        commit.set_payload(state);
        commit.commit().ok()?;
        self.writer.wait_merging_threads().ok()?;
        self.disk.reader.reload().ok()
    }
}

/// The records of a large pack.
#[derive(Debug)]
pub struct LargeShelf {
    /// The index they are in.
    pub disk: Arc<Disk>,
    /// Those that came after it, which count more.
    pub later: Arc<SmallShelf>,
    /// Paths whose records are not to be found in it: changed or gone since.
    pub stale: Vec<String>,
    /// Whether the index is searched, so that its records need not come into the book.
    pub is_asked: bool,
}

impl Shelf for LargeShelf {
    fn record(&self, path: &str) -> Option<Record> {
        self.later.record(path).or_else(|| codec::decode(&self.disk.bytes(path)?))
    }
    fn head(&self, path: &str) -> Option<Head> {
        self.later.head(path).or_else(|| codec::decode_head(&self.disk.bytes(path)?))
    }
    fn naming(&self, is_meant: &dyn Fn(&str) -> bool) -> Vec<String> {
        let later: BTreeSet<&str> = self.later.paths().collect();
        let mut paths: BTreeSet<String> = self.disk.naming(is_meant);
        paths.retain(|path| !later.contains(&**path));
        paths.extend(self.later.naming(is_meant));
        paths.into_iter().collect()
    }
    fn apart(&self) -> Option<Vec<&str>> {
        self.is_asked.then(|| self.later.paths().collect())
    }
    fn as_any(&self) -> &dyn Any {
        self
    }
}

fn document(put: &Fresh<'_>, kinds: &Catalogue, fields: &Fields) -> TantivyDocument {
    let record = put.record;
    let mut to = TantivyDocument::new();
    to.add_text(fields.path, put.path);
    let mut seen = BTreeSet::new();
    for (place, word) in words::of_record(record, kinds) {
        if seen.insert((place, word.clone())) {
            to.add_text(word_field(place, fields), word);
        }
    }
    to.add_text(fields.kind, record.id.kind());
    to.add_text(fields.family, &record.family);
    record.tags.iter().for_each(|t| to.add_text(fields.tag, t));
    matching::whole_names(record).iter().for_each(|name| to.add_text(fields.whole, name));
    to.add_text(fields.id, record.id.as_str());
    to.add_text(fields.name, &record.name);
    let marks = [(INVENTED, record.invented()), (UNSOURCED, matching::unsourced(record)), (WITHDRAWN, !record.current)];
    marks.iter().filter(|(_, is)| *is).for_each(|(mark, _)| to.add_text(fields.mark, mark));
    references::names(record).iter().for_each(|target| to.add_text(fields.names, target));
    to.add_object(fields.bounds, bounds(record));
    for word in facts(record) {
        to.add_text(fields.has, word);
    }
    let bytes = codec::encode(record);
    let sum = Sha256::digest(&bytes);
    to.add_bytes(fields.blob, &[&sum[..8], &bytes].concat());
    to
}

pub(super) fn word_field(place: Place, fields: &Fields) -> Field {
    match place {
        Place::Id => fields.words[0],
        Place::Name => fields.words[1],
        Place::Tag => fields.words[2],
        Place::Family => fields.words[3],
        Place::Text => fields.words[4],
    }
}

/// The term by which a fact or word of a property is found.
pub(super) fn fact(property: &str, value: &str) -> String {
    format!("{property}={value}")
}

/// Properties with a usable claim, and their facts and words.
fn facts(record: &Record) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for property in &record.properties {
        for claim in matching::usable(record, &property.word) {
            all.insert(property.word.to_string());
            match &claim.value {
                Value::YesNo(_) | Value::Word(_) => drop(all.insert(fact(&property.word, &claim.value.text()))),
                _ => {}
            }
        }
    }
    all
}

/// For each property the least and the largest value any usable claim allows, and the value it is sorted by.
fn bounds(record: &Record) -> BTreeMap<String, OwnedValue> {
    let mut all = BTreeMap::new();
    for property in &record.properties {
        let stated = matching::usable(record, &property.word).filter_map(matching::interval);
        let whole = stated.reduce(|a, b| Interval { low: a.low.min(b.low), high: a.high.max(b.high) });
        let Some(Interval { low, high }) = whole else { continue };
        let mut inner = BTreeMap::from([("low".to_owned(), OwnedValue::F64(low)), ("high".to_owned(), OwnedValue::F64(high))]);
        if let Some(sort) = matching::sort_value(record, &property.word) {
            inner.insert("sort".to_owned(), OwnedValue::F64(sort.si));
        }
        all.insert(property.word.to_string(), OwnedValue::from(inner));
    }
    all
}
