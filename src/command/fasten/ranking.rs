//! The methods in order: a row each for the first screen, every candidate for the whole page and for programs.

use super::words::{design as design_text, load, promised};
use gripbook::joint::held::Held;
use gripbook::joint::judge::{Candidate, Judgement, Survival};
use gripbook::joint::need::{Duration, Need};
use gripbook::present::brief::shortened;
use gripbook::present::fold::fold;
use gripbook::present::table::Cell;
use gripbook::present::{Look, Page, Table, text};
use std::collections::BTreeSet;

/// Rows of the first screen.
const MOST: usize = 10;

/// Lines of a first screen with ten further methods, one line each, and its last line.
const LINES: usize = super::head::MOST + 2 + MOST + 1;

/// One row for each further method, with the reason of its verdict: whole where lines are left, else broken off at a word.
pub fn short(page: &mut Page, judgement: &Judgement<'_>, width: usize) {
    let mut seen: BTreeSet<&str> = judgement.best().map(|c| c.method.name).into_iter().collect();
    let others: Vec<&Candidate<'_>> = judgement.candidates.iter().filter(|c| seen.insert(c.method.name)).take(MOST).collect();
    if others.is_empty() {
        return;
    }
    let cells = |c: &&Candidate<'_>| [c.method.name.to_owned(), c.verdict.short().to_owned(), told_load(judgement, c)];
    let rows: Vec<[String; 3]> = others.iter().map(cells).collect();
    let columns = ["other_method", "verdict", load_column(judgement), "because"];
    let widest = |i: usize| rows.iter().map(|r| r[i].chars().count()).max().unwrap_or(0).max(columns[i].len()) + 2;
    let room = width.saturating_sub((0..3).map(widest).sum());
    let used = text::page(page, Look { width, colour: false }).lines().count() + 2 + rows.len() + 1;
    let mut left = LINES.saturating_sub(used);
    let mut table = Table::new(&columns);
    let mut above = judgement.best().map(|c| core(judgement.need, c)).unwrap_or_default();
    for (c, [method, verdict, load]) in others.into_iter().zip(rows) {
        let why = core(judgement.need, c);
        // A long reason that stands above already is not told again.
        let told = if why == above && why.chars().count() > room { reason(c, "as above") } else { reason(c, &why) };
        let more = fold(&told, "", "", room).lines().count().saturating_sub(1);
        // A word wider than the room would take it from the short columns.
        let is_whole = more <= left && told.split(' ').all(|word| word.chars().count() <= room);
        let told = if is_whole { told } else { shortened(&told, room) };
        left -= if is_whole { more } else { 0 };
        table.row(vec![method.into(), verdict.into(), load.into(), told.into()]);
        above = why;
    }
    page.blank().table(table);
}

/// The name of the column of loads: what is asked for is a sustained load or a short pull.
fn load_column(judgement: &Judgement<'_>) -> &'static str {
    if judgement.need.using.duration == Duration::Held { "sustained" } else { "design_load" }
}

/// The load that may be counted on, of the sort asked for.
fn told_load(judgement: &Judgement<'_>, c: &Candidate<'_>) -> String {
    let design = c.design().filter(|_| !judgement.no_promise);
    match (design, judgement.need.using.duration) {
        (None, _) => String::new(),
        (Some(_), Duration::Held) => c.held.as_ref().and_then(Held::load).map(promised).unwrap_or_default(),
        (Some(bound), _) => design_text(bound),
    }
}

/// A reason with what the row has besides.
fn reason(c: &Candidate<'_>, why: &str) -> String {
    let glue = c.adhesive.filter(|_| c.short_title() != c.method.name).map(|a| format!("; {}", a.id.name()));
    format!("{}{why}{}", if c.alternative { "alternative; " } else { "" }, glue.unwrap_or_default())
}

/// Why the verdict is what it is, in few words: the row names material and need already.
fn core(need: &Need<'_>, c: &Candidate<'_>) -> String {
    let first = c.because.first().map_or("", String::as_str);
    match c.survival.filter(|s| s.text() == first) {
        Some(s) => of_survival(c, s),
        None => first.strip_prefix(&*need.material.name).map_or(first, |rest| rest.trim_start_matches(" is ").trim()).to_string(),
    }
}

/// The survival at the need and what fails first; without a need, what fails first.
fn of_survival(c: &Candidate<'_>, survival: Survival) -> String {
    let mode = c.capacity.as_ref().and_then(|k| k.modes.first()).map_or("", |(m, _)| m.short());
    if survival.asked { format!("{}: {mode}", survival.percent()) } else { mode.into() }
}

/// Every candidate, then the reasons.
pub fn whole(page: &mut Page, judgement: &Judgement<'_>) {
    page.heading("Ranking");
    page.table(table_for_people(judgement));
    // The survival stands in the table already; what else decided is told here.
    for c in &judgement.candidates {
        let survival = c.survival.map(|s| s.text());
        if let Some(why) = c.because.iter().find(|why| Some(*why) != survival.as_ref()) {
            page.item(format!("{}: {why}", c.short_title().replacen('/', ", ", 1)));
        }
    }
    if judgement.candidates.iter().any(|c| c.tied_with_next) {
        page.line(
            "[ and ] bracket neighbours that are not statistically distinguishable (either is stronger in 20 to 80 % of draws).",
        );
    }
    if judgement.candidates.iter().any(|c| c.alternative) {
        page.line(
            "An alternative makes no thread in the part, or does without the insert that was named; it leads only where it is asked for with --method.",
        );
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

fn table_for_people(judgement: &Judgement<'_>) -> Table {
    let mut table = Table::new(&["", "method", "verdict", load_column(judgement), "median", "survival"]);
    for (candidate, mark) in judgement.candidates.iter().zip(brackets(judgement)) {
        let capacity = candidate.capacity.as_ref().filter(|_| !judgement.no_promise);
        let verdict = candidate.verdict.short();
        table.row(vec![
            mark.into(),
            candidate.short_title().replacen('/', ", ", 1).into(),
            if candidate.alternative { format!("{verdict}, alternative") } else { verdict.to_string() }.into(),
            told_load(judgement, candidate).into(),
            capacity.map(|c| load(c.load.median)).into(),
            candidate.survival.map(|s| s.percent()).into(),
        ]);
    }
    table
}

/// The candidates as programs are told them, each with whether it is tied with the one told next: alternatives lead neither
/// here nor on the screen, so that the first is the best.
pub fn listed<'j, 'n>(judgement: &'j Judgement<'n>) -> Vec<(&'j Candidate<'n>, bool)> {
    let places = judgement.listed();
    let follows = |at: usize| places.get(at + 1).is_some_and(|next| *next == places[at] + 1);
    let one = |at: usize| {
        let candidate = &judgement.candidates[places[at]];
        (candidate, candidate.tied_with_next && follows(at))
    };
    (0..places.len()).map(one).collect()
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
        "design_load_n",
        "survival",
        "survival_at_n",
        "alternative",
        "because",
        "sustained_n",
        "sustained_share",
    ]);
    for (i, (c, tied)) in listed(judgement).into_iter().enumerate() {
        let capacity = c.capacity.as_ref().filter(|_| !judgement.no_promise);
        let held = c.held.as_ref().filter(|_| !judgement.no_promise);
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
            c.survival.filter(|s| s.asked).map(|s| s.share).into(),
            if tied { "yes" } else { "no" }.into(),
            c.design().filter(|_| !judgement.no_promise).map(|b| b.design()).into(),
            c.survival.map(|s| s.share).into(),
            c.survival.map(|s| s.load).into(),
            if c.alternative { "yes" } else { "no" }.into(),
            c.because.join("; ").into(),
            held.and_then(Held::load).into(),
            held.map(|h| h.share).into(),
        ]);
    }
    table
}
