//! Fields that are typed: `--set FIELD=VALUE` and `--claim`. A name that the kind does not know is refused, with the nearest.

use crate::command::Fault;
use crate::command::amend::scalar;
use gripbook::check::schemas::Step;
use gripbook::check::view::View;
use gripbook::check::{nearest, similar, suggestion};
use gripbook::quantity::parse::range_ends;
use std::collections::BTreeMap;

/// What is known already, by field (dotted where nested), and claims by property.
#[derive(Debug, Clone, Default)]
pub(in crate::command) struct Filled {
    fields: BTreeMap<String, String>,
    /// Property, and the fields of the claim.
    pub claims: Vec<(String, Vec<(String, String)>)>,
}

impl Filled {
    pub fn set(&mut self, field: &str, value: &str) {
        self.fields.insert(field.to_owned(), value.to_owned());
    }
    pub fn get(&self, field: &str) -> Option<&str> {
        self.fields.get(field).map(String::as_str)
    }
    /// Whether something below a field is given.
    pub fn below(&self, field: &str) -> bool {
        self.fields.keys().any(|k| k.strip_prefix(field).is_some_and(|rest| rest.starts_with('.')))
    }
}

/// `FIELD=VALUE`.
pub(in crate::command) fn pair<'t>(option: &str, text: &'t str) -> Result<(&'t str, &'t str), Fault> {
    let parts = text.split_once('=').map(|(field, value)| (field.trim(), value.trim()));
    parts.ok_or_else(|| Fault::usage(format!("{option} {text}")).help("write FIELD=VALUE"))
}

/// Reads the options `--set` and `--claim` of a record of a kind.
pub(super) fn filled(kind: &str, view: &View<'_>, set: &[String], claims: &[String]) -> Result<Filled, Fault> {
    let mut filled = Filled::default();
    for text in set {
        let (field, value) = pair("--set", text)?;
        known(view, field, &format!("a {kind}"), kind)?;
        if is_people(&place(view, field)) && !value.contains(';') && value.contains(" and ") && value.matches(',').count() > 1 {
            let fault = Fault::usage(format!("--set {field}: `{value}` would be one person"));
            return Err(fault.help("names stand between semicolons: 'Family, Given; Family, Given'"));
        }
        filled.set(field, value);
    }
    for claim in claims {
        let (word, fields) = claim_of(kind, view, claim)?;
        filled.claims.push((word, fields));
    }
    Ok(filled)
}

fn place<'s>(view: &View<'s>, field: &str) -> View<'s> {
    field.split('.').fold(view.clone(), |view, key| view.step(&Step::Key(key.to_owned())))
}

/// Whether a field is a list of names.
fn is_people(view: &View<'_>) -> bool {
    view.text("type") == Some("array") && view.step(&Step::Item(0)).order().contains(&"family")
}

/// A claim as typed: property, then its fields.
fn claim_of(kind: &str, view: &View<'_>, claim: &str) -> Result<(String, Vec<(String, String)>), Fault> {
    let mut parts = claim.split(';').map(str::trim);
    let head = parts.next().unwrap_or_default();
    let (word, value) = head.split_once(':').ok_or_else(|| {
        Fault::usage(format!("--claim '{claim}'")).help("write 'tg: 61 °C; source=ID; locator=sheet 2; basis=measured'")
    })?;
    let word = word.trim();
    let inside = property(kind, view, word)?;
    let mut fields = match range_ends(value) {
        Some((low, high)) => vec![("low".to_owned(), low), ("high".to_owned(), high)],
        None => vec![("value".to_owned(), value.trim().to_owned())],
    };
    for part in parts.filter(|p| !p.is_empty()) {
        let (key, value) = part
            .split_once('=')
            .ok_or_else(|| Fault::usage(format!("`{part}` in --claim")).help("write FIELD=VALUE between semicolons"))?;
        known(&inside, key.trim(), "a claim", kind)?;
        fields.push((key.trim().to_owned(), value.trim().to_owned()));
    }
    Ok((word.to_owned(), fields))
}

/// What stands in a claim of a property; a property that the kind does not have is refused.
pub(in crate::command) fn property<'s>(kind: &str, view: &View<'s>, word: &str) -> Result<View<'s>, Fault> {
    let properties = view.step(&Step::Key("properties".into()));
    let words = properties.order();
    if words.contains(&word) {
        return Ok(properties.step(&Step::Key(word.to_owned())).step(&Step::Item(0)));
    }
    let close = suggestion(&similar(word, &words)).map_or_else(String::new, |text| text + " ");
    let help = if words.is_empty() {
        format!("a {kind} has no properties")
    } else {
        format!("{close}`gripbook new {kind} --words properties` lists all")
    };
    Err(Fault::usage(format!("`{word}` is no property of a {kind}")).help(help))
}

/// Refuses a field that is not there, with the nearest one that is.
pub(in crate::command) fn known(view: &View<'_>, field: &str, what: &str, kind: &str) -> Result<(), Fault> {
    let mut here = view.clone();
    for key in field.split('.') {
        if !here.order().contains(&key) {
            return Err(unknown(view, field, what, kind));
        }
        here = here.step(&Step::Key(key.to_owned()));
    }
    Ok(())
}

fn unknown(view: &View<'_>, field: &str, what: &str, kind: &str) -> Fault {
    let all = paths(view, "", 3);
    let last = |path: &str| path.rsplit('.').next().unwrap_or_default().to_lowercase();
    let same = all.iter().filter(|path| last(path) == last(field)).map(String::as_str).collect::<Vec<_>>();
    let words: Vec<&str> = all.iter().map(String::as_str).collect();
    let near = nearest(field, words.iter().copied()).into_iter().collect::<Vec<_>>();
    let by_last = || {
        let ends: Vec<String> = all.iter().map(|path| last(path)).collect();
        let close = nearest(&last(field), ends.iter().map(String::as_str))?.to_owned();
        Some(words.iter().copied().filter(|path| last(path) == close).take(3).collect::<Vec<_>>())
    };
    let close = if same.is_empty() || same.len() > 3 { near } else { same };
    let close = if close.is_empty() { by_last().unwrap_or_default() } else { close };
    let is_of_claims = what != "a claim"
        && view.order().contains(&"properties")
        && ["source", "basis", "locator", "value", "method", "n"].contains(&field);
    let help = match suggestion(&close) {
        _ if is_of_claims => format!("it belongs to a claim: --claim 'PROPERTY: VALUE; {field}=…', or `gripbook add`"),
        Some(text) => text,
        None => format!("fields are {} (`gripbook new {kind} --words FIELD` tells more)", view.order().join(", ")),
    };
    Fault::usage(format!("`{field}` is no field of {what}")).help(help)
}

/// Fields that can be typed, nested ones with a dot.
fn paths(view: &View<'_>, before: &str, depth: usize) -> Vec<String> {
    let mut all = Vec::new();
    for key in view.order().into_iter().filter(|key| depth > 0 && *key != "properties") {
        let path = if before.is_empty() { key.to_owned() } else { format!("{before}.{key}") };
        let inner = view.step(&Step::Key(key.to_owned()));
        if inner.text("type") != Some("array") {
            all.extend(paths(&inner, &path, depth - 1));
        }
        all.push(path);
    }
    all
}

/// A value as the schema wants it: numbers and truth values plain, lists as lists, texts as texts.
pub(in crate::command) fn written(value: &str, view: &View<'_>) -> String {
    if view.text("type") == Some("array") {
        return list(value, is_people(view));
    }
    let plain = matches!(view.text("type"), Some("integer" | "number" | "boolean"));
    let is_number_too =
        view.keyword("type").and_then(serde_json::Value::as_array).is_some_and(|all| all.iter().any(|t| t == "number"));
    let looks_number = value.parse::<f64>().is_ok();
    let is_negative = value.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    if is_negative && view.quantity().is_some() && !looks_number {
        return value.to_owned();
    }
    match (plain || is_number_too && looks_number, looks_number) {
        (true, _) => value.to_owned(),
        // A map is written as one: `{time: 30 min}`.
        _ if value.starts_with('{') && value.ends_with('}') && !view.order().is_empty() => value.to_owned(),
        (false, true) => serde_json::json!(value).to_string(),
        (false, false) => scalar(value),
    }
}

/// `a; b` as a list, `a, b` where no semicolon stands; names of people are `Family, Given` between semicolons. What is written
/// as a list stays.
fn list(value: &str, is_people: bool) -> String {
    if value.starts_with('[') {
        return value.to_owned();
    }
    let by = if is_people || value.contains(';') { ';' } else { ',' };
    let parts = value.split(by).map(str::trim).filter(|part| !part.is_empty());
    let one = |part: &str| if is_people { person(part) } else { scalar(part) };
    format!("[{}]", parts.map(one).collect::<Vec<_>>().join(", "))
}

/// `Family, Given`; a name without a comma is a body.
pub(super) fn person(name: &str) -> String {
    match name.split_once(',') {
        Some((family, given)) => format!("{{family: {}, given: {}}}", scalar(family.trim()), scalar(given.trim())),
        None => format!("{{literal: {}}}", scalar(name.trim())),
    }
}

/// A claim as lines of its property.
pub(super) fn claim(fields: &[(String, String)], view: &View<'_>) -> String {
    let mut out = String::new();
    for (at, (key, value)) in tree(fields, view).iter().enumerate() {
        let dash = if at == 0 { "- " } else { "  " };
        out.push_str(&format!("    {dash}{key}: {value}\n"));
    }
    out
}

/// Fields in the order of the schema; those below a map as one flow map.
pub(in crate::command) fn tree(fields: &[(String, String)], view: &View<'_>) -> Vec<(String, String)> {
    let order = view.order();
    let rank = |key: &str| order.iter().position(|k| *k == key).unwrap_or(order.len());
    let mut heads: Vec<&str> = Vec::new();
    for (key, _) in fields {
        let head = key.split('.').next().unwrap_or(key);
        if !heads.contains(&head) {
            heads.push(head);
        }
    }
    heads.sort_by_key(|head| rank(head));
    let one = |head: &str| {
        let inner = view.step(&Step::Key(head.to_owned()));
        let below: Vec<(String, String)> = fields
            .iter()
            .filter_map(|(key, value)| Some((key.strip_prefix(head)?.strip_prefix('.')?.to_owned(), value.clone())))
            .collect();
        if below.is_empty() {
            let value = fields.iter().rev().find(|(key, _)| key == head).map_or("", |(_, value)| value.as_str());
            return written(value, &inner);
        }
        let parts: Vec<String> = tree(&below, &inner).into_iter().map(|(key, value)| format!("{key}: {value}")).collect();
        format!("{{{}}}", parts.join(", "))
    };
    heads.into_iter().map(|head| (head.to_owned(), one(head))).collect()
}

/// The quantity a test measures.
pub(in crate::command) fn quantity_of_test(test: &str) -> &'static str {
    match test {
        "push-out" => "push_out_load",
        "torque" => "strip_torque",
        "life" => "cycles",
        "relaxation" => "preload_left",
        "hole-size" => "hole_diameter",
        "lap-shear" => "lap_shear_strength",
        "shear" | "pin-collar" => "shear_strength",
        "butt" => "butt_strength",
        "pull-off" => "pull_off_strength",
        "peel" => "peel_strength",
        "bulk-tension" => "tensile_strength",
        _ => "pull_out_load",
    }
}
