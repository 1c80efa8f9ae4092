//! The sheet as JSON.

use super::change::WhatIf;
use super::ranking::listed;
use super::words::promised;
use crate::command::library::Loaded;
use gripbook::joint::geometry::{Drawn, Geometry, HoleStep, Section};
use gripbook::joint::held::Held;
use gripbook::joint::judge::{Candidate, Judgement, tighten};
use gripbook::joint::need::Need;
use gripbook::quantity::{Amount, Quantity};
use gripbook::suit::RuleOutcome;
use serde_json::{Value, json};
use uom::si::f64::Length;

/// The fields of the document.
pub fn sheet(judgement: &Judgement<'_>, changes: &[WhatIf], loaded: &Loaded) -> Value {
    let need = judgement.need;
    let best = judgement.best();
    json!({
        "packs": super::packs(loaded, judgement),
        "invented": judgement.invented,
        "verdict": best.map(|c| c.verdict.word()),
        "best": best.map(|c| json!({"method": c.method.name, "insert": c.insert.map(|r| r.id.to_string()), "adhesive": c.adhesive.map(|r| r.id.to_string())})),
        "promise": !judgement.no_promise,
        "would_change": changes.iter().map(|c| json!({"what": c.what, "text": c.text})).collect::<Vec<_>>(),
        "ask": ask(need),
        "candidates": listed(judgement).into_iter().map(|(c, tied)| candidate(judgement, c, tied)).collect::<Vec<_>>(),
        "overridden": need.assumptions.overridden().iter().map(|s| json!({"name": s.row.name, "value": s.text()})).collect::<Vec<_>>(),
        "calibration": {
            "used": judgement.calibration.used.iter().map(|u| json!({"series": u.series, "modes": u.modes, "n": u.n, "own": u.own})).collect::<Vec<_>>(),
        },
        "standing": "not for lifting, overhead loads, brakes, climbing, vehicles or medical use",
        "left_out": loaded.left_out_json(),
    })
}

fn length(length: Length) -> Value {
    json!(Amount::of(length))
}

fn force(newtons: f64) -> Value {
    if newtons.is_finite() { json!(Amount::new(Quantity::Force, newtons)) } else { Value::Null }
}

fn ask(need: &Need<'_>) -> Value {
    let id = |r: Option<&gripbook::book::Record>| r.map(|r| r.id.to_string());
    json!({
        "material": need.material.id,
        "thread": need.thread.designation(),
        "length": length(need.length),
        "need": need.load.map(Amount::of),
        "factor": need.factor,
        "insert": id(need.insert),
        "adhesive": id(need.adhesive),
        "screw": id(need.screw),
        "process": id(need.process),
        "boss": need.boss.map(length),
        "edge": need.edge.map(length),
        "through": need.through,
        "hole_size": need.hole_size.map(length),
        "depth": need.depth.map(length),
        "gap": need.gap.map(length),
        "hottest": need.using.hottest.map(Amount::of),
        "coldest": need.using.coldest.map(Amount::of),
        "for": need.using.duration.word(),
        "held": need.using.held.map(Amount::of),
        "place": need.using.place.map(|p| p.word()),
        "axis": need.using.axis.word(),
        "perimeters": need.using.perimeters,
        "infill": need.using.infill,
        "cycles": need.using.cycles,
        "consequence": need.using.consequence.word(),
        "without": need.without.iter().map(|w| w.word()).collect::<Vec<_>>(),
        "steps": need.steps,
        "unprepared": need.unprepared,
        "draws": need.draws,
        "seed": need.seed,
    })
}

fn candidate(judgement: &Judgement<'_>, c: &Candidate<'_>, tied: bool) -> Value {
    let shown = !judgement.no_promise;
    let capacity = c.capacity.as_ref().filter(|_| shown);
    let load = capacity.zip(c.lower_bound.as_ref()).map(|(k, bound)| {
        json!({
            "lower_bound": merged(force(bound.value), json!({"kind": bound.kind.word()})),
            "median": force(k.load.median),
            "low": force(k.load.low),
            "high": force(k.load.high),
        })
    });
    let modes = capacity.map(|k| {
        let all = k.modes.iter().filter(|(_, s)| *s > 0.0).map(|(m, s)| (m.word().to_string(), json!(s)));
        Value::Object(all.collect())
    });
    let model = c.model.as_ref().map(|s| &s.model);
    json!({
        "method": c.method.name,
        "title": c.title(),
        "insert": c.insert.map(|r| r.id.to_string()),
        "adhesive": c.adhesive.map(|r| r.id.to_string()),
        "verdict": c.verdict.word(),
        "because": c.because,
        "alternative": c.alternative,
        "probability": c.survival.filter(|s| s.asked).map(|s| s.share),
        "survival": c.survival.map(|s| json!({"share": s.share, "load": force(s.load), "of": if s.asked { "need" } else { "design-load" }})),
        "design_load": c.design().filter(|_| shown).map(|bound| merged(force(bound.design()), json!({
            "kind": if c.held.is_some() { "short-pull" } else { bound.kind.word() },
            "text": format!("{}{}", if c.held.is_some() { "short pull: " } else { "" }, super::words::design_load(bound, c)),
            "model_only": c.evidence.model_only(),
        }))),
        "held": c.held.as_ref().filter(|_| shown).map(held),
        "load": load,
        "modes": modes.unwrap_or_else(|| json!({})),
        "limit_states": capacity.map_or_else(|| json!([]), states),
        "torque": capacity.and_then(|k| k.torque).map(|t| json!({
            "low": Amount::new(Quantity::Torque, t.low),
            "median": Amount::new(Quantity::Torque, t.median),
            "high": Amount::new(Quantity::Torque, t.high),
            // A preload is a sustained load too.
            "tighten": tighten(judgement.need, c).filter(|t| *t > 0.0).map(|t| Amount::new(Quantity::Torque, t)),
        })),
        "geometry": c.geometry.as_ref().map(geometry),
        "evidence": {
            "text": c.evidence.text(),
            "combination": c.evidence.combination,
            "family": c.evidence.family,
            "specimens": c.evidence.specimens,
            "batches": c.evidence.batches,
            "beside": c.evidence.beside,
            "hole_of": c.evidence.hole_of.first(),
            "hole_between": c.evidence.hole_of.get(1).map(|_| &c.evidence.hole_of),
            "infill_quoted": c.evidence.infill.iter().map(|q| json!({"series": q.series, "text": q.text})).collect::<Vec<_>>(),
            "calibrated": c.evidence.calibrated,
            "governed": c.evidence.governed,
            "model_only": c.evidence.model_only(),
        },
        "claims": model.map_or_else(|| json!([]), |m| m.claims.iter().map(|u| json!({
            "claim": u.claim, "value": u.value, "basis": u.basis.word(), "source": u.source, "notes": u.notes,
        })).collect()),
        "missing": c.missing.iter().map(|l| json!({"what": l.what, "settle": l.settle, "blocks": l.blocks})).collect::<Vec<_>>(),
        "assumptions": model.map_or_else(|| json!([]), |m| m.assumptions.iter().map(|name| {
            let s = judgement.need.assumptions.get(name);
            json!({"name": name, "value": s.text(), "kind": s.row.kind.word(), "overridden": s.overridden})
        }).collect()),
        "rules": c.rules.iter().filter(|r| !matches!(r.outcome, RuleOutcome::Passed | RuleOutcome::NotAsked)).map(|r| json!({
            "id": r.id, "name": r.name, "strength": r.strength.word(), "outcome": r.outcome.word(), "because": r.because,
            "used": r.used.iter().map(|u| json!({"what": u.what, "value": u.value, "claim": u.claim})).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "steps": model.map_or_else(|| json!([]), |m| json!(m.steps)),
        "cautions": c.cautions.iter().cloned().chain(c.hazards.iter().map(|h| (*h).to_string())).collect::<Vec<_>>(),
        "effort": {"tools": c.effort.tools, "minutes": c.effort.minutes, "wrong": c.effort.wrong},
        "life": {"low": c.life.low, "high": c.life.high, "assumption": c.life.origin},
        "tied_with_next": tied,
        "beats_next": c.beats_next.filter(|_| shown),
        "settling": c.settling.filter(|_| shown).map(|s| json!({"joints": s.joints, "suits_from": s.suits_from.map(force), "width": s.width})),
        "faults": c.capacity.as_ref().map_or(0, |k| k.faults),
    })
}

fn held(held: &Held) -> Value {
    json!({
        "time": held.time.map(Amount::of),
        "class": held.class.word(),
        "share": held.share,
        "basis": held.basis(),
        "load": held.load().map(force),
        "short_pull": force(held.short),
        "text": held.text(&held.load().map(promised).unwrap_or_default()),
    })
}

fn merged(mut a: Value, b: Value) -> Value {
    if let (Value::Object(into), Value::Object(more)) = (&mut a, b) {
        into.extend(more);
    }
    a
}

fn states(capacity: &gripbook::joint::evaluate::Capacity) -> Value {
    let one = |s: &gripbook::joint::evaluate::StateResult| {
        json!({
            "mode": s.mode,
            "formula": s.formula,
            "share": s.share,
            "low": force(s.load().low),
            "median": force(s.load().median),
            "high": force(s.load().high),
            "first_order": s.check().map(|c| json!({"first_order": c.first_order, "drawn": c.drawn, "flagged": c.flagged()})),
        })
    };
    capacity.states.iter().map(one).collect()
}

fn size(step: &HoleStep) -> Value {
    json!({"nominal": length(step.finished.nominal), "low": length(step.finished.low), "high": length(step.finished.high)})
}

fn drawn(step: &HoleStep) -> Value {
    match &step.drawn {
        Drawn::Size { diameter, offset, sd } => {
            json!({"diameter": length(*diameter), "offset": length(*offset), "sd": sd.map(length)})
        }
        Drawn::Unknown(what) => json!({"diameter": null, "unknown": what}),
        Drawn::Machined => json!({"diameter": null, "machined": true}),
    }
}

fn check(step: &HoleStep) -> Value {
    json!({"go": length(step.check.go), "no_go": length(step.check.no_go)})
}

fn step(step: &HoleStep) -> Value {
    json!({
        "purpose": step.purpose,
        "section": if step.section == Section::Hexagon { "hexagon" } else { "round" },
        "from": length(step.from),
        "to": length(step.to),
        "finished": size(step),
        "drawn": drawn(step),
        "check": check(step),
    })
}

fn geometry(g: &Geometry) -> Value {
    let first = g.hole.first();
    json!({
        "finished": first.map(size),
        "drawn": first.map(drawn),
        "check": first.map(check),
        "holes": g.hole.iter().map(step).collect::<Vec<_>>(),
        "boss": length(g.boss),
        "boss_given": g.boss_given,
        "through": g.through,
        "depth": length(g.depth),
        "engaged": length(g.thread.engaged),
        "thread": {"made": g.thread.made, "offset": length(g.thread.offset)},
        "insert": g.insert.as_ref().map(|i| json!({"id": i.id, "length": length(i.length), "thread_length": length(i.thread_length)})),
        "gap": g.gap.map(|(low, high)| json!({"low": length(low), "high": length(high)})),
        "grooves": g.grooves.iter().map(|r| json!({"from": length(r.from), "to": length(r.to), "diameter": length(r.diameter)})).collect::<Vec<_>>(),
        "vent": g.vent.map(|v| json!({"low": length(v.least), "high": length(v.most)})),
    })
}
