//! The way down from a saved sheet: the loads of a fasten sheet with their formulas, draws and assumptions, what rules said in
//! a suits sheet, the measured values of a series sheet; then the claims and sources of them all.

use super::{ASSUMPTION, TraceStep, claim, series};
use crate::command::trace::sheet;
use gripbook::audit::address;
use gripbook::book::Book;
use gripbook::joint::mode::Mode;
use gripbook::quantity::print;
use gripbook::suit::Verdict;
use serde_json::{Value, json};

/// The steps of a sheet.
pub(super) fn steps(book: &Book, sheet: &Value, steps: &mut Vec<TraceStep>) {
    recommendation(sheet, steps);
    // An answer of `fasten --trace` holds its tree.
    if let Some(tree) = sheet["trace"].as_array() {
        steps.extend(tree.iter().filter_map(stored));
        return;
    }
    let candidates: Vec<&Value> = sheet["candidates"].as_array().into_iter().flatten().collect();
    let (first, others): (Vec<&Value>, Vec<&Value>) = candidates.into_iter().partition(|c| recommended(sheet, c));
    for candidate in first.into_iter().chain(others) {
        loads(book, sheet, candidate, steps);
    }
    for rule in sheet["rules"].as_array().into_iter().flatten() {
        let (name, outcome) = (rule["name"].as_str(), rule["outcome"].as_str());
        let told = match outcome {
            Some("stands") => "applies",
            Some("lifted") => "met by a preparation step",
            Some("unknown") => "not evaluated (value missing)",
            _ => continue,
        };
        if let Some(name) = name {
            let text = format!("rule {name}: {told}");
            steps.push(TraceStep { depth: 0, text, json: json!({"rule": rule["id"], "outcome": outcome}) });
        }
    }
    let told: Vec<String> = steps.iter().filter_map(|s| s.json["claim"].as_str().map(str::to_owned)).collect();
    for one in sheet::used(sheet).into_iter().filter(|u| !told.contains(&u.address)) {
        whole(book, &one.address, 0, steps);
    }
}

/// Whether a candidate is the one the sheet is about.
fn recommended(sheet: &Value, candidate: &Value) -> bool {
    ["method", "insert", "adhesive"].iter().all(|field| candidate[*field] == sheet["best"][*field])
}

/// What the sheet itself says first: its verdict, of which way, with which load, why.
fn recommendation(sheet: &Value, steps: &mut Vec<TraceStep>) {
    let Some(word) = sheet["verdict"].as_str() else { return };
    let best = sheet["candidates"].as_array().into_iter().flatten().find(|c| recommended(sheet, c));
    let title = best.and_then(|c| c["title"].as_str()).map(|t| format!(", {t}")).unwrap_or_default();
    let load = best.and_then(|c| c["design_load"]["text"].as_str()).map(|t| format!(", design load {t}")).unwrap_or_default();
    let facts = json!({"verdict": word, "best": sheet["best"], "design_load": best.map(|c| &c["design_load"])});
    steps.push(TraceStep { depth: 0, text: format!("the sheet says: {}{title}{load}", verdict(word)), json: facts });
    for why in best.and_then(|c| c["because"].as_array()).into_iter().flatten().filter_map(Value::as_str) {
        steps.push(TraceStep { depth: 1, text: why.to_owned(), json: json!({"because": why}) });
    }
}

/// The words of a verdict that a sheet holds as its word.
fn verdict(word: &str) -> &str {
    Verdict::of_word(word).map_or(word, |verdict| verdict.text())
}

fn stored(step: &Value) -> Option<TraceStep> {
    let depth = usize::try_from(step["depth"].as_u64()?).ok()?;
    Some(TraceStep { depth, text: step["text"].as_str()?.to_owned(), json: step["facts"].clone() })
}

/// A candidate of a fasten sheet: its load, what breaks by which formula, assumptions, claims.
fn loads(book: &Book, sheet: &Value, candidate: &Value, steps: &mut Vec<TraceStep>) {
    let mut say = |depth: usize, text: String, json: Value| steps.push(TraceStep { depth, text, json });
    let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
    let load = &candidate["load"];
    let middle = amount(&load["median"]);
    let band = amount(&load["low"]).zip(amount(&load["high"])).map(|(l, h)| format!(", 90 % from {l} to {h}"));
    let load_text = middle.map_or_else(|| "no load".to_owned(), |m| format!("median {m}{}", band.unwrap_or_default()));
    let title = text(&candidate["title"]);
    say(
        0,
        format!("{title} ({}): {load_text}", verdict(&text(&candidate["verdict"]))),
        json!({"method": candidate["method"], "load": load}),
    );
    if let (Some(draws), Some(seed)) = (sheet["ask"]["draws"].as_u64(), sheet["ask"]["seed"].as_u64()) {
        say(1, format!("{draws} draws with seed {seed}"), json!({"draws": draws, "seed": seed}));
    }
    for state in candidate["limit_states"].as_array().into_iter().flatten() {
        let share = state["share"].as_f64().map_or(String::new(), |s| format!(": governs {:.0} % of draws", s * 100.0));
        let median = amount(&state["median"]).map(|m| format!(", median {m}")).unwrap_or_default();
        let mode = text(&state["mode"]);
        let mode = Mode::from_word(&mode).map_or(&*mode, |known| known.text());
        say(1, format!("{mode}{share}{median}; {}", text(&state["formula"])), state.clone());
    }
    for one in candidate["assumptions"].as_array().into_iter().flatten() {
        say(1, format!("{ASSUMPTION}{} = {} ({})", text(&one["name"]), text(&one["value"]), text(&one["kind"])), one.clone());
    }
    let mine = |mode: &str| candidate["limit_states"].as_array().into_iter().flatten().any(|s| s["mode"] == mode);
    for used in sheet["calibration"]["used"].as_array().into_iter().flatten() {
        let modes = used["modes"].as_array().into_iter().flatten().filter_map(Value::as_str);
        let modes = modes.filter(|m| mine(m)).map(|m| Mode::from_word(m).map_or(m, |known| known.text()));
        let modes: Vec<&str> = modes.collect();
        if !modes.is_empty() {
            let specimens = if used["n"] == 1 { "1 specimen".to_owned() } else { format!("{} specimens", used["n"]) };
            let what = format!("model error of {} from {} ({specimens})", modes.join(", "), text(&used["series"]));
            say(1, what, json!({"series": used["series"], "n": used["n"]}));
        }
    }
    for used in candidate["claims"].as_array().into_iter().flatten() {
        if let Some(address) = used["claim"].as_str() {
            whole(book, address, 1, steps);
        }
    }
}

fn amount(value: &Value) -> Option<String> {
    // Three significant digits are enough for a way to follow.
    Some(print::amount(value["value"].as_f64()?, value["unit"].as_str()?, 3))
}

/// A claim, a series, or a word that it is gone. What was told above is named only.
fn whole(book: &Book, address: &str, depth: usize, steps: &mut Vec<TraceStep>) {
    if steps.iter().any(|s| s.json["claim"] == address) {
        steps.push(TraceStep { depth, text: format!("{address}, as above"), json: json!({"claim": address}) });
        return;
    }
    let found = address::resolve(book, address);
    let quantities: Vec<String> = match book.record(address) {
        Some(record) => {
            let all = record.series().into_iter().flat_map(|s| &s.measurements);
            all.map(|m| format!("{address}:{}", m.quantity)).collect()
        }
        None => vec![address.to_owned()],
    };
    let before = steps.len();
    let measured = if found.is_empty() { quantities.iter().filter(|q| series(book, q, steps)).count() } else { 0 };
    if found.is_empty() && measured == 0 {
        let text = format!("{address}: no such claim in the loaded packs");
        steps.push(TraceStep { depth, text, json: json!({"claim": address, "found": false}) });
        return;
    }
    steps[before..].iter_mut().for_each(|s| s.depth += depth);
    for named in found {
        claim(book, named, depth, &mut Vec::new(), steps);
    }
    // The step names its address, so that no claim is told twice.
    if let Some(first) = steps.get_mut(before)
        && let Value::Object(fields) = &mut first.json
    {
        fields.insert("claim".into(), json!(address));
    }
}
