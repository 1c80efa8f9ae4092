//! The whole page of one pair: every rule with its source, all measured bonds, all steps and cautions.

use super::suits_page::{asked, counted_evidence, headline};
use gripbook::book::Book;
use gripbook::present::Page;
use gripbook::suit::{GlueEvidence, Question, RuleOrigin, RuleOutcome, Spoken, Suitability, Truth, Verdict, steps_in_words};

/// The page for one pair.
pub fn pair(question: &Question<'_>, answer: &Suitability, book: &Book) -> Page {
    let mut page = Page::titled(headline(question, answer));
    verdict_lines(&mut page, question, answer);
    rules(&mut page, answer, book);
    missing(&mut page, answer);
    evidence(&mut page, answer, book);
    light(&mut page, answer);
    preparation(&mut page, answer);
    cautions(&mut page, answer);
    page
}

fn verdict_lines(page: &mut Page, question: &Question<'_>, answer: &Suitability) {
    if !answer.with_steps.is_empty() && answer.verdict != Verdict::DoesNotSuit {
        page.line(format!("With {}: yes. Without it: no.", steps_in_words(&answer.with_steps)));
    }
    page.field("Evidence", counted_evidence(answer));
    page.field("Service conditions", asked(question).unwrap_or_else(|| "not stated".into()));
}

fn rules(page: &mut Page, answer: &Suitability, book: &Book) {
    let groups = [
        (RuleOutcome::Stands, "Rules that apply"),
        (RuleOutcome::Lifted, "Rules met by a preparation step"),
        (RuleOutcome::Unknown, "Rules not evaluated (value missing)"),
        (RuleOutcome::Passed, "Rules that do not apply here"),
    ];
    for (outcome, title) in groups {
        let spoken: Vec<&Spoken> = answer.rules.iter().filter(|s| s.outcome == outcome).collect();
        if spoken.is_empty() {
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
        page.sub(1, format!("not decided: {}", m.what));
    }
    if !s.lifted_by.is_empty() {
        let ways = steps_in_words(&[s.lifted_by.join(" or ")]);
        page.sub(1, format!("met by: {ways} (--step {})", s.lifted_by.join(", ")));
    }
    if let Some(advice) = s.advice.as_ref().filter(|_| s.outcome != RuleOutcome::Passed) {
        page.sub(1, format!("instead: {advice}"));
    }
    page.sub(1, format!("source: {}", s.provenance.iter().map(|o| origin(o, book)).collect::<Vec<_>>().join("; ")));
}

fn origin(o: &RuleOrigin, book: &Book) -> String {
    let read =
        o.read.as_deref().filter(|r| *r == "abstract" || *r == "secondary").map(|r| format!(", {r} read")).unwrap_or_default();
    let note = o.note.as_ref().map(|n| format!(" ({n})")).unwrap_or_default();
    match (&o.source, &o.locator) {
        (Some(s), Some(l)) => format!("{}, {l} [{}{read}]{note}", book.cite(s), o.basis.word()),
        (Some(s), None) => format!("{} [{}{read}]{note}", book.cite(s), o.basis.word()),
        (None, _) if o.basis == gripbook::book::Basis::Practice => format!("common practice, no source{note}"),
        (None, _) => format!("{}, no source{note}", o.basis.word()),
    }
}

fn missing(page: &mut Page, answer: &Suitability) {
    if !answer.missing.is_empty() {
        page.heading("Missing values");
        for m in &answer.missing {
            page.item(format!("{}; needed: {}", m.what, m.settle));
        }
    }
    if !answer.say_also.is_empty() {
        let mut options: Vec<String> = answer.say_also.iter().map(|m| format!("{} ({})", m.settle, m.what)).collect();
        options.dedup();
        page.blank().line(format!("Further inputs would settle more rules: {}.", options.join("; ")));
    }
}

fn evidence(page: &mut Page, answer: &Suitability, book: &Book) {
    if answer.evidence.is_empty() {
        page.blank().line("Measured bonds: none of this pair or of its families in the loaded packs.");
        return;
    }
    page.heading("Measured bonds, nearest first (levels are never mixed)");
    for e in &answer.evidence {
        page.item(bond(e));
        let marks = [
            e.lower_bound.then_some("the part failed first: a lower bound"),
            e.untraced.then_some("handbook table of unclear origin: shown, not counted"),
            e.disputed.then_some("disputed: shown, not counted"),
            (e.preparation.is_none() && e.steps.is_none()).then_some("surface preparation not stated"),
        ];
        let steps = (!e.undeclared.is_empty()).then(|| {
            let steps: Vec<String> = e.undeclared.iter().map(|s| format!("--step {s}")).collect();
            format!("made after {}: counts with {}", steps_in_words(&e.undeclared), steps.join(" "))
        });
        let marks: Vec<String> = marks.into_iter().flatten().map(str::to_owned).chain(steps).collect();
        let source = e.source.as_deref().map(|s| book.cite(s)).unwrap_or_default();
        let locator = e.locator.as_ref().map(|l| format!(", {l}")).unwrap_or_default();
        page.sub(1, format!("{}{locator}; {}", source, e.series));
        if !marks.is_empty() {
            page.sub(1, marks.join("; "));
        }
    }
}

fn bond(e: &GlueEvidence) -> String {
    let values = e.values.iter().map(|w| w.text.to_string()).collect::<Vec<_>>().join(" to ");
    let sd = e.sd.as_ref().map(|s| format!(", sd {}", s.text)).unwrap_or_default();
    let n = e.n.map_or(", n not stated".into(), |n| format!(", n {n}"));
    let made = e.made_by.as_ref().map(|m| format!(", {m}")).unwrap_or_default();
    let mode = e.mode.as_ref().map(|m| format!(", failure mode {m}")).unwrap_or_default();
    let prepared = e.preparation.as_ref().map(|p| format!(", {p}")).unwrap_or_default();
    format!(
        "{} ({}): {} {values}{sd}{n}; {} test{made}{prepared}{mode}",
        e.level.text(),
        e.adherends,
        e.quantity.replace('_', " "),
        e.test
    )
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
    page.heading("Bonding procedure");
    for (label, steps) in [("gap: ", &p.gap), ("cure: ", &p.cure), ("", &p.steps)] {
        for step in steps {
            page.item(format!("{label}{} [{}]", step.what, step.because));
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
