//! Rows: text as written, SI value and unit in columns of their own.

use crate::book::{Book, Claim, Record, Standing, Value};
use crate::present::{Table, table::Cell};
use crate::quantity::{self, Written};
use serde_json::Value as Json;

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
            for claim in &property.claims {
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
    let standing = match c.standing {
        Standing::Good => "good",
        Standing::Disputed => "disputed",
        Standing::Withdrawn => "withdrawn",
    };
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
        standing.into(),
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
        for m in record.rest["measurements"].as_array().into_iter().flatten() {
            table.row(measurement_row(book, record, m));
        }
    }
    table
}

fn measurement_row(book: &Book, record: &Record, m: &Json) -> Vec<Cell> {
    let shown = |v: &Json| match v {
        Json::String(t) => Some(t.clone()),
        Json::Number(n) => Some(n.to_string()),
        _ => None,
    };
    let amount = |field: &str| shown(&m[field]).and_then(|t| quantity::parse_any(&t).into_iter().next());
    let mean = amount("mean");
    let sd = amount("sd");
    let top = |pointer: &str| text(record.rest.pointer(pointer).and_then(Json::as_str));
    let mode =
        m["mode"].as_str().map(str::to_owned).or_else(|| m["modes"].as_object().map(|o| Json::Object(o.clone()).to_string()));
    vec![
        record.id.as_str().into(),
        record.name.to_string().into(),
        top("/joint/test"),
        top("/joint/method"),
        top("/joint/material"),
        top("/joint/adhesive"),
        top("/joint/insert"),
        top("/joint/thread"),
        text(m["quantity"].as_str()),
        digits(mean.as_ref()),
        text(mean.as_ref().map(|w| w.unit.symbol())),
        si(mean.as_ref()),
        digits(sd.as_ref()),
        si(sd.as_ref()),
        m["n"].as_f64().map_or(Cell::Empty, Cell::Number),
        text(mode.as_deref()),
        text(m["basis"].as_str().or_else(|| record.rest["basis"].as_str())),
        top("/source"),
        top("/locator"),
        book.pack_of(record).id.to_string().into(),
        text(m["read"].as_str().or_else(|| record.rest["read"].as_str())),
        standing(record, m).into(),
        top("/joint/length"),
        top("/joint/hole"),
        top("/joint/boss"),
        each(m, |specimen| specimen["batch"].as_str().map(str::to_owned)),
        each(m, |specimen| specimen["job"].as_str().map(str::to_owned)),
        each(m, |specimen| {
            let held = if specimen["censored"].as_bool() == Some(true) { ">" } else { "" };
            shown(&specimen["value"]).map(|value| format!("{held}{value}"))
        }),
    ]
}

/// Whether a measurement is used: its own doubt first, then that of the series.
fn standing(record: &Record, m: &Json) -> &'static str {
    match m["standing"].as_str().or_else(|| record.rest["standing"].as_str()) {
        _ if !record.current => "withdrawn",
        Some("withdrawn") => "withdrawn",
        Some("disputed") => "disputed",
        _ => "good",
    }
}

/// A fact of each specimen in their order, between semicolons; empty where none says it.
fn each(m: &Json, fact: impl Fn(&Json) -> Option<String>) -> Cell {
    let all: Vec<Option<String>> = m["specimens"].as_array().into_iter().flatten().map(fact).collect();
    if all.iter().all(Option::is_none) {
        return Cell::Empty;
    }
    Cell::Text(all.into_iter().map(Option::unwrap_or_default).collect::<Vec<_>>().join("; "))
}

/// One row per source.
pub(super) fn sources(sources: &[&Record]) -> Table {
    let mut table = Table::new(&SOURCES);
    for source in sources {
        let field = |name: &str| text(source.rest[name].as_str());
        table.row(vec![
            source.id.name().into(),
            field("type"),
            field("title"),
            text(Some(super::cite::names(&source.rest["author"]).join("; ").as_str()).filter(|t| !t.is_empty())),
            field("issued"),
            field("container-title"),
            field("DOI"),
            field("ISBN"),
            field("URL"),
        ]);
    }
    table
}
