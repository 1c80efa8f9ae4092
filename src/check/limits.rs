//! Values that no body can have: negative strengths, temperatures below absolute zero, nothing where something must be. The
//! schema says where the limits are: `possible` of a property, `above_zero` and `signed` of a field and of measured quantities.

use super::file_findings::FileFindingList;
use super::schemas::{Schemas, Step};
use super::view::View;
use crate::quantity::{Quantity, parse};
use crate::read::tree::{Node, Value};
use serde_json::Value as Json;

/// Values of a claim that the band of its property bounds.
const VALUES: [&str; 4] = ["value", "low", "high", "samples"];
/// Values of a measurement.
const MEASURED: [&str; 6] = ["mean", "low", "high", "min", "max", "value"];
/// Ends of a range, which may begin at nothing.
const LOWER_ENDS: [&str; 2] = ["low", "min"];
/// What a correction replaced: it was wrong.
const CORRECTED: &str = "was";

/// Looks at every number that is zero or below.
pub(super) fn look(tree: &Node, schemas: &Schemas, file: &str, list: &mut FileFindingList<'_>) {
    let looker = Looker { top: View::top(schemas, file), tree };
    looker.walk(tree, &mut Vec::new(), list);
}

/// Whether a number is negative, or nothing.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sign {
    Negative,
    Zero,
}

fn sign(text: &str) -> Option<Sign> {
    if text.starts_with('-') {
        return Some(Sign::Negative);
    }
    let digits = text.split(|c: char| !(c.is_ascii_digit() || c == '.')).next().unwrap_or_default();
    // `0x1F` is no number; another finding says so.
    let is_zero = !text[digits.len()..].starts_with(['x', 'X', 'b', 'o'])
        && digits.contains('0')
        && digits.bytes().all(|b| matches!(b, b'0' | b'.'));
    is_zero.then_some(Sign::Zero)
}

/// What the number at a place may not be.
struct Limit {
    what: String,
    no_zero: bool,
}

struct Looker<'s, 't> {
    top: View<'s>,
    tree: &'t Node,
}

impl<'t> Looker<'_, 't> {
    fn walk(&self, node: &'t Node, path: &mut Vec<Step>, list: &mut FileFindingList<'_>) {
        match &node.value {
            // What is disputed or withdrawn may stand as it was printed; nothing rests on it.
            Value::Map(map) if map.get("standing").is_none() => {
                for entry in map.iter().filter(|entry| &*entry.key.text != CORRECTED) {
                    path.push(Step::Key(entry.key.text.to_string()));
                    self.walk(&entry.node, path, list);
                    path.pop();
                }
            }
            Value::List(items) => {
                for (at, item) in items.iter().enumerate() {
                    path.push(Step::Item(at));
                    self.walk(item, path, list);
                    path.pop();
                }
            }
            Value::Text(..) | Value::Number(..) => {
                if let Some(text) = node.written()
                    && let Some(sign) = sign(text)
                    && !list.is_faulty(node.span)
                {
                    self.judge(node, text, sign, path, list);
                }
            }
            _ => {}
        }
    }

    fn judge(&self, node: &Node, text: &str, sign: Sign, path: &[Step], list: &mut FileFindingList<'_>) {
        let view = self.top.path(path);
        if view.quantity() == Some(Quantity::Temperature) {
            if parse(text, Quantity::Temperature).is_ok_and(|written| written.si < 0.0) {
                let message = format!("`{text}` is below absolute zero (-273.15 °C)");
                list.find("below-absolute-zero", node.span, message, "check the sign, the unit and the digits");
            }
            return;
        }
        let Some(limit) = self.limit(path, &view) else { return };
        let lower_end = matches!(path.last(), Some(Step::Key(key)) if LOWER_ENDS.contains(&key.as_str()));
        match sign {
            Sign::Negative => {
                let message = format!("`{text}`: {} is never negative", limit.what);
                list.find(
                    "value-negative",
                    node.span,
                    message,
                    "check the sign; a change or a deviation has a property of its own",
                );
            }
            Sign::Zero if limit.no_zero && !lower_end => {
                let message = format!("`{text}`: {} is never zero", limit.what);
                list.find(
                    "value-zero",
                    node.span,
                    message,
                    "leave out what was not measured; say in `note` what carried nothing",
                );
            }
            Sign::Zero => {}
        }
    }

    /// The limit at a place; `None` where a number may have any sign.
    fn limit(&self, path: &[Step], view: &View<'_>) -> Option<Limit> {
        let key = |at: usize| match path.get(at) {
            Some(Step::Key(key)) => key.as_str(),
            _ => "",
        };
        match (key(0), key(3)) {
            ("properties", field) if VALUES.contains(&field) => self.of_property(key(1)),
            // Of spreads other rules speak.
            ("properties", field) if field != "conditions" => None,
            ("measurements", _) if MEASURED.contains(&key(path.len() - 1)) && path.len() <= 5 => self.of_measurement(path),
            _ => {
                let quantity = view.quantity().filter(|q| *q != Quantity::TemperatureDifference)?;
                let is = |word: &str| view.keyword(word).and_then(Json::as_bool) == Some(true);
                let what = view.text("title").map_or_else(|| quantity.title().to_owned(), |title| format!("`{title}`"));
                (!is("signed")).then(|| Limit { what, no_zero: is("above_zero") })
            }
        }
    }

    fn of_property(&self, word: &str) -> Option<Limit> {
        let view = self.top.path(&[Step::Key("properties".into()), Step::Key(word.to_owned())]);
        let quantity = view.step(&Step::Item(0)).step(&Step::Key("value".into())).quantity()?;
        let least = parse(view.words("possible")?.first()?, quantity).ok()?.si;
        (least >= 0.0).then(|| Limit { what: format!("`{}`", view.text("title").unwrap_or(word)), no_zero: least > 0.0 })
    }

    fn of_measurement(&self, path: &[Step]) -> Option<Limit> {
        let item = path.get(..2)?;
        let pointer = |step: &Step| match step {
            Step::Key(key) => format!("/{key}"),
            Step::Item(at) => format!("/{at}"),
        };
        let place: String = item.iter().map(pointer).collect();
        let word = self.tree.at(&format!("{place}/quantity"))?.as_text()?;
        let view = self.top.path(item).step(&Step::Key("quantity".into()));
        let is = |list: &str| view.words(list).is_some_and(|words| words.contains(&word));
        (!is("signed")).then(|| Limit { what: format!("`{word}`"), no_zero: is("above_zero") })
    }
}

/// The families a record of a kind may have, in the order of their list; all where the kind is bound to none.
#[must_use]
pub fn families_of<'s>(schemas: &'s Schemas, kind: &str) -> Vec<&'s str> {
    let list = Families::of(schemas);
    let words = list.iter().flat_map(|list| list.json.get("enum").and_then(Json::as_array)).flatten().filter_map(Json::as_str);
    let mut words: Vec<&str> = words.filter(|word| list.as_ref().is_none_or(|list| list.allow(word, kind))).collect();
    // Those that belong to the kind first: a photopolymer is a resin, and a glue at times.
    words.sort_by_key(|word| {
        list.as_ref().and_then(|list| list.kinds(word)).and_then(|kinds| kinds.first().copied()) != Some(kind)
    });
    words
}

/// The list of families with the kinds they are bound to.
struct Families<'s> {
    json: &'s Json,
}

impl<'s> Families<'s> {
    fn of(schemas: &'s Schemas) -> Option<Self> {
        schemas.document("family.schema.json")?.pointer("/$defs/family").map(|json| Families { json })
    }
    /// The kinds the word, or the next broader one that says so, is bound to.
    fn kinds(&self, word: &str) -> Option<Vec<&'s str>> {
        let mut next = Some(word);
        // A list of families is finite, and none is met twice on its way up.
        for _ in 0..64 {
            let family = next?;
            if let Some(kinds) = self.json.get("kinds").and_then(|all| all.get(family)).and_then(Json::as_array) {
                return Some(kinds.iter().filter_map(Json::as_str).collect());
            }
            next = self.json.get("broader").and_then(|all| all.get(family)).and_then(Json::as_str);
        }
        None
    }
    /// Whether some family is bound to the kind: a process names a family without being of it.
    fn bind(&self, kind: &str) -> bool {
        let all = self.json.get("kinds").and_then(Json::as_object).into_iter().flatten();
        all.filter_map(|(_, kinds)| kinds.as_array()).flatten().any(|one| one == kind)
    }
    fn allow(&self, word: &str, kind: &str) -> bool {
        !self.bind(kind) || self.kinds(word).is_none_or(|kinds| kinds.contains(&kind))
    }
}

/// The family of a record must be one of its kind: a resin is no brass. Says so, with the kinds the family belongs to.
pub(super) fn family(tree: &Node, kind: &str, schemas: &Schemas, found: &mut FileFindingList<'_>) {
    let Some(node) = tree.get("family") else { return };
    let (Some(word), Some(list)) = (node.as_text(), Families::of(schemas)) else { return };
    if !list.allow(word, kind) {
        let message =
            format!("`{word}` is a family of {}, this record is a {kind}", list.kinds(word).unwrap_or_default().join(" or "));
        let help = format!(
            "choose a family of a {kind} (`gripbook new {kind} --words family` lists them), or move the record to the folder of its kind"
        );
        found.find("family-of-kind", node.span, message, help);
    }
}
#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_zero_and_less_are_looked_at() {
        for (text, is_negative) in [("-46.5 MPa", true), ("0 N", false), ("0.00 mm", false), ("0", false), ("-0.1", true)] {
            assert!(sign(text).is_some_and(|s| (s == Sign::Negative) == is_negative), "{text}");
        }
        for text in ["0.1 mm", "10 N", "M3", "", "series", "100 %"] {
            assert!(sign(text).is_none(), "{text}");
        }
    }
}
