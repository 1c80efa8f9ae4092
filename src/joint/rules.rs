//! What the rules of threads and inserts say of a way to make a joint: facts of the case, asked before and after its shape
//! is known.

use super::geometry::Geometry;
use super::method::Case;
use super::model::Model;
use super::need::{Axis, Need};
use crate::book::Record;
use crate::quantity::{Amount, Measure, Quantity};
use crate::suit::{self, Fact, Grounds, RuleOutcome, RuleStrength, Spoken};
use std::collections::BTreeMap;

/// What the rules say of this method; without a shape those that look at none can speak already.
pub fn asked(case: &Case<'_>, method: &str, geometry: Option<&Geometry>) -> Vec<Spoken> {
    let need = case.need;
    let joint = facts(case, method, geometry);
    let grounds = Grounds {
        adhesive: case.adhesive,
        material: need.material,
        metal: case.insert.and_then(|i| need.book.in_use(i.common().metal.as_deref()?)),
        joint: &joint,
        unsettled: &BTreeMap::new(),
        steps: &need.steps,
    };
    suit::judge_method(&grounds, need.rules, need.book)
}

/// Gates that no step lifts: such a joint is not made at all.
pub fn gates(spoken: &[Spoken]) -> Vec<String> {
    let closed = |s: &&Spoken| s.strength == RuleStrength::Gate && s.outcome == RuleOutcome::Stands && s.lifted_by.is_empty();
    spoken.iter().filter(closed).map(said).collect()
}

/// Notes in the model what the rules say: gates, cares, steps, cautions.
pub fn heed(model: &mut Model<'_>, spoken: &[Spoken]) {
    for s in spoken {
        match (s.outcome, s.strength) {
            (RuleOutcome::Stands, RuleStrength::Gate) => model.gates.push(said(s)),
            (RuleOutcome::Stands, RuleStrength::Warning) => model.cares.push(said(s)),
            (RuleOutcome::Stands, RuleStrength::Caution) => model.caution(said(s)),
            (RuleOutcome::Assumed, _) => model.steps.push(s.advice.clone().unwrap_or_else(|| s.name.clone())),
            (RuleOutcome::Unknown, RuleStrength::Gate) => {
                model.doubts.push(format!("{}: open", said(s)));
                for missing in &s.missing {
                    model.would_help(missing.what.clone(), missing.settle.clone());
                }
            }
            _ => {}
        }
    }
}

/// Name, what to do instead, and id of the rule.
fn said(s: &Spoken) -> String {
    let advice = match (&s.advice, s.lifted_by.as_slice()) {
        (_, [_, ..]) => format!(": met by --step {}", s.lifted_by.join(" or ")),
        (Some(advice), _) => format!(": {}", advice.trim_end_matches('.')),
        (None, _) => String::new(),
    };
    format!("{}{advice} ({})", s.name, s.id)
}

/// Facts of the joint by name, as far as they are known.
#[derive(Default)]
struct Facts(BTreeMap<&'static str, Fact>);

impl Facts {
    fn word(&mut self, name: &'static str, word: Option<&str>) {
        self.0.extend(word.map(|w| (name, Fact::Word(w.into()))));
    }
    fn yes_no(&mut self, name: &'static str, value: Option<bool>) {
        self.0.extend(value.map(|v| (name, Fact::YesNo(v))));
    }
    fn amount(&mut self, name: &'static str, quantity: Quantity, si: Option<f64>) {
        self.0.extend(si.map(|v| (name, Fact::Quantity(Amount::new(quantity, v)))));
    }
}

fn facts(case: &Case<'_>, method: &str, geometry: Option<&Geometry>) -> BTreeMap<&'static str, Fact> {
    let need = case.need;
    let mut facts = Facts::default();
    facts.word("method", Some(method));
    facts.word("screw_type", Some(screw_type(need.screw)));
    facts.word("screw_head", need.screw.and_then(|s| s.screw()?.head.as_deref()));
    facts.word("fitting", case.insert.and_then(|i| i.insert()?.fitting.as_deref()));
    facts.word("ductility", Some(if need.brittle() { "brittle" } else { "ductile" }));
    facts.word("printing", printing(need));
    facts.amount("thread_diameter", Quantity::Length, Some(need.thread.major().si()));
    facts.amount("pitch", Quantity::Length, Some(need.thread.pitch().si()));
    facts.amount("edge_ratio", Quantity::Number, need.edge.map(|e| e.si() / need.thread.major().si()));
    facts.yes_no("through", Some(need.through));
    used(need, &mut facts);
    if let Some(geometry) = geometry {
        shaped(need, geometry, &mut facts);
    }
    facts.0
}

/// How the joint is used.
fn used(need: &Need<'_>, facts: &mut Facts) {
    let using = &need.using;
    let (hot, cold) = (using.hottest.map(|t| t.si()), using.coldest.map(|t| t.si()));
    facts.amount("temperature", Quantity::Temperature, hot);
    facts.amount("coldest", Quantity::Temperature, cold);
    facts.amount("swing", Quantity::TemperatureDifference, hot.zip(cold).map(|(h, c)| h - c));
    facts.word("place", using.place.map(|p| p.word()));
    facts.word("load", Some(using.duration.word()));
    facts.word("axis", Some(using.axis.word()).filter(|_| using.axis != Axis::Unknown));
    facts.amount("cycles", Quantity::Number, using.cycles.map(f64::from));
    facts.amount("infill", Quantity::Fraction, using.infill);
    facts.amount("perimeters", Quantity::Number, using.perimeters.map(f64::from));
}

/// How the joint is shaped.
fn shaped(need: &Need<'_>, geometry: &Geometry, facts: &mut Facts) {
    let diameter = need.thread.major().si();
    let Some(first) = geometry.hole.first() else { return };
    let hole = first.finished.nominal.si();
    facts.amount("engagement_ratio", Quantity::Number, Some(geometry.thread.engaged.si() / diameter));
    facts.amount("wall_round", Quantity::Length, Some((geometry.boss.si() - hole) / 2.0));
    facts.amount("depth_ratio", Quantity::Number, Some(geometry.depth.si() / hole));
    let own_thread = geometry.thread.made != "metal";
    facts.amount("pilot_ratio", Quantity::Number, own_thread.then_some(hole / diameter));
    facts.amount("boss_ratio", Quantity::Number, own_thread.then_some(geometry.boss.si() / diameter));
    let insert = geometry.insert.as_ref().filter(|i| !i.steps.is_empty());
    let taken = insert.map_or(geometry.thread.engaged.si(), |i| i.length.si());
    facts.amount("room_below", Quantity::Length, (!geometry.through).then_some(geometry.depth.si() - taken));
    let Some(insert) = insert else { return };
    let largest = insert.largest().si();
    facts.amount("insert_boss_ratio", Quantity::Number, Some(geometry.boss.si() / largest));
    facts.amount("insert_hole_ratio", Quantity::Number, Some(hole / largest));
    facts.amount("interference", Quantity::Length, geometry.gap.is_none().then_some(largest - hole));
    facts.word("knurl", insert.steps.iter().find_map(|s| s.knurl.as_deref()));
}

/// A screw whose record says nothing of its point is a machine screw, and so is the one taken when none is named.
pub fn screw_type(screw: Option<&Record>) -> &'static str {
    let point = screw.and_then(|s| s.screw()?.point.as_deref()).unwrap_or_default();
    let known = ["thread-forming", "thread-cutting"];
    known.into_iter().find(|k| point.contains(k)).unwrap_or("machine")
}

/// How the part is made: by its process record, else by a material that is made in one way only.
fn printing<'n>(need: &Need<'n>) -> Option<&'n str> {
    let of_process = need.process.and_then(|p| p.process()?.printer_type.as_deref());
    let of_process = of_process.map(|t| if t.starts_with("vat") { "vat" } else { t });
    of_process.or_else(|| need.is("photopolymer").then_some("vat"))
}
