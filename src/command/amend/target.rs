//! From an address to the values of a record that it means.

use super::{AmendArgs, change::Amendment};
use crate::command::Fault;
use gripbook::audit::address;
use gripbook::book::{Book, Record};
use gripbook::read::tree::{Node, Value};

/// A value in the file of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Target {
    /// Pointer of the value.
    pub pointer: String,
    /// Pointer of the claim, single result, measurement or record that keeps its history.
    pub holder: String,
    /// The field inside the holder: `value`, `conditions.temperature`.
    pub field: String,
    /// As it is told: `series/grey:pull_out_load#a3 value`.
    pub said: String,
    /// The claim, where it is a value of one.
    pub claim: Option<String>,
}

/// Quantities of a claim that a slip of its unit goes through.
const OF_CLAIM: [&str; 6] = ["value", "low", "high", "sd", "se", "u"];
/// Quantities of a measurement.
const OF_MEASUREMENT: [&str; 6] = ["mean", "low", "high", "sd", "min", "max"];

/// What an address names.
struct AmendedPlace {
    /// Pointer of the claim, measurement, result or record.
    base: String,
    /// As it is told.
    said: String,
    sort: Sort,
}

#[derive(PartialEq, Eq)]
enum Sort {
    Claim,
    Measurement,
    Specimen,
    Record,
}

/// The values that one address and the options mean.
pub(super) fn targets(book: &Book, record: &Record, tree: &Node, what: &str, args: &AmendArgs) -> Result<Vec<Target>, Fault> {
    let rest = what.split_once(':').map(|(_, rest)| rest);
    let places = match (rest, args.all_specimens) {
        (None, false) => vec![AmendedPlace { base: String::new(), said: record.id.to_string(), sort: Sort::Record }],
        (None, true) => specimens(record, tree, None),
        (Some(rest), true) => specimens(record, tree, Some(rest)),
        (Some(rest), false) => named(book, record, tree, rest)?,
    };
    if places.is_empty() {
        return Err(Fault::usage(format!("{what} has no single results")));
    }
    let change = Amendment::of(args)?;
    let mut all = Vec::new();
    for place in &places {
        let node = tree.at(&place.base).ok_or_else(|| Fault::data(format!("{} has changed since it was loaded", record.file)))?;
        let fields = if args.field.is_empty() { usual(place, node, &change)? } else { args.field.clone() };
        for field in fields {
            all.push(target(place, node, &field)?);
        }
    }
    Ok(all)
}

/// The claims, measurements or results that the part behind the colon names: one of them.
fn named(book: &Book, record: &Record, tree: &Node, rest: &str) -> Result<Vec<AmendedPlace>, Fault> {
    let what = format!("{}:{rest}", record.id);
    let claims = address::resolve(book, &what);
    let of_claim = |named: &address::Named<'_>| {
        let index = record.claims(named.property).iter().position(|c| std::ptr::eq(c, named.claim)).unwrap_or(0);
        AmendedPlace { base: format!("/properties/{}/{index}", named.property), said: named.address(), sort: Sort::Claim }
    };
    match &claims[..] {
        [one] => return Ok(vec![of_claim(one)]),
        [] => {}
        several => {
            let all: Vec<String> = several.iter().map(|n| format!("{} ({})", n.address(), n.claim.value.text())).collect();
            return Err(Fault::usage(format!("`{what}` names several claims")).help(all.join(", ")));
        }
    }
    let (quantity, label) = rest.split_once('#').map_or((rest, None), |(quantity, label)| (quantity, Some(label)));
    let found = match label {
        Some(label) => {
            specimens(record, tree, Some(quantity)).into_iter().filter(|p| p.said.ends_with(&format!("#{label}"))).collect()
        }
        None => measurements(record, tree, quantity),
    };
    match found.len() {
        1 => Ok(found),
        0 => Err(Fault {
            exit: 1,
            message: format!("`{what}` names no claim, measurement or single result"),
            help: Some(format!("`gripbook show {} --full` lists them; other values are named by --field", record.id)),
        }),
        n => Err(Fault::usage(format!("`{what}` names {n} of them"))
            .help("name the value by --field, for example measurements.1.mean")),
    }
}

/// Pointer of the one claim, measurement or result that the part behind the colon names.
pub(super) fn one(book: &Book, record: &Record, tree: &Node, rest: &str) -> Result<String, Fault> {
    let mut found = named(book, record, tree, rest)?;
    found.pop().map(|place| place.base).ok_or_else(|| Fault::usage(format!("`{rest}` names nothing")))
}

fn list<'t>(tree: &'t Node, pointer: &str) -> &'t [Node] {
    tree.at(pointer).and_then(Node::as_list).map_or(&[], |all| all)
}

fn text<'t>(node: &'t Node, key: &str) -> &'t str {
    node.get(key).and_then(Node::written).unwrap_or_default()
}

fn measurements(record: &Record, tree: &Node, quantity: &str) -> Vec<AmendedPlace> {
    let all = list(tree, "/measurements").iter().enumerate().filter(|(_, m)| text(m, "quantity") == quantity);
    let place = |(at, _): (usize, &Node)| AmendedPlace {
        base: format!("/measurements/{at}"),
        said: format!("{}:{quantity}", record.id),
        sort: Sort::Measurement,
    };
    all.map(place).collect()
}

/// The single results of one measurement, or of all.
fn specimens(record: &Record, tree: &Node, quantity: Option<&str>) -> Vec<AmendedPlace> {
    let mut all = Vec::new();
    for (at, measurement) in list(tree, "/measurements").iter().enumerate() {
        let word = text(measurement, "quantity");
        if quantity.is_some_and(|wanted| wanted != word) {
            continue;
        }
        for (nth, specimen) in list(measurement, "/specimens").iter().enumerate() {
            let label = specimen.get("label").and_then(Node::written).map_or_else(|| (nth + 1).to_string(), str::to_owned);
            let said = format!("{}:{word}#{label}", record.id);
            all.push(AmendedPlace { base: format!("/measurements/{at}/specimens/{nth}"), said, sort: Sort::Specimen });
        }
    }
    all
}

/// The fields meant where none is named.
fn usual(place: &AmendedPlace, node: &Node, change: &Amendment) -> Result<Vec<String>, Fault> {
    let there = |words: &[&str]| -> Vec<String> {
        words.iter().filter(|word| node.get(word).is_some()).map(|word| (*word).to_owned()).collect()
    };
    let all = match (&place.sort, change.is_of_all_numbers()) {
        (Sort::Record, _) => {
            return Err(Fault::usage("which value of the record?").help("name it by --field, for example --field joint.hole"));
        }
        (Sort::Specimen, _) => there(&["value"]),
        (Sort::Claim, true) => {
            let samples = node.get("samples").and_then(Node::as_list).map_or(0, |all| all.len());
            there(&OF_CLAIM).into_iter().chain((0..samples).map(|at| format!("samples.{at}"))).collect()
        }
        (Sort::Claim, false) => there(&["value"]),
        (Sort::Measurement, true) => there(&OF_MEASUREMENT),
        (Sort::Measurement, false) => there(&["mean"]),
    };
    if all.is_empty() {
        let fault =
            Fault::usage(format!("{} states no {}", place.said, if place.sort == Sort::Measurement { "mean" } else { "value" }));
        return Err(fault.help(format!("name the field by --field: {}", keys(node))));
    }
    Ok(all)
}

fn keys(node: &Node) -> String {
    let map = node.as_map().into_iter().flatten().map(|entry| entry.key.text.to_string());
    map.collect::<Vec<_>>().join(", ")
}

/// One field of a place, as a value that stands there.
fn target(place: &AmendedPlace, node: &Node, field: &str) -> Result<Target, Fault> {
    let pointer = format!("/{}", field.replace('.', "/"));
    let found = node
        .at(&pointer)
        .ok_or_else(|| Fault::usage(format!("{} states no `{field}`", place.said)).help(format!("it states: {}", keys(node))))?;
    if matches!(found.value, Value::Map(_) | Value::List(_)) {
        let inner = if found.as_map().is_some() { keys(found) } else { "its items by number, from 0".into() };
        return Err(Fault::usage(format!("`{field}` of {} holds several values", place.said))
            .help(format!("name one: --field {field}.…: {inner}")));
    }
    let whole = format!("{}{pointer}", place.base);
    let holder = holder(&whole);
    let inside = whole.strip_prefix(&*holder).unwrap_or(&whole).trim_start_matches('/').replace('/', ".");
    let said =
        if field == "value" && place.sort != Sort::Record { place.said.clone() } else { format!("{} {field}", place.said) };
    let claim = (place.sort == Sort::Claim).then(|| place.said.clone());
    Ok(Target { pointer: whole, holder, field: inside, said, claim })
}

/// The nearest claim, single result or measurement around a value; else the record.
fn holder(pointer: &str) -> String {
    let parts: Vec<&str> = pointer.split('/').skip(1).collect();
    let depth = match parts[..] {
        ["properties", _, _, _, ..] => 3,
        ["measurements", _, "specimens", _, _, ..] => 4,
        ["measurements", _, _, ..] => 2,
        _ => 0,
    };
    parts[..depth].iter().map(|part| format!("/{part}")).collect()
}

#[cfg(test)]
mod tests {
    use super::holder;

    #[test]
    fn the_history_stands_with_the_nearest_thing_that_has_an_address() {
        assert_eq!(holder("/properties/tg/0/conditions/temperature"), "/properties/tg/0");
        assert_eq!(holder("/measurements/1/specimens/2/value"), "/measurements/1/specimens/2");
        assert_eq!(holder("/measurements/1/mean"), "/measurements/1");
        assert_eq!(holder("/joint/hole"), "");
        assert_eq!(holder("/DOI"), "");
    }
}
