//! The first screen of `show`: what is known of each property at a glance, and the other fields in short.

use super::show_page::{Fields, by_kind, in_words, title, withdrawn};
use crate::command::class::canonical;
use gripbook::book::best::glance;
use gripbook::book::disagree::disagreements;
use gripbook::book::gaps::gaps;
use gripbook::book::{Basis, Book, Property, Record};
use gripbook::present::brief::{LINES, clip, fits_in, listed, shortened};
use gripbook::present::table::Cell;
use gripbook::present::{Page, Table, counted};

/// Most rows of the table; fewer where the rest of the record needs the room.
const ROWS: usize = 10;
/// Fewest rows, of the table or of the fields of a record without properties.
const FEWEST: usize = 3;
/// Fields told of a record that has properties too.
const FIELDS: usize = 3;
/// Columns that the longest label of the fields takes.
const LABEL: usize = 14;

/// The first page of a record for so many columns.
pub fn page(book: &Book, record: &Record, width: usize) -> Page {
    let with = |rows: usize| rows_of(book, record, rows, width);
    let most = if record.properties.is_empty() { LINES } else { ROWS };
    (FEWEST..=most).rev().map(with).find(|page| fits_in(page, width)).unwrap_or_else(|| with(FEWEST))
}

fn rows_of(book: &Book, record: &Record, rows: usize, width: usize) -> Page {
    // A line loses up to a word where it breaks.
    let (one_line, two_lines) = (width - LABEL, 2 * (width - LABEL) - 2);
    let mut page = Page::titled(title(record));
    head(&mut page, book, record, width);
    let has_amounts = |p: &&Property| p.claims.iter().any(|c| c.value.ends().is_some());
    let (amounts, facts): (Vec<&Property>, Vec<&Property>) = record.properties.iter().partition(has_amounts);
    // What treatments of many kinds change has no middle: it stands behind `--full`.
    let (changes, amounts): (Vec<&Property>, Vec<&Property>) = amounts.into_iter().partition(|p| p.word.ends_with("_change"));
    let ranked = ranked(book, record, amounts);
    let hidden: Vec<&Property> = ranked.iter().skip(rows).copied().chain(changes).collect();
    if !ranked.is_empty() {
        page.blank().table(table(book, record, &ranked[..ranked.len().min(rows)])).blank();
    }
    if !hidden.is_empty() {
        page.field("not shown", listed(hidden.iter().map(|p| word(&p.word)), one_line));
    }
    for (label, text) in [
        ("facts", clip(facts_told(book, record, &facts), " ", two_lines)),
        ("doubtful", listed(doubtful(record), one_line)),
        ("missing", listed(gaps(book, record).iter().map(|g| word(&g.property)), one_line)),
        ("used in", listed(users(book, record), one_line)),
    ] {
        if !text.is_empty() {
            page.field(label, text);
        }
    }
    fields(&mut page, record, if record.properties.is_empty() { rows } else { FIELDS }, width);
    page.line(match ranked.is_empty() {
        true => "--full: every claim with its conditions and source, every field and reference.",
        false => "best: at room temperature, the median of like claims. --full: every claim.",
    });
    page
}

fn head(page: &mut Page, book: &Book, record: &Record, width: usize) {
    if let Some(description) = &record.description {
        page.line(beginning(description, width));
    }
    page.blocks.extend(withdrawn(book, record));
    let kind = book.kind_of(record).map_or(record.id.kind(), |k| &k.title);
    let family = book.family_chain(&record.family).join(", in ");
    let draft = record.is_draft().then_some("draft, not yet reviewed");
    let parts = [Some(kind), Some(&*family).filter(|f| !f.is_empty()), draft];
    page.field("what", parts.into_iter().flatten().collect::<Vec<_>>().join("; "));
}

/// As many whole sentences of a text as fit a line; where not even the first does, its beginning.
fn beginning(text: &str, width: usize) -> String {
    let ends = text.match_indices(". ").map(|(at, _)| at + 1).chain([text.len()]);
    let whole = ends.take_while(|end| text[..*end].chars().count() <= width).last();
    whole.map_or_else(|| shortened(text, width), |end| text[..end].to_owned())
}

/// Properties that the joint models and rules ask for first, then those with many claims.
fn ranked<'r>(book: &Book, record: &Record, mut properties: Vec<&'r Property>) -> Vec<&'r Property> {
    let wanted: Vec<&str> = book.catalogue().asked_by_models(book.role(record)).into_iter().map(|(word, _)| word).collect();
    let place = |p: &Property| wanted.iter().position(|w| *w == &*p.word).unwrap_or(wanted.len());
    properties.sort_by_key(|p| (place(p), std::cmp::Reverse(p.claims.len())));
    properties
}

/// Stresses and temperatures stand in one unit below each other; as they were written they stand behind `--full`.
fn table(book: &Book, record: &Record, properties: &[&Property]) -> Table {
    let mut table = Table::new(&["property", "best", "range", "claims", "basis"]);
    for property in properties {
        let name = word(&property.word);
        let told = |text: &str| match canonical(book.catalogue(), &property.word, text) {
            Some(text) => short(&text),
            None => short(text),
        };
        table.row(match glance(book, record, property) {
            Some(g) => vec![
                name.into(),
                told(&g.best).into(),
                g.range.as_deref().map(told).into(),
                Cell::Number(g.claims as f64),
                g.basis.word().into(),
            ],
            None => vec![name.into(), "none in use".into(), Cell::Empty, Cell::Number(0.0), Cell::Empty],
        });
    }
    table
}

/// The name of a property as it is said; its underscored form is the word that `find --where` and addresses take.
fn word(property: &str) -> String {
    match property {
        "tg" => "Tg".into(),
        "hdt" => "HDT".into(),
        "cte" => "CTE".into(),
        "poisson_ratio" => "Poisson's ratio".into(),
        other => other.replace('_', " "),
    }
}

/// `50 MPa to 89 MPa` with its unit once: `50 to 89 MPa`.
fn short(text: &str) -> String {
    let unit = |t: &str| t.split_once(' ').map(|(_, unit)| unit.to_owned());
    match text.split_once(" to ") {
        Some((low, high)) if unit(low).is_some() && unit(low) == unit(high) => {
            format!("{} to {high}", low.split(' ').next().unwrap_or(low))
        }
        _ => text.to_owned(),
    }
}

/// Yes/no facts and words, those of one basis together: `handbook: soluble yes; practice: amorphous no, porous no`.
fn facts_told(book: &Book, record: &Record, facts: &[&Property]) -> Vec<String> {
    let known = |p: &&Property| glance(book, record, p).map(|g| (g.basis, format!("{} {}", word(&p.word), g.best)));
    let mut told: Vec<(Basis, String)> = facts.iter().filter_map(known).collect();
    told.sort_by_key(|(basis, _)| *basis);
    let other = |at: Option<usize>, basis: Basis| at.and_then(|at| told.get(at)).map(|(near, _)| *near != basis);
    let part = |(at, (basis, fact)): (usize, &(Basis, String))| {
        let head = if other(at.checked_sub(1), *basis) == Some(false) { String::new() } else { format!("{}: ", basis.word()) };
        let end = match other(Some(at + 1), *basis) {
            Some(true) => ";",
            Some(false) => ",",
            None => "",
        };
        format!("{head}{fact}{end}")
    };
    told.iter().enumerate().map(part).collect()
}

/// Sources that contradict each other, and claims that may not be used.
fn doubtful(record: &Record) -> Vec<String> {
    let against = disagreements(record);
    let against = against.iter().map(|d| format!("{} {} against {}", word(d.property), d.low.value.text(), d.high.value.text()));
    let barred = |p: &Property| p.claims.iter().filter(|c| !c.in_use()).count();
    let barred = record
        .properties
        .iter()
        .filter(|p| barred(p) > 0)
        .map(|p| format!("{} ({} not used)", word(&p.word), counted(barred(p), "claim")));
    against.chain(barred).collect()
}

/// `6 series, 2 processes`: how many records of each kind name this one.
fn users(book: &Book, record: &Record) -> Vec<String> {
    let references = book.references_to(record.id.as_str());
    by_kind(&references).iter().map(|(kind, names)| counted(names.len(), kind)).collect()
}

/// What was measured first, then the joint it was measured on, then the rest; what was waived is for reviewers.
fn fields(page: &mut Page, record: &Record, most: usize, width: usize) {
    let mut all = Fields::of(record);
    let place = |name: &str| ["measurements", "joint", "test"].iter().position(|part| name.starts_with(part)).unwrap_or(3);
    all.lines.sort_by_key(|(name, _)| place(name));
    let rows = all.tables.into_iter().map(|(name, table)| (name, counted(table.rows.len(), "row")));
    let told = rows.chain(all.lines).filter(|(name, _)| !name.starts_with("waive"));
    let mut told: Vec<(String, String)> = told.map(|(name, text)| (in_words(&name), text)).collect();
    let more = told.len().saturating_sub(most);
    told.truncate(most);
    if told.is_empty() {
        return;
    }
    page.blank();
    // The texts stand in one column, behind the longest name.
    let label = told.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    for (name, text) in told {
        page.field(name, shortened(&text, width.saturating_sub(label + 2)));
    }
    if more > 0 {
        page.field("…", format!("{more} more {}: --full", if more == 1 { "field" } else { "fields" }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use gripbook::book::WantedPacks;
    use gripbook::present::brief::{COLUMNS, fits};

    #[test]
    fn the_first_page_of_every_record_is_one_screen_of_80_columns() {
        let here = std::env::temp_dir();
        let asked = WantedPacks { packs: vec![], here: here.clone(), home: None };
        let book = Book::load(&asked.roots().expect("a root"), &here).expect("the built-in book");
        let told: Vec<&Record> =
            book.records().into_iter().filter(|r| !r.properties.is_empty() || r.id.kind() == "series").collect();
        assert!(told.len() > 100, "{}", told.len());
        let long: Vec<&str> = told.iter().filter(|r| !fits(&page(&book, r, COLUMNS))).map(|r| r.id.as_str()).collect();
        assert!(long.is_empty(), "{long:?}");
    }

    #[test]
    fn a_description_ends_with_a_sentence() {
        let text = "Sets on moisture. This record holds what is known of the class as a whole.";
        assert_eq!(beginning(text, 100), text);
        assert_eq!(beginning(text, 40), "Sets on moisture.");
        assert_eq!(beginning(text, 12), "Sets on …");
    }

    #[test]
    fn a_range_names_its_unit_once() {
        assert_eq!(short("50 MPa to 89 MPa"), "50 to 89 MPa");
        assert_eq!(short("114 µm/(m·K) to 175 µm/(m·K)"), "114 to 175 µm/(m·K)");
        assert_eq!(short("20 °C to 350 °F"), "20 °C to 350 °F");
        assert_eq!(short("at most 35 MPa"), "at most 35 MPa");
        assert_eq!(short("yes"), "yes");
    }
}
