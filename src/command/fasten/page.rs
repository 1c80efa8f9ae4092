//! The sheet for people: what to do in its first 25 lines, the ranked table after it.

use super::words::{check, drawn, finished, lengths, load, mm, percent, promised, torque};
use crate::book::Book;
use crate::joint::geometry::Geometry;
use crate::joint::judge::{Candidate, Judgement, tighten};
use crate::joint::need::Need;
use crate::present::table::Cell;
use crate::present::{Page, Table};
use crate::quantity::{Amount, Measure};
use crate::suit::Verdict;

/// Said on every sheet.
const STANDING: &str = "Not for lifting, overhead loads, brakes, climbing, vehicles or medical use.";

/// The whole sheet.
pub fn sheet(judgement: &Judgement<'_>, book: &Book, command: &str) -> Page {
    let need = judgement.need;
    let best = best(judgement);
    let mut page = Page::titled(headline(judgement, best));
    page.field("Use", using(need));
    if let Some(best) = best {
        shape(&mut page, best);
        glue(&mut page, best);
        tightening(&mut page, need, best, judgement.no_promise);
        holds(&mut page, judgement, best);
        rests(&mut page, best);
        missing(&mut page, best);
        cautions(&mut page, best);
    }
    page.line(STANDING);
    ranked(&mut page, judgement);
    if let Some(best) = best {
        details(&mut page, judgement, best);
    }
    overridden(&mut page, need);
    let packs = super::packs_of(book, judgement);
    page.blank();
    page.line(format!("gripbook {}; packs: {packs}", env!("CARGO_PKG_VERSION")));
    page.line(command.to_string());
    page
}

/// The candidate the sheet is about: the first that is not refused, else the first.
fn best<'a, 'n>(judgement: &'a Judgement<'n>) -> Option<&'a Candidate<'n>> {
    let all = &judgement.candidates;
    all.iter().find(|c| c.verdict != Verdict::DoesNotSuit).or_else(|| all.first())
}

fn headline(judgement: &Judgement<'_>, best: Option<&Candidate<'_>>) -> String {
    let need = judgement.need;
    let mark = if judgement.invented { "INVENTED DATA: " } else { "" };
    let what = format!("{} x {} in {}", need.thread.designation(), Amount::of(need.length).text(2), need.material.name);
    match best {
        None => format!("{mark}{what}: no method"),
        Some(_) if judgement.no_promise => format!("{mark}{what}: no promise where somebody may be hurt"),
        Some(best) => format!("{mark}{what}: {}: {}", best.title(), best.verdict.text()),
    }
}

fn using(need: &Need<'_>) -> String {
    let mut words = vec!["short pull of about a minute".to_string()];
    if need.using.duration != crate::joint::need::Duration::Short {
        words = vec![format!("{} load", need.using.duration.word())];
    }
    let hot = need.using.hottest.map(|t| format!("up to {:.0} °C", t.si() - 273.15));
    let cold = need.using.coldest.map(|t| format!("down to {:.0} °C", t.si() - 273.15));
    words.push(hot.unwrap_or_else(|| "room temperature".into()));
    words.extend(cold);
    words.extend(need.using.place.map(|p| p.word().to_string()));
    words.push(match need.using.cycles {
        Some(n) => format!("{n} openings"),
        None => "meant for one assembly".into(),
    });
    if let Some(load) = need.load {
        let factor = if need.factor == 1.0 { String::new() } else { format!(" x {}", need.factor) };
        words.push(format!("need {}{factor}", Amount::of(load).text(3)));
    }
    words.join(", ")
}

fn shape(page: &mut Page, best: &Candidate<'_>) {
    let Some(geometry) = &best.geometry else { return };
    for (i, step) in geometry.hole.iter().enumerate().take(3) {
        let label = if i == 0 { "Hole".to_string() } else { format!("  {}", step.purpose) };
        page.field(label, format!("finished {}; drawn {}; {}", finished(step), drawn(step), check(step)));
    }
    let boss = if geometry.boss_given { "" } else { " or more" };
    let hole = if geometry.through { "through" } else { "blind" };
    page.field("Part", format!("boss Ø {}{boss}, {hole}, {} deep; {}", mm(geometry.boss), mm(geometry.depth), lengths(geometry)));
    if let Some(vent) = &geometry.vent {
        let text = format!("vent Ø {:.1} to {:.1} mm or a flat on the insert", vent.least.si() * 1e3, vent.most.si() * 1e3);
        page.field("", text);
    }
}

fn glue(page: &mut Page, best: &Candidate<'_>) {
    let (Some(glue), Some(geometry)) = (best.adhesive, &best.geometry) else { return };
    page.field("Glue", format!("{}, {}", glue.name, gap(geometry)));
}

/// `gap 0.10 mm each side`.
fn gap(geometry: &Geometry) -> String {
    match geometry.gap {
        Some((low, high)) if (high - low).si() < 1e-6 => format!("gap {} each side", mm(low)),
        Some((low, high)) => format!("gap {} to {} each side", mm(low), mm(high)),
        None => "no gap".into(),
    }
}

fn tightening(page: &mut Page, need: &Need<'_>, best: &Candidate<'_>, no_promise: bool) {
    let Some(band) = best.capacity.as_ref().and_then(|c| c.torque) else { return };
    if no_promise {
        return;
    }
    page.field(
        "Tighten",
        format!("at most {} (half of the 5 % point {} of what strips; practice)", torque(tighten(need, &band)), torque(band.low)),
    );
}

fn holds(page: &mut Page, judgement: &Judgement<'_>, best: &Candidate<'_>) {
    if judgement.no_promise {
        page.field("Holds", "no promise: a joint on which somebody's safety hangs belongs to a licensed engineer and to tests");
        return;
    }
    let (Some(capacity), Some(bound)) = (&best.capacity, &best.lower_bound) else {
        page.field("Holds", "no promise: something is missing");
        return;
    };
    let wide = if best.verdict == Verdict::Unknown { "; no promise while the verdict is unknown" } else { "" };
    page.field("Holds", format!("{} in a short pull: {}{wide}", promised(bound.value), bound.kind.text()));
    page.field(
        "",
        format!(
            "median {}, 90 % between {} and {}",
            load(capacity.load.median),
            load(capacity.load.low),
            load(capacity.load.high)
        ),
    );
    let modes = capacity.modes.iter().filter(|(_, s)| *s >= 0.005).take(3);
    let modes: Vec<String> = modes.map(|(m, s)| format!("{} ({})", m.text(), percent(*s))).collect();
    page.field("Fails by", modes.join(", "));
}

fn rests(page: &mut Page, best: &Candidate<'_>) {
    page.field("Rests on", best.evidence.text());
    if let Some(why) = best.because.first() {
        page.field("Because", why.clone());
    }
}

fn missing(page: &mut Page, best: &Candidate<'_>) {
    let mut lacks: Vec<_> = best.missing.iter().collect();
    lacks.sort_by_key(|l| !l.blocks);
    for (i, lack) in lacks.iter().enumerate().take(2) {
        let more = if i == 1 && lacks.len() > 2 { format!(" (and {} more below)", lacks.len() - 2) } else { String::new() };
        page.field(if i == 0 { "Missing" } else { "" }, format!("{}: {}{more}", lack.what, lack.settle));
    }
}

fn cautions(page: &mut Page, best: &Candidate<'_>) {
    let hazards = best.hazards.iter().map(|h| (*h).to_string());
    for (i, text) in hazards.chain(best.cautions.first().cloned()).enumerate().take(3) {
        page.field(if i == 0 { "Cautions" } else { "" }, text);
    }
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
    let mut table = Table::new(&["", "method", "verdict", "holds_N", "median", "95_%", "fails_by"]);
    for (candidate, mark) in judgement.candidates.iter().zip(brackets(judgement)) {
        let capacity = candidate.capacity.as_ref().filter(|_| !judgement.no_promise);
        let bound = candidate.lower_bound.as_ref().filter(|_| !judgement.no_promise);
        let first = capacity.and_then(|c| c.modes.first()).map(|(m, _)| m.word());
        // The unit stands in the heading, so that long names fit a line.
        let bare = |text: String| text.trim_end_matches(" N").to_string();
        table.row(vec![
            mark.into(),
            candidate.short_title().into(),
            candidate.verdict.text().into(),
            bound.map_or(Cell::Empty, |b| bare(promised(b.value)).into()),
            capacity.map_or(Cell::Empty, |c| bare(load(c.load.median)).into()),
            capacity.map_or(Cell::Empty, |c| bare(load(c.load.high)).into()),
            first.map_or(Cell::Empty, Into::into),
        ]);
    }
    table
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
        page.item(format!("{series}: of this combination, but outside the scaling limits: quoted, not used for the load"));
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
