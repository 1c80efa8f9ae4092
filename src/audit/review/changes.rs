//! Which claims, results, rules, sources and other values were added, changed or removed.

use crate::book::view::Fields;
use crate::book::{Claim, Record};
use crate::quantity::{self, Written};
use serde_json::Value as Json;
use std::collections::{BTreeMap, BTreeSet};

/// Whether something came, changed or went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChangeSort {
    /// It is in both books, and says something else.
    Changed,
    /// It came.
    Added,
    /// It went.
    Removed,
}

impl ChangeSort {
    /// The word of it.
    pub fn word(self) -> &'static str {
        match self {
            ChangeSort::Changed => "changed",
            ChangeSort::Added => "added",
            ChangeSort::Removed => "removed",
        }
    }
}

/// A field before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangedField {
    /// Its name: `value`, `conditions.temperature`, `joint.hole`.
    pub name: String,
    /// Before.
    pub old: Option<String>,
    /// After.
    pub new: Option<String>,
}

/// A claim, measurement, single result or record that differs.
#[derive(Debug, Clone, PartialEq)]
pub struct ReviewedChange {
    /// What became of it.
    pub sort: ChangeSort,
    /// claim, result, measurement, or the kind of the record.
    pub what: &'static str,
    /// Its address after the change, or the one it had.
    pub address: String,
    /// The record.
    pub record: String,
    /// The property or quantity, of a claim or measurement.
    pub word: Option<String>,
    /// The value before.
    pub old: Option<Stated>,
    /// The value after.
    pub new: Option<Stated>,
    /// Every field that differs, the value left out.
    pub fields: Vec<ChangedField>,
}

/// A value as written and in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated {
    /// As written.
    pub text: String,
    /// Its middle in SI, when it is a quantity.
    pub si: Option<f64>,
    /// One written number of it.
    pub written: Option<Written>,
}

impl ReviewedChange {
    /// What a reader has to notice of the value: how much it moved, digits, unit.
    pub fn marks(&self) -> Vec<String> {
        let mut marks = Vec::new();
        let (Some(old), Some(new)) = (&self.old, &self.new) else { return marks };
        if let (Some(a), Some(b)) = (old.si, new.si) {
            let share = b / a - 1.0;
            let is_scale = old.written.as_ref().is_some_and(|w| w.unit.symbol().starts_with('°'));
            if is_scale && a != b {
                marks.push(format!("{:+.1} K", b - a));
            } else if a != 0.0 && share.abs() > 1e-9 {
                marks.push(if share.abs() < 1.0 { format!("{:+.1} %", share * 100.0) } else { format!("{:.3} times", b / a) });
            } else if old.text != new.text {
                marks.push("the same amount".into());
            }
        }
        if let (Some(a), Some(b)) = (&old.written, &new.written) {
            if a.unit.symbol() != b.unit.symbol() {
                marks.push(format!("unit {} → {}", a.unit.symbol(), b.unit.symbol()));
            }
            let digits = (significant(&a.text), significant(&b.text));
            if digits.0 != digits.1 {
                marks.push(format!("{} → {} digits", digits.0, digits.1));
            }
        }
        marks
    }
}

/// Significant digits of the number at the beginning of a text.
fn significant(text: &str) -> usize {
    let number = text.split(' ').next().unwrap_or(text);
    let mantissa = number.split(['e', 'E']).next().unwrap_or(number);
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    digits.trim_start_matches('0').len()
}

/// How a record differs from what it was.
pub fn changes(old: Option<&Record>, new: Option<&Record>) -> Vec<ReviewedChange> {
    let Some(record) = new.or(old) else { return Vec::new() };
    let mut all = Vec::new();
    top(old, new, record, &mut all);
    let words: BTreeSet<&str> = [old, new].into_iter().flatten().flat_map(|r| r.properties.iter().map(|p| &*p.word)).collect();
    for word in words {
        let claims = |r: Option<&'_ Record>| r.map_or_else(Vec::new, |r| r.claims(word).to_vec());
        of_property(record, word, &claims(old), &claims(new), (old, new), &mut all);
    }
    measurements(old, new, record, &mut all);
    all
}

/// Everything of a record besides claims and measurements, as one change.
fn top(old: Option<&Record>, new: Option<&Record>, record: &Record, into: &mut Vec<ReviewedChange>) {
    let flat = |r: Option<&Record>| {
        let mut all = BTreeMap::new();
        let Some(r) = r else { return all };
        flatten(&without_measurements(&r.rest), "", &mut all);
        all.insert("name".into(), r.name.to_string());
        for (name, text) in [("family", Some(&r.family)), ("description", r.description.as_ref()), ("note", r.note.as_ref())] {
            text.filter(|t| !t.is_empty()).into_iter().for_each(|t| drop(all.insert(name.into(), t.to_string())));
        }
        for (name, list) in [("also", &r.also), ("tags", &r.tags)] {
            if !list.is_empty() {
                all.insert(name.into(), list.join(", "));
            }
        }
        all
    };
    let fields = differing(&flat(old), &flat(new));
    let sort = sort(old.is_some(), new.is_some());
    if sort == ChangeSort::Changed && fields.is_empty() {
        return;
    }
    let what = match record.id.kind() {
        "source" => "source",
        "rule" => "rule",
        "series" => "series",
        _ => "record",
    };
    let (id, said) = (record.id.to_string(), |r: &Record| Stated { text: r.name.to_string(), si: None, written: None });
    let (old, new) = if sort == ChangeSort::Changed { (None, None) } else { (old.map(said), new.map(said)) };
    let fields = if sort == ChangeSort::Changed { fields } else { Vec::new() };
    into.push(ReviewedChange { sort, what, address: id.clone(), record: id, word: None, old, new, fields });
}

fn sort(before: bool, after: bool) -> ChangeSort {
    match (before, after) {
        (true, false) => ChangeSort::Removed,
        (false, true) => ChangeSort::Added,
        _ => ChangeSort::Changed,
    }
}

fn without_measurements(rest: &Fields) -> Json {
    let mut rest = rest.json().clone();
    if let Some(fields) = rest.as_object_mut() {
        fields.remove("measurements");
        // The history is what the change itself shows.
        fields.remove("was");
    }
    rest
}

fn flatten(value: &Json, at: &str, into: &mut BTreeMap<String, String>) {
    let inner = |key: &str| if at.is_empty() { key.to_owned() } else { format!("{at}.{key}") };
    match value {
        Json::Object(fields) => fields.iter().filter(|(k, _)| *k != "was").for_each(|(k, v)| flatten(v, &inner(k), into)),
        Json::Array(items) => items.iter().enumerate().for_each(|(n, v)| flatten(v, &inner(&n.to_string()), into)),
        Json::String(text) => drop(into.insert(at.to_owned(), text.clone())),
        Json::Null => {}
        other => drop(into.insert(at.to_owned(), other.to_string())),
    }
}

fn differing(old: &BTreeMap<String, String>, new: &BTreeMap<String, String>) -> Vec<ChangedField> {
    let names: BTreeSet<&String> = old.keys().chain(new.keys()).collect();
    let field = |name: &String| ChangedField { name: name.clone(), old: old.get(name).cloned(), new: new.get(name).cloned() };
    names.into_iter().filter(|name| old.get(*name) != new.get(*name)).map(field).collect()
}

/// The claims of one property: those with one key are one claim; of the others, those of one source in their order.
fn of_property(
    record: &Record,
    word: &str,
    old: &[Claim],
    new: &[Claim],
    records: (Option<&Record>, Option<&Record>),
    into: &mut Vec<ReviewedChange>,
) {
    let mut left: Vec<&Claim> = old.iter().collect();
    let mut pairs: Vec<(Option<&Claim>, Option<&Claim>)> = Vec::new();
    let take = |left: &[&Claim], fits: &dyn Fn(&Claim) -> bool| left.iter().position(|c| fits(c));
    let mut unpaired = Vec::new();
    for claim in new {
        match take(&left, &|c| c.key == claim.key) {
            Some(at) => pairs.push((Some(left.remove(at)), Some(claim))),
            None => unpaired.push(claim),
        }
    }
    for claim in unpaired {
        let of_source = take(&left, &|c| c.source == claim.source && c.basis == claim.basis);
        let same_value = take(&left, &|c| c.value.text() == claim.value.text());
        pairs.push((of_source.or(same_value).map(|at| left.remove(at)), Some(claim)));
    }
    pairs.extend(left.into_iter().map(|claim| (Some(claim), None)));
    for (a, b) in pairs {
        let fields = differing(&a.map(of_claim).unwrap_or_default(), &b.map(of_claim).unwrap_or_default());
        let (old, new) = (a.map(stated), b.map(stated));
        if a.is_some() && b.is_some() && fields.is_empty() && old == new {
            continue;
        }
        let address = match (b.zip(records.1), a.zip(records.0)) {
            (Some((claim, of)), _) | (None, Some((claim, of))) => of.address(word, claim),
            (None, None) => continue,
        };
        let sort = sort(a.is_some(), b.is_some());
        into.push(ReviewedChange {
            sort,
            what: "claim",
            address,
            record: record.id.to_string(),
            word: Some(word.to_owned()),
            old,
            new,
            fields,
        });
    }
}

fn stated(claim: &Claim) -> Stated {
    Stated { text: claim.value.text(), si: claim.value.middle_si(), written: claim.value.ends().map(|(low, _)| low.clone()) }
}

/// The fields of a claim but its value.
fn of_claim(claim: &Claim) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    let mut put = |name: &str, text: Option<String>| text.into_iter().for_each(|t| drop(all.insert(name.to_owned(), t)));
    let written = |w: &Option<Written>| w.as_ref().map(|w| w.text.to_string());
    let text = |t: &Option<Box<str>>| t.as_ref().map(ToString::to_string);
    for (name, w) in [("low", &claim.least), ("high", &claim.most), ("sd", &claim.sd), ("se", &claim.se), ("u", &claim.u)] {
        put(name, written(w));
    }
    let texts = [
        ("sd_kind", &claim.sd_kind),
        ("spread_of", &claim.spread_of),
        ("range", &claim.range),
        ("source", &claim.source),
        ("locator", &claim.locator),
        ("read", &claim.read),
        ("because", &claim.because),
        ("method", &claim.method),
        ("bound", &claim.bound),
        ("as_printed", &claim.as_printed),
        ("note", &claim.note),
    ];
    texts.into_iter().for_each(|(name, t)| put(name, text(t)));
    put("n", claim.n.map(|n| n.to_string()));
    put("basis", Some(claim.basis.word().to_owned()));
    let standing = serde_json::to_value(claim.standing).ok().and_then(|s| s.as_str().map(str::to_owned));
    put("standing", standing.filter(|s| s != "good"));
    put("from", (!claim.from.is_empty()).then(|| claim.from.join(", ")));
    put("untraced", claim.untraced.then(|| "true".to_owned()));
    claim.conditions.iter().for_each(|c| put(&format!("conditions.{}", c.name), Some(c.value.text())));
    all
}

/// The measurements of a series by quantity, and their single results by label.
fn measurements(old: Option<&Record>, new: Option<&Record>, record: &Record, into: &mut Vec<ReviewedChange>) {
    let of = |r: Option<&Record>| -> BTreeMap<String, Json> {
        let all = r.and_then(|r| r.rest.measurements()).into_iter().flatten();
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let mut named = BTreeMap::new();
        for m in all {
            let word = m["quantity"].as_str().unwrap_or_default().to_owned();
            let n = seen.entry(word.clone()).and_modify(|n| *n += 1).or_insert(1);
            let name = if *n == 1 { word } else { format!("{word} ({n})") };
            named.insert(name, m.clone());
        }
        named
    };
    let (before, after) = (of(old), of(new));
    let names: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    for name in names {
        measurement(record, name, before.get(name), after.get(name), into);
    }
}

fn measurement(record: &Record, name: &str, old: Option<&Json>, new: Option<&Json>, into: &mut Vec<ReviewedChange>) {
    let word = name.split(' ').next().unwrap_or(name).to_owned();
    let flat = |m: Option<&Json>| {
        let mut all = BTreeMap::new();
        if let Some(Json::Object(fields)) = m {
            let fields = fields.iter().filter(|(k, _)| !matches!(k.as_str(), "specimens" | "was" | "mean" | "quantity"));
            fields.for_each(|(key, inner)| flatten(inner, key, &mut all));
        }
        all
    };
    let results = |m: Option<&Json>| -> BTreeMap<String, Json> {
        let all = m.and_then(|m| m["specimens"].as_array()).into_iter().flatten().enumerate();
        all.map(|(n, s)| (s["label"].as_str().map_or_else(|| (n + 1).to_string(), str::to_owned), s.clone())).collect()
    };
    let mean = |m: Option<&Json>| m.and_then(|m| amount(&m["mean"]).or_else(|| amount(&m["low"])));
    let (before, after) = (results(old), results(new));
    let change = |sort, what, address: String, old, new, fields| ReviewedChange {
        sort,
        what,
        address,
        record: record.id.to_string(),
        word: Some(word.clone()),
        old,
        new,
        fields,
    };
    let address = format!("{}:{name}", record.id);
    let sort = sort(old.is_some(), new.is_some());
    let fields = differing(&flat(old), &flat(new));
    let (then, now) = (mean(old), mean(new));
    if sort != ChangeSort::Changed {
        let count = |all: &BTreeMap<String, Json>| {
            let mut values: Vec<Stated> = all.values().filter_map(|s| amount(&s["value"])).collect();
            values.sort_by(|a, b| a.si.unwrap_or(0.0).total_cmp(&b.si.unwrap_or(0.0)));
            let range = match (values.first(), values.last()) {
                (Some(low), Some(high)) if values.len() > 1 => format!(", {} to {}", low.text, high.text),
                (Some(one), _) => format!(", {}", one.text),
                _ => String::new(),
            };
            let text = format!("{} results{range}", all.len());
            (!all.is_empty()).then_some(Stated { text, si: None, written: None })
        };
        into.push(change(sort, "measurement", address, then.or_else(|| count(&before)), now.or_else(|| count(&after)), fields));
        return;
    }
    if !fields.is_empty() || then != now {
        into.push(change(sort, "measurement", address.clone(), then, now, fields));
    }
    let labels: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    for label in labels {
        let (a, b) = (before.get(label), after.get(label));
        let flat = |s: Option<&Json>| {
            let mut all = BTreeMap::new();
            if let Some(Json::Object(fields)) = s {
                let fields = fields.iter().filter(|(k, _)| !matches!(k.as_str(), "value" | "was" | "label"));
                fields.for_each(|(key, inner)| flatten(inner, key, &mut all));
            }
            all
        };
        let fields = differing(&flat(a), &flat(b));
        let (old, new) = (a.and_then(|s| amount(&s["value"])), b.and_then(|s| amount(&s["value"])));
        if old != new || !fields.is_empty() {
            into.push(change(self::sort(a.is_some(), b.is_some()), "result", format!("{address}#{label}"), old, new, fields));
        }
    }
}

fn amount(json: &Json) -> Option<Stated> {
    let text = match json {
        Json::String(text) => text.clone(),
        Json::Number(number) => number.to_string(),
        _ => return None,
    };
    let written = quantity::parse_any(&text).into_iter().next();
    Some(Stated { si: written.as_ref().map(|w| w.si), written, text })
}
