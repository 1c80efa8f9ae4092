//! `--trace`: from the load of the best joint down to limit states, formulas, inputs, claims, sources and assumptions.

use super::words::{load, percent};
use crate::command::trace::{TraceStep, claim};
use gripbook::audit::address;
use gripbook::book::Book;
use gripbook::joint::evaluate::{Capacity, Quantiles};
use gripbook::joint::judge::{Candidate, Judgement};
use gripbook::joint::mode::Mode;
use gripbook::joint::model::{InputOrigin, ModelInput};
use gripbook::joint::need::Need;
use gripbook::joint::trace::{self, InputTrace, Read};
use gripbook::present::Page;
use gripbook::quantity::{Amount, Quantity};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The tree of one candidate.
pub struct Tree {
    steps: Vec<TraceStep>,
}

/// What is said once, and the steps so far.
struct Walk<'a, 'n> {
    book: &'a Book,
    judgement: &'a Judgement<'n>,
    /// Word of the method.
    method: String,
    said: BTreeSet<String>,
    steps: Vec<TraceStep>,
}

impl Tree {
    /// The tree of a candidate; without a load, of what it lacks.
    pub fn of(book: &Book, judgement: &Judgement<'_>, candidate: &Candidate<'_>) -> Tree {
        let mut walk =
            Walk { book, judgement, method: candidate.method.name.to_owned(), said: BTreeSet::new(), steps: Vec::new() };
        match (&candidate.capacity, &candidate.model) {
            (Some(capacity), Some(sealed)) if !judgement.no_promise => {
                let trace = trace::of(sealed, judgement.need.seed);
                walk.capacity(candidate, capacity, &trace);
            }
            _ => {
                walk.say(
                    0,
                    format!("{}: no load", candidate.title()),
                    json!({"kind": "capacity", "method": candidate.method.name}),
                );
                for lack in &candidate.missing {
                    walk.say(1, format!("missing {}: {}", lack.what, lack.settle), json!({"kind": "missing", "what": lack.what}));
                }
            }
        }
        Tree { steps: walk.steps }
    }
    /// The tree for people.
    pub fn onto(&self, page: &mut Page) {
        page.heading("Where the load comes from");
        for step in &self.steps {
            page.subitem(step.depth, step.text.clone());
        }
    }
    /// The tree for programs.
    pub fn json(&self) -> Value {
        self.steps.iter().map(|s| json!({"depth": s.depth, "text": s.text, "facts": s.json})).collect()
    }
}

impl Walk<'_, '_> {
    fn say(&mut self, depth: usize, text: String, json: Value) {
        self.steps.push(TraceStep { depth, text, json });
    }
    fn need(&self) -> &Need<'_> {
        self.judgement.need
    }
    fn capacity(&mut self, candidate: &Candidate<'_>, capacity: &Capacity, trace: &InputTrace) {
        let Some(model) = candidate.model.as_ref().map(|s| &s.model) else { return };
        let (draws, seed) = (self.need().draws, self.need().seed);
        let band = capacity.load;
        let text = format!(
            "{}: median {}, 90 % between {} and {}: the weakest limit state in each of {draws} draws, seed {seed}",
            candidate.title(),
            load(band.median),
            load(band.low),
            load(band.high)
        );
        let facts = json!({"kind": "capacity", "method": candidate.method.name, "low_n": band.low, "median_n": band.median,
            "high_n": band.high, "draws": draws, "seed": seed});
        self.say(0, text, facts);
        self.spread(&trace.capacity, &model.inputs);
        let mut drawn: BTreeSet<&'static str> = BTreeSet::new();
        for (state, reads) in capacity.states.iter().zip(&trace.states) {
            let text = format!(
                "{}: governs {} of draws, median {}; {}",
                state.mode.text(),
                percent(state.share),
                load(state.load().median),
                state.formula
            );
            let facts = json!({"kind": "limit-state", "mode": state.mode, "formula": state.formula, "share": state.share});
            self.say(1, text, facts);
            for read in reads {
                let input = &model.inputs[read.input];
                self.input(input, *read, trace.bands[read.input]);
                drawn.extend(assumed(&input.origin));
            }
        }
        let set: Vec<&'static str> = model.assumptions.iter().copied().filter(|n| !drawn.contains(n)).collect();
        if !set.is_empty() {
            self.say(1, "assumptions that are set, not drawn".into(), json!({"kind": "assumptions"}));
            for name in set {
                self.assumption(2, name);
            }
        }
    }
    /// Which inputs bring most of the spread of the load.
    fn spread(&mut self, reads: &[Read], inputs: &[ModelInput]) {
        let most: Vec<&Read> = reads.iter().filter(|r| r.share >= 0.01).take(5).collect();
        let words: Vec<String> = most.iter().map(|r| format!("{} {}", inputs[r.input].name, percent(r.share))).collect();
        let list: Vec<Value> = most.iter().map(|r| json!({"input": inputs[r.input].name, "share": r.share})).collect();
        self.say(1, format!("most of its spread comes from: {}", words.join(", ")), json!({"kind": "spread", "inputs": list}));
    }
    fn input(&mut self, input: &ModelInput, read: Read, band: Quantiles) {
        let amount = |si: f64| match input.quantity {
            // A factor reads better as 1.04 than as 104 %.
            Quantity::Fraction => Amount::new(Quantity::Number, si).text(3),
            quantity => Amount::new(quantity, si).text(3),
        };
        let values = if band.high > band.low {
            format!(
                "{}, 90 % {} to {}; {} of the spread",
                amount(band.median),
                amount(band.low),
                amount(band.high),
                percent(read.share.min(1.0))
            )
        } else {
            amount(band.median)
        };
        let facts = json!({"kind": "input", "name": input.name, "median": Amount::new(input.quantity, band.median),
            "low": Amount::new(input.quantity, band.low), "high": Amount::new(input.quantity, band.high),
            "share": read.share, "shared": input.shared});
        let again = !self.said.insert(input.name.clone());
        let text = format!("{} = {values}{}", input.name, if again { " (see above)" } else { "" });
        self.say(2, text, facts);
        if !again {
            self.origin(&input.origin);
        }
    }
    fn origin(&mut self, origin: &InputOrigin) {
        match origin {
            InputOrigin::Claims { claims, .. } => {
                for address in claims {
                    if !self.said.insert(address.clone()) {
                        self.say(3, format!("{address} (see above)"), json!({"kind": "claim", "address": address}));
                        continue;
                    }
                    address::resolve(self.book, address)
                        .into_iter()
                        .for_each(|named| claim(self.book, named, 3, &mut Vec::new(), &mut self.steps));
                }
            }
            InputOrigin::Assumed(_) => {}
            InputOrigin::Thread => self.thread(),
            InputOrigin::Hole => self.hole(),
            InputOrigin::Bias(mode) => self.bias(*mode),
            InputOrigin::OwnBias(mode) => self.own_bias(*mode),
            InputOrigin::Method { record, says } => self.record(record, says),
            InputOrigin::Series(ids) => ids.iter().for_each(|id| self.series(id)),
        }
        for name in assumed(origin) {
            self.assumption(3, name);
        }
    }
    fn thread(&mut self) {
        let thread = self.need().thread;
        let (text, known) = match thread.limits() {
            Some(l) => (format!("limits of {}: {}", thread.designation(), l.source), Some(l.external.known)),
            None => (format!("basic sizes of {}: no tolerance limits are stored", thread.designation()), None),
        };
        self.say(3, text, json!({"kind": "thread", "thread": thread.designation(), "known": known}));
    }
    fn hole(&mut self) {
        match self.need().process {
            Some(process) => {
                let (id, file) = (process.id.to_string(), process.file.to_string());
                self.say(
                    3,
                    format!("hole ladder of {id}, written in {file}"),
                    json!({"kind": "process", "id": id, "file": file}),
                );
            }
            None => self.assumption(3, "hole_tolerance"),
        }
    }
    fn bias(&mut self, mode: Mode) {
        let posterior = self.judgement.calibration.posterior(mode).clone();
        if posterior.groups.is_empty() {
            self.say(3, "the prior alone: no series is about this limit state".into(), json!({"kind": "prior"}));
        }
        for used in self.judgement.calibration.used.clone().iter().filter(|u| u.modes.contains(&mode)) {
            self.series(&used.series);
        }
    }
    /// A formula of one method alone is held against joints of that method.
    fn own_bias(&mut self, mode: Mode) {
        let calibration = &self.judgement.calibration;
        let of_method = |id: &str| self.book.record(id).and_then(|r| r.series()?.joint.method.as_deref()) == Some(&*self.method);
        let used = calibration.used.iter().filter(|u| u.modes.contains(&mode) && of_method(&u.series));
        let series: Vec<String> = used.map(|u| u.series.clone()).collect();
        if series.is_empty() {
            self.say(3, "the prior alone: no series of this method is about this limit state".into(), json!({"kind": "prior"}));
        }
        series.iter().for_each(|id| self.series(id));
    }
    /// A number that the record of the method states.
    fn record(&mut self, id: &str, says: &str) {
        let file = self.book.record(id).map(|record| record.file.to_string());
        self.say(3, format!("{id}: {says}"), json!({"kind": "method", "id": id, "says": says, "file": file}));
    }
    fn series(&mut self, id: &str) {
        let Some(record) = self.book.record(id) else { return };
        if !self.said.insert(id.to_string()) {
            self.say(3, format!("{id} (see above)"), json!({"kind": "series", "id": id}));
            return;
        }
        let source = record.common().source.as_deref();
        let cited = source.map_or_else(|| "no source".to_owned(), |s| self.book.cite(s));
        let place = record.common().locator.as_deref().unwrap_or("no page or table given");
        let facts = json!({"kind": "series", "id": id, "source": source, "locator": place, "file": record.file.to_string()});
        self.say(3, format!("{id}: {}, {place}; {cited}", record.name), facts);
    }
    fn assumption(&mut self, depth: usize, name: &'static str) {
        let setting = self.need().assumptions.get(name);
        let row = setting.row;
        if !self.said.insert(name.to_string()) {
            let text = format!("assumption {name} = {} (see above)", setting.text());
            self.say(depth, text, json!({"kind": "assumption", "name": name, "value": setting.text()}));
            return;
        }
        let over = if setting.overridden { ", overridden by --set" } else { "" };
        let kind = row.kind.word();
        let text = format!("assumption {name} = {} ({kind}{over}): {}; {}", setting.text(), row.means, row.reason);
        let facts = json!({"kind": "assumption", "name": name, "value": setting.text(), "of": row.kind.word(),
            "reason": row.reason, "overridden": setting.overridden});
        self.say(depth, text, facts);
    }
}

/// The assumptions behind an input.
fn assumed(origin: &InputOrigin) -> Vec<&'static str> {
    match origin {
        InputOrigin::Claims { assumed, .. } | InputOrigin::Assumed(assumed) => assumed.clone(),
        InputOrigin::Bias(_) | InputOrigin::OwnBias(_) => {
            vec!["bias_sd", "bias_class_sd", "bias_family_sd", "bias_material_sd", "bias_joint_sd"]
        }
        InputOrigin::Thread | InputOrigin::Hole | InputOrigin::Series(_) | InputOrigin::Method { .. } => Vec::new(),
    }
}
