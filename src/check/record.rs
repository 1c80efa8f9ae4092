//! What a schema cannot say: rules about the members of one map, about dates, and about references.

use std::collections::HashMap;

use super::file_findings::{FileFindingList, nearest};
use super::fingerprint::fingerprint;
use super::packs::Index;
use crate::finding::Span;
use crate::quantity::{Quantity, parse, table};
use crate::read::tree::{Map, Node, Value};

/// What the rules need to know beside the record.
pub(super) struct Surroundings<'a> {
    /// Kind of the record.
    pub kind: &'a str,
    /// Id of its pack; empty when it belongs to none.
    pub pack: &'a str,
    /// Whether the record as a whole names its source, as a series does.
    pub sourced: bool,
    /// All ids that exist.
    pub index: &'a Index<'a>,
    /// Words of the properties that list words.
    pub words: &'a HashMap<String, Vec<String>>,
}

/// Packs that name no brands.
const GENERIC: [&str; 2] = ["book", "demo"];
/// The pack of real data.
const BOOK: &str = "book";
/// Fields that name a brand or a batch.
const BRAND_FIELDS: [&str; 3] = ["trade_name", "supplier", "lot"];
/// Bases that rest on something that can be looked up.
const SOURCED: [&str; 4] = ["measured", "standard", "handbook", "computed"];
/// Ranges whose ends may stand beside a mean.
const ENDS_OF_MEANS: [&str; 3] = ["specimens", "sources", "materials"];
/// Fields that hold a date.
const DATES: [&str; 3] = ["date", "until", "issued"];

/// Fields that refer to a record, with the roles it may have (none: any).
const REFERENCES: [(&str, &[&str]); 9] = [
    ("adhesive", &["adhesive"]),
    ("insert", &["insert"]),
    ("material", &["material", "metal"]),
    ("other", &["material", "metal"]),
    ("process", &["process"]),
    ("rig", &["rig"]),
    ("screw", &["screw"]),
    ("primer", &["step"]),
    ("replaced_by", &[]),
];

/// A record in use names something withdrawn. Which records are withdrawn is known to the book alone.
pub const WITHDRAWN_CITED: &str = "withdrawn-cited";
/// A record withdraws something: not told, but it says that the book has to be asked what still names it.
pub const WITHDRAWS: &str = "withdraws";

/// Applies every rule to a record.
pub(super) fn inspect(tree: &Node, around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    let Some(top) = tree.as_map() else { return };
    if GENERIC.contains(&around.pack) {
        for field in BRAND_FIELDS {
            if let Some(entry) = top.entry(field) {
                let message = format!("the pack `{}` names generic materials, no {}", around.pack, field.replace('_', " "));
                list.find("brand-named", entry.key.span, message, "keep it in a pack of your own");
            }
        }
    }
    if let Some(properties) = top.get("properties").and_then(Node::as_map) {
        for entry in properties {
            if let Some(claims) = entry.node.as_list() {
                property(&entry.key.text, claims, around, list);
            }
        }
    }
    any_map(top, around, list);
    if withdraws(tree) {
        list.find(WITHDRAWS, tree.span, "something is withdrawn here", "see what still names it");
    }
}

/// Whether something here is withdrawn or replaced: the record, a claim, a measurement, a single result.
fn withdraws(node: &Node) -> bool {
    match &node.value {
        Value::Map(map) => map.iter().any(|entry| match &*entry.key.text {
            "status" | "standing" => entry.node.as_text() == Some("withdrawn"),
            "withdrawn" | "replaced_by" => true,
            _ => withdraws(&entry.node),
        }),
        Value::List(items) => items.iter().any(withdraws),
        _ => false,
    }
}

fn property(word: &str, claims: &[Node], around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    for claim in claims {
        if let Some(map) = claim.as_map() {
            claim_fields(map, around.words.get(word), list);
        }
    }
    if claims.len() < 2 {
        return;
    }
    let mut seen: HashMap<String, Span> = HashMap::with_capacity(claims.len());
    for claim in claims.iter().filter(|claim| claim.as_map().is_some()) {
        let key = fingerprint(claim);
        if let Some(first) = seen.get(&key) {
            let message = format!(
                "this claim of `{word}` has the same source, locator, method and conditions as the one in line {}",
                first.line
            );
            list.find(
                "claim-twice",
                claim.span,
                message,
                "keep one of the two, or say in the locator or the conditions how they differ",
            );
        } else {
            seen.insert(key, claim.span);
        }
    }
}

fn claim_fields(claim: &Map, words: Option<&Vec<String>>, list: &mut FileFindingList<'_>) {
    let one = claim.entry("value");
    // A mean may stand with the ends of what it is the mean of, when `range` says what they are.
    let explained = claim.get("range").and_then(Node::as_text).is_some_and(|kind| ENDS_OF_MEANS.contains(&kind));
    let range = claim.entry("low").or_else(|| claim.entry("high")).filter(|_| one.is_none() || !explained);
    let samples = claim.entry("samples");
    let stated: Vec<_> = [one, samples, range].into_iter().flatten().collect();
    if let [first, second, ..] = stated[..] {
        let message = format!("this claim states both `{}` and `{}`", first.key.text, second.key.text);
        list.find("value-ambiguous", second.key.span, message, "make two claims of it, or keep one");
    }
    for field in ["sd", "se"] {
        let Some(spread) = claim.entry(field) else { continue };
        if one.is_none() && samples.is_none() {
            let message = format!("`{field}` is given without the value it belongs to");
            list.find("spread-without-value", spread.key.span, message, "add the value, or remove the spread");
        }
    }
    for field in ["sd", "se", "u"] {
        if let Some(spread) = claim.entry(field)
            && spread.node.written().is_some_and(|text| text.starts_with('-'))
        {
            list.find("spread-negative", spread.node.span, format!("`{field}` is negative"), "a spread is never negative");
        }
    }
    if let (Some(words), Some(entry)) = (words, one)
        && let Some(text) = entry.node.as_text()
        && !words.iter().any(|word| word == text)
    {
        let close = nearest(text, words.iter().map(String::as_str));
        let help = close.map_or_else(|| format!("one of {}", words.join(", ")), |close| format!("did you mean `{close}`?"));
        list.find("word-unknown", entry.node.span, format!("`{text}` is not a known value of this property"), help);
    }
}

fn any_map(map: &Map, around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    basis(map, around, list);
    if let Some(standing) = map.entry("standing")
        && standing.node.as_text().is_some()
        && map.get("because").is_none()
    {
        list.find("because-missing", standing.key.span, "the doubt is given without a reason", "add `because: …`");
    }
    ends(map, ("low", "high"), list);
    ends(map, ("min", "max"), list);
    for entry in map {
        let key = &*entry.key.text;
        if DATES.contains(&key)
            && let Some(text) = entry.node.written()
            && !is_date(text)
            && !list.is_faulty(entry.node.span)
        {
            let message = format!("`{text}` is not a calendar date");
            list.find("date-form", entry.node.span, message, "write YYYY, YYYY-MM or YYYY-MM-DD");
        }
        member(key, &entry.node, around, list);
    }
}

fn member(key: &str, node: &Node, around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    match &node.value {
        Value::Map(map) => any_map(map, around, list),
        Value::List(items) => items.iter().for_each(|item| member(key, item, around, list)),
        Value::Text(text, _) => reference(key, text, node.span, around, list),
        _ => {}
    }
}

fn basis(map: &Map, around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    let Some(entry) = map.entry("basis") else { return };
    let Some(basis) = entry.node.as_text() else { return };
    let is_sourced = around.sourced || map.get("source").is_some() || map.get("from").is_some();
    if SOURCED.contains(&basis) && !is_sourced {
        let message = format!("the basis is `{basis}`, but no `source` is named: nobody can look it up");
        list.find(
            "source-missing",
            entry.node.span,
            message,
            "add `source: …`, or write `basis: recalled` if no source was seen",
        );
    }
    if basis == "invented" && around.pack == BOOK {
        let message = format!("invented data in the pack `{}`", around.pack);
        list.find("invented-outside-demo", entry.node.span, message, "invented data belongs in the pack `demo` only");
    }
}

fn ends(map: &Map, names: (&str, &str), list: &mut FileFindingList<'_>) {
    let (Some(low), Some(high)) = (map.entry(names.0), map.entry(names.1)) else { return };
    let (Some(low_text), Some(high_text)) = (low.node.written(), high.node.written()) else { return };
    let same = |quantity: &Quantity| Some((parse(low_text, *quantity).ok()?, parse(high_text, *quantity).ok()?));
    if let Some((least, most)) = table::ALL.iter().find_map(same)
        && least.si > most.si
    {
        let message = format!("`{}` {low_text} is above `{}` {high_text}", names.0, names.1);
        list.find("range-reversed", low.node.span, message, "exchange the two, or correct one of them");
    }
}

fn reference(key: &str, text: &str, span: Span, around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    match key {
        "source" | "cites" => return bare(text, "source", span, around, list),
        "shares_specimens_with" => return bare(text, "series", span, around, list),
        _ => {}
    }
    let Some((kind, rest)) = text.split_once('/') else { return };
    let roles = REFERENCES.iter().find(|(field, _)| *field == key).map(|(_, roles)| *roles);
    let name = rest.split([':', '#']).next().unwrap_or(rest);
    let is_address = key == "from" || roles.is_some() && is_id_like(kind) && is_id_like(name);
    let known = around.index.role(kind);
    if known.is_none() && !is_address || !is_id_like(name) {
        return;
    }
    if !around.index.contains(kind, name) {
        let close = if list.may_suggest() { around.index.nearest(kind, name) } else { None };
        let help = match (close, known) {
            (Some(close), _) => format!("did you mean `{close}`?"),
            (None, Some(_)) => format!("add the record {kind}/{name}, or correct the id"),
            (None, None) => format!("`{kind}` is not a known kind; the kinds are {}", around.index.kinds().join(", ")),
        };
        list.find("reference-unknown", span, format!("there is no record `{kind}/{name}`"), help);
    } else if let (Some(role), Some(roles)) = (known, roles)
        && !roles.is_empty()
        && !roles.contains(&role)
        && around.kind == "series"
    {
        let message = format!("`{text}` is a record of role {role}, `{key}` needs {}", roles.join(" or "));
        list.find("reference-role", span, message, "name a record of that role");
    }
}

fn bare(id: &str, kind: &str, span: Span, around: &Surroundings<'_>, list: &mut FileFindingList<'_>) {
    // The form of an id is the affair of the schema.
    if !is_id_like(id) || around.index.contains(kind, id) {
        return;
    }
    let close = if list.may_suggest() { around.index.nearest(kind, id) } else { None };
    let rule = if kind == "source" { "source-unknown" } else { "reference-unknown" };
    let help = match close {
        Some(close) => format!("did you mean `{}`?", close.trim_start_matches(kind).trim_start_matches('/')),
        None => format!("add the record {kind}/{id}, or correct the id"),
    };
    list.find(rule, span, format!("there is no {kind} `{id}`"), help);
}

fn is_id_like(text: &str) -> bool {
    super::ids::fault(text).is_none()
}

/// `YYYY`, `YYYY-MM` or `YYYY-MM-DD` of the Gregorian calendar.
pub(super) fn is_date(text: &str) -> bool {
    let mut parts = text.split('-');
    let number = |part: Option<&str>, digits: usize| {
        part.filter(|p| p.len() == digits && p.bytes().all(|b| b.is_ascii_digit())).and_then(|p| p.parse::<u32>().ok())
    };
    let Some(year) = number(parts.next(), 4) else { return false };
    let rest: Vec<&str> = parts.collect();
    let month = number(rest.first().copied(), 2);
    let day = number(rest.get(1).copied(), 2);
    match (rest.len(), month, day) {
        (0, ..) => true,
        (1, Some(month), _) => (1..=12).contains(&month),
        (2, Some(month), Some(day)) => day >= 1 && day <= days(year, month),
        _ => false,
    }
}

fn days(year: u32, month: u32) -> u32 {
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn dates_are_days_of_the_calendar() {
        for good in ["2026", "2026-03", "2026-03-01", "2024-02-29", "2000-02-29"] {
            assert!(is_date(good), "{good}");
        }
        for bad in ["26", "2026-13", "2026-00", "2026-02-30", "2025-02-29", "1900-02-29", "2026-3-1", "2026-03-01T10", "2026-"] {
            assert!(!is_date(bad), "{bad}");
        }
    }
}
