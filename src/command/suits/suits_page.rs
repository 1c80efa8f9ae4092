//! The first screen of `suits`: one page for one pair, ten rows for a ranking.

use gripbook::book::{Book, Record};
use gripbook::present::brief::{clip, shortened};
use gripbook::present::table::Cell;
use gripbook::present::{Page, Table, counted};
use gripbook::quantity::{Amount, Written};
use gripbook::suit::{
    EvidenceLevel, Fact, GlueEvidence, Question, Ranking, RuleOutcome, RuleStrength, Spoken, Suitability, Verdict,
    series_counted, steps_in_words,
};

/// Letters of a field that fills one line of 80 columns behind its label.
const LINE: usize = 66;
/// As [`LINE`], for two lines; a line loses up to a word where it breaks.
const TWO_LINES: usize = 124;
/// As [`LINE`], for three.
const THREE_LINES: usize = 184;

/// The first page for one pair: at most 15 lines of 80 columns.
pub fn pair(question: &Question<'_>, answer: &Suitability, book: &Book) -> Page {
    let mut page = Page::titled(headline(question, answer));
    let asked = asked(question);
    let strengths = strengths(answer);
    // A strength or a service takes lines that the steps would have.
    let is_long = strengths.first().is_some_and(|first| first.chars().count() > LINE);
    let steps_room = match (asked.is_some(), answer.evidence.iter().any(GlueEvidence::counts)) {
        (true, _) if is_long => LINE,
        (false, false) => THREE_LINES,
        _ => TWO_LINES,
    };
    // What does not suit is told with its reason, and without steps.
    let reasons_room = if answer.verdict == Verdict::DoesNotSuit { THREE_LINES } else { TWO_LINES };
    page.field("Because", clip(reasons(answer), " ", reasons_room));
    page.field("Evidence", near_evidence(answer));
    page.field("Strength", clip(strengths, "; ", if asked.is_some() && !is_long { LINE } else { TWO_LINES }));
    if let Some(asked) = asked {
        page.field("Service", shortened(&asked, LINE));
    }
    let mut told = Vec::new();
    for (label, steps) in [("Gap", &answer.preparation.gap), ("Cure", &answer.preparation.cure)] {
        let steps: Vec<String> = steps.iter().map(|s| s.what.clone()).collect();
        if !steps.is_empty() {
            let text = clip(steps, "; ", LINE);
            told.push(text.clone());
            page.field(label, text);
        }
    }
    if answer.verdict != Verdict::DoesNotSuit {
        page.field("Steps", clip(steps(answer, &told), " ", steps_room));
    }
    let open = would_change(answer);
    if !open.is_empty() {
        page.field("Missing", clip(open, "; ", LINE));
    }
    page.field("Caution", clip(cautions(answer, book), " ", TWO_LINES));
    page.line("--full: every rule with its source, all measured bonds, steps and cautions.");
    page
}

/// Pair and verdict.
pub fn headline(question: &Question<'_>, answer: &Suitability) -> String {
    let mark = if answer.invented { "INVENTED DATA: " } else { "" };
    let insert = question.insert.map(|i| format!(" with {}", i.name)).unwrap_or_default();
    // `Epoxy, slow, on Polylactide`: what follows the comma of a name belongs to it.
    let comma = if question.adhesive.name.contains(", ") { "," } else { "" };
    format!("{mark}{}{comma} on {}{insert}: {}", question.adhesive.name, question.material.name, answer.verdict.text())
}

/// How many series stand behind it, in one line.
fn near_evidence(answer: &Suitability) -> String {
    let rules = counted(answer.rules.len(), "rule");
    let own = series_counted(&answer.evidence, &[EvidenceLevel::SamePair]);
    match (own, series_counted(&answer.evidence, &[EvidenceLevel::MaterialFamily, EvidenceLevel::BothFamilies])) {
        (0, 0) => only_rules(&rules),
        (own, 0) => format!("{} of this pair; {rules}", series(own)),
        (0, kin) => format!("{} of its families, none of this pair; {rules}", series(kin)),
        (own, kin) => format!("{} of this pair, {kin} of its families; {rules}", series(own)),
    }
}

fn only_rules(rules: &str) -> String {
    format!("{rules}; no measured bond of this pair or of its families")
}

fn series(n: usize) -> String {
    format!("{n} measured series")
}

/// How many series stand behind it, by nearness, and how many rules were looked at.
pub fn counted_evidence(answer: &Suitability) -> String {
    let levels = [
        (EvidenceLevel::SamePair, "of this pair"),
        (EvidenceLevel::MaterialFamily, "of this glue on the material's family"),
        (EvidenceLevel::BothFamilies, "of both families"),
    ];
    let series = |(level, words): (EvidenceLevel, &str)| match series_counted(&answer.evidence, &[level]) {
        0 => None,
        n => Some(format!("{n} {words}")),
    };
    let parts: Vec<String> = levels.into_iter().filter_map(series).collect();
    let rules = counted(answer.rules.len(), "rule");
    match parts.is_empty() {
        true => only_rules(&rules),
        false => format!("measured series: {}; {rules}", parts.join(", ")),
    }
}

/// What was said of the joint and its surroundings.
pub fn asked(question: &Question<'_>) -> Option<String> {
    let given = question.joint.iter().filter(|(n, _)| !n.starts_with("light_"));
    let told = |n: &str, f: &Fact| match f {
        Fact::Quantity(a) if n == "wavelength" => a.shown_in("nm").trimmed(4),
        f => fact(f),
    };
    let given = given.map(|(n, f)| format!("{} {}", n.replace('_', " "), told(n, f)));
    let all: Vec<String> = given.chain(question.steps.iter().map(|s| format!("{s} done"))).collect();
    (!all.is_empty()).then(|| all.join(", "))
}

fn fact(fact: &Fact) -> String {
    match fact {
        Fact::Quantity(a) => a.trimmed(4),
        Fact::Word(w) => w.clone(),
        Fact::YesNo(b) => if *b { "yes" } else { "no" }.into(),
    }
}

/// The rules that decide the verdict, the gravest first.
fn reasons(answer: &Suitability) -> Vec<String> {
    let said = |outcome: RuleOutcome, strength: RuleStrength| {
        answer.rules.iter().filter(move |s| s.outcome == outcome && s.strength == strength)
    };
    let gate = |s: &Spoken| match &s.advice {
        Some(advice) if s.lifted_by.is_empty() => format!("{}. {} Instead: {advice}", s.name, s.because),
        _ if s.lifted_by.is_empty() => format!("{}. {}", s.name, s.because),
        _ => format!("{}.", s.name),
    };
    let mut all: Vec<String> = said(RuleOutcome::Stands, RuleStrength::Gate).map(gate).collect();
    if answer.verdict == Verdict::DoesNotSuit {
        all.truncate(1);
        return all;
    }
    if !answer.with_steps.is_empty() {
        all.insert(0, format!("Only with {}.", steps_in_words(&answer.with_steps)));
    }
    if answer.verdict == Verdict::Unknown {
        all.extend(
            said(RuleOutcome::Unknown, RuleStrength::Gate).map(|s| format!("Not evaluated (value missing): {}.", s.continued())),
        );
    }
    all.extend(said(RuleOutcome::Stands, RuleStrength::Warning).map(|s| format!("{}.", s.name)));
    all.extend(said(RuleOutcome::Unknown, RuleStrength::Warning).map(|s| format!("Not evaluated: {}.", s.continued())));
    if all.is_empty() {
        all.push("No rule speaks against it.".into());
    }
    all
}

/// Strengths measured nearest to the question, with the kind of test.
fn strengths(answer: &Suitability) -> Vec<String> {
    let Some(level) = answer.evidence.iter().find(|e| e.counts()).map(|e| e.level) else {
        return vec!["not measured; no bond strength can be promised".into()];
    };
    let near = answer.evidence.iter().filter(|e| e.counts() && e.level == level);
    let mut all: Vec<String> = near.map(one_strength).collect();
    // The first names what all of them were measured on.
    if let Some(first) = all.first_mut() {
        *first = format!("{}: {first}", bonded(level));
    }
    all
}

/// What was bonded, in few words.
fn bonded(level: EvidenceLevel) -> &'static str {
    match level {
        EvidenceLevel::SamePair => "this pair",
        EvidenceLevel::Metal => "on the insert's metal",
        EvidenceLevel::MaterialFamily => "on the material's family",
        EvidenceLevel::BothFamilies => "families of both",
    }
}

fn one_strength(e: &GlueEvidence) -> String {
    let values: Vec<String> = e.values.iter().map(value).collect();
    let least = if e.lower_bound { "at least " } else { "" };
    let prepared = e.preparation.as_ref().map(|p| format!(", {p}")).unwrap_or_default();
    let n = match e.n {
        Some(n) if e.is_mean => format!(", mean of {n}"),
        Some(1) => ", 1 specimen".into(),
        Some(n) => format!(", {n} specimens"),
        None => String::new(),
    };
    let quantity = e.quantity.trim_end_matches("_strength").replace('_', " ");
    format!("{quantity} {least}{}{n}{prepared}", values.join(" to "))
}

/// As written, with the canonical unit behind another one.
fn value(w: &Written) -> String {
    let canonical = w.quantity().canonical();
    if w.unit == canonical {
        return w.text.to_string();
    }
    format!("{} ({})", w.text, Amount { si: w.si, unit: canonical }.text(w.significant_digits().clamp(2, 3)))
}

/// What to do, needed steps first; what the gap and cure lines told is not told again.
fn steps(answer: &Suitability, told: &[String]) -> Vec<String> {
    let mut all: Vec<String> = needed(answer).iter().map(|choice| format!("{}.", sentence(choice))).collect();
    let mut times: Vec<String> = told.iter().flat_map(|t| hours(t)).collect();
    for step in &answer.preparation.steps {
        if step.what.starts_with("needed: ") || step.what.starts_with("done: ") {
            continue;
        }
        let own = hours(&step.what);
        if !own.is_empty() && own.iter().all(|t| times.contains(t)) {
            continue;
        }
        times.extend(own);
        all.push(step.what.clone());
    }
    if all.is_empty() {
        all.push("no preparation step on record".into());
    }
    all
}

/// Waiting times in a text: `24 h`, `7 d`.
fn hours(text: &str) -> Vec<String> {
    let words: Vec<&str> = text.split([' ', '.', ',', ';', '(', ')']).collect();
    let is_time = |w: &&[&str]| w[0].parse::<f64>().is_ok() && matches!(w[1], "h" | "d" | "min" | "days" | "hours");
    words.windows(2).filter(is_time).map(|w| w.join(" ")).collect()
}

/// The steps that rules ask for, each a choice of ways; a way that serves two rules is asked for once.
fn needed(answer: &Suitability) -> Vec<Vec<&str>> {
    let mut choices: Vec<Vec<&str>> = Vec::new();
    for rule in answer.rules.iter().filter(|s| s.outcome == RuleOutcome::Stands && !s.lifted_by.is_empty()) {
        let ways: Vec<&str> = rule.lifted_by.iter().map(String::as_str).collect();
        match choices.iter_mut().find(|choice| choice.iter().any(|way| ways.contains(way))) {
            Some(choice) => choice.retain(|way| ways.contains(way)),
            None => choices.push(ways),
        }
    }
    choices
}

/// `Sand or plasma-treat`.
fn sentence(ways: &[&str]) -> String {
    let verb = |way: &&str| match *way {
        "primer" => "prime",
        "activator" => "use an activator",
        "plasma" => "plasma-treat",
        "flame" => "flame-treat",
        "sanded" => "sand",
        "dried" => "dry the part",
        "post-cured" => "post-cure",
        "annealed" => "anneal",
        "degreased" => "degrease",
        "preheated" => "preheat",
        "etched" => "etch",
        "laser-textured" => "texture with a laser",
        "silane" => "apply a silane",
        "warm-cured" => "cure the glue warm",
        _ => "prepare as `--step` names it",
    };
    let text = ways.iter().map(verb).collect::<Vec<_>>().join(" or ");
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What would change the answer: what the asker can say, then values no record holds.
fn would_change(answer: &Suitability) -> Vec<String> {
    let options = answer.missing.iter().chain(&answer.say_also).filter(|m| m.settle.starts_with("--"));
    let mut names: Vec<&str> = options.map(|m| m.settle.as_str()).collect();
    // Where, how hot and how wide the gap is decide most; the rest follows.
    names.sort_by_key(|n| (["--gap", "--place", "--temperature"].iter().position(|k| k == n).unwrap_or(3), *n));
    names.dedup();
    // Three are enough for a first screen; the whole page names all with their meaning.
    names.truncate(3);
    let mut all: Vec<String> = Vec::new();
    if !names.is_empty() {
        all.push(format!("state {}", names.join(", ")));
    }
    let own = answer.missing.iter().filter(|m| !m.settle.starts_with("--"));
    // Behind the colon stands why the value does not do; the whole page has it.
    all.extend(own.map(|m| m.what.split(": ").next().unwrap_or(&m.what).to_owned()));
    all
}

/// What can hurt, each in one sentence.
fn cautions(answer: &Suitability, book: &Book) -> Vec<String> {
    let hurts = |s: &&Spoken| book.record(s.id.as_str()).is_some_and(|r| r.tags.iter().any(|t| &**t == "health"));
    let harm = answer.cautions.iter().filter(hurts).map(|s| format!("{}.", s.name));
    std::iter::once("The safety data sheet comes first.".to_owned()).chain(harm).collect()
}

/// Rows of a ranking on the first screen.
const ROWS: usize = 10;

/// The page of a ranking: ten rows, or all of them.
pub fn ranking(ranking: &Ranking, title: &str, subject: &Record, full: bool) -> Page {
    let mark = if subject.invented() { "INVENTED DATA: " } else { "" };
    let mut page = Page::titled(format!("{mark}{title}"));
    page.line("Best first: by verdict, then by measured series: of the pair + of the families.");
    if !ranking.common.is_empty() {
        page.line(format!("For every one of them: {}.", ranking.common.join("; ")));
    }
    page.blank();
    page.table(table_for_people(ranking, if full { usize::MAX } else { ROWS }));
    page.blank();
    let rest = ranking.lines.iter().skip(ROWS);
    if !full && ranking.lines.len() > ROWS {
        let count = |verdict| rest.clone().filter(|l| l.verdict == verdict).count();
        let each = [Verdict::Suits, Verdict::WithCare, Verdict::Unknown, Verdict::DoesNotSuit];
        let parts: Vec<String> =
            each.into_iter().map(|v| (v, count(v))).filter(|(_, n)| *n > 0).map(|(v, n)| format!("{n} {}", v.short())).collect();
        page.line(format!("{} more with --full: {}.", ranking.lines.len() - ROWS, parts.join(", ")));
    }
    page.line("`gripbook suits ADHESIVE MATERIAL` gives the steps, cautions and sources of one row.");
    page
}

/// So many rows as they are read: short ids under the name of their kind, so that a row fits a line.
fn table_for_people(ranking: &Ranking, rows: usize) -> Table {
    let first = ranking.lines.first().map(|l| l.id.kind());
    let kind = first.filter(|kind| ranking.lines.iter().all(|l| l.id.kind() == *kind));
    // One column for both counts, so that the reason has room.
    let mut table = Table::new(&[kind.unwrap_or("id"), "verdict", "series", "why"]);
    for line in ranking.lines.iter().take(rows) {
        table.row(vec![
            if kind.is_some() { line.id.name() } else { line.id.as_str() }.into(),
            line.verdict.short().into(),
            format!("{} + {}", line.same_pair, line.family).into(),
            line.why.clone().into(),
        ]);
    }
    table
}

/// The ranking as a table of so many rows, for programs.
pub fn ranking_table(ranking: &Ranking, rows: usize) -> Table {
    let mut table = Table::new(&["id", "verdict", "pair", "family", "why"]);
    for line in ranking.lines.iter().take(rows) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use gripbook::book::PackRoot;
    use gripbook::present::{Look, text};
    use gripbook::suit::{judge, rules};
    use std::collections::{BTreeMap, BTreeSet};
    use std::path::Path;

    /// Every seventh pair of the built-in book, with and without stated service: the page stays a page at 80 columns, and
    /// says what it must.
    #[test]
    fn the_first_screen_is_one() {
        let book = Book::load(&[PackRoot::BuiltIn], Path::new("/")).expect("the embedded pack loads");
        let (rules, _) = rules(&book);
        let (glues, parts): (Vec<_>, Vec<_>) = (book.of_role("adhesive").collect(), book.of_role("material").collect());
        let pairs = glues.iter().flat_map(|glue| parts.iter().map(move |part| (*glue, *part)));
        for (at, (adhesive, material)) in pairs.step_by(7).enumerate() {
            let mut joint = BTreeMap::new();
            if at % 2 == 1 {
                joint.insert("place", Fact::Word("wet".into()));
            }
            let steps = BTreeSet::new();
            let question = Question { adhesive, material, insert: None, metal: None, joint, unsettled: BTreeMap::new(), steps };
            let answer = judge(question.clone(), &rules, &book);
            let shown = text::page(&pair(&question, &answer, &book), Look { width: 80, colour: false });
            assert!(shown.lines().count() <= 15, "{shown}");
            assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
            let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
            for label in ["Because", "Evidence", "Strength", "Caution", "safety data sheet", answer.verdict.text()] {
                assert!(flat.contains(label), "{label}: {shown}");
            }
        }
    }

    #[test]
    fn what_does_not_fit_is_counted() {
        let parts = |n: usize| (0..n).map(|at| format!("part {at}")).collect::<Vec<_>>();
        assert_eq!(clip(parts(2), "; ", 40), "part 0; part 1");
        assert_eq!(clip(parts(9), "; ", 40), "part 0; part 1; part 2; 6 more: --full");
        assert_eq!(clip(vec!["a word too many".into()], " ", 10), "a word …");
    }

    #[test]
    fn a_way_that_serves_two_rules_is_asked_for_once() {
        assert_eq!(sentence(&["sanded", "plasma"]), "Sand or plasma-treat");
        // Every step has a verb and a noun of its own.
        for step in gripbook::suit::STEPS {
            assert!(!sentence(&[*step]).contains("--step"), "{step}");
            assert_ne!(steps_in_words(&[(*step).to_owned()]), *step);
        }
        assert_eq!(steps_in_words(&["plasma or etched".into(), "annealed".into()]), "plasma treatment or etching and annealing");
        assert_eq!(hours("load after 24 h to 7 d (ambient)"), ["24 h", "7 d"]);
    }
}
