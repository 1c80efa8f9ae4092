//! The answers of `suits` for programs, always whole.

use crate::command::library::Loaded;
use gripbook::book::{Book, Record};
use gripbook::suit::{Fact, GlueEvidence, Missing, Question, Ranking, RuleOrigin, Spoken, Suitability, Truth};
use serde_json::{Value, json};

/// The JSON fields for one pair.
pub fn pair(question: &Question<'_>, answer: &Suitability, book: &Book, loaded: &Loaded) -> Value {
    let subjects = [Some(question.adhesive), Some(question.material), question.insert, question.metal];
    let used: Vec<&Record> =
        subjects.into_iter().flatten().chain(answer.rules.iter().filter_map(|s| book.record(s.id.as_str()))).collect();
    json!({
        "book": book.hash_line(used),
        "invented": answer.invented,
        "adhesive": question.adhesive.id.as_str(),
        "material": question.material.id.as_str(),
        "insert": question.insert.map(|i| i.id.as_str()),
        "metal": question.metal.map(|m| m.id.as_str()),
        "joint": question.joint.iter().filter(|(n, _)| !n.starts_with("light_")).map(|(n, f)| (n.to_string(), fact_json(f))).collect::<serde_json::Map<_, _>>(),
        "steps": question.steps,
        "verdict": answer.verdict.word(),
        "with_steps": answer.with_steps,
        "rules": answer.rules.iter().map(|s| rule_json(s, book)).collect::<Vec<_>>(),
        "missing": answer.missing.iter().map(missing_json).collect::<Vec<_>>(),
        "say_also": answer.say_also.iter().map(missing_json).collect::<Vec<_>>(),
        "evidence": answer.evidence.iter().map(|e| evidence_json(e, book)).collect::<Vec<_>>(),
        "light": answer.light.as_ref().map(|l| json!({
            "through_wall": truth_json(&l.through_wall),
            "down_mouth": truth_json(&l.down_mouth),
            "because": l.because,
            "used": l.used.iter().map(|u| json!({"what": u.what, "value": u.value, "claim": u.claim})).collect::<Vec<_>>(),
        })),
        "preparation": {
            "gap": steps_json(&answer.preparation.gap),
            "cure": steps_json(&answer.preparation.cure),
            "steps": steps_json(&answer.preparation.steps),
        },
        "cautions": answer.cautions.iter().map(|c| rule_json(c, book)).collect::<Vec<_>>(),
        "left_out": loaded.left_out_json(),
    })
}

fn fact_json(fact: &Fact) -> Value {
    match fact {
        Fact::Quantity(a) => json!(a),
        Fact::Word(w) => json!(w),
        Fact::YesNo(b) => json!(b),
    }
}

fn steps_json(steps: &[gripbook::suit::PreparationStep]) -> Value {
    steps.iter().map(|s| json!({"what": s.what, "because": s.because})).collect()
}

fn truth_json(truth: &Truth) -> Value {
    match truth {
        Truth::Yes => json!({"answer": "yes"}),
        Truth::No => json!({"answer": "no"}),
        Truth::Unknown(m) => json!({"answer": "unknown", "missing": m.iter().map(missing_json).collect::<Vec<_>>()}),
    }
}

fn missing_json(m: &Missing) -> Value {
    let sort = match m.sort {
        gripbook::suit::MissingSort::Record => "record",
        gripbook::suit::MissingSort::Use => "use",
    };
    json!({"sort": sort, "what": m.what, "settle": m.settle})
}

fn rule_json(s: &Spoken, book: &Book) -> Value {
    let source = |o: &RuleOrigin| {
        json!({
            "source": o.source, "cite": o.source.as_deref().map(|s| book.cite(s)), "locator": o.locator,
            "basis": o.basis.word(), "read": o.read, "note": o.note,
        })
    };
    json!({
        "id": s.id.as_str(), "name": s.name, "strength": s.strength.word(), "outcome": s.outcome.word(), "because": s.because,
        "advice": s.advice, "lifted_by": s.lifted_by,
        "used": s.used.iter().map(|u| json!({"what": u.what, "value": u.value, "claim": u.claim})).collect::<Vec<_>>(),
        "missing": s.missing.iter().map(missing_json).collect::<Vec<_>>(),
        "sources": s.provenance.iter().map(source).collect::<Vec<_>>(),
    })
}

fn evidence_json(e: &GlueEvidence, book: &Book) -> Value {
    json!({
        "level": e.level.word(), "series": e.series.as_str(), "quantity": e.quantity, "values": e.values, "sd": e.sd, "n": e.n,
        "test": e.test, "made_by": e.made_by, "adherends": e.adherends, "mode": e.mode, "preparation": e.preparation, "steps": e.steps,
        "undeclared_steps": e.undeclared,
        "lower_bound": e.lower_bound, "untraced": e.untraced, "disputed": e.disputed, "counts": e.counts(),
        "source": e.source, "cite": e.source.as_deref().map(|s| book.cite(s)), "locator": e.locator,
    })
}

/// The JSON fields of a ranking.
pub fn ranking(ranking: &Ranking, subject: &Record, loaded: &Loaded) -> Value {
    let line = |l: &gripbook::suit::Ranked| {
        json!({
            "id": l.id.as_str(), "name": l.name, "verdict": l.verdict.word(), "why": l.why, "measured_same_pair": l.same_pair,
            "measured_family": l.family, "with_steps": l.answer.with_steps,
            "missing": l.answer.missing.iter().map(missing_json).collect::<Vec<_>>(),
        })
    };
    json!({
        "book": loaded.book.hash_line([subject]),
        "subject": subject.id.as_str(),
        "invented": subject.invented(),
        "ranking": ranking.lines.iter().map(line).collect::<Vec<_>>(),
        "left_out": loaded.left_out_json(),
    })
}
