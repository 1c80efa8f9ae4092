//! A word that names a class of things: its members with what is known of each, the best known first.

use gripbook::book::best::glance;
use gripbook::book::{Book, Record, RecordId};
use gripbook::check::catalogue::{Catalogue, Measures};
use gripbook::present::table::Cell;
use gripbook::present::{Page, Sheet, Table, counted};
use gripbook::quantity::parse::range_ends;
use gripbook::quantity::{Amount, Quantity, Written, parse};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Properties told of a member: those a thread in it rests on, or a bond with it.
const TOLD: [(&str, &str); 3] = [("tensile_strength", "tensile strength"), ("tg", "Tg"), ("gap_limit", "fills gaps")];

/// A property that fewer than one in so many members states is no column for a reader.
const RARE: usize = 4;

/// Most series listed.
const SERIES: usize = 20;

struct Member<'b> {
    record: &'b Record,
    told: Vec<Option<String>>,
    claims: usize,
    series: usize,
}

/// The members of a class as an answer.
pub fn sheet(book: &Book, text: &str, ids: &[RecordId]) -> Sheet {
    let mut members: Vec<Member<'_>> = ids.iter().filter_map(|id| book.record(id.as_str())).map(|r| member(book, r)).collect();
    // A word such as nylon means the material before the screw that is made of it.
    let role = |m: &Member<'_>| ["material", "adhesive"].iter().position(|r| *r == book.role(m.record)).unwrap_or(2);
    members.sort_by(|a, b| (role(a), b.series, b.claims, &a.record.id).cmp(&(role(b), a.series, a.claims, &b.record.id)));
    let table = table(&members);
    let mut page = Page::titled(format!("`{text}` names a class of {}, the best known first", counted(members.len(), "member")));
    page.blank().table(for_people(&members, &table));
    page.blank().line("Name one of them in place of the class.");
    let one = |m: &Member<'_>| json!({"id": m.record.id, "name": m.record.name, "family": m.record.family, "series": m.series, "claims": m.claims});
    let json = json!({
        "class": text,
        "members": members.iter().map(one).collect::<Vec<Value>>(),
        "packs": book.hash_line(members.iter().map(|m| m.record)),
    });
    Sheet { schema: "gripbook/class/1", page, json, table: Some(table) }
}

/// As [`sheet`], with the series that were measured on the members: for who asks for series.
pub fn with_series(book: &Book, text: &str, ids: &[RecordId]) -> Sheet {
    let mut sheet = sheet(book, text, ids);
    let found: BTreeSet<RecordId> = ids.iter().flat_map(|id| series_of(book, id)).collect();
    let mut table = Table::new(&["series", "name"]);
    let known = found.iter().filter_map(|id| book.record(id.as_str()));
    table.rows.extend(known.take(SERIES).map(|r| vec![r.id.name().into(), r.name.to_string().into()]));
    sheet.page.heading(format!("Series measured on them: {}", found.len()));
    if found.len() > SERIES {
        sheet.page.line(format!("The first {SERIES}; `gripbook find {text} --kind series --limit {}` lists more.", found.len()));
    }
    if !found.is_empty() {
        sheet.page.table(table);
    }
    sheet.json["series"] = found.iter().map(|id| json!(id)).collect();
    sheet
}

/// Records that a word could mean, as an answer: it stands for a class that none of them is of.
pub fn named(book: &Book, text: &str, ids: &[RecordId]) -> Sheet {
    let title = format!("No record is of the class `{text}`; {} it among their names", has(ids.len()));
    let json = json!({"class": text, "members": [], "named": ids, "packs": book.hash_line(ids.iter().filter_map(|id| book.record(id.as_str())))});
    let table = names(book, ids);
    Sheet { schema: "gripbook/class/1", page: list(title, &table), json, table: Some(table) }
}

/// The same as a page, for a name that has to be told apart.
pub fn several(book: &Book, text: &str, ids: &[RecordId]) -> Page {
    list(format!("`{text}` could be one of several"), &names(book, ids))
}

fn has(n: usize) -> String {
    format!("{} {}", counted(n, "record"), if n == 1 { "has" } else { "have" })
}

fn list(title: String, table: &Table) -> Page {
    let mut page = Page::titled(title);
    page.blank().table(table.clone()).blank().line("Name one of them by its id.");
    page
}

fn names(book: &Book, ids: &[RecordId]) -> Table {
    let mut table = Table::new(&["id", "name"]);
    for record in ids.iter().filter_map(|id| book.record(id.as_str())) {
        table.row(vec![record.id.as_str().into(), record.name.to_string().into()]);
    }
    table
}

fn series_of(book: &Book, id: &RecordId) -> BTreeSet<RecordId> {
    let references = book.references_to(id.as_str());
    references.iter().map(|r| &r.record).filter(|id| id.kind() == "series").cloned().collect()
}

/// A stress or a temperature as written, with the canonical unit behind one that is no unit of the SI: `8 ksi to 14 ksi (55 MPa
/// to 97 MPa)`. Any other value as it is.
pub fn with_canonical(kinds: &Catalogue, property: &str, written: &str) -> String {
    canonical(kinds, property, written).map_or_else(|| written.to_owned(), |range| format!("{written} ({range})"))
}

/// Such a value in the canonical unit; `None` where it stands in a unit of the SI, or is neither stress nor temperature.
pub fn canonical(kinds: &Catalogue, property: &str, written: &str) -> Option<String> {
    let measured = kinds.kinds.iter().find_map(|kind| kind.property(property)).map(|card| &card.measures);
    let Some(Measures::Quantity(quantity @ (Quantity::Stress | Quantity::Temperature))) = measured else { return None };
    let (low, high) = range_ends(written).unwrap_or_else(|| (written.to_owned(), written.to_owned()));
    let (low, high) = (parse(&low, *quantity).ok()?, parse(&high, *quantity).ok()?);
    let unit = quantity.canonical();
    if [&low, &high].iter().all(|w| w.unit == unit || w.unit.symbol().ends_with("Pa")) {
        return None;
    }
    let text = |w: &Written| Amount { si: w.si, unit }.text(w.significant_digits().clamp(2, 3));
    Some(if low.si == high.si { text(&low) } else { format!("{} to {}", text(&low), text(&high)) })
}

fn member<'b>(book: &'b Book, record: &'b Record) -> Member<'b> {
    let best = |word: &str| {
        let property = record.properties.iter().find(|p| &*p.word == word)?;
        glance(book, record, property).map(|g| with_canonical(book.catalogue(), word, &g.best))
    };
    let series = series_of(book, &record.id);
    Member {
        record,
        told: TOLD.iter().map(|(word, _)| best(word)).collect(),
        claims: record.properties.iter().flat_map(|p| &p.claims).filter(|c| c.in_use()).count(),
        series: series.len(),
    }
}

/// The table as it is read: members of one kind by their short ids under the name of the kind, so that a row fits a line. What is
/// not known is said; a program finds an empty cell.
fn for_people(members: &[Member<'_>], table: &Table) -> Table {
    let mut table = table.clone();
    table.rows.iter_mut().flatten().filter(|cell| **cell == Cell::Empty).for_each(|cell| *cell = "not known".into());
    for (at, (_, name)) in TOLD.iter().enumerate() {
        let known = members.iter().filter(|m| m.told[at].is_some()).count();
        if let Some(place) = table.columns.iter().position(|c| c == name).filter(|_| known * RARE < members.len()) {
            table.columns.remove(place);
            table.rows.iter_mut().for_each(|row| drop(row.remove(place)));
        }
    }
    let kind = members.first().map(|m| m.record.id.kind());
    if let Some(kind) = kind.filter(|kind| members.iter().all(|m| m.record.id.kind() == *kind)) {
        table.columns[0] = kind.to_owned();
        table.rows.iter_mut().zip(members).for_each(|(row, m)| row[0] = m.record.id.name().into());
    }
    table
}

/// How many of something a member has.
type Counted = fn(&Member<'_>) -> usize;

/// Columns that say nothing of any member are left out.
fn table(members: &[Member<'_>]) -> Table {
    let told: Vec<usize> = (0..TOLD.len()).filter(|&at| members.iter().any(|m| m.told[at].is_some())).collect();
    let mut columns = vec!["id", "name"];
    columns.extend(told.iter().map(|&at| TOLD[at].1));
    // Only records with properties have claims, and only what a joint is made of is in a series.
    let series: Counted = |m| m.series;
    let counts = [("series", series), ("claims", |m| m.claims)];
    let counts: Vec<_> = counts.into_iter().filter(|(_, of)| members.iter().any(|m| of(m) > 0)).collect();
    columns.extend(counts.iter().map(|(name, _)| *name));
    let mut table = Table::new(&columns);
    for m in members {
        let mark = if m.record.invented() { "INVENTED: " } else { "" };
        let mut row: Vec<Cell> = vec![m.record.id.as_str().into(), format!("{mark}{}", m.record.name).into()];
        row.extend(told.iter().map(|&at| Cell::from(m.told[at].clone())));
        row.extend(counts.iter().map(|(_, of)| Cell::Number(of(m) as f64)));
        table.row(row);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use gripbook::book::PackRoot;
    use std::path::Path;

    /// NIST SP 811: 1 ksi = 6.894757 MPa, so that 8 and 14 ksi are 55.2 and 96.5 MPa; 350 °F are 176.7 °C.
    #[test]
    fn a_unit_that_is_none_of_the_si_has_the_canonical_one_behind_it() {
        let book = Book::load(&[PackRoot::BuiltIn], Path::new("/")).expect("the embedded pack loads");
        for (property, written, shown) in [
            ("tensile_strength", "8 ksi to 14 ksi", "8 ksi to 14 ksi (55 MPa to 97 MPa)"),
            ("tg", "350 °F", "350 °F (177 °C)"),
            ("tensile_strength", "52.1 MPa", "52.1 MPa"),
            ("tensile_modulus", "2.1 GPa", "2.1 GPa"),
            ("tensile_strength", "at least 8 ksi", "at least 8 ksi"),
            ("gap_limit", "15 thou", "15 thou"),
        ] {
            assert_eq!(with_canonical(book.catalogue(), property, written), shown);
        }
        // NIST SP 811: 1 kgf/mm² = 9.80665 MPa.
        let only = canonical(book.catalogue(), "tensile_strength", "4.2 kgf/mm² to 5.6 kgf/mm²");
        assert_eq!(only.as_deref(), Some("41 MPa to 55 MPa"));
    }
}
