//! From an address to the values of a record that it means.

use super::{AmendArgs, change::Amendment, revision};
use crate::command::{Context, Fault};
use gripbook::audit::address;
use gripbook::book::{Book, Record, Standing};
use gripbook::check::{similar, suggestion};
use gripbook::read::tree::{Node, Value};
use std::collections::BTreeSet;

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
    /// The property or quantity, where it is a value of one.
    pub word: Option<String>,
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
    sort: PlaceSort,
    /// The property or quantity.
    word: Option<String>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum PlaceSort {
    Claim,
    Measurement,
    Specimen,
    Record,
}

impl AmendedPlace {
    fn whole(record: &Record) -> AmendedPlace {
        AmendedPlace { base: String::new(), said: record.id.to_string(), sort: PlaceSort::Record, word: None }
    }
    fn claim(word: &str, index: usize, said: String) -> AmendedPlace {
        AmendedPlace { base: format!("/properties/{word}/{index}"), said, sort: PlaceSort::Claim, word: Some(word.to_owned()) }
    }
}

/// The values that one address and the options mean.
pub(super) fn targets(
    book: &Book,
    record: &Record,
    tree: &Node,
    what: &str,
    args: &AmendArgs,
    change: &Amendment,
) -> Result<Vec<Target>, Fault> {
    let rest = what.split_once(':').map(|(_, rest)| rest);
    let places = match (rest, args.all_specimens) {
        (None, false) => vec![AmendedPlace::whole(record)],
        (None, true) => specimens(record, tree, None),
        (Some(rest), true) => specimens(record, tree, Some(rest)),
        (Some(rest), false) => named(book, record, tree, rest)?,
    };
    if places.is_empty() {
        return Err(Fault::usage(format!("{what} has no single results")));
    }
    let mut all = Vec::new();
    for place in &places {
        let node = tree.at(&place.base).ok_or_else(|| Fault::data(format!("{} has changed since it was loaded", record.file)))?;
        let fields = if args.field.is_empty() { usual(place, node, change)? } else { args.field.clone() };
        for field in fields {
            all.push(target(place, node, &field)?);
        }
    }
    Ok(all)
}

/// Everything in writable packs that was taken from a source, as far as the options go: its series and the claims that cite it.
pub(super) fn of_source<'b>(
    book: &'b Book,
    source: &Record,
    args: &AmendArgs,
    change: &Amendment,
    context: &Context,
) -> Result<Vec<(&'b Record, Vec<Target>)>, Fault> {
    if matches!(change, Amendment::Value(_)) && args.field.is_empty() {
        return Err(Fault::usage("not everything taken from a source has the same value")
            .help("--field says which field is meant; --factor and --unit correct all numbers"));
    }
    // What is in a record that was left out is not known, so all that cites the source cannot be corrected together.
    if let Some(left_out) = book.left_out.first() {
        let message = format!("not everything taken from {} is known: {} was left out", source.id, left_out.place.file);
        return Err(
            Fault::data(message).help("mend it first (`gripbook check` says how), or name each value; nothing was written")
        );
    }
    let ids: BTreeSet<String> = book.references_to(source.id.as_str()).into_iter().map(|r| r.record.to_string()).collect();
    let citing: Vec<&Record> = ids.iter().filter_map(|id| book.in_use(id)).collect();
    let (ours, embedded): (Vec<&Record>, Vec<&Record>) = citing.into_iter().partition(|r| revision::is_writable(book, r));
    let mut found = Vec::new();
    let mut words = BTreeSet::new();
    for record in ours {
        let opened = revision::open(book, record, context)?;
        let tree = opened.node("")?;
        let places = taken(record, tree, source.id.name(), args);
        words.extend(places.iter().filter_map(|place| place.word.clone()));
        let is_wanted =
            |place: &&AmendedPlace| args.what.is_empty() || place.word.as_ref().is_some_and(|word| args.what.contains(word));
        let mut targets = Vec::new();
        for place in places.iter().filter(is_wanted) {
            let node = opened.node(&place.base)?;
            let states = |field: &&String| node.at(&format!("/{}", field.replace('.', "/"))).is_some();
            let fields = match args.field.is_empty() {
                true => usual(place, node, change).unwrap_or_default(),
                false => args.field.iter().filter(states).cloned().collect(),
            };
            for field in fields {
                targets.push(target(place, node, &field)?);
            }
        }
        if !targets.is_empty() {
            found.push((record, targets));
        }
    }
    if let Some(word) = args.what.iter().find(|word| !words.contains(*word)) {
        let known: Vec<&str> = words.iter().map(String::as_str).collect();
        let help = suggestion(&similar(word, &known)).unwrap_or_else(|| format!("there are {}", known.join(", ")));
        return Err(Fault::usage(format!("nothing that {} gave is called `{word}`", source.id)).help(help));
    }
    if found.is_empty() {
        let message = format!("nothing that was taken from {} has such a value", source.id);
        let help = match embedded.len() {
            0 => format!("`gripbook affected {}` lists what was taken from it", source.id),
            n => format!("{n} records with it are in an embedded pack, which cannot be changed"),
        };
        return Err(Fault::usage(message).help(help));
    }
    Ok(found)
}

/// The parts of a record that were taken from a source. A field without a quantity is one of the whole series.
fn taken(record: &Record, tree: &Node, source: &str, args: &AmendArgs) -> Vec<AmendedPlace> {
    let is_series = record.id.kind() == "series" && record.common().source.as_deref() == Some(source);
    if args.all_specimens {
        return if is_series { specimens(record, tree, None) } else { Vec::new() };
    }
    let mut places = Vec::new();
    for property in &record.properties {
        let cites = property.claims.iter().enumerate();
        let cites = cites.filter(|(_, c)| c.source.as_deref() == Some(source) && c.standing != Standing::Withdrawn);
        places.extend(cites.map(|(at, c)| AmendedPlace::claim(&property.word, at, record.address(&property.word, c))));
    }
    match is_series {
        true if !args.field.is_empty() && args.what.is_empty() => places.push(AmendedPlace::whole(record)),
        true => places.extend(measurements(record, tree, None)),
        false => {}
    }
    places
}

/// The claims, measurements or results that the part behind the colon names: one of them.
fn named(book: &Book, record: &Record, tree: &Node, rest: &str) -> Result<Vec<AmendedPlace>, Fault> {
    let what = format!("{}:{rest}", record.id);
    let claims = address::resolve(book, &what);
    let of_claim = |named: &address::NamedClaim<'_>| {
        let index = record.claims(named.property).iter().position(|c| std::ptr::eq(c, named.claim)).unwrap_or(0);
        AmendedPlace::claim(named.property, index, named.address())
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
    let found: Vec<AmendedPlace> = match label {
        Some(label) => {
            let is_it = |place: &AmendedPlace| place.said.rsplit_once('#').is_some_and(|(_, own)| own == label);
            specimens(record, tree, Some(quantity)).into_iter().filter(is_it).collect()
        }
        None => measurements(record, tree, Some(quantity)),
    };
    match found.len() {
        1 => Ok(found),
        0 => Err(Fault {
            exit: 1,
            message: format!("`{what}` names no claim, measurement or single result"),
            help: Some(format!("`gripbook show {} --full` lists them; other values are named by --field", record.id)),
        }),
        n => {
            let names: Vec<String> = (1..=n).map(|turn| format!("`{quantity} ({turn})`")).collect();
            Err(Fault::usage(format!("`{what}` names {n} of them")).help(format!("name one of {}", names.join(", "))))
        }
    }
}

/// Pointer and full address of the one claim, measurement or result that the part behind the colon names.
pub(super) fn one(book: &Book, record: &Record, tree: &Node, rest: &str) -> Result<(String, String), Fault> {
    let mut found = named(book, record, tree, rest)?;
    found.pop().map(|place| (place.base, place.said)).ok_or_else(|| Fault::usage(format!("`{rest}` names nothing")))
}

fn list<'t>(tree: &'t Node, pointer: &str) -> &'t [Node] {
    tree.at(pointer).and_then(Node::as_list).map_or(&[], |all| all)
}

fn text<'t>(node: &'t Node, key: &str) -> &'t str {
    node.get(key).and_then(Node::written).unwrap_or_default()
}

/// Indices of the measurements of a quantity, or of all. `pull_out_load (2)` is the second of its quantity.
fn indices(tree: &Node, quantity: Option<&str>) -> Vec<usize> {
    let all = list(tree, "/measurements");
    let word = |at: usize| text(&all[at], "quantity");
    let is_it = |at: &usize| {
        let turn = (0..=*at).filter(|earlier| word(*earlier) == word(*at)).count();
        quantity.is_none_or(|wanted| wanted == word(*at) || wanted == format!("{} ({turn})", word(*at)))
    };
    (0..all.len()).filter(is_it).collect()
}

fn place(record: &Record, tree: &Node, at: usize, result: Option<usize>) -> AmendedPlace {
    let part = record.series().map(|series| series.part(at, result)).unwrap_or_default();
    let word = list(tree, "/measurements").get(at).map(|m| text(m, "quantity").to_owned());
    let (base, sort) = match result {
        None => (format!("/measurements/{at}"), PlaceSort::Measurement),
        Some(nth) => (format!("/measurements/{at}/specimens/{nth}"), PlaceSort::Specimen),
    };
    AmendedPlace { base, said: format!("{}:{part}", record.id), sort, word }
}

fn measurements(record: &Record, tree: &Node, quantity: Option<&str>) -> Vec<AmendedPlace> {
    indices(tree, quantity).into_iter().map(|at| place(record, tree, at, None)).collect()
}

/// The single results of the measurements of a quantity, or of all.
fn specimens(record: &Record, tree: &Node, quantity: Option<&str>) -> Vec<AmendedPlace> {
    let results = |at: usize| (0..list(tree, &format!("/measurements/{at}/specimens")).len()).map(move |nth| (at, nth));
    let all = indices(tree, quantity).into_iter().flat_map(results);
    all.map(|(at, nth)| place(record, tree, at, Some(nth))).collect()
}

/// The fields meant where none is named.
fn usual(place: &AmendedPlace, node: &Node, change: &Amendment) -> Result<Vec<String>, Fault> {
    let there = |words: &[&str]| -> Vec<String> {
        words.iter().filter(|word| node.get(word).is_some()).map(|word| (*word).to_owned()).collect()
    };
    let all = match (&place.sort, change.is_of_all_numbers()) {
        (PlaceSort::Record, _) => {
            return Err(Fault::usage("which value of the record?").help("name it by --field, for example --field joint.hole"));
        }
        (PlaceSort::Specimen, _) => there(&["value"]),
        (PlaceSort::Claim, true) => {
            let samples = node.get("samples").and_then(Node::as_list).map_or(0, |all| all.len());
            there(&OF_CLAIM).into_iter().chain((0..samples).map(|at| format!("samples.{at}"))).collect()
        }
        (PlaceSort::Claim, false) => there(&["value"]),
        (PlaceSort::Measurement, true) => there(&OF_MEASUREMENT),
        (PlaceSort::Measurement, false) => there(&["mean"]),
    };
    if all.is_empty() {
        let fault = Fault::usage(format!(
            "{} states no {}",
            place.said,
            if place.sort == PlaceSort::Measurement { "mean" } else { "value" }
        ));
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
        if field == "value" && place.sort != PlaceSort::Record { place.said.clone() } else { format!("{} {field}", place.said) };
    let claim = (place.sort == PlaceSort::Claim).then(|| place.said.clone());
    Ok(Target { pointer: whole, holder, field: inside, said, claim, word: place.word.clone() })
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
