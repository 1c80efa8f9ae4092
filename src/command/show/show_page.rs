//! A record as a person wants to read it.

use super::claims;
use gripbook::book::disagree::{Disagreement, disagreements};
use gripbook::book::gaps::gaps;
use gripbook::book::sought;
use gripbook::book::{Book, Claim, Record, Reference};
use gripbook::present::table::Cell;
use gripbook::present::{Block, Page, Table, counted};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// The whole page of one record.
pub fn page(book: &Book, record: &Record) -> Page {
    let mut page = Page::titled(title(record));
    head(&mut page, book, record);
    if !record.properties.is_empty() {
        properties(&mut page, book, record);
    }
    fields(&mut page, record);
    lacking(&mut page, book, record);
    references(&mut page, &book.references_to(record.id.as_str()));
    page.blank().field("packs", book.hash_line([record]));
    page
}

/// Name and id.
pub fn title(record: &Record) -> String {
    let mark = if record.invented() { "INVENTED DATA: " } else { "" };
    format!("{mark}{} ({})", record.name, record.id)
}

/// The line of a record that was taken back.
pub fn withdrawn(book: &Book, record: &Record) -> Option<Block> {
    let loss = book.loss(record.id.as_str())?;
    let text = match &loss.through {
        Some(_) => format!("OUT OF USE: it rests on {}, which is withdrawn: {}", loss.root, loss.because),
        None => format!("WITHDRAWN: {}", loss.because),
    };
    let instead = loss.instead.as_deref().map(|by| format!("; {by} takes its place")).unwrap_or_default();
    Some(Block::Line { indent: 0, text: text + &instead })
}

fn head(page: &mut Page, book: &Book, record: &Record) {
    if let Some(description) = &record.description {
        page.line(&**description);
    }
    page.blocks.extend(withdrawn(book, record));
    page.blank();
    let kind = book.kind_of(record).map_or(record.id.kind(), |k| &k.title);
    page.field("what", kind);
    if !record.family.is_empty() {
        page.field("family", book.family_chain(&record.family).join(", in "));
    }
    for (label, words) in [("also called", &record.also), ("tags", &record.tags)] {
        if !words.is_empty() {
            page.field(label, words.join(", "));
        }
    }
    if record.is_draft() {
        page.field("status", "draft, not yet reviewed");
    }
    page.field("file", format!("{} in pack {}", record.file, book.pack_of(record).id));
    if let Some(note) = &record.note {
        page.field("note", &**note);
    }
}

fn properties(page: &mut Page, book: &Book, record: &Record) {
    page.heading("Properties");
    let disagreements = disagreements(record);
    for property in &record.properties {
        let kind = book.catalogue().property(record.id.kind(), &property.word);
        let title = kind.map_or(&*property.word, |k| &k.title);
        page.line(format!("{title} ({})", property.word));
        for claim in &property.claims {
            one_claim(page, book, claim);
        }
        if let Some(d) = disagreements.iter().find(|d| *d.property == *property.word) {
            page.sub(1, disagreement(book, d));
        }
    }
}

fn one_claim(page: &mut Page, book: &Book, claim: &Claim) {
    let parts =
        [claims::value(claim), claims::spread(claim), claim.method.as_deref().unwrap_or("").into(), claims::conditions(claim)];
    let stated: Vec<String> = parts.into_iter().filter(|p| !p.is_empty()).collect();
    page.subitem(1, format!("{}; {}", stated.join("; "), claims::origin(book, claim)));
    for mark in claims::marks(claim) {
        page.sub(3, mark);
    }
}

fn disagreement(book: &Book, d: &Disagreement<'_>) -> String {
    let who = |c: &Claim| match &c.source {
        Some(source) => book.cite(source),
        None => format!("{}, no source", c.basis.word()),
    };
    format!("sources disagree: {} ({}) against {} ({})", claims::value(d.low), who(d.low), claims::value(d.high), who(d.high))
}

/// Every other field: one line each; a list of like things as a table.
fn fields(page: &mut Page, record: &Record) {
    let fields = Fields::of(record);
    if !fields.lines.is_empty() {
        page.heading("Fields");
    }
    for (name, text) in fields.lines {
        page.field(in_words(&name), text);
    }
    for (name, table) in fields.tables {
        page.heading(in_words(&name)).table(table);
    }
}

/// The name of a field as it is said: `joint.screw_text` is `joint, screw text`.
pub fn in_words(name: &str) -> String {
    let part = |part: &str| match part {
        "lifted_by" => "met by".to_owned(),
        "waive" => "waived".to_owned(),
        "provenance" => "evidence".to_owned(),
        other => other.replace('_', " "),
    };
    let mut out = String::new();
    for piece in name.split('.') {
        let is_place = piece.bytes().all(|b| b.is_ascii_digit());
        out.push_str(if out.is_empty() || is_place { if is_place { " " } else { "" } } else { ", " });
        out.push_str(&part(piece));
    }
    out
}

/// The fields of a record that are no properties, flat.
#[derive(Default)]
pub struct Fields {
    /// Name and text.
    pub lines: Vec<(String, String)>,
    /// Lists of like things.
    pub tables: Vec<(String, Table)>,
}

impl Fields {
    /// All but those that the head of the page tells.
    pub fn of(record: &Record) -> Fields {
        let mut fields = Fields::default();
        fields.flatten(record.rest.json(), "");
        fields.lines.retain(|(name, _)| name != "status" && !name.starts_with("withdrawn"));
        fields
    }
    fn flatten(&mut self, value: &Value, name: &str) {
        match value {
            Value::Object(fields) => {
                for (key, inner) in fields {
                    let inside = if name.is_empty() { key.clone() } else { format!("{name}.{key}") };
                    self.flatten(inner, &inside);
                }
            }
            Value::Array(items) if items.iter().all(plain) => {
                self.lines.push((name.to_owned(), items.iter().map(scalar).collect::<Vec<_>>().join(", ")));
            }
            Value::Array(items) => match rows(items) {
                Some(table) => self.tables.push((name.to_owned(), table)),
                None => {
                    for (at, inner) in items.iter().enumerate() {
                        self.flatten(inner, &format!("{name}.{}", at + 1));
                    }
                }
            },
            _ => self.lines.push((name.to_owned(), scalar(value))),
        }
    }
}

fn plain(value: &Value) -> bool {
    !value.is_object() && !value.is_array()
}

/// A list of two or more flat things as a table, a column for each name that any of them has.
fn rows(items: &[Value]) -> Option<Table> {
    let things: Vec<&Map<String, Value>> = items.iter().filter_map(Value::as_object).collect();
    if things.len() != items.len() || things.len() < 2 || !things.iter().all(|t| t.values().all(plain)) {
        return None;
    }
    let mut columns: Vec<String> = Vec::new();
    for key in things.iter().flat_map(|t| t.keys()) {
        if !columns.contains(key) {
            columns.push(key.clone());
        }
    }
    let cell = |t: &Map<String, Value>, c: &String| Cell::from(t.get(c).map(scalar));
    let rows = things.iter().map(|t| columns.iter().map(|c| cell(t, c)).collect()).collect();
    Some(Table { columns, rows })
}

fn scalar(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.into(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

fn lacking(page: &mut Page, book: &Book, record: &Record) {
    let gaps = gaps(book, record);
    let sought = sought::of_material(book, record);
    if gaps.is_empty() && sought.is_empty() {
        return;
    }
    page.heading("Missing");
    for gap in gaps {
        let why = if gap.only_unusable { " (only claims that may not be used)" } else { "" };
        let more = if gap.for_what.len() > 3 { format!(" and {} more", gap.for_what.len() - 3) } else { String::new() };
        let asked: Vec<&str> = gap.for_what.iter().take(3).map(String::as_str).collect();
        let title = book.catalogue().property(record.id.kind(), &gap.property).map_or(&*gap.property, |k| &k.title);
        page.item(format!("{title} ({}){why}: asked for by {}{more}", gap.property, asked.join(", ")));
    }
    for search in sought {
        page.item(format!("looked for and not found: {}", search.told()));
    }
}

fn references(page: &mut Page, references: &[Reference]) {
    let kinds = by_kind(references);
    if !kinds.is_empty() {
        page.heading("Used in");
    }
    for (kind, names) in kinds {
        page.field(counted(names.len(), kind), names.join(", "));
    }
}

/// Names of the records that name this one, by kind.
pub fn by_kind(references: &[Reference]) -> BTreeMap<&str, Vec<&str>> {
    let mut kinds: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for reference in references {
        let list = kinds.entry(reference.record.kind()).or_default();
        if list.last() != Some(&reference.record.name()) {
            list.push(reference.record.name());
        }
    }
    kinds
}
