//! From a checked tree to a record.

use super::claim::{Basis, Claim, ClaimCondition, ConditionValue, Correction, Standing, Value};
use super::key::claim_key;
use super::kinds::Kinds;
use super::record::{Property, Record, RecordId};
use super::view::Fields;
use crate::check::catalogue::{Measures, PropertyCard};
use crate::finding::{Finding, Severity};
use crate::quantity::{Quantity, Written, parse};
use crate::read::located;
use crate::read::tree::{Entry, Node, Value as Tree};

/// Fields with a place of their own in [`Record`]; the others go to [`Record::rest`].
const OWN_FIELDS: [&str; 7] = ["name", "also", "family", "tags", "description", "note", "properties"];

/// Where a tree comes from.
pub struct TreeSource<'a> {
    /// Kind and name, from its place.
    pub id: RecordId,
    /// Place of its pack.
    pub pack: usize,
    /// Path as the user would name it.
    pub file: &'a str,
}

/// The record a tree states.
///
/// # Errors
/// `record-unreadable` when a claim does not say what the schema wants; `check` names such faults in detail.
pub fn record(tree: &Node, origin: TreeSource<'_>, kinds: &Kinds) -> Result<Record, Box<Finding>> {
    let text = |key: &str| tree.get(key).and_then(Node::written).map(Box::<str>::from);
    // A series says by its standing what others say by their status.
    let says = |key: &str| tree.get(key).and_then(Node::as_text) == Some("withdrawn");
    let withdrawn = says("status") || says("standing") || tree.get("withdrawn").is_some();
    let name = text("name").or_else(|| text("title")).or_else(|| place(&text)).unwrap_or_else(|| origin.id.name().into());
    Ok(Record {
        pack: origin.pack,
        file: origin.file.into(),
        name,
        also: texts(tree.get("also")),
        family: text("family").unwrap_or_default(),
        tags: texts(tree.get("tags")),
        description: text("description"),
        note: text("note"),
        current: !withdrawn,
        properties: properties(tree, &origin, kinds)?,
        rest: fields(tree, &origin)?,
        id: origin.id,
    })
}

fn properties(tree: &Node, origin: &TreeSource<'_>, kinds: &Kinds) -> Result<Vec<Property>, Box<Finding>> {
    let mut all = Vec::new();
    for entry in tree.get("properties").and_then(Node::as_map).into_iter().flatten() {
        let word = &*entry.key.text;
        let fault = |node: &Node, why: &str| {
            let message = format!("`{word}` cannot be read: {why}");
            let found = Finding::new("record-unreadable", Severity::Error, origin.file, message);
            Box::new(found.at(node.span).about(format!("{}:{word}", origin.id)))
        };
        let property = kinds
            .catalogue
            .property(origin.id.kind(), word)
            .ok_or_else(|| fault(&entry.node, "no such property of this kind"))?;
        let items = entry.node.as_list().ok_or_else(|| fault(&entry.node, "a list of claims is expected"))?;
        let claims: Result<Vec<Claim>, Box<Finding>> = items
            .iter()
            .map(|item| claim(item, property, kinds).ok_or_else(|| fault(item, "not a claim of this property")))
            .collect();
        all.push(Property { word: word.into(), claims: claims? });
    }
    Ok(all)
}

fn claim(node: &Node, property: &PropertyCard, kinds: &Kinds) -> Option<Claim> {
    let text = |key: &str| node.get(key).and_then(Node::written).map(Box::<str>::from);
    let spread = |key: &str| match (node.get(key), &property.measures) {
        (Some(n), Measures::Quantity(q)) => written(n, q.spread()).map(Some),
        (Some(_), _) => None,
        (None, _) => Some(None),
    };
    // The ends of a range stand in the value itself, unless a single value stands with them.
    let beside = |key: &str| match (node.get("value").and(node.get(key)), &property.measures) {
        (Some(n), Measures::Quantity(q)) => written(n, *q).map(Some),
        (Some(_), _) => None,
        (None, _) => Some(None),
    };
    let conditions = conditions(node.get("conditions"), kinds)?;
    let (source, locator, method) = (text("source"), text("locator"), text("method"));
    Some(Claim {
        key: claim_key(source.as_deref(), locator.as_deref(), method.as_deref(), &conditions),
        value: value(node, &property.measures)?,
        least: beside("low")?,
        most: beside("high")?,
        sd: spread("sd")?,
        se: spread("se")?,
        u: spread("u")?,
        n: node.get("n").and_then(Node::as_count).and_then(|n| u32::try_from(n).ok()),
        sd_kind: text("sd_kind"),
        spread_of: text("spread_of"),
        range: text("range"),
        source,
        locator,
        basis: Basis::from_word(node.get("basis")?.as_text()?)?,
        read: text("read"),
        standing: match node.get("standing").and_then(Node::as_text) {
            Some("disputed") => Standing::Disputed,
            Some("withdrawn") => Standing::Withdrawn,
            // What another claim replaces is held no longer.
            _ if node.get("replaced_by").is_some() => Standing::Withdrawn,
            _ => Standing::Good,
        },
        because: match (text("because"), text("replaced_by")) {
            (None, Some(by)) => Some(format!("replaced by {by}").into()),
            (because, _) => because,
        },
        method,
        conditions,
        bound: text("bound"),
        untraced: node.get("untraced").and_then(Node::as_bool).unwrap_or(false),
        as_printed: text("as_printed"),
        note: text("note"),
        from: texts(node.get("from")),
        was: corrections(node.get("was")),
        line: node.span.line,
    })
}

fn value(node: &Node, measures: &Measures) -> Option<Value> {
    let quantity = match measures {
        Measures::YesNo => return node.get("value")?.as_bool().map(Value::YesNo),
        Measures::Word(_) => return node.get("value")?.written().map(|w| Value::Word(w.into())),
        Measures::Quantity(q) => *q,
    };
    let end = |key: &str| match node.get(key) {
        Some(n) => written(n, quantity).map(Some),
        None => Some(None),
    };
    if let Some(one) = node.get("value") {
        return written(one, quantity).map(Value::One);
    }
    if let Some(samples) = node.get("samples") {
        let all: Option<Vec<Written>> = samples.as_list()?.iter().map(|n| written(n, quantity)).collect();
        return all.filter(|s| !s.is_empty()).map(Value::Samples);
    }
    match (end("low")?, end("high")?) {
        (None, None) => None,
        (low, high) => Some(Value::Between { low, high }),
    }
}

fn written(node: &Node, quantity: Quantity) -> Option<Written> {
    parse(node.written()?, quantity).ok()
}

fn conditions(node: Option<&Node>, kinds: &Kinds) -> Option<Vec<ClaimCondition>> {
    let mut all = Vec::new();
    if let Some(node) = node {
        flatten(node, "", kinds, &mut all)?;
    }
    Some(all)
}

/// Nested conditions get dotted names; a list of words becomes one text.
fn flatten(node: &Node, inside: &str, kinds: &Kinds, into: &mut Vec<ClaimCondition>) -> Option<()> {
    for entry in node.as_map()? {
        let name = if inside.is_empty() { entry.key.text.to_string() } else { format!("{inside}.{}", entry.key.text) };
        let value = match &entry.node.value {
            Tree::Map(_) => {
                flatten(&entry.node, &name, kinds, into)?;
                continue;
            }
            Tree::List(items) => {
                let words: Vec<&str> = items.iter().filter_map(Node::written).collect();
                ConditionValue::Text(words.join(", ").into())
            }
            Tree::Bool(yes) => ConditionValue::YesNo(*yes),
            _ => match kinds.condition(&name) {
                Some(quantity) => ConditionValue::Quantity(written(&entry.node, quantity)?),
                None => ConditionValue::Text(entry.node.written()?.into()),
            },
        };
        into.push(ClaimCondition { name: name.into(), value });
    }
    Some(())
}

fn corrections(node: Option<&Node>) -> Vec<Correction> {
    let items = node.and_then(Node::as_list).unwrap_or_default();
    let text = |n: &Node, key: &str| n.get(key).and_then(Node::written).unwrap_or_default().into();
    let one = |n: &Node| Correction {
        field: n.get("field").and_then(Node::written).map(Box::from),
        value: text(n, "value"),
        until: text(n, "until"),
        because: text(n, "because"),
    };
    items.iter().map(one).collect()
}

fn texts(node: Option<&Node>) -> Vec<Box<str>> {
    let items = node.and_then(Node::as_list).unwrap_or_default();
    items.iter().filter_map(Node::written).map(Box::from).collect()
}

/// Where a publication stands, for one whose title was not seen: `Foods 10, 611`; else its identifier.
fn place(text: &dyn Fn(&str) -> Option<Box<str>>) -> Option<Box<str>> {
    let numbers = [text("volume"), text("page").or_else(|| text("number"))];
    let numbers: Vec<Box<str>> = numbers.into_iter().flatten().collect();
    let stands = text("container-title").filter(|_| !numbers.is_empty()).map(|c| format!("{c} {}", numbers.join(", ")).into());
    stands.or_else(|| ["DOI", "ISBN", "PMCID", "container-title", "number", "URL"].into_iter().find_map(text))
}

fn fields(tree: &Node, origin: &TreeSource<'_>) -> Result<Fields, Box<Finding>> {
    // A list of properties names some (a search does); claims stand in a map.
    let own = |e: &&Entry| OWN_FIELDS.contains(&&*e.key.text) && !(&*e.key.text == "properties" && e.node.as_list().is_some());
    let entries = tree.as_map().into_iter().flatten().filter(|e| !own(e));
    let json = serde_json::Value::Object(entries.map(|e| (e.key.text.to_string(), json(&e.node))).collect());
    Fields::of(origin.id.kind(), tree, json).map_err(|unfit| {
        let message = format!("a field cannot be read: {unfit}");
        let found = Finding::new("record-unreadable", Severity::Error, origin.file, message);
        Box::new(found.at(unfit.span.unwrap_or(tree.span)).about(origin.id.as_str()))
    })
}

/// The JSON value of a tree. Numbers that fit no JSON number, or would lose digits, stay text.
pub fn json(node: &Node) -> serde_json::Value {
    // Any tree is a JSON value.
    located::decode(node).unwrap_or_default()
}
