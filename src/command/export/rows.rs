//! Rows: text as written, SI value and unit in columns of their own.

use gripbook::book::view::{Joint, Measurement, Scalar, Specimen, Stated};
use gripbook::book::{Basis, Book, Claim, Record, Standing, Value};
use gripbook::present::{Table, table::Cell};
use gripbook::quantity::{self, Written};
use serde_json::Value as Json;
use uom::si::f64::Length;

/// Columns of claims.
pub(super) const CLAIMS: [&str; 33] = [
    "address",
    "record",
    "name",
    "kind",
    "family",
    "property",
    "written",
    "value",
    "low",
    "high",
    "unit",
    "ucum",
    "value_si",
    "low_si",
    "high_si",
    "sd",
    "sd_si",
    "sd_kind",
    "se",
    "u",
    "n",
    "spread_of",
    "range",
    "bound",
    "basis",
    "standing",
    "source",
    "locator",
    "read",
    "method",
    "conditions",
    "note",
    "pack",
];

/// Columns of measurements.
pub(super) const MEASUREMENTS: [&str; 28] = [
    "series", "name", "test", "method", "material", "adhesive", "insert", "thread", "quantity", "written", "unit", "value_si",
    "sd", "sd_si", "n", "mode", "basis", "source", "locator", "pack", "read", "standing", "length", "hole", "boss", "batch",
    "job", "loads",
];

/// Columns of sources.
pub(super) const SOURCES: [&str; 9] = ["id", "type", "title", "author", "issued", "container", "doi", "isbn", "url"];

fn text(value: Option<&str>) -> Cell {
    value.map_or(Cell::Empty, |t| Cell::Text(t.to_owned()))
}

fn si(value: Option<&Written>) -> Cell {
    value.map_or(Cell::Empty, |w| Cell::Number(w.si))
}

fn digits(value: Option<&Written>) -> Cell {
    value.map_or(Cell::Empty, |w| Cell::Text(w.text.to_string()))
}

/// One row per claim, in the order of the book.
pub(super) fn claims(book: &Book, records: &[&Record]) -> Table {
    let mut table = Table::new(&CLAIMS);
    for record in records {
        for property in &record.properties {
            for claim in property.claims.iter().filter(|c| c.standing != Standing::Withdrawn) {
                table.row(claim_row(book, record, &property.word, claim));
            }
        }
    }
    table
}

fn claim_row(book: &Book, record: &Record, word: &str, c: &Claim) -> Vec<Cell> {
    let (value, low, high) = match &c.value {
        Value::One(w) => (Some(w), c.least.as_ref(), c.most.as_ref()),
        Value::Between { low, high } => (None, low.as_ref(), high.as_ref()),
        _ => (None, None, None),
    };
    let unit = value.or(low).or(high).map(|w| w.unit).or_else(|| c.value.ends().map(|(w, _)| w.unit));
    let conditions: serde_json::Map<String, Json> =
        c.conditions.iter().map(|c| (c.name.to_string(), c.value.text().into())).collect();
    let conditions = if conditions.is_empty() { Cell::Empty } else { Cell::Text(Json::Object(conditions).to_string()) };
    vec![
        record.address(word, c).into(),
        record.id.as_str().into(),
        record.name.to_string().into(),
        record.id.kind().into(),
        text(Some(&*record.family).filter(|f| !f.is_empty())),
        word.into(),
        c.value.text().into(),
        value.map_or(Cell::Empty, |w| Cell::Number(w.value)),
        low.map_or(Cell::Empty, |w| Cell::Number(w.value)),
        high.map_or(Cell::Empty, |w| Cell::Number(w.value)),
        text(unit.map(|u| u.symbol())),
        text(unit.map(|u| u.unit().ucum)),
        c.value.middle_si().filter(|_| value.is_some() || matches!(c.value, Value::Samples(_))).map_or(Cell::Empty, Cell::Number),
        si(low),
        si(high),
        digits(c.sd.as_ref()),
        si(c.sd.as_ref()),
        text(c.sd_kind.as_deref()),
        digits(c.se.as_ref()),
        digits(c.u.as_ref()),
        c.n.map_or(Cell::Empty, |n| Cell::Number(f64::from(n))),
        text(c.spread_of.as_deref()),
        text(c.range.as_deref()),
        text(c.bound.as_deref()),
        c.basis.word().into(),
        c.standing.word().into(),
        text(c.source.as_deref()),
        text(c.locator.as_deref()),
        text(c.read.as_deref()),
        text(c.method.as_deref()),
        conditions,
        text(c.note.as_deref()),
        book.pack_of(record).id.to_string().into(),
    ]
}

/// One row per measurement.
pub(super) fn measurements(book: &Book, records: &[&Record]) -> Table {
    let mut table = Table::new(&MEASUREMENTS);
    for record in records.iter().filter(|r| r.id.kind() == "series") {
        let all = record.series().into_iter().flat_map(|s| &s.measurements);
        for m in all.filter(|m| m.standing() != Standing::Withdrawn) {
            table.row(measurement_row(book, record, m));
        }
    }
    table
}

fn measurement_row(book: &Book, record: &Record, m: &Measurement) -> Vec<Cell> {
    let amount = |value: &Option<Scalar>| quantity::parse_any(&value.as_ref()?.to_string()).into_iter().next();
    let (mean, sd) = (amount(&m.mean), amount(&m.sd));
    let says = record.series();
    let joint = says.map(|s| &s.joint);
    let size = |field: fn(&Joint) -> &Option<Stated<Length>>| text(joint.and_then(|j| field(j).as_ref()).map(|s| &*s.text));
    let joint = |field: fn(&Joint) -> &Option<Box<str>>| text(joint.and_then(|j| field(j).as_deref()));
    let mode = m.mode.as_deref().map(str::to_owned).or_else(|| m.modes.as_ref().map(|o| Json::Object(o.clone()).to_string()));
    let common = record.common();
    vec![
        record.id.as_str().into(),
        record.name.to_string().into(),
        joint(|j| &j.test),
        joint(|j| &j.method),
        joint(|j| &j.material),
        joint(|j| &j.adhesive),
        joint(|j| &j.insert),
        joint(|j| &j.thread),
        text(Some(&m.quantity)),
        digits(mean.as_ref()),
        text(mean.as_ref().map(|w| w.unit.symbol())),
        si(mean.as_ref()),
        digits(sd.as_ref()),
        si(sd.as_ref()),
        m.n.map_or(Cell::Empty, |n| Cell::Number(n as f64)),
        text(mode.as_deref()),
        text(m.basis.or(common.basis).map(Basis::word)),
        text(common.source.as_deref()),
        text(common.locator.as_deref()),
        book.pack_of(record).id.to_string().into(),
        text(says.and_then(|s| s.read.as_deref())),
        standing(record, m).word().into(),
        size(|j| &j.length),
        size(|j| &j.hole),
        size(|j| &j.boss),
        each(m, |specimen| specimen.batch.as_deref().map(str::to_owned)),
        each(m, |specimen| specimen.job.as_deref().map(str::to_owned)),
        each(m, |specimen| Some(format!("{}{}", if specimen.censored { ">" } else { "" }, specimen.value))),
    ]
}

/// Whether a measurement is used: its own doubt first, then that of the series.
fn standing(record: &Record, m: &Measurement) -> Standing {
    match m.standing() {
        _ if !record.current => Standing::Withdrawn,
        Standing::Good => record.series().and_then(|s| s.standing).unwrap_or_default(),
        own => own,
    }
}

/// A fact of each specimen in their order, between semicolons; empty where none says it.
fn each(m: &Measurement, fact: impl Fn(&Specimen<Scalar>) -> Option<String>) -> Cell {
    let all: Vec<Option<String>> = m.specimens().map(|(_, specimen)| fact(specimen)).collect();
    if all.iter().all(Option::is_none) {
        return Cell::Empty;
    }
    Cell::Text(all.into_iter().map(Option::unwrap_or_default).collect::<Vec<_>>().join("; "))
}

/// One row per source.
pub(super) fn sources(sources: &[&Record]) -> Table {
    let mut table = Table::new(&SOURCES);
    for source in sources {
        let Some(says) = source.source() else { continue };
        table.row(vec![
            source.id.name().into(),
            text(says.sort.as_deref()),
            text(says.title.as_deref()),
            text(Some(super::cite::names(&says.author).join("; ").as_str()).filter(|t| !t.is_empty())),
            text(says.issued.as_deref()),
            text(says.container_title.as_deref()),
            text(says.doi.as_deref()),
            text(says.isbn.as_deref()),
            text(says.url.as_deref()),
        ]);
    }
    table
}
