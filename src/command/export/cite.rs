//! Citations: BibTeX and CSL-JSON.

use gripbook::book::Record;
use gripbook::book::view::{Person, Source};
use serde_json::{Map, Value, json};

/// Names of people and bodies: `Petrie, E. M.`.
pub(super) fn names(list: &[Person]) -> Vec<String> {
    list.iter().filter_map(name).collect()
}

fn name(person: &Person) -> Option<String> {
    match (&person.family, &person.given, &person.literal) {
        (Some(family), Some(given), _) => Some(format!("{family}, {given}")),
        (Some(family), None, _) => Some(family.to_string()),
        (None, _, Some(body)) => Some(body.to_string()),
        _ => None,
    }
}

/// All sources as a BibTeX file; keys are the ids.
pub(super) fn bibtex(sources: &[&Record]) -> String {
    sources.iter().map(|s| entry(s)).collect::<Vec<_>>().join("\n")
}

fn entry(source: &Record) -> String {
    let Some(says) = source.source() else { return String::new() };
    let sort = match says.sort.as_deref() {
        Some("article-journal") => "article",
        Some("book") => "book",
        Some("chapter") => "incollection",
        Some("thesis") => "phdthesis",
        Some("paper-conference") => "inproceedings",
        Some("report") => "techreport",
        _ => "misc",
    };
    let container = if sort == "article" { "journal" } else { "booktitle" };
    let people = |list: &[Person]| {
        // A body is kept from being taken for family and given name by braces.
        let one = |person: &Person| match &person.literal {
            Some(body) => format!("{{{}}}", escaped(body)),
            None => name(person).map(|t| escaped(&t)).unwrap_or_default(),
        };
        let all: Vec<String> = list.iter().map(one).collect();
        (!all.is_empty()).then(|| all.join(" and "))
    };
    let plain = |text: &Option<Box<str>>| text.as_deref().map(escaped);
    let exact = |text: &Option<Box<str>>| text.as_deref().map(str::to_owned);
    let fields = [
        ("author", people(&says.author)),
        ("editor", people(&says.editor)),
        ("title", says.title.as_deref().map(|t| format!("{{{}}}", escaped(t)))),
        ("year", says.year().map(str::to_owned)),
        (container, plain(&says.container_title)),
        ("volume", plain(&says.volume)),
        ("number", plain(&says.issue).or_else(|| plain(&says.number))),
        ("pages", says.page.as_deref().map(|p| escaped(&p.replace('-', "--")))),
        ("edition", plain(&says.edition)),
        ("publisher", plain(&says.publisher)),
        ("address", plain(&says.publisher_place)),
        ("doi", exact(&says.doi)),
        ("isbn", exact(&says.isbn)),
        ("url", exact(&says.url)),
        ("note", plain(&says.by).map(|by| format!("tests by {by}"))),
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
    let one = |s: &&Record| {
        let mut item = Map::new();
        item.insert("id".into(), json!(s.id.name()));
        let Some(says) = s.source() else { return Value::Object(item) };
        // CSL has no word for a test campaign.
        let sort = says.sort.as_deref().map_or("document", |t| if t == "campaign" { "dataset" } else { t });
        item.insert("type".into(), json!(sort));
        if let Some(title) = &says.title {
            item.insert("title".into(), json!(title));
        }
        for (name, date) in [("issued", &says.issued), ("accessed", &says.accessed)] {
            if let Some(date) = date {
                let parts: Vec<i64> = date.split('-').filter_map(|p| p.parse().ok()).collect();
                item.insert(name.into(), json!({"date-parts": [parts]}));
            }
        }
        item.extend(s.rest.some(&Source::CSL).map(|(name, json)| (name.to_owned(), json.clone())));
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
