//! The sheet of `suits`, for people and as JSON.

use crate::book::Book;
use crate::book::Record;
use crate::command::library::Loaded;
use crate::present::table::Cell;
use crate::present::{Page, Table};
use crate::suit::{
    Evidence, Fact, Missing, Origin, Outcome, Question, Ranking, Spoken, Suitability, Truth, Verdict, series_counted,
};
use serde_json::{Value, json};

/// The page for one pair.
pub fn pair(question: &Question<'_>, answer: &Suitability, book: &Book, all: bool) -> Page {
    let mut page = Page::titled(headline(question, answer));
    verdict_lines(&mut page, question, answer);
    rules(&mut page, answer, book, all);
    missing(&mut page, answer);
    evidence(&mut page, answer, book);
    light(&mut page, answer);
    preparation(&mut page, answer);
    cautions(&mut page, answer);
    page
}

fn headline(question: &Question<'_>, answer: &Suitability) -> String {
    let mark = if answer.invented { "INVENTED DATA: " } else { "" };
    let insert = question.insert.map(|i| format!(" with {}", i.name)).unwrap_or_default();
    format!("{mark}{} on {}{insert}: {}", question.adhesive.name, question.material.name, answer.verdict.text())
}

fn verdict_lines(page: &mut Page, question: &Question<'_>, answer: &Suitability) {
    if !answer.with_steps.is_empty() && answer.verdict != Verdict::DoesNotSuit {
        page.line(format!("With {}: yes. Without: no.", answer.with_steps.join(" and ")));
    }
    let counted = |level| series_counted(&answer.evidence, &[level]);
    use crate::suit::Level::{BothFamilies, MaterialFamily, SamePair};
    page.field(
        "rests on",
        format!(
            "{} measured series of this pair, {} of this glue on the family, {} of both families; {} rules looked at",
            counted(SamePair),
            counted(MaterialFamily),
            counted(BothFamilies),
            answer.rules.len()
        ),
    );
    let given: Vec<String> =
        question.joint.iter().filter(|(n, _)| !n.starts_with("light_")).map(|(n, f)| format!("{n} {}", fact(f))).collect();
    let steps: Vec<String> = question.steps.iter().map(|s| format!("{s} done")).collect();
    let uses = [given, steps].concat();
    page.field("asked for", if uses.is_empty() { "any use".to_string() } else { uses.join(", ") });
}

fn fact(fact: &Fact) -> String {
    match fact {
        Fact::Quantity(a) => a.text(4),
        Fact::Word(w) => w.clone(),
        Fact::YesNo(b) => if *b { "yes" } else { "no" }.into(),
    }
}

fn rules(page: &mut Page, answer: &Suitability, book: &Book, all: bool) {
    let groups = [
        (Outcome::Stands, "Rules that stand"),
        (Outcome::Lifted, "Rules lifted by a step"),
        (Outcome::Unknown, "Rules that cannot be judged"),
        (Outcome::Passed, "Rules that do not apply here"),
    ];
    for (outcome, title) in groups {
        let spoken: Vec<&Spoken> = answer.rules.iter().filter(|s| s.outcome == outcome).collect();
        if spoken.is_empty() {
            continue;
        }
        if outcome == Outcome::Passed && !all {
            let counted =
                if spoken.len() == 1 { "1 further rule does".into() } else { format!("{} further rules do", spoken.len()) };
            page.blank().line(format!("{counted} not apply here (--all shows them)."));
            continue;
        }
        page.heading(title);
        for s in spoken {
            rule(page, s, book);
        }
    }
}

fn rule(page: &mut Page, s: &Spoken, book: &Book) {
    page.item(format!("{}: {}. {}", s.strength.word(), s.name, s.because));
    for used in &s.used {
        let claim = used.claim.as_ref().map(|c| format!(" ({c})")).unwrap_or_default();
        page.sub(1, format!("{}: {}{claim}", used.what, used.value));
    }
    for m in &s.missing {
        page.sub(1, format!("missing: {}; {}", m.what, m.settle));
    }
    if !s.lifted_by.is_empty() {
        page.sub(1, format!("lifted by: {}", s.lifted_by.join(" or ")));
    }
    if let Some(advice) = &s.advice {
        page.sub(1, format!("instead: {advice}"));
    }
    page.sub(1, format!("source: {}", s.provenance.iter().map(|o| origin(o, book)).collect::<Vec<_>>().join("; ")));
}

fn origin(o: &Origin, book: &Book) -> String {
    let read =
        o.read.as_deref().filter(|r| *r == "abstract" || *r == "secondary").map(|r| format!(", {r} read")).unwrap_or_default();
    let note = o.note.as_ref().map(|n| format!(" ({n})")).unwrap_or_default();
    match (&o.source, &o.locator) {
        (Some(s), Some(l)) => format!("{}, {l} [{}{read}]{note}", book.cite(s), o.basis.word()),
        (Some(s), None) => format!("{} [{}{read}]{note}", book.cite(s), o.basis.word()),
        (None, _) if o.basis == crate::book::Basis::Practice => format!("common practice, no source{note}"),
        (None, _) => format!("{}, no source{note}", o.basis.word()),
    }
}

fn missing(page: &mut Page, answer: &Suitability) {
    if !answer.missing.is_empty() {
        page.heading("Missing");
        for m in &answer.missing {
            page.item(format!("{}: {}", m.what, m.settle));
        }
    }
    if !answer.say_also.is_empty() {
        let mut options: Vec<String> = answer.say_also.iter().map(|m| format!("{} ({})", m.settle, m.what)).collect();
        options.dedup();
        page.blank().line(format!("Say also, it decides further rules: {}.", options.join("; ")));
    }
}

fn evidence(page: &mut Page, answer: &Suitability, book: &Book) {
    if answer.evidence.is_empty() {
        page.blank().line("Measured bonds: none of this pair or of its families in the loaded packs.");
        return;
    }
    page.heading("Measured bonds, nearest first (levels are never mixed)");
    const SHOWN: usize = 8;
    for e in answer.evidence.iter().take(SHOWN) {
        page.item(bond(e));
        let marks = [
            e.lower_bound.then_some("the part failed first: a lower bound"),
            e.untraced.then_some("handbook table of unclear origin: shown, not counted"),
            e.disputed.then_some("disputed: shown, not counted"),
            e.preparation.is_none().then_some("surface preparation not stated"),
        ];
        let marks: Vec<&str> = marks.into_iter().flatten().collect();
        let source = e.source.as_deref().map(|s| book.cite(s)).unwrap_or_default();
        let locator = e.locator.as_ref().map(|l| format!(", {l}")).unwrap_or_default();
        page.sub(1, format!("{}{locator}; {}", source, e.series));
        if !marks.is_empty() {
            page.sub(1, marks.join("; "));
        }
    }
    if answer.evidence.len() > SHOWN {
        page.sub(1, format!("and {} more (--format json gives all)", answer.evidence.len() - SHOWN));
    }
}

fn bond(e: &Evidence) -> String {
    let values = e.values.iter().map(|w| w.text.to_string()).collect::<Vec<_>>().join(" to ");
    let sd = e.sd.as_ref().map(|s| format!(", sd {}", s.text)).unwrap_or_default();
    let n = e.n.map_or(", n not stated".into(), |n| format!(", n {n}"));
    let made = e.made_by.as_ref().map(|m| format!(", {m}")).unwrap_or_default();
    let mode = e.mode.as_ref().map(|m| format!(", failed: {m}")).unwrap_or_default();
    format!("{} ({}): {} {values}{sd}{n}; {} test{made}{mode}", e.level.text(), e.adherends, e.quantity.replace('_', " "), e.test)
}

fn light(page: &mut Page, answer: &Suitability) {
    let Some(light) = &answer.light else { return };
    page.heading("Light");
    for line in &light.because {
        page.item(line.clone());
    }
    for (way, truth) in [("through the wall", &light.through_wall), ("down the open mouth", &light.down_mouth)] {
        let text = match truth {
            Truth::Yes => "enough".to_string(),
            Truth::No => "not enough".to_string(),
            Truth::Unknown(m) => {
                format!("unknown; {}", m.iter().map(|m| format!("{} ({})", m.what, m.settle)).collect::<Vec<_>>().join("; "))
            }
        };
        page.field(way, text);
    }
}

fn preparation(page: &mut Page, answer: &Suitability) {
    let p = &answer.preparation;
    if p.gap.is_empty() && p.cure.is_empty() && p.steps.is_empty() {
        return;
    }
    page.heading("How to do it");
    for (label, steps) in [("gap", &p.gap), ("cure", &p.cure), ("steps", &p.steps)] {
        for step in steps {
            page.item(format!("{label}: {} [{}]", step.what, step.because));
        }
    }
}

fn cautions(page: &mut Page, answer: &Suitability) {
    page.heading("Cautions");
    for c in &answer.cautions {
        let advice = c.advice.as_ref().map(|a| format!(" {a}")).unwrap_or_default();
        page.item(format!("{}. {}{advice}", c.name, c.because));
    }
    page.item("Read the safety data sheet of the product in hand; it and local rules come first.");
}

/// The JSON fields for one pair.
pub fn pair_json(question: &Question<'_>, answer: &Suitability, book: &Book, loaded: &Loaded) -> Value {
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

fn steps_json(steps: &[crate::suit::Step]) -> Value {
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
        crate::suit::MissingSort::Record => "record",
        crate::suit::MissingSort::Use => "use",
    };
    json!({"sort": sort, "what": m.what, "settle": m.settle})
}

fn rule_json(s: &Spoken, book: &Book) -> Value {
    let source = |o: &Origin| {
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

fn evidence_json(e: &Evidence, book: &Book) -> Value {
    json!({
        "level": e.level.word(), "series": e.series.as_str(), "quantity": e.quantity, "values": e.values, "sd": e.sd, "n": e.n,
        "test": e.test, "made_by": e.made_by, "adherends": e.adherends, "mode": e.mode, "preparation": e.preparation,
        "lower_bound": e.lower_bound, "untraced": e.untraced, "disputed": e.disputed, "counts": e.counts(),
        "source": e.source, "cite": e.source.as_deref().map(|s| book.cite(s)), "locator": e.locator,
    })
}

/// The page of a ranking.
pub fn ranking(ranking: &Ranking, title: &str, invented: bool) -> Page {
    let mark = if invented { "INVENTED DATA: " } else { "" };
    let mut page = Page::titled(format!("{mark}{title}"));
    page.line("Best first: verdict, then how many measured bonds stand behind it. Small numbers of bonds are shown as they are.")
        .blank();
    page.table(ranking_table(ranking));
    page.blank().line("`gripbook suits ADHESIVE MATERIAL` gives the rules, sources and cautions of one line.");
    page
}

/// The ranking as a table.
pub fn ranking_table(ranking: &Ranking) -> Table {
    let mut table = Table::new(&["id", "verdict", "pair", "family", "why"]);
    for line in &ranking.lines {
        table.row(vec![
            line.id.as_str().into(),
            line.verdict.text().into(),
            Cell::Number(line.same_pair as f64),
            Cell::Number(line.family as f64),
            line.why.clone().into(),
        ]);
    }
    table
}

/// The JSON fields of a ranking.
pub fn ranking_json(ranking: &Ranking, subject: &Record, loaded: &Loaded) -> Value {
    let line = |l: &crate::suit::Ranked| {
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
