//! What was corrected and withdrawn, by date: from the histories that records carry.

use crate::command::{Context, library};
use gripbook::book::{Book, Record};
use gripbook::present::Page;
use gripbook::present::html::escaped;
use gripbook::read::digest::sha256;
use serde_json::Value;

/// A dated entry of a record's history.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Change {
    date: String,
    record: String,
    text: String,
}

/// Every change that the records tell of, the latest first.
pub fn of(book: &Book, context: &Context) -> Vec<Change> {
    let mut all: Vec<Change> = book.records().into_iter().flat_map(|record| of_record(book, record, context)).collect();
    all.sort_by(|a, b| b.date.cmp(&a.date).then_with(|| a.cmp(b)));
    all
}

fn of_record(book: &Book, record: &Record, context: &Context) -> Vec<Change> {
    let bytes = library::bytes(book, record, context).unwrap_or_default();
    let tree: Value = serde_yaml::from_slice(&bytes).unwrap_or_default();
    let mut found = Vec::new();
    walk(&tree, &mut Vec::new(), &mut |at, date, text| {
        found.push(Change { date: date.to_owned(), record: record.id.to_string(), text: format!("{at}{text}") });
    });
    found
}

/// Visits every `was` and `withdrawn`; `at` is where it stands.
fn walk(node: &Value, at: &mut Vec<String>, found: &mut dyn FnMut(&str, &str, &str)) {
    let place = |at: &[String]| if at.is_empty() { String::new() } else { format!("{}: ", at.join(" ")) };
    let text = |value: &Value, key: &str| value[key].as_str().unwrap_or_default().to_owned();
    match node {
        Value::Object(fields) => {
            for (key, value) in fields {
                match key.as_str() {
                    "withdrawn" if value.is_object() => {
                        found(&place(at), &text(value, "date"), &format!("withdrawn, {}", text(value, "because")));
                    }
                    "was" => value.as_array().into_iter().flatten().for_each(|was| {
                        let (field, old) = (text(was, "field"), was["value"].to_string());
                        let old = old.trim_matches('"');
                        let because = text(was, "because");
                        found(&place(at), &text(was, "date"), &format!("{field} corrected, before {old}: {because}"));
                    }),
                    key => {
                        at.push(key.to_owned());
                        walk(value, at, found);
                        at.pop();
                    }
                }
            }
        }
        Value::Array(items) => items.iter().for_each(|item| walk(item, at, found)),
        _ => {}
    }
}

/// The page of changes.
pub fn page(changes: &[Change]) -> Page {
    let mut page = Page::titled("Corrections and withdrawals");
    if changes.is_empty() {
        page.line("No record of these packs tells of one.");
    }
    changes.iter().for_each(|change| {
        page.item(format!("{} {}, {}", change.date, change.record, change.text));
    });
    page
}

/// The changes as an Atom feed (RFC 4287); addresses are relative to the folder.
pub fn feed(changes: &[Change], title: &str, today: &str) -> String {
    let name = |text: &str| format!("urn:sha256:{}", sha256(text.as_bytes()));
    let latest = changes.first().map_or(today, |change| &change.date);
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<feed xmlns=\"http://www.w3.org/2005/Atom\">\n<title>{}</title>\n\
         <id>{}</id>\n<updated>{}T00:00:00Z</updated>\n<author><name>gripbook</name></author>\n<link href=\"changes.html\"/>\n",
        escaped(title),
        name(title),
        escaped(latest),
    );
    for Change { date, record, text } in changes {
        out.push_str(&format!(
            "<entry>\n<title>{}</title>\n<id>{}</id>\n<updated>{}T00:00:00Z</updated>\n<link href=\"{}.html\"/>\n\
             <summary>{}</summary>\n</entry>\n",
            escaped(record),
            name(&format!("{date} {record} {text}")),
            escaped(date),
            escaped(record),
            escaped(text),
        ));
    }
    out + "</feed>\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_history_is_told_with_its_place_and_its_reason() {
        let record = json!({
            "name": "Grey",
            "withdrawn": {"date": "2026-05-02", "because": "misread"},
            "properties": {"tg": [{"value": "61 °C", "was": [
                {"field": "value", "value": "16 °C", "date": "2026-04-01", "because": "digits exchanged"}]}]},
        });
        let mut told = Vec::new();
        walk(&record, &mut Vec::new(), &mut |at, date, text| told.push(format!("{date} {at}{text}")));
        let expected =
            ["2026-05-02 withdrawn, misread", "2026-04-01 properties tg: value corrected, before 16 °C: digits exchanged"];
        assert_eq!(told, expected);
        let change = Change { date: "2026-05-02".into(), record: "resin/grey".into(), text: "<b>".into() };
        let feed = feed(&[change], "t", "2026-06-01");
        assert!(feed.contains("<updated>2026-05-02T00:00:00Z</updated>") && feed.contains("&lt;b&gt;"), "{feed}");
    }
}
