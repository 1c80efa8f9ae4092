//! `new KIND --words FIELD`: all that a field may say, or all fields at a place.

use super::skeleton::{Skeleton, unit};
use crate::command::{CommandOutcome, Fault};
use gripbook::check::catalogue::Catalogue;
use gripbook::check::schemas::{RecordKind, Schemas, Step};
use gripbook::check::view::View;
use gripbook::check::{similar, strengths_first, suggestion};
use gripbook::present::{Page, Sheet, Table};
use serde_json::json;

/// Lists the words of a field, or the fields of a map.
pub(super) fn of(skeleton: &Skeleton<'_>, schemas: &Schemas, kind: &RecordKind, place: &str) -> Result<CommandOutcome, Fault> {
    let mut view = skeleton.view().clone();
    for key in place.split('.').filter(|key| !key.is_empty()) {
        let inside = into_list(view);
        if !inside.order().contains(&key) {
            let close = suggestion(&similar(key, &inside.order())).map_or_else(String::new, |text| text + " ");
            let help = format!("{close}here stand {}", inside.order().join(", "));
            return Err(Fault::usage(format!("`{key}` is no field of `{}`", kind.word)).help(help));
        }
        view = inside.step(&Step::Key(key.to_owned()));
    }
    let view = into_list(view);
    let (head, rows) = if place == "properties" {
        (["property", "unit", "meaning"], properties(schemas, kind))
    } else if let Some(words) = skeleton.words(&view, place) {
        (["word", "", ""], words.into_iter().map(|word| [word.to_owned(), String::new(), String::new()]).collect())
    } else {
        let one = |key: &str| {
            let inner = view.step(&Step::Key(key.to_owned()));
            [key.to_owned(), sort(&inner), inner.text("description").unwrap_or_default().to_owned()]
        };
        (["field", "holds", "meaning"], view.order().into_iter().map(one).collect::<Vec<_>>())
    };
    let columns: Vec<&str> = head.into_iter().filter(|title| !title.is_empty()).collect();
    let mut table = Table::new(&columns);
    for row in &rows {
        table.row(row.iter().take(columns.len()).map(|cell| cell.as_str().into()).collect());
    }
    let name = if place.is_empty() { kind.word.clone() } else { format!("{} of {}", place, kind.word) };
    let mut page = Page::titled(name);
    if rows.is_empty() {
        page.line(skeleton.meaning(&view, place));
    } else {
        page.table(table.clone());
    }
    let words: Vec<&String> = rows.iter().map(|row| &row[0]).collect();
    let json = json!({"kind": kind.word, "place": place, "words": words});
    Ok(CommandOutcome { answer: Box::new(Sheet { schema: "gripbook/words/1", page, json, table: Some(table) }), exit: 0 })
}

/// The item of a list, else the place itself.
fn into_list(view: View<'_>) -> View<'_> {
    if view.text("type") == Some("array") { view.step(&Step::Item(0)) } else { view }
}

fn sort(view: &View<'_>) -> String {
    match (view.quantity(), view.text("type")) {
        (Some(quantity), _) => quantity.title().to_owned(),
        (None, Some("array")) => "a list".into(),
        (None, Some("object")) => "a map".into(),
        (None, Some("boolean")) => "true or false".into(),
        (None, Some("integer")) => "a whole number".into(),
        _ if view.words("enum").is_some() => "a word of a list".into(),
        _ => "text".into(),
    }
}

fn properties(schemas: &Schemas, kind: &RecordKind) -> Vec<[String; 3]> {
    let catalogue = Catalogue::of(schemas);
    let Some(card) = catalogue.kind(&kind.word) else { return Vec::new() };
    let words = strengths_first(card.properties.iter().map(|p| p.word.as_str()).collect());
    let cards = words.into_iter().filter_map(|word| card.property(word));
    cards.map(|p| [p.word.clone(), unit(p).trim_start_matches("0.0").trim().to_owned(), p.description.clone()]).collect()
}
