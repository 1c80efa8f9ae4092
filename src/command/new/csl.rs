//! CSL-JSON: an object, or a list of them, as a reference manager or a registry of DOIs writes it.

use super::cited::{Citation, doi};
use super::fields::person;
use gripbook::book::view::Source;
use serde_json::Value;

/// Fields of CSL that have a form of their own, or another one in a source.
const OF_OWN_FORM: [&str; 11] =
    ["type", "title", "author", "editor", "issued", "published", "accessed", "DOI", "ISBN", "URL", "note"];
/// What describes the registry's entry and not the publication.
const OF_THE_REGISTRY: [&str; 22] = [
    "id",
    "citation-key",
    "citation-label",
    "indexed",
    "deposited",
    "created",
    "score",
    "prefix",
    "member",
    "reference-count",
    "references-count",
    "is-referenced-by-count",
    "resource",
    "relation",
    "content-domain",
    "source",
    "reference",
    "link",
    "license",
    "update-policy",
    "journal-issue",
    "funder",
];

/// Reads citations; the fault begins with its line.
pub(super) fn read(text: &str) -> Result<Vec<Citation>, String> {
    let whole: Value = serde_json::from_str(text).map_err(|e| format!("{}:{}: {e}", e.line(), e.column()))?;
    let all = match whole {
        Value::Array(all) => all,
        // The answer of a registry wraps the citation in a message.
        Value::Object(mut one) => match one.remove("message").filter(Value::is_object) {
            Some(inner) => vec![inner],
            None => vec![Value::Object(one)],
        },
        _ => Vec::new(),
    };
    all.iter().enumerate().map(|(at, one)| citation(at, one)).collect()
}

/// A text, the first of a list of texts, or a number.
fn text(value: &Value) -> Option<String> {
    let found = match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        Value::Array(all) => all.first().and_then(text),
        _ => None,
    };
    found.map(|t| clean(&t)).filter(|t| !t.is_empty())
}

/// Without the marks of fonts that titles carry, on one line.
fn clean(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(open) = rest.find('<') {
        out.push_str(&rest[..open]);
        let tag = rest[open..].find('>').map(|close| &rest[open..=open + close]);
        let is_tag = tag.is_some_and(|tag| tag.len() < 40 && tag[1..].starts_with(|c: char| c.is_ascii_alphabetic() || c == '/'));
        match tag.filter(|_| is_tag) {
            Some(tag) => rest = &rest[open + tag.len()..],
            None => {
                out.push('<');
                rest = &rest[open + 1..];
            }
        }
    }
    out.push_str(rest);
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn citation(at: usize, json: &Value) -> Result<Citation, String> {
    let Some(map) = json.as_object() else { return Err(format!(" entry {} is no citation", at + 1)) };
    let key = ["id", "citation-key", "DOI"].iter().find_map(|k| text(&json[*k])).unwrap_or_else(|| format!("entry {}", at + 1));
    let mut c = Citation { key, ..Citation::default() };
    if let Some(sort) = text(&json["type"]).as_deref().and_then(sort) {
        c.set("type", sort);
    }
    c.set("title", text(&json["title"]).ok_or_else(|| format!(" `{}` has no title", c.key))?);
    for (field, name) in [("author", "author"), ("editor", "editor")] {
        if let Some(list) = people(&json[field]) {
            c.set(name, list);
        }
    }
    c.author = first_name(&json["author"]).or_else(|| first_name(&json["editor"]));
    for (field, name) in [("issued", "issued"), ("published", "issued"), ("accessed", "accessed")] {
        if let Some(day) = date(&json[field]) {
            c.set(name, day);
        }
    }
    for field in Source::CSL.into_iter().filter(|field| !OF_OWN_FORM.contains(field)) {
        if let Some(value) = text(&json[field]) {
            c.set(field, value);
        }
    }
    if let Some(number) = text(&json["DOI"]) {
        c.set("DOI", doi(&number));
    }
    if let Some(number) = text(&json["ISBN"]) {
        c.set("ISBN", number.rsplit('/').next().unwrap_or(&number).to_uppercase());
    }
    if let Some(address) = text(&json["URL"]).filter(|u| c.get("DOI").is_none_or(|d| doi(u) != d)) {
        c.set("URL", address);
    }
    if let Some(note) = text(&json["note"]) {
        c.set("note", note);
    }
    let taken = |k: &str| OF_OWN_FORM.contains(&k) || Source::CSL.contains(&k);
    let is_told = |k: &&String| !taken(k) && !OF_THE_REGISTRY.contains(&k.as_str());
    let holds = |k: &&String| {
        !matches!(&json[k.as_str()], Value::Null) && json[k.as_str()] != "" && json[k.as_str()] != serde_json::json!([])
    };
    c.left_out = map.keys().filter(is_told).filter(holds).cloned().collect();
    Ok(c)
}

/// The word of a source for a type, in the words of CSL or of a registry.
fn sort(word: &str) -> Option<&'static str> {
    Some(match word {
        "article-journal" | "journal-article" | "article-magazine" | "article" | "review" => "article-journal",
        "paper-conference" | "proceedings-article" => "paper-conference",
        "book" | "monograph" | "edited-book" | "reference-book" => "book",
        "chapter" | "book-chapter" | "book-section" | "book-part" | "entry-encyclopedia" | "reference-entry" => "chapter",
        "standard" => "standard",
        "webpage" | "post-weblog" | "post" => "webpage",
        "dataset" => "dataset",
        "report" | "report-component" | "posted-content" | "document" | "manuscript" => "report",
        "thesis" | "dissertation" => "thesis",
        _ => return None,
    })
}

fn name(one: &Value) -> Option<String> {
    let part = |field: &str| text(&one[field]);
    let body = part("literal").or_else(|| part("name"));
    match (part("family"), part("given")) {
        (Some(family), given) => {
            let particle = part("non-dropping-particle").map(|p| format!("{p} ")).unwrap_or_default();
            let given = given.map(|g| format!(", given: {}", crate::command::amend::scalar(&g))).unwrap_or_default();
            Some(format!("{{family: {}{given}}}", crate::command::amend::scalar(&format!("{particle}{family}"))))
        }
        (None, _) => body.map(|body| person(&body.replace(", ", " ").replace(',', " "))),
    }
}

fn people(list: &Value) -> Option<String> {
    let all: Vec<String> = list.as_array()?.iter().filter_map(name).collect();
    (!all.is_empty()).then(|| format!("[{}]", all.join(", ")))
}

fn first_name(list: &Value) -> Option<String> {
    let first = list.as_array()?.first()?;
    ["family", "literal", "name"].iter().find_map(|field| text(&first[*field]))
}

/// `date-parts`, or a date as text.
fn date(value: &Value) -> Option<String> {
    let parts: Option<Vec<i64>> = value["date-parts"][0]
        .as_array()
        .map(|all| all.iter().filter_map(|p| p.as_i64().or_else(|| p.as_str()?.parse().ok())).collect());
    let by_parts = parts.filter(|p| !p.is_empty()).map(|p| {
        p.iter().take(3).enumerate().map(|(at, n)| if at == 0 { format!("{n:04}") } else { format!("-{n:02}") }).collect()
    });
    let raw = || text(&value["raw"]).or_else(|| text(&value["literal"])).or_else(|| text(value));
    by_parts.or_else(|| raw().and_then(|t| t.get(..10).or(t.get(..7)).or(t.get(..4)).map(str::to_owned)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The members of an item and the form of dates are those of the CSL-JSON schema; `journal-article`, titles in lists and
    /// a resolver's address under URL are what registries of DOIs add.
    #[test]
    fn a_citation_of_a_registry_becomes_the_fields_of_a_source() {
        let text = r#"{"type": "journal-article", "title": ["Threads in <i>printed</i> parts"], "DOI": "10.1234/ABC.5",
            "URL": "https://doi.org/10.1234/abc.5", "container-title": ["Journal of Joints"], "volume": "3", "page": "1-9",
            "issued": {"date-parts": [[2021, 5]]}, "author": [{"family": "Roe", "given": "R."}, {"name": "Bench Group"}],
            "ISSN": ["1234-5678"], "indexed": {"x": 1}}"#;
        let all = read(text).expect("a citation");
        let c = &all[0];
        let field = |name: &str| c.get(name).unwrap_or_default();
        assert_eq!((field("type"), field("title")), ("article-journal", "Threads in printed parts"));
        assert_eq!((field("DOI"), field("issued"), field("URL")), ("10.1234/abc.5", "2021-05", ""));
        assert_eq!(field("author"), "[{family: Roe, given: R.}, {literal: Bench Group}]");
        assert_eq!((field("container-title"), field("volume"), field("page")), ("Journal of Joints", "3", "1-9"));
        assert_eq!(c.left_out, ["ISSN"]);
        assert!(read("{\"title\": }").expect_err("a fault").starts_with("1:"));
        assert_eq!(clean("a < b and <sub>2</sub>"), "a < b and 2");
    }
}
