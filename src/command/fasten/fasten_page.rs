//! The answer for people: the first screen, and the whole page.

use super::change::WhatIf;
use super::head::{self, Extent};
use super::ranking;
use super::tree::Tree;
use super::words::{load, percent};
use gripbook::book::Book;
use gripbook::joint::evaluate::Capacity;
use gripbook::joint::judge::{Candidate, Judgement};
use gripbook::joint::need::Need;
use gripbook::present::{Page, Table};

/// The first screen: at most 15 lines about the best way, and a row for each other method.
pub fn first_screen(judgement: &Judgement<'_>, changes: &[WhatIf], note: Option<&str>, width: usize) -> Page {
    let mut page = head::page(judgement, judgement.best(), changes, note, Extent::First(width));
    ranking::short(&mut page, judgement, width);
    overridden(&mut page, judgement.need);
    page.line("--full: whole reasons, pins, every candidate and limit state, values, sources.");
    page
}

/// The whole sheet.
pub fn sheet(judgement: &Judgement<'_>, changes: &[WhatIf], book: &Book, command: &str, tree: Option<&Tree>) -> Page {
    let best = judgement.best();
    let mut page = head::page(judgement, best, changes, None, Extent::Whole);
    ranking::whole(&mut page, judgement);
    match (tree, best) {
        (Some(tree), _) => tree.onto(&mut page),
        (None, Some(best)) => details(&mut page, judgement, best),
        (None, None) => {}
    }
    overridden(&mut page, judgement.need);
    let packs = super::packs_of(book, judgement);
    page.blank();
    page.line(format!("gripbook {}; packs: {packs}", env!("CARGO_PKG_VERSION")));
    page.line(command.to_string());
    page
}

fn details(page: &mut Page, judgement: &Judgement<'_>, best: &Candidate<'_>) {
    if let Some(capacity) = best.capacity.as_ref().filter(|_| !judgement.no_promise) {
        limit_states(page, capacity);
    }
    effort(page, best);
    list(page, "Steps", best.model.as_ref().map_or(&[][..], |m| &m.model.steps));
    let lacks: Vec<String> = best.missing.iter().map(|l| format!("{}: {}", l.what, l.settle)).collect();
    list(page, "Missing", &lacks);
    list(page, "Cautions", &best.cautions);
    sources(page, best);
}

fn limit_states(page: &mut Page, capacity: &Capacity) {
    page.heading("Limit states");
    // The unit stands in the heading, so that the words of a state fit a line.
    let bare = |newtons: f64| load(newtons).trim_end_matches(" N").to_string();
    let mut table = Table::new(&["failure_mode", "governs", "5_%_N", "median", "95_%"]);
    for state in &capacity.states {
        table.row(vec![
            state.mode.text().into(),
            percent(state.share).into(),
            bare(state.load().low).into(),
            bare(state.load().median).into(),
            bare(state.load().high).into(),
        ]);
    }
    page.table(table);
    for state in &capacity.states {
        page.item(format!("{}: {}", state.mode.text(), state.formula));
    }
    for state in &capacity.states {
        if let Some(check) = state.check().filter(|c| c.flagged()) {
            page.line(format!(
                "{}: first-order propagation gives a spread of {:.2}, the draws {:.2} in ln F: {} apart, the draws count.",
                state.mode.text(),
                check.first_order,
                check.drawn,
                percent(check.differs_by())
            ));
        }
    }
}

fn effort(page: &mut Page, best: &Candidate<'_>) {
    page.heading("Assembly effort and reuse");
    page.field("tools", best.effort.tools);
    page.field("minutes", format!("{} for one joint (practice)", best.effort.minutes));
    page.field("common errors", best.effort.wrong);
    let gripbook::joint::method::Life { low, high, origin } = best.life;
    let life = if low == high { format!("{low} openings or more") } else { format!("{low} to {high} openings") };
    let basis = if best.method.record == Some(origin) { "" } else { "practice: " };
    page.field("life", format!("{life} ({basis}{origin})"));
}

fn list(page: &mut Page, title: &str, items: &[String]) {
    if items.is_empty() {
        return;
    }
    page.heading(title);
    for item in items {
        page.item(sentence(item));
    }
}

/// A text as a sentence: a capital first, a full stop last. What begins with an id or a number stays.
fn sentence(text: &str) -> String {
    let is_word = text.split(' ').next().is_some_and(|word| word.chars().all(|c| c.is_alphabetic() || c == '-'));
    let mut letters = text.chars();
    let head = letters.next().filter(|_| is_word).map(|first| first.to_uppercase().chain(letters).collect::<String>());
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{}{stop}", head.unwrap_or_else(|| text.to_owned()))
}

fn sources(page: &mut Page, best: &Candidate<'_>) {
    let Some(sealed) = &best.model else { return };
    page.heading("Values used");
    for claim in &sealed.model.claims {
        let source = claim.source.as_ref().map(|s| format!(", {s}")).unwrap_or_default();
        page.item(format!("{} = {} ({}{source})", claim.claim, claim.value, claim.basis.word()));
    }
    for series in &best.evidence.beside {
        page.item(format!(
            "{series}: of this method and material, but of another joint: the more it differs, the less it counts"
        ));
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
        page.line(format!("Overridden by --set: {} = {} (the table has another value).", setting.row.name, setting.text()));
    }
}
