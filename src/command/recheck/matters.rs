//! The numbers and words of an answer that somebody acts on, each with a name that stays the same from run to run.

use gripbook::quantity;
use serde_json::Value;
use std::collections::BTreeMap;

/// A field that is acted on, and how it is called; of an object, the field inside it that says so.
struct Acted {
    key: &'static str,
    inside: &'static str,
    called: &'static str,
}

const fn acted(key: &'static str, inside: &'static str, called: &'static str) -> Acted {
    Acted { key, inside, called }
}

/// In the order they are told.
const ACTED: [Acted; 17] = [
    acted("verdict", "", "verdict"),
    acted("best", "method", "best"),
    acted("design_load", "", "design load"),
    acted("load", "lower_bound", "lower bound"),
    acted("survival", "share", "share that holds"),
    acted("held", "load", "held load"),
    acted("torque", "tighten", "tighten with"),
    acted("geometry", "finished", "finished hole"),
    acted("geometry", "drawn", "drawn hole"),
    acted("n", "", "n"),
    acted("mean", "", "mean"),
    acted("sd", "", "standard deviation"),
    acted("bounds", "", "bound"),
    acted("ratio", "value", "ratio"),
    acted("difference", "value", "difference"),
    acted("per_group", "", "specimens per group"),
    acted("value", "", "value"),
];

/// Fields that say which of several things an object is.
const NAMES: [&str; 9] = ["method", "insert", "adhesive", "material", "id", "quantity", "group", "address", "claim"];

/// Every number and verdict that is acted on, by its name; the order is that of the names.
pub(super) fn matters(sheet: &Value) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    walk(sheet, "", &mut all);
    all
}

fn walk(value: &Value, label: &str, into: &mut BTreeMap<String, String>) {
    match value {
        // What is said of each quantity is said of the first one again at the top.
        Value::Object(fields) if fields.get("quantities").and_then(Value::as_array).is_some_and(|all| !all.is_empty()) => {
            walk(&fields["quantities"], label, into);
        }
        Value::Object(fields) => {
            // A bound is its value; how many results it rests on is said with the mean.
            let is_bound = fields.contains_key("value") && !label.is_empty();
            for acted in ACTED.iter().filter(|acted| !(is_bound && acted.key == "n")) {
                let Some(found) = fields.get(acted.key) else { continue };
                let found = if acted.inside.is_empty() { found } else { &found[acted.inside] };
                if let Some(text) = told(found) {
                    let name = match acted.key {
                        _ if label.is_empty() => acted.called.to_owned(),
                        "value" => label.to_owned(),
                        _ => format!("{label}: {}", acted.called),
                    };
                    into.entry(name).or_insert(text);
                }
            }
            // What an answer was asked, how it was measured and what it might have been is not what it says.
            let skipped = |key: &str| {
                matches!(
                    key,
                    "ask"
                        | "limit_states"
                        | "assumptions"
                        | "evidence"
                        | "lost"
                        | "trace"
                        | "outlier"
                        | "groups"
                        | "used"
                        | "claims"
                        | "values"
                        | "sources"
                        | "calibration"
                )
            };
            for (key, inner) in fields.iter().filter(|(key, _)| !skipped(key) || (*key == "groups" && inner_has_means(fields))) {
                if matches!(inner, Value::Array(_) | Value::Object(_)) && !ACTED.iter().any(|a| a.key == key && key != "bounds") {
                    walk(inner, label, into);
                }
            }
        }
        Value::Array(items) => {
            for item in items {
                let name = name(item);
                let label = match (label, &*name) {
                    (_, "") => continue,
                    ("", own) => own.to_owned(),
                    (outer, own) => format!("{outer}, {own}"),
                };
                walk(item, &label, into);
            }
        }
        _ => {}
    }
}

/// Groups of a comparison are told, those of a spread are not.
fn inner_has_means(fields: &serde_json::Map<String, Value>) -> bool {
    fields.get("groups").is_some_and(|g| g[0].get("mean").is_some())
}

/// What an item of a list is called.
fn name(item: &Value) -> String {
    let parts = NAMES.iter().filter_map(|key| item.get(key).and_then(Value::as_str));
    let mut parts: Vec<&str> = parts.map(|text| text.split_once('/').map_or(text, |(_, name)| name)).collect();
    parts.dedup();
    let own = || ["title", "name"].iter().find_map(|key| item.get(key).and_then(Value::as_str)).unwrap_or_default();
    if parts.is_empty() { own().to_owned() } else { parts.join(" ") }
}

/// A number, amount or single word as text; `None` for anything longer.
fn told(value: &Value) -> Option<String> {
    match value {
        Value::Number(n) => n.as_f64().map(|n| short(n, "")),
        Value::String(text) if text.split_whitespace().count() <= 3 || !quantity::parse_any(text).is_empty() => {
            Some(text.clone())
        }
        Value::Object(fields) => {
            if let Some(written) = fields.get("written").and_then(Value::as_str) {
                return Some(written.to_owned());
            }
            let unit = fields.get("unit").and_then(Value::as_str);
            if let (Some(n), Some(unit)) = (fields.get("value").and_then(Value::as_f64), unit) {
                return Some(short(n, unit));
            }
            // A size with its limits, a diameter with its offset.
            fields.get("nominal").or_else(|| fields.get("diameter")).and_then(told)
        }
        _ => None,
    }
}

/// Four digits tell a change well enough.
fn short(n: f64, unit: &str) -> String {
    let places = if n == 0.0 { 0 } else { (3 - libm::floor(libm::log10(n.abs())) as i32).clamp(0, 12) as usize };
    let text = format!("{n:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    format!("{text} {unit}").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_acted_on_has_a_name_and_no_paragraph_is_among_it() {
        let sheet = json!({
            "verdict": "suits-with-care",
            "ask": {"length": {"value": 6.0, "unit": "mm", "si": 0.006}},
            "candidates": [{
                "method": "cut-thread", "insert": null, "adhesive": null, "verdict": "suits", "because": "a long reason why it is so",
                "design_load": {"value": 540.0, "unit": "N", "si": 540.0, "text": "540 N, a paragraph"},
                "load": {"lower_bound": {"value": 548.123, "unit": "N", "si": 548.123}},
                "geometry": {"finished": {"nominal": {"value": 2.6, "unit": "mm", "si": 0.0026}}},
            }],
            "bounds": [{"title": "characteristic value", "value": {"value": 1191.57, "unit": "N", "si": 1191.57}}],
        });
        let all = matters(&sheet);
        let pairs: Vec<(&str, &str)> = all.iter().map(|(k, v)| (&**k, &**v)).collect();
        let want = [
            ("characteristic value", "1192 N"),
            ("cut-thread: design load", "540 N"),
            ("cut-thread: finished hole", "2.6 mm"),
            ("cut-thread: lower bound", "548.1 N"),
            ("cut-thread: verdict", "suits"),
            ("verdict", "suits-with-care"),
        ];
        assert_eq!(pairs, want);
    }
}
