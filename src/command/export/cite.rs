//! Citations: BibTeX and CSL-JSON.

use crate::book::Record;
use serde_json::{Map, Value, json};

/// Names of people and bodies: `Petrie, E. M.`.
pub(super) fn names(list: &Value) -> Vec<String> {
    let name = |n: &Value| match (n["family"].as_str(), n["given"].as_str(), n["literal"].as_str()) {
        (Some(family), Some(given), _) => Some(format!("{family}, {given}")),
        (Some(family), None, _) => Some(family.to_owned()),
        (None, _, Some(body)) => Some(body.to_owned()),
        _ => None,
    };
    list.as_array().into_iter().flatten().filter_map(name).collect()
}

/// All sources as a BibTeX file; keys are the ids.
pub(super) fn bibtex(sources: &[&Record]) -> String {
    sources.iter().map(|s| entry(s)).collect::<Vec<_>>().join("\n")
}

fn entry(source: &Record) -> String {
    let field = |name: &str| source.rest[name].as_str().map(str::to_owned);
    let sort = match source.rest["type"].as_str() {
        Some("article-journal") => "article",
        Some("book") => "book",
        Some("chapter") => "incollection",
        Some("thesis") => "phdthesis",
        Some("paper-conference") => "inproceedings",
        Some("report") => "techreport",
        _ => "misc",
    };
    let container = if sort == "article" { "journal" } else { "booktitle" };
    let people = |key: &str| {
        // A body is kept from being taken for family and given name by braces.
        let one = |n: &Value| match n["literal"].as_str() {
            Some(body) => format!("{{{}}}", escaped(body)),
            None => names(&json!([n])).first().map(|t| escaped(t)).unwrap_or_default(),
        };
        let all: Vec<String> = source.rest[key].as_array().into_iter().flatten().map(one).collect();
        (!all.is_empty()).then(|| all.join(" and "))
    };
    let year = field("issued").map(|d| d.chars().take(4).collect::<String>());
    let plain = |name: &str| field(name).map(|t| escaped(&t));
    let fields = [
        ("author", people("author")),
        ("editor", people("editor")),
        ("title", field("title").map(|t| format!("{{{}}}", escaped(&t)))),
        ("year", year),
        (container, plain("container-title")),
        ("volume", plain("volume")),
        ("number", plain("issue").or_else(|| plain("number"))),
        ("pages", field("page").map(|p| escaped(&p.replace('-', "--")))),
        ("edition", plain("edition")),
        ("publisher", plain("publisher")),
        ("address", plain("publisher-place")),
        ("doi", field("DOI")),
        ("isbn", field("ISBN")),
        ("url", field("URL")),
        ("note", plain("by").map(|by| format!("tests by {by}"))),
    ];
    let lines: Vec<String> = fields.into_iter().filter_map(|(k, v)| Some(format!("  {k} = {{{}}}", v?))).collect();
    format!("@{sort}{{{},\n{}\n}}\n", source.id.name(), lines.join(",\n"))
}

/// Text that neither ends a field nor starts a command.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '\\' => out.push_str("\\textbackslash{}"),
            '{' | '}' | '%' | '&' | '#' | '_' | '$' => {
                out.push('\\');
                out.push(c);
            }
            '~' => out.push_str("\\textasciitilde{}"),
            '^' => out.push_str("\\textasciicircum{}"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// All sources as a CSL-JSON array.
pub(super) fn csl(sources: &[&Record]) -> String {
    const FIELDS: [&str; 15] = [
        "author",
        "editor",
        "container-title",
        "collection-title",
        "volume",
        "issue",
        "page",
        "edition",
        "number",
        "publisher",
        "publisher-place",
        "DOI",
        "ISBN",
        "URL",
        "note",
    ];
    let one = |s: &&Record| {
        let mut item = Map::new();
        item.insert("id".into(), json!(s.id.name()));
        // CSL has no word for a test campaign.
        let sort = s.rest["type"].as_str().map_or("document", |t| if t == "campaign" { "dataset" } else { t });
        item.insert("type".into(), json!(sort));
        if s.rest["title"].is_string() {
            item.insert("title".into(), s.rest["title"].clone());
        }
        for (field, name) in [("issued", "issued"), ("accessed", "accessed")] {
            if let Some(date) = s.rest[field].as_str() {
                let parts: Vec<i64> = date.split('-').filter_map(|p| p.parse().ok()).collect();
                item.insert(name.into(), json!({"date-parts": [parts]}));
            }
        }
        for field in FIELDS {
            if !s.rest[field].is_null() {
                item.insert(field.into(), s.rest[field].clone());
            }
        }
        Value::Object(item)
    };
    let mut text = serde_json::to_string_pretty(&sources.iter().map(one).collect::<Vec<_>>()).unwrap_or_default();
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn no_text_ends_a_field_or_starts_a_command() {
        assert_eq!(escaped("50 % of a_b {x}"), "50 \\% of a\\_b \\{x\\}");
        assert_eq!(escaped("\\input{/etc}"), "\\textbackslash{}input\\{/etc\\}");
    }
}
