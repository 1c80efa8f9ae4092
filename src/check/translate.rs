//! From what the validator found to findings a contributor can act on.

use super::file_findings::{FileFindingList, nearest, similar, suggestion};
use super::limits::families_of;
use super::schemas::{Mismatch, Schemas, Step, What};
use super::view::View;
use crate::finding::Span;
use crate::quantity::{self, Quantity};
use crate::read::tree::{Node, Value};

/// How deep alternatives may nest before the reader is only told that none fits.
const ALTERNATIVES: usize = 6;

/// Reports every mismatch of a tree with its schema file.
pub(super) fn report(schemas: &Schemas, file: &str, tree: &Node, found: &[Mismatch], list: &mut FileFindingList<'_>) {
    let top = View::top(schemas, file);
    let kind = schemas.kinds().iter().find(|kind| kind.file == file).map(|kind| kind.word.as_str());
    let translator = Translator { top, tree, schemas, kind };
    for mismatch in found {
        translator.one(mismatch, list, 0);
    }
}

struct Translator<'s, 't> {
    top: View<'s>,
    tree: &'t Node,
    schemas: &'s Schemas,
    /// Kind of the record; none for pack.yaml and schemas.
    kind: Option<&'s str>,
}

/// A place of the tree with what the schema says of it.
struct Spot<'s, 't> {
    view: View<'s>,
    node: &'t Node,
    /// The key that leads here, or the node itself.
    span: Span,
    /// The last key on the way.
    name: &'t str,
    is_top: bool,
    /// Keys that lead here, between dots.
    place: String,
    kind: Option<&'s str>,
    schemas: &'s Schemas,
}

impl<'s, 't> Translator<'s, 't> {
    fn spot(&self, path: &[Step]) -> Option<Spot<'s, 't>> {
        let (mut node, mut span, mut name) = (self.tree, self.tree.span, "");
        for step in path {
            match step {
                Step::Key(key) => {
                    let entry = node.as_map()?.entry(key)?;
                    (node, span, name) = (&entry.node, entry.key.span, &entry.key.text);
                }
                Step::Item(at) => {
                    node = node.item(*at)?;
                    span = node.span;
                }
            }
        }
        let keys = path.iter().filter_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Item(_) => None,
        });
        let place = keys.collect::<Vec<_>>().join(".");
        let view = self.top.path(path);
        Some(Spot { view, node, span, name, is_top: path.is_empty(), place, kind: self.kind, schemas: self.schemas })
    }

    fn one(&self, mismatch: &Mismatch, list: &mut FileFindingList<'_>, depth: usize) {
        let Some(spot) = self.spot(&mismatch.at) else { return };
        if let Some(says) = &mismatch.says {
            self.condition(mismatch, says, &spot, list);
            return;
        }
        let is_about_keys = matches!(mismatch.what, What::UnknownKeys(_) | What::MissingKey(_) | What::NoneOf(_));
        if list.is_faulty(spot.node.span) && !is_about_keys {
            return;
        }
        match &mismatch.what {
            What::UnknownKeys(keys) => keys.iter().for_each(|key| unknown_key(&spot, key, list)),
            What::MissingKey(key) => missing_key(&spot, key, list),
            What::Type(types) => wrong_type(&spot, types, list),
            What::Word(words) => unknown_word(&spot, words, list),
            What::Form(_) => wrong_form(&spot, list),
            What::Size(wanted) => wrong_size(&spot, wanted, list),
            What::Bound(wanted) => out_of_bounds(&spot, wanted, list),
            What::NotHere => not_here(&spot, list),
            What::NoneOf(branches) => self.none_of(&spot, &mismatch.at, branches, list, depth),
            What::Twice => {
                list.find(
                    "item-twice",
                    spot.span,
                    format!("{} holds the same item twice", list_name(&spot)),
                    "keep one of the two",
                );
            }
            What::Quantity => wrong_quantity(&spot, list),
            What::KeyForm => {
                let message = format!("{} has a key that is not allowed here", list_name(&spot));
                list.find("text-form", spot.span, message, advice(&spot.view));
            }
            What::Other(text) => {
                let message = format!("the record does not fit its schema: {text}");
                list.find("schema-mismatch", spot.node.span, message, advice(&spot.view));
            }
        }
    }

    /// A condition the schema puts in its own words: `what is wrong: what to do`.
    fn condition(&self, mismatch: &Mismatch, says: &str, spot: &Spot<'s, 't>, list: &mut FileFindingList<'_>) {
        let place = match &mismatch.what {
            What::NoneOf(branches) => branches.first().and_then(|b| self.spot(&b.first()?.at)),
            _ => None,
        };
        let (message, help) = says.split_once(": ").unwrap_or((says, ""));
        list.find("condition-missing", first(place.as_ref().unwrap_or(spot)), message, stopless(help));
    }

    fn none_of(
        &self,
        spot: &Spot<'s, 't>,
        at: &[Step],
        branches: &[Vec<Mismatch>],
        list: &mut FileFindingList<'_>,
        depth: usize,
    ) {
        let wanted: Option<Vec<&str>> = branches.iter().map(|branch| sole_missing(branch, at)).collect();
        if let Some(wanted) = wanted.filter(|wanted| !wanted.is_empty()) {
            let rule = if wanted.contains(&"value") { "value-missing" } else { "key-missing" };
            let message = format!("{} needs one of {}", here(spot), listed(&wanted));
            list.find(rule, first(spot), message, advice(&spot.view));
            return;
        }
        // The branch that fits best at its own level is the one that was meant.
        let score = |branch: &&Vec<Mismatch>| (branch.iter().filter(|m| m.at.len() <= at.len()).count(), branch.len());
        let best = branches.iter().filter(|branch| !branch.is_empty()).min_by_key(score);
        match best {
            Some(best) if depth < ALTERNATIVES => best.iter().for_each(|mismatch| self.one(mismatch, list, depth + 1)),
            _ => {
                let message = format!("{} fits none of the allowed forms, or more than one", here(spot));
                list.find("form-unknown", first(spot), message, advice(&spot.view));
            }
        }
    }
}

/// The key a branch misses, when that is all it says.
fn sole_missing<'m>(branch: &'m [Mismatch], at: &[Step]) -> Option<&'m str> {
    match branch {
        [Mismatch { at: place, what: What::MissingKey(key), .. }] if place == at => Some(key),
        _ => None,
    }
}

fn unknown_key(spot: &Spot<'_, '_>, key: &str, list: &mut FileFindingList<'_>) {
    let Some(entry) = spot.node.as_map().and_then(|map| map.entry(key)) else { return };
    let span = entry.key.span;
    if list.is_faulty(span) {
        return;
    }
    if spot.is_top && (key == "id" || key == "kind") {
        let message = format!("`{key}` follows from where the file lies");
        list.find("id-in-file", span, message, "remove the line; the folder and the file name already say it");
        return;
    }
    let keys = strengths_first(spot.view.order());
    let close = if list.may_suggest() { nearest(key, keys.iter().copied()) } else { None };
    let help = match close {
        Some(close) => format!("did you mean `{close}`?"),
        None if keys.is_empty() => "remove it".to_owned(),
        None => format!("the keys known here are {}", spot.shortened(&keys, &spot.place)),
    };
    list.find("key-unknown", span, format!("`{key}` is not a known key"), help);
}

fn missing_key(spot: &Spot<'_, '_>, key: &str, list: &mut FileFindingList<'_>) {
    let rule = if key == "basis" { "basis-missing" } else { "key-missing" };
    let view = spot.view.step(&Step::Key(key.to_owned()));
    let message = format!("{} has no `{key}`", here(spot));
    let help = match view.words("enum") {
        Some(words) => {
            let place = if spot.place.is_empty() { key.to_owned() } else { format!("{}.{key}", spot.place) };
            format!("add `{key}:` with one of {}", spot.shortened(&spot.words_of_kind(key, words), &place))
        }
        None => format!("add `{key}: …`{}", view.text("description").map_or_else(String::new, |d| format!(" ({})", stopless(d)))),
    };
    list.find(rule, first(spot), message, help);
}

fn wrong_type(spot: &Spot<'_, '_>, types: &[&'static str], list: &mut FileFindingList<'_>) {
    let node = spot.node;
    if matches!(node.value, Value::Null) {
        let message = format!("`{}` has no value", spot.name);
        list.find("value-empty", spot.span, message, "write a value, or remove the key");
        return;
    }
    if let (Some(quantity), Some(text)) = (spot.view.quantity(), node.written())
        && let Err(fault) = quantity::parse(text, quantity)
    {
        list.find(fault.rule(), node.span, fault.message(), fault.help());
        return;
    }
    let wanted: Vec<&str> = types.iter().map(|t| type_word(t)).collect();
    let message = format!("{} is {}, but {} is expected", name_of(spot), node.kind(), wanted.join(" or "));
    let help = match (&node.value, types.contains(&"string")) {
        (Value::Number(digits), true) => format!("write \"{digits}\" in quotes"),
        (Value::Bool(yes), true) => format!("write \"{yes}\" in quotes"),
        (Value::Text(text, _), false) if types.contains(&"array") => format!("write [{text}]"),
        (Value::Map(_), false) if types.contains(&"array") => "begin the map with `- `".to_owned(),
        _ => advice(&spot.view),
    };
    list.find("type-wrong", node.span, message, help);
}

fn wrong_quantity(spot: &Spot<'_, '_>, list: &mut FileFindingList<'_>) {
    let quantities = spot.view.quantity().into_iter();
    if let Some(text) = spot.node.written() {
        for quantity in quantities {
            if let Err(fault) = quantity::parse(text, quantity) {
                list.find(fault.rule(), spot.node.span, fault.message(), fault.help());
                return;
            }
        }
    }
    let expected = spot.view.quantity().map_or("a quantity", Quantity::title);
    let message = format!("{} is not {expected}", name_of(spot));
    list.find("type-wrong", spot.node.span, message, advice(&spot.view));
}

fn unknown_word(spot: &Spot<'_, '_>, words: &[String], list: &mut FileFindingList<'_>) {
    let Some(text) = spot.node.written() else { return };
    let is_family = spot.view.keyword("broader").is_some();
    let rule = if is_family { "family-unknown" } else { "word-unknown" };
    let words = spot.words_of_kind(spot.name, words.iter().map(String::as_str).collect());
    let close = if list.may_suggest() { similar(text, &words) } else { Vec::new() };
    let help = suggestion(&close).unwrap_or_else(|| format!("one of {}", spot.shortened(&words, &spot.place)));
    list.find(rule, spot.node.span, format!("`{text}` is not a known {}", spot.name), help);
}

fn wrong_form(spot: &Spot<'_, '_>, list: &mut FileFindingList<'_>) {
    let Some(text) = spot.node.written() else { return };
    let rule = match spot.view.text("title") {
        Some("Id" | "Record id") => "id-form",
        Some("Date") => "date-form",
        _ => "text-form",
    };
    let message = format!("`{}` does not have the form of {}", brief(text), name_of(spot));
    list.find(rule, spot.node.span, message, advice(&spot.view));
}

fn wrong_size(spot: &Spot<'_, '_>, wanted: &str, list: &mut FileFindingList<'_>) {
    let message = format!("{} has the wrong size: {wanted}", name_of(spot));
    list.find("size-wrong", spot.span, message, advice(&spot.view));
}

fn out_of_bounds(spot: &Spot<'_, '_>, wanted: &str, list: &mut FileFindingList<'_>) {
    let message = format!("`{}` is not {wanted}", spot.node.written().unwrap_or_default());
    list.find("number-out-of-bounds", spot.node.span, message, advice(&spot.view));
}

fn not_here(spot: &Spot<'_, '_>, list: &mut FileFindingList<'_>) {
    let message = format!("`{}` cannot stand here", spot.name);
    list.find("key-not-here", spot.span, message, "remove it; this sort of claim has no such field");
}

/// Where a missing key is shown: the key of the map that misses it, or its first line.
fn first(spot: &Spot<'_, '_>) -> Span {
    if spot.is_top { Span { end: spot.node.span.start, ..spot.node.span } } else { spot.span }
}

fn here(spot: &Spot<'_, '_>) -> String {
    match (spot.is_top, spot.name) {
        (true, _) => "the record".to_owned(),
        (_, "") => "this".to_owned(),
        (_, name) => format!("this entry of `{name}`"),
    }
}

fn name_of(spot: &Spot<'_, '_>) -> String {
    if spot.name.is_empty() { "the record".to_owned() } else { format!("`{}`", spot.name) }
}

fn list_name(spot: &Spot<'_, '_>) -> String {
    name_of(spot)
}

fn type_word(word: &str) -> &str {
    match word {
        "string" => "text",
        "object" => "a map",
        "array" => "a list",
        "integer" => "a whole number",
        "number" => "a number",
        "boolean" => "true or false",
        other => other,
    }
}

/// The schema's own words on a place: what it is for, and an example.
fn advice(view: &View<'_>) -> String {
    let example = view.keyword("examples").and_then(|all| all.get(0)).map(|one| {
        let text = one.as_str().map_or_else(|| one.to_string(), str::to_owned);
        format!("for example: {text}")
    });
    let parts: Vec<String> = view.text("description").map(stopless).into_iter().chain(example).collect();
    if parts.is_empty() { "the schema of this kind says what is expected".to_owned() } else { parts.join("; ") }
}

fn stopless(text: &str) -> String {
    text.trim_end_matches('.').to_owned()
}

fn listed(words: &[&str]) -> String {
    words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// Properties in the order somebody looks for them: strengths before the rest, else as the schema has them.
#[must_use]
pub fn strengths_first(mut words: Vec<&str>) -> Vec<&str> {
    words.sort_by_key(|word| !word.ends_with("_strength"));
    words
}

impl Spot<'_, '_> {
    /// The first dozen words, with the command that lists all; without such a command all of them.
    fn shortened(&self, words: &[&str], place: &str) -> String {
        const SHOWN: usize = 12;
        match self.kind {
            Some(kind) if words.len() > SHOWN => {
                let first = words.iter().take(SHOWN).copied().collect::<Vec<_>>().join(", ");
                let place = if place.is_empty() { String::new() } else { format!(" {place}") };
                format!("{first} and {} more (`gripbook new {kind} --words{place}` lists all)", words.len() - SHOWN)
            }
            _ => words.join(", "),
        }
    }
}

impl<'s> Spot<'s, '_> {
    /// Of families those that a record of this kind may have; other words as they are.
    fn words_of_kind<'w>(&self, key: &str, words: Vec<&'w str>) -> Vec<&'w str>
    where
        's: 'w,
    {
        match self.kind {
            Some(kind) if key == "family" && self.place.split('.').count() <= 1 => families_of(self.schemas, kind),
            _ => words,
        }
    }
}

fn brief(text: &str) -> String {
    const SHOWN: usize = 40;
    if text.chars().count() <= SHOWN { text.to_owned() } else { format!("{}…", text.chars().take(SHOWN).collect::<String>()) }
}
