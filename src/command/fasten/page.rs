//! The sheet for people: what to do in its first 25 lines, the ranked table after it.

use super::head;
use super::tree::Tree;
use super::words::{load, percent, promised};
use crate::book::Book;
use crate::joint::judge::{Candidate, Judgement};
use crate::joint::need::Need;
use crate::present::table::Cell;
use crate::present::{Page, Table};
use crate::suit::Verdict;

/// The whole sheet.
pub fn sheet(judgement: &Judgement<'_>, book: &Book, command: &str, tree: Option<&Tree>) -> Page {
    let need = judgement.need;
    let best = best(judgement);
    let mut page = head::page(judgement, best);
    ranked(&mut page, judgement);
    match (tree, best) {
        (Some(tree), _) => tree.onto(&mut page),
        (None, Some(best)) => details(&mut page, judgement, best),
        (None, None) => {}
    }
    overridden(&mut page, need);
    let packs = super::packs_of(book, judgement);
    page.blank();
    page.line(format!("gripbook {}; packs: {packs}", env!("CARGO_PKG_VERSION")));
    page.line(command.to_string());
    page
}

/// The candidate the sheet is about: the first of the best verdict that any reaches.
pub fn best<'a, 'n>(judgement: &'a Judgement<'n>) -> Option<&'a Candidate<'n>> {
    let first = |verdict: Verdict| judgement.candidates.iter().find(move |c| c.verdict == verdict);
    let order = [Verdict::Suits, Verdict::WithCare, Verdict::Unknown];
    order.into_iter().find_map(first).or_else(|| judgement.candidates.first())
}

fn ranked(page: &mut Page, judgement: &Judgement<'_>) {
    page.heading("Ranked");
    page.table(short_table(judgement));
    for c in judgement.candidates.iter().filter(|c| c.capacity.is_none()) {
        if let Some(why) = c.because.first() {
            page.item(format!("{}: {why}", c.short_title()));
        }
    }
    let tied = judgement.candidates.iter().any(|c| c.tied_with_next);
    if tied {
        page.line("[ and ] bracket neighbours that are not told apart (either is the stronger in 20 to 80 % of draws).");
    }
}

/// Marks of a run of candidates that are not told apart.
fn brackets(judgement: &Judgement<'_>) -> Vec<&'static str> {
    let all = &judgement.candidates;
    let tied = |i: usize| all.get(i).is_some_and(|c| c.tied_with_next);
    let mark = |i: usize| match (i > 0 && tied(i - 1), tied(i)) {
        (false, true) => "[",
        (true, true) => "|",
        (true, false) => "]",
        (false, false) => "",
    };
    (0..all.len()).map(mark).collect()
}

fn short_table(judgement: &Judgement<'_>) -> Table {
    let asked = judgement.candidates.iter().any(|c| c.probability.is_some());
    let last = if asked { "holds" } else { "95_%" };
    let mut table = Table::new(&["", "method", "verdict", "5_%_N", "median", last, "fails_by"]);
    for (candidate, mark) in judgement.candidates.iter().zip(brackets(judgement)) {
        let capacity = candidate.capacity.as_ref().filter(|_| !judgement.no_promise);
        let bound = candidate.lower_bound.as_ref().filter(|_| !judgement.no_promise);
        let first = capacity.and_then(|c| c.modes.first()).map(|(m, _)| m.word());
        // The unit stands in the heading, so that long names fit a line.
        let bare = |text: String| text.trim_end_matches(" N").to_string();
        table.row(vec![
            mark.into(),
            candidate.short_title().into(),
            short(candidate.verdict).into(),
            bound.map_or(Cell::Empty, |b| bare(promised(b.value)).into()),
            capacity.map_or(Cell::Empty, |c| bare(load(c.load.median)).into()),
            match candidate.probability.filter(|_| asked) {
                Some(p) => narrow(p).into(),
                None => capacity.filter(|_| !asked).map_or(Cell::Empty, |c| bare(load(c.load.high)).into()),
            },
            first.map_or(Cell::Empty, Into::into),
        ]);
    }
    table
}

/// A probability in five letters.
fn narrow(p: f64) -> String {
    match p {
        p if p > 0.995 => ">99 %".into(),
        p if p < 0.005 => "<1 %".into(),
        p => format!("{:.0} %", p * 100.0),
    }
}

/// A verdict in a word or two, so that a row fits a line.
fn short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Suits => "suits",
        Verdict::WithCare => "with care",
        Verdict::DoesNotSuit => "no",
        Verdict::Unknown => "unknown",
    }
}

/// The table for programs.
pub fn table(judgement: &Judgement<'_>) -> Table {
    let mut table = Table::new(&[
        "rank",
        "method",
        "insert",
        "adhesive",
        "verdict",
        "lower_bound_n",
        "lower_bound_kind",
        "median_n",
        "low_n",
        "high_n",
        "first_mode",
        "probability",
        "tied_with_next",
    ]);
    for (i, c) in judgement.candidates.iter().enumerate() {
        let capacity = c.capacity.as_ref().filter(|_| !judgement.no_promise);
        let bound = c.lower_bound.as_ref().filter(|_| !judgement.no_promise);
        table.row(vec![
            Cell::Number((i + 1) as f64),
            c.method.name.into(),
            c.insert.map(|r| r.id.to_string()).into(),
            c.adhesive.map(|r| r.id.to_string()).into(),
            c.verdict.word().into(),
            bound.map(|b| b.value).into(),
            bound.map(|b| b.kind.word()).into(),
            capacity.map(|k| k.load.median).into(),
            capacity.map(|k| k.load.low).into(),
            capacity.map(|k| k.load.high).into(),
            capacity.and_then(|k| k.modes.first()).map(|(m, _)| m.word()).into(),
            c.probability.into(),
            if c.tied_with_next { "yes" } else { "no" }.into(),
        ]);
    }
    table
}

fn details(page: &mut Page, judgement: &Judgement<'_>, best: &Candidate<'_>) {
    page.heading(format!("{}: {}", best.title(), best.verdict.text()));
    for why in &best.because {
        page.item(why.clone());
    }
    if let Some(capacity) = best.capacity.as_ref().filter(|_| !judgement.no_promise) {
        let mut table = Table::new(&["limit_state", "weakest_in", "5_%", "median", "95_%", "formula"]);
        for state in &capacity.states {
            table.row(vec![
                state.mode.word().into(),
                percent(state.share).into(),
                load(state.load.low).into(),
                load(state.load.median).into(),
                load(state.load.high).into(),
                state.formula.into(),
            ]);
        }
        page.table(table);
        for state in &capacity.states {
            if let Some(check) = state.check.filter(|c| c.flagged()) {
                page.line(format!(
                    "{}: first-order propagation gives a spread of {:.2}, the draws {:.2} in ln F: {} apart, the draws count.",
                    state.mode.word(),
                    check.first_order,
                    check.drawn,
                    percent(check.differs_by())
                ));
            }
        }
    }
    effort(page, best);
    list(page, "Steps", best.model.as_ref().map_or(&[][..], |m| &m.model.steps));
    let lacks: Vec<String> = best.missing.iter().map(|l| format!("{}: {}", l.what, l.settle)).collect();
    list(page, "Missing", &lacks);
    list(page, "Cautions", &best.cautions);
    sources(page, best);
}

fn effort(page: &mut Page, best: &Candidate<'_>) {
    page.heading("Effort and life");
    page.field("tools", best.effort.tools);
    page.field("minutes", format!("{} for one joint (practice)", best.effort.minutes));
    page.field("can go wrong", best.effort.wrong);
    let (low, high) = best.life;
    let life = if low == high { format!("{low} openings or more") } else { format!("{low} to {high} openings") };
    page.field("life", format!("{life} (practice: {})", best.life_assumption));
}

fn list(page: &mut Page, title: &str, items: &[String]) {
    if items.is_empty() {
        return;
    }
    page.heading(title);
    for item in items {
        page.item(item.clone());
    }
}

fn sources(page: &mut Page, best: &Candidate<'_>) {
    let Some(sealed) = &best.model else { return };
    page.heading("Values used");
    for claim in &sealed.model.claims {
        let source = claim.source.as_ref().map(|s| format!(", {s}")).unwrap_or_default();
        page.item(format!("{} = {} ({}{source})", claim.claim, claim.value, claim.basis.word()));
    }
    for series in &best.evidence.beside {
        page.item(format!("{series}: of this method and material, but another joint: it counts the less, the farther it lies"));
    }
    for quoted in &best.evidence.infill {
        page.item(format!("quoted, never scaled: {} ({})", quoted.text, quoted.series));
    }
    page.heading("Assumptions used");
    let names: Vec<&str> = sealed.model.assumptions.iter().copied().collect();
    page.line(format!("{}. `gripbook fasten --assumptions` gives values and reasons.", names.join(", ")));
}

fn overridden(page: &mut Page, need: &Need<'_>) {
    for setting in need.assumptions.overridden() {
        page.line(format!("Overridden by --set: {} = {} (the table says otherwise).", setting.row.name, setting.text()));
    }
}
