//! Load against travel, one line per specimen, the peak marked by failure mode.

use super::axis::Scale;
use super::marks::mark;
use super::{Anchor, At, COLOURS, Drawing, FAINT, GRID, INK, Stroke, TextStyle, at, lines_of};
use crate::series::plot::{CurveLine, Traces};
use crate::series::vocabulary::mode_means;

const WIDTH: f64 = 760.0;
const LEFT: f64 = 78.0;
const RIGHT: f64 = 690.0;
const MARGIN: f64 = 24.0;
const TITLE: f64 = 16.0;
const TALL: f64 = 344.0;
const DASHES: [&str; 4] = ["", "7 3", "2 3", "9 3 2 3"];
/// Points of a line on paper; more than this cannot be told apart.
const MOST_POINTS: usize = 1500;

/// The plot as an SVG file.
pub fn draw(plot: &Traces) -> String {
    let modes = modes(plot);
    let title = lines_of(&plot.title, 1.12 * TITLE, WIDTH - 2.0 * MARGIN);
    let footer: Vec<String> = plot.footer.iter().flat_map(|l| lines_of(l, 11.0, WIDTH - 2.0 * MARGIN)).collect();
    let ends = Ends { top: 36.0 + 20.0 * title.len() as f64, floor: 36.0 + TALL + 20.0 * title.len() as f64 };
    let legend = ends.floor + 66.0;
    let lines = plot.curves.len().div_ceil(4) + modes.len();
    let below = legend + 20.0 * lines as f64 + 10.0;
    let height = below + 16.0 * footer.len() as f64 + 10.0;
    let list: Vec<String> =
        plot.curves.iter().map(|c| format!("{} peak {:.0} N at {:.2} mm, {}", c.name, c.peak.y, c.peak.x, c.mode)).collect();
    let mut d = Drawing::new(WIDTH, height, "", &plot.title, &format!("Load against travel. {}", list.join(". ")));
    d.paragraph(at(MARGIN, 32.0), &title, 20.0, TextStyle::plain(TITLE, Anchor::Start).bold());
    let (x, y) = scales(plot, ends);
    axes(&mut d, &x, &y, ends);
    for (number, curve) in plot.curves.iter().enumerate() {
        d.polyline(&thinned(curve, &x, &y), stroke(number));
    }
    for curve in &plot.curves {
        let place = modes.iter().position(|m| *m == curve.mode).unwrap_or(0);
        mark(&mut d, at(x.place(curve.peak.x), y.place(curve.peak.y)), place, curve.held, 4.5);
    }
    ends_named(&mut d, plot, &x, &y);
    names(&mut d, plot, &modes, legend);
    d.paragraph(at(MARGIN, below), &footer, 16.0, TextStyle::plain(11.0, Anchor::Start).colour(FAINT));
    d.finish()
}

fn stroke(number: usize) -> Stroke {
    Stroke { colour: COLOURS[number % COLOURS.len()], width: 1.5, dash: DASHES[number % DASHES.len()] }
}

/// The name of each curve at its end, pushed apart where ends lie close, so that no colour need be told.
fn ends_named(d: &mut Drawing, plot: &Traces, x: &Scale, y: &Scale) {
    let end = |c: &CurveLine| c.points.last().map(|p| (at(x.place(p.x) + 5.0, y.place(p.y) + 4.0), c.name.clone()));
    let mut list: Vec<(At, String)> = plot.curves.iter().filter_map(end).collect();
    list.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
    let mut taken: Vec<At> = Vec::new();
    for (mut place, name) in list {
        while let Some(other) = taken.iter().find(|t| (t.y - place.y).abs() < 12.0 && (t.x - place.x).abs() < 40.0) {
            place.y = other.y + 12.0;
        }
        taken.push(place);
        d.text(place, &name, TextStyle::plain(11.0, Anchor::Start));
    }
}

/// Upper and lower end of the plot.
#[derive(Clone, Copy)]
struct Ends {
    top: f64,
    floor: f64,
}

fn scales(plot: &Traces, ends: Ends) -> (Scale, Scale) {
    let points = || plot.curves.iter().flat_map(|c| &c.points);
    let far = points().map(|p| p.x).fold(0.0, f64::max);
    let near = points().map(|p| p.x).fold(0.0, f64::min);
    let high = points().map(|p| p.y).fold(0.0, f64::max);
    let low = points().map(|p| p.y).fold(0.0, f64::min);
    // A hair below zero (noise, the rig taken off) is no reason for another step of the axis.
    let floor = |least: f64, most: f64| if least > -0.03 * most { 0.0 } else { least };
    (Scale::new(floor(near, far), far, LEFT, RIGHT, 6), Scale::new(floor(low, high), high, ends.floor, ends.top, 6))
}

fn axes(d: &mut Drawing, x: &Scale, y: &Scale, ends: Ends) {
    let (top, floor) = (ends.top, ends.floor);
    for tick in x.ticks() {
        let place = x.place(tick.value);
        d.line(at(place, top), at(place, floor), Stroke::solid(GRID, 1.0));
        d.text(at(place, floor + 18.0), &tick.label, TextStyle::plain(11.0, Anchor::Middle));
    }
    for tick in y.ticks() {
        let place = y.place(tick.value);
        d.line(at(LEFT, place), at(RIGHT, place), Stroke::solid(GRID, 1.0));
        d.text(at(LEFT - 8.0, place + 4.0), &tick.label, TextStyle::plain(11.0, Anchor::End));
    }
    d.line(at(LEFT, floor), at(RIGHT, floor), Stroke::solid(INK, 1.2)).line(
        at(LEFT, top),
        at(LEFT, floor),
        Stroke::solid(INK, 1.2),
    );
    d.text(at(f64::midpoint(LEFT, RIGHT), floor + 38.0), "travel in mm", TextStyle::plain(13.0, Anchor::Middle));
    let middle = f64::midpoint(top, floor);
    d.text(at(26.0, middle), "load in N", TextStyle::plain(13.0, Anchor::Middle).turned(-90.0));
}

fn thinned(curve: &CurveLine, x: &Scale, y: &Scale) -> Vec<At> {
    let step = curve.points.len().div_ceil(MOST_POINTS).max(1);
    let last = curve.points.len().saturating_sub(1);
    let keep = |i: usize, p: &crate::series::curve::bins::Point| i.is_multiple_of(step) || i == last || *p == curve.peak;
    let kept = curve.points.iter().enumerate().filter(|(i, p)| keep(*i, p));
    kept.map(|(_, p)| at(x.place(p.x), y.place(p.y))).collect()
}

fn modes(plot: &Traces) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for curve in &plot.curves {
        if !list.contains(&curve.mode) {
            list.push(curve.mode.clone());
        }
    }
    list
}

fn names(d: &mut Drawing, plot: &Traces, modes: &[String], top: f64) {
    for (number, curve) in plot.curves.iter().enumerate() {
        let place = at(24.0 + 175.0 * (number % 4) as f64, top + 20.0 * (number / 4) as f64);
        d.line(at(place.x, place.y - 4.0), at(place.x + 26.0, place.y - 4.0), stroke(number));
        d.text(at(place.x + 34.0, place.y), &curve.name, TextStyle::plain(12.0, Anchor::Start));
    }
    let below = top + 20.0 * plot.curves.len().div_ceil(4) as f64;
    for (number, mode) in modes.iter().enumerate() {
        let y = below + 20.0 * number as f64;
        mark(d, at(34.0, y - 4.0), number, mode == "machine-limit", 4.5);
        d.text(at(58.0, y), &format!("{mode}: {}", mode_means(mode)), TextStyle::plain(12.0, Anchor::Start));
    }
}
