//! Asking an index: the query in its terms, and the first results in order.

use super::disk::{self, Disk, Fields};
use super::matching::WHOLE;
use super::query::{Operator, PropertyBound, Query, Sort};
use super::words::{self, Field as Place};
use crate::check::catalogue::Catalogue;
use std::cmp::Ordering;
use std::ops::Bound as End;
use tantivy::collector::{Collector, SegmentCollector};
use tantivy::columnar::{Column, StrColumn};
use tantivy::query::{
    AllQuery, BooleanQuery, ConstScoreQuery, DisjunctionMaxQuery, FuzzyTermQuery, Occur, Query as Asked, RangeQuery, TermQuery,
    TermSetQuery,
};
use tantivy::schema::{Field, IndexRecordOption};
use tantivy::{DocAddress, DocId, Score, SegmentOrdinal, SegmentReader, Term};

type Clause = (Occur, Box<dyn Asked>);

/// What an index holds for a query.
pub struct IndexAnswer {
    /// How many records match.
    pub total: usize,
    /// The first of them, of every segment: at least those that are first of all.
    pub first: Vec<DocAddress>,
}

/// Asks for the records that match, without those of the paths in `stale`. `None` when the index cannot answer.
pub fn ask(disk: &Disk, query: &Query, kinds: &Catalogue, stale: &[String]) -> Option<IndexAnswer> {
    let mut total = 0;
    let mut first = Vec::new();
    // Invented records come after all others, so each half has its own first ones.
    for invented in [Occur::MustNot, Occur::Must] {
        let mut clauses = clauses(query, kinds, &disk.fields, stale);
        clauses.push((invented, term(disk.fields.mark, disk::INVENTED)));
        let collector = First { query: query.clone() };
        let found = disk.searcher().search(&BooleanQuery::new(clauses), &collector).ok()?;
        total += found.total;
        first.extend(found.first);
    }
    Some(IndexAnswer { total, first })
}

fn term(field: Field, text: &str) -> Box<dyn Asked> {
    Box::new(TermQuery::new(Term::from_field_text(field, text), IndexRecordOption::Basic))
}

/// A demand that adds nothing to the score.
fn must(query: Box<dyn Asked>) -> Clause {
    (Occur::Must, Box::new(ConstScoreQuery::new(query, 0.0)))
}

fn clauses(query: &Query, kinds: &Catalogue, fields: &Fields, stale: &[String]) -> Vec<Clause> {
    let mut all: Vec<Clause> = vec![must(Box::new(AllQuery)), (Occur::MustNot, term(fields.mark, disk::WITHDRAWN))];
    if !stale.is_empty() {
        let terms = stale.iter().map(|path| Term::from_field_text(fields.path, path));
        all.push((Occur::MustNot, Box::new(TermSetQuery::new(terms))));
    }
    all.extend(query.words.iter().map(|w| (Occur::Must, word(w, fields))));
    if !query.words.is_empty() {
        let whole = ConstScoreQuery::new(term(fields.whole, &query.words.join(" ")), WHOLE);
        all.push((Occur::Should, Box::new(whole)));
    }
    all.extend(query.kind.iter().map(|k| must(term(fields.kind, k))));
    all.extend(query.tag.iter().map(|t| must(term(fields.tag, t))));
    if let Some(family) = &query.family {
        let members = kinds.families.members(family).into_iter().map(|f| Term::from_field_text(fields.family, f));
        all.push(must(Box::new(TermSetQuery::new(members))));
    }
    if let Some(property) = &query.missing {
        let knowing = kinds.kinds.iter().filter(|k| k.property(property).is_some());
        let knowing = knowing.map(|k| Term::from_field_text(fields.kind, &k.word));
        all.push(must(Box::new(TermSetQuery::new(knowing))));
        all.push((Occur::MustNot, term(fields.has, property)));
    }
    if query.unsourced {
        all.push(must(term(fields.mark, disk::UNSOURCED)));
    }
    all.extend(query.bounds.iter().map(|b| must(bound(b, fields))));
    all
}

/// The best place a word is found at, as the matcher counts it.
fn word(wanted: &str, fields: &Fields) -> Box<dyn Asked> {
    let mut ways: Vec<Box<dyn Asked>> = Vec::new();
    for place in Place::ALL {
        let term = Term::from_field_text(disk::word_field(place, fields), wanted);
        let mut way = |query: Box<dyn Asked>, likeness: f32| {
            ways.push(Box::new(ConstScoreQuery::new(query, place.weight() * likeness)));
        };
        way(Box::new(TermQuery::new(term.clone(), IndexRecordOption::Basic)), 1.0);
        if words::takes_beginning(wanted) {
            way(Box::new(FuzzyTermQuery::new_prefix(term.clone(), 0, true)), words::BEGINNING);
        }
        if words::takes_slip(wanted) {
            way(Box::new(FuzzyTermQuery::new(term, 1, true)), words::SLIP);
        }
    }
    Box::new(DisjunctionMaxQuery::new(ways))
}

fn bound(bound: &PropertyBound, fields: &Fields) -> Box<dyn Asked> {
    let end = |side: &str, si: f64| {
        let mut term = Term::from_field_json_path(fields.bounds, &format!("{}.{side}", bound.property), true);
        term.append_type_and_fast_value(si);
        term
    };
    match &bound.comparison {
        Operator::AtLeast(w) => Box::new(RangeQuery::new(End::Included(end("high", w.si)), End::Unbounded)),
        Operator::Above(w) => Box::new(RangeQuery::new(End::Excluded(end("high", w.si)), End::Unbounded)),
        Operator::AtMost(w) => Box::new(RangeQuery::new(End::Unbounded, End::Included(end("low", w.si)))),
        Operator::Below(w) => Box::new(RangeQuery::new(End::Unbounded, End::Excluded(end("low", w.si)))),
        Operator::Is(yes) => term(fields.has, &disk::fact(&bound.property, if *yes { "yes" } else { "no" })),
        Operator::Word(word) => term(fields.has, &disk::fact(&bound.property, word)),
    }
}

/// Collects the first results of every segment in the order of the query.
struct First {
    query: Query,
}

/// What was found in some segments.
struct SegmentHits {
    total: usize,
    first: Vec<DocAddress>,
}

struct SegmentFirst {
    segment: SegmentOrdinal,
    limit: usize,
    reverse: bool,
    by_score: bool,
    ids: Option<StrColumn>,
    names: Option<StrColumn>,
    values: Option<Column<f64>>,
    found: Vec<(DocId, Score)>,
}

impl Collector for First {
    type Fruit = SegmentHits;
    type Child = SegmentFirst;

    fn for_segment(&self, segment: SegmentOrdinal, reader: &SegmentReader) -> tantivy::Result<SegmentFirst> {
        let fast = reader.fast_fields();
        let values = match &self.query.sort {
            Some(Sort::Property(word)) => fast.column_opt::<f64>(&format!("bounds.{word}.sort"))?,
            _ => None,
        };
        let names = if self.query.sort == Some(Sort::Name) { fast.str("name")? } else { None };
        Ok(SegmentFirst {
            segment,
            limit: self.query.limit,
            reverse: self.query.reverse,
            by_score: self.query.sort.is_none(),
            ids: fast.str("id")?,
            names,
            values,
            found: Vec::new(),
        })
    }
    fn requires_scoring(&self) -> bool {
        self.query.sort.is_none() && !self.query.words.is_empty()
    }
    fn merge_fruits(&self, parts: Vec<SegmentHits>) -> tantivy::Result<SegmentHits> {
        let total = parts.iter().map(|p| p.total).sum();
        Ok(SegmentHits { total, first: parts.into_iter().flat_map(|p| p.first).collect() })
    }
}

impl SegmentCollector for SegmentFirst {
    type Fruit = SegmentHits;

    fn collect(&mut self, doc: DocId, score: Score) {
        self.found.push((doc, score));
    }
    fn harvest(mut self) -> SegmentHits {
        let mut found = std::mem::take(&mut self.found);
        let total = found.len();
        if self.limit == 0 {
            return SegmentHits { total, first: Vec::new() };
        }
        if self.limit < total {
            found.select_nth_unstable_by(self.limit - 1, |a, b| self.order(a, b));
            found.truncate(self.limit);
        }
        SegmentHits { total, first: found.into_iter().map(|(doc, _)| DocAddress::new(self.segment, doc)).collect() }
    }
}

impl SegmentFirst {
    /// The order of [`super::search::order`] within one segment and one half.
    fn order(&self, a: &(DocId, Score), b: &(DocId, Score)) -> Ordering {
        let place = |column: &Option<StrColumn>, doc: DocId| column.as_ref().and_then(|c| c.ords().first(doc));
        let by_id = || place(&self.ids, a.0).cmp(&place(&self.ids, b.0));
        let turned = |order: Ordering| if self.reverse { order.reverse() } else { order };
        if self.by_score {
            return turned(b.1.total_cmp(&a.1)).then_with(by_id);
        }
        if self.names.is_some() {
            return turned(place(&self.names, a.0).cmp(&place(&self.names, b.0))).then_with(by_id);
        }
        let value = |doc: DocId| self.values.as_ref().and_then(|c| c.first(doc));
        match (value(a.0), value(b.0)) {
            (Some(x), Some(y)) => turned(y.total_cmp(&x)).then_with(by_id),
            (x, y) => y.is_some().cmp(&x.is_some()).then_with(by_id),
        }
    }
}
