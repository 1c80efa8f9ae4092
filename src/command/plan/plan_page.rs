//! Plans for people and as JSON.

use gripbook::present::table::Cell;
use gripbook::present::{Page, Table, counted};
use gripbook::series::bounds::title;
use gripbook::series::plan::ladder::Ladder;
use gripbook::series::plan::matrix::{REFERENCE, RunMatrix, in_job};
use gripbook::series::plan::number::{Promise, Tell};
use gripbook::series::plan::order;
use gripbook::series::vocabulary;
use gripbook::statistics::refusal::Refusal;
use serde_json::{Value, json};

fn percent(x: f64) -> String {
    // 20 % as people write it, not 20.0 %.
    let text = gripbook::quantity::print::trimmed(x * 100.0, if x >= 0.1 { 3 } else { 2 });
    format!("{text} %")
}

/// Number of specimens to tell a difference.
pub fn tell(page: &mut Page, cv: f64, t: &Tell, full: bool) {
    page.heading(format!("To detect a difference of {} at a scatter of {}", percent(t.difference), percent(cv)));
    page.line(format!(
        "{} specimens per group have a power of {}; {} was asked for (two-sided t test at 5 %, counting only rejections in the true direction).",
        t.size.per_group,
        percent(t.size.power),
        percent(t.power)
    ));
    if full {
        chances(page, t);
    }
    if let (Some(three), Some(row)) = (t.three_tell, t.table.iter().find(|r| r.n == 3)) {
        page.line(format!(
            "Three per group detect a difference of {} or more; they miss one of {} in {:.0} of 100 tests, and a miss does not show that the groups are equal.",
            percent(three),
            percent(t.difference),
            100.0 * (1.0 - row.power)
        ));
    }
    page.line("The scatter is an assumption: plan again after the first print job, with the scatter found there.");
}

/// A power, never rounded to a certainty.
fn power(x: f64) -> String {
    if x >= 0.9995 { "above 99.9 %".into() } else { percent(x) }
}

fn chances(page: &mut Page, t: &Tell) {
    let least = format!("smallest difference detected with power {}", percent(t.power));
    let mut table = Table::new(&["per group", "power to detect it", &least]);
    for row in &t.table {
        table.row(vec![Cell::Number(row.n as f64), power(row.power).into(), row.tells.map(percent).into()]);
    }
    page.table(table);
}

/// Number of specimens to promise a share of the mean.
pub fn promise(page: &mut Page, cv: f64, p: &Promise, full: bool) {
    page.heading(format!("For a lower bound of {} of the mean at a scatter of {}", percent(p.share), percent(cv)));
    for (name, need) in [("five-at-75", &p.five_at_75), ("predictive-5", &p.predictive)] {
        let name = title(name);
        page.item(match need {
            Ok(n) => format!("{name}: {n} specimens"),
            Err(why) => format!("{name}: no number of specimens suffices ({why})"),
        });
    }
    if full {
        let mut table = Table::new(&["specimens", "characteristic value", "95 % prediction bound"]);
        for row in &p.table {
            table.row(vec![Cell::Number(row.n as f64), percent(row.five_at_75).into(), percent(row.predictive).into()]);
        }
        page.table(table);
    }
    page.line("Lognormal; shares of the geometric mean. Specimens of one batch speak for that batch only.");
}

/// The matrix plan.
pub fn matrix(page: &mut Page, m: &RunMatrix, reference: &str, full: bool) {
    let n = m.each;
    let blocks = if m.jobs == 1 { "one print job".to_owned() } else { format!("{} print jobs as blocks", m.jobs) };
    let cells = counted(m.cells.len(), "combination");
    page.heading(format!("{cells}, {} each, {blocks}", counted(n, "specimen")));
    if m.jobs == 1 {
        page.line("One print job: how much jobs and batches differ cannot be seen, so the result holds for this job only. Two jobs tell more than twice the specimens of one (--jobs 2).");
    } else if !n.is_multiple_of(m.jobs) {
        let list: Vec<String> = (1..=m.jobs).map(|b| in_job(n, m.jobs, b).to_string()).collect();
        page.line(format!("The jobs hold {} specimens of each combination, in this order.", list.join(" and ")));
    }
    let columns: Vec<&str> = std::iter::once("cell").chain(m.factors.iter().map(|f| f.name.as_str())).chain(["hole"]).collect();
    let mut table = Table::new(&columns);
    for c in &m.cells {
        let row = std::iter::once(&c.letter).chain(&c.values).chain([&c.hole]);
        table.row(row.map(|v| v.as_str().into()).collect());
    }
    page.table(table);
    page.line(format!("{REFERENCE}: reference joint, one in each job, to show drift: {reference}."));
    if m.cells.iter().any(|c| c.hole == super::HOLE_OPEN) {
        page.line("A hole stays open where material or method is not a factor, or where thread or length is not given (--thread, --length).");
    }
    if !full {
        page.line("Wear goggles and use a shield when testing: brittle parts burst and throw fragments.");
        return;
    }
    page.heading("Order of testing");
    for block in 1..=m.jobs {
        let list: Vec<&str> = m.specimens.iter().filter(|s| s.block == block).map(|s| s.label.as_str()).collect();
        page.field(format!("job {block}"), list.join(", "));
    }
    page.line(format!("A label is cell, job and number in that job. Order made with {}, seed {}.", order::NAME, m.seed));
    kit(page, m, reference);
    stop(page, n);
    cautions(page);
}

fn kit(page: &mut Page, m: &RunMatrix, reference: &str) {
    page.heading("Kit");
    let n = m.each;
    for (place, factor) in m.factors.iter().enumerate() {
        for value in &factor.values {
            let count = m.cells.iter().filter(|c| c.values[place] == *value).count() * n;
            page.item(format!("{} {value}: {count} specimens", factor.name));
        }
    }
    page.item(format!("reference joints: {} ({reference})", m.jobs));
    page.item(format!("labels: {}", m.specimens.len()));
    page.item("pins or calipers for the printed holes, the rig with the date of its last check, a known mass, goggles, a shield");
}

fn stop(page: &mut Page, n: usize) {
    page.heading("Stop rule");
    page.line(format!(
        "Decide before the start: test all {n} of every combination, in every job, then reduce. Do not stop early because the results look good or bad, and do not add specimens until a difference shows. A specimen is left out only for a fault seen before its load was known, and the sheet says which. If the reference joint of a job is more than three standard deviations from its earlier mean, look for the cause before that job counts."
    ));
}

fn cautions(page: &mut Page) {
    page.heading("Cautions");
    page.item("Wear goggles and use a shield: brittle parts burst and throw fragments.");
    page.item("Keep hands out of the load path, and unload before touching anything.");
    page.item("Solvents, cyanoacrylate, uncured resin and hot irons: wear gloves and ventilate as the safety data sheets say.");
    page.line(format!(
        "Failure modes for the sheet: {}.",
        vocabulary::MODES.iter().map(|w| w.word).collect::<Vec<_>>().join(", ")
    ));
}

/// The ladder coupon.
pub fn ladder(l: &Ladder) -> Page {
    let (low, high) = (l.holes.first().map_or(0.0, |h| h.diameter), l.holes.get(l.columns - 1).map_or(0.0, |h| h.diameter));
    let mut page = Page::titled(format!("Hole ladder {low:.1} mm to {high:.1} mm"));
    page.blank();
    page.field("holes", format!("{} in steps of 0.1 mm, 3 repeats, blind and through: {} in all", l.columns, l.holes.len()));
    page.field(
        "plate",
        format!(
            "{} × {} × {} mm, ear beside the smallest blind hole",
            l.columns as f64 * l.tile,
            l.rows as f64 * l.tile,
            l.thickness
        ),
    );
    page.field("blind holes", format!("{} mm deep", l.depth));
    page.line(
        "Print it as the parts are printed: same machine, settings, orientation, washing and curing. Print a second one in another job.",
    );
    page.line("Measure every hole with pins; note the largest that drops in by its own weight. Deburr by hand only as the parts are deburred.");
    page.line("Then: gripbook import ladder readings.csv --process ID");
    page
}

/// JSON of a tell.
pub fn tell_json(t: &Tell) -> Value {
    json!({
        "difference": t.difference, "power": t.power, "per_group": t.size.per_group, "exact": t.size.exact, "reached": t.size.power,
        "counted": "rejections of a two-sided t test at 5 % in the true direction",
        "three_tell": t.three_tell,
        "table": t.table.iter().map(|r| json!({"n": r.n, "power": r.power, "tells": r.tells})).collect::<Vec<_>>(),
    })
}

/// JSON of a promise.
pub fn promise_json(p: &Promise) -> Value {
    let need = |r: &Result<usize, Refusal>| match r {
        Ok(n) => json!(n),
        Err(why) => json!({"refused": why.to_string()}),
    };
    json!({
        "share": p.share, "five-at-75": need(&p.five_at_75), "predictive-5": need(&p.predictive),
        "table": p.table.iter().map(|r| json!({"n": r.n, "five-at-75": r.five_at_75, "predictive-5": r.predictive})).collect::<Vec<_>>(),
    })
}

/// JSON of a matrix.
pub fn matrix_json(m: &RunMatrix, reference: &str) -> Value {
    json!({
        "factors": m.factors.iter().map(|f| json!({"name": f.name, "values": f.values})).collect::<Vec<_>>(),
        "cells": m.cells.iter().map(|c| json!({"cell": c.letter, "values": c.values, "hole": c.hole})).collect::<Vec<_>>(),
        "jobs": m.jobs, "repeats": m.each.div_ceil(m.jobs), "specimens_of_each": m.each, "reference": reference, "seed": m.seed, "generator": order::NAME,
        "specimens": m.specimens.iter().map(|s| json!({"label": s.label, "block": s.block, "order": s.order, "cell": s.cell})).collect::<Vec<_>>(),
    })
}

/// JSON of a ladder.
pub fn ladder_json(l: &Ladder) -> Value {
    json!({
        "tile_mm": l.tile, "columns": l.columns, "rows": l.rows, "thickness_mm": l.thickness, "depth_mm": l.depth,
        "holes": l.holes.iter().map(|h| json!({"diameter_mm": h.diameter, "kind": h.kind.word(), "repeat": h.repeat, "column": h.column, "row": h.row})).collect::<Vec<_>>(),
    })
}
