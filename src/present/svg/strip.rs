//! Every specimen as a dot, mean and interval below, groups apart, modes by shape and word.

use super::axis::Scale;
use super::marks::mark;
use super::{Anchor, Drawing, FAINT, GRID, INK, Stroke, TextStyle, at, lines_of, text_width};
use crate::series::plot::{DotRow, Strip};
use crate::series::vocabulary::mode_means;

const WIDTH: f64 = 760.0;
const MARGIN: f64 = 24.0;
const ROW: f64 = 62.0;
const TITLE: f64 = 16.0;
const SMALL: f64 = 11.0;
const NORMAL: f64 = 13.0;

/// The plot as an SVG file.
pub fn draw(plot: &Strip) -> String {
    let modes = modes(plot);
    // Bold letters are a little wider than the estimate for plain ones.
    let title = lines_of(&plot.title, 1.12 * TITLE, WIDTH - 2.0 * MARGIN);
    let footer: Vec<String> = plot.footer.iter().flat_map(|l| lines_of(l, SMALL, WIDTH - 2.0 * MARGIN)).collect();
    let top = 46.0 + 20.0 * title.len() as f64;
    let axis_y = top + ROW * plot.rows.len() as f64;
    let below = axis_y + 60.0 + 20.0 * (modes.len() + 1) as f64;
    let height = below + 16.0 * footer.len() as f64 + 18.0;
    let mut d = Drawing::new(WIDTH, height, "", &plot.title, &description(plot));
    d.paragraph(at(MARGIN, 32.0), &title, 20.0, TextStyle::plain(TITLE, Anchor::Start).bold());
    let label = plot.rows.iter().map(|r| text_width(&r.name, NORMAL)).fold(0.0, f64::max).min(220.0);
    let left = MARGIN + if label > 0.0 { label + 14.0 } else { 0.0 };
    let scale = scale(plot, left, WIDTH - MARGIN - 20.0);
    axis(&mut d, plot, &scale, left, Ends { top, floor: axis_y });
    for (number, row) in plot.rows.iter().enumerate() {
        one(&mut d, row, &modes, &scale, top + ROW * number as f64);
    }
    legend(&mut d, &modes, axis_y + 66.0);
    let style = TextStyle::plain(SMALL, Anchor::Start).colour(FAINT);
    d.paragraph(at(MARGIN, below + 8.0), &footer, 16.0, style);
    d.finish()
}

fn scale(plot: &Strip, left: f64, right: f64) -> Scale {
    let ends = |r: &DotRow| {
        let dots = r.dots.iter().map(|p| p.value);
        dots.chain(r.interval.map(|i| i.0)).chain(r.interval.map(|i| i.1)).collect::<Vec<_>>()
    };
    let mut all: Vec<f64> = plot.rows.iter().flat_map(ends).filter(|v| v.is_finite()).collect();
    all.extend(plot.bound.as_ref().map(|b| b.0));
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low.is_finite() { Scale::new(low, high, left, right, 6) } else { Scale::new(0.0, 1.0, left, right, 6) }
}

/// Upper and lower end of the plot.
#[derive(Clone, Copy)]
struct Ends {
    top: f64,
    floor: f64,
}

fn axis(d: &mut Drawing, plot: &Strip, scale: &Scale, left: f64, ends: Ends) {
    let (top, y) = (ends.top, ends.floor);
    let right = WIDTH - MARGIN - 20.0;
    for tick in scale.ticks() {
        let x = scale.place(tick.value);
        d.line(at(x, top - 14.0), at(x, y), Stroke::solid(GRID, 1.0));
        d.text(at(x, y + 18.0), &tick.label, TextStyle::plain(SMALL, Anchor::Middle));
    }
    d.line(at(left, y), at(right, y), Stroke::solid(INK, 1.2));
    let unit = plot.unit.symbol();
    let title = if unit == "1" { plot.axis.clone() } else { format!("{} in {unit}", plot.axis) };
    d.text(at(f64::midpoint(left, right), y + 38.0), &title, TextStyle::plain(NORMAL, Anchor::Middle));
    if let Some((value, name)) = &plot.bound {
        let x = scale.place(*value);
        d.line(at(x, top - 14.0), at(x, y), Stroke::dashed(INK, 1.2, "5 3"));
        // The label stands on the side with more room.
        let anchor = if x > f64::midpoint(left, right) { Anchor::End } else { Anchor::Start };
        d.text(at(if anchor == Anchor::End { x + 2.0 } else { x - 2.0 }, top - 18.0), name, TextStyle::plain(SMALL, anchor));
    }
}

fn one(d: &mut Drawing, row: &DotRow, modes: &[String], scale: &Scale, top: f64) {
    d.text(at(MARGIN, top + 26.0), &row.name, TextStyle::plain(NORMAL, Anchor::Start));
    let y = top + 20.0;
    for (dot, lift) in row.dots.iter().zip(lifts(row, scale)) {
        let place = modes.iter().position(|m| *m == dot.mode).unwrap_or(0);
        mark(d, at(scale.place(dot.value), y - lift), place, dot.held, 5.0);
    }
    let line = top + 42.0;
    if let Some((low, high)) = row.interval {
        let (low, high) = (scale.place(low), scale.place(high));
        d.line(at(low, line), at(high, line), Stroke::solid(INK, 1.6));
        for x in [low, high] {
            d.line(at(x, line - 4.0), at(x, line + 4.0), Stroke::solid(INK, 1.6));
        }
    }
    if let Some(mean) = row.mean {
        let x = scale.place(mean);
        d.line(at(x, line - 8.0), at(x, line + 8.0), Stroke::solid(INK, 3.0));
    }
}

/// Dots that would cover each other are lifted in turn.
fn lifts(row: &DotRow, scale: &Scale) -> Vec<f64> {
    let mut taken: Vec<(f64, f64)> = Vec::new();
    row.dots
        .iter()
        .map(|dot| {
            let x = scale.place(dot.value);
            let free = |lift: f64| !taken.iter().any(|&(tx, tl)| tl == lift && (tx - x).abs() < 11.0);
            let lift = [0.0, 11.0, -9.0, 20.0].into_iter().find(|&l| free(l)).unwrap_or(0.0);
            taken.push((x, lift));
            lift
        })
        .collect()
}

fn modes(plot: &Strip) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for dot in plot.rows.iter().flat_map(|r| &r.dots) {
        if !list.contains(&dot.mode) {
            list.push(dot.mode.clone());
        }
    }
    list
}

fn legend(d: &mut Drawing, modes: &[String], top: f64) {
    for (place, mode) in modes.iter().enumerate() {
        let y = top + 20.0 * place as f64;
        let held = mode == "machine-limit";
        mark(d, at(MARGIN + 8.0, y - 4.0), place, held, 5.0);
        d.text(at(MARGIN + 32.0, y), &format!("{mode}: {}", mode_means(mode)), TextStyle::plain(12.0, Anchor::Start));
    }
    let y = top + 20.0 * modes.len() as f64;
    d.line(at(MARGIN, y - 4.0), at(MARGIN + 22.0, y - 4.0), Stroke::solid(INK, 1.6));
    d.line(at(MARGIN + 11.0, y - 10.0), at(MARGIN + 11.0, y + 2.0), Stroke::solid(INK, 3.0));
    d.text(at(MARGIN + 32.0, y), "mean of those that failed, with its 95 % interval", TextStyle::plain(12.0, Anchor::Start));
}

fn description(plot: &Strip) -> String {
    let unit = plot.unit.symbol();
    let rows: Vec<String> = plot
        .rows
        .iter()
        .map(|r| {
            let list: Vec<String> =
                r.dots.iter().map(|p| format!("{}{} {}", if p.held { "more than " } else { "" }, p.value, p.mode)).collect();
            format!("{}: {}", if r.name.is_empty() { "specimens" } else { &r.name }, list.join(", "))
        })
        .collect();
    format!("{} in {unit}. {}", plot.axis, rows.join(". "))
}
