//! The half-section: outside view on the left of the axis, cut on the right, dimensions round it, sizes in a list.

use super::{Shown, Stretch, mm, shown, wall};
use crate::joint::Geometry;
use crate::joint::geometry::{Drawn, HoleStep, Section};
use crate::present::svg::{Anchor, At, Drawing, FAINT, INK, Stroke, TextStyle, at, lines_of, text_width};

/// What stands in the title block.
#[derive(Debug, Clone, Default)]
pub struct TitleBlock {
    /// What must be seen first, e.g. that the data is invented; may be empty.
    pub mark: String,
    /// The drawing's title.
    pub title: String,
    /// Label and text of each further line.
    pub lines: Vec<(String, String)>,
}

/// A4, landscape.
const WIDTH: f64 = 297.0;
const HEIGHT: f64 = 210.0;
/// Scales of ISO 5455.
const SCALES: [f64; 6] = [20.0, 10.0, 5.0, 2.0, 1.0, 0.5];
/// Room for the view.
const ROOM: f64 = 105.0;
const AXIS_X: f64 = 85.0;
/// Highest place of the mouth, so that the dimension above it stays on the sheet.
const MOUTH_Y: f64 = 32.0;
const LIST_X: f64 = 168.0;

const OUTLINE: Stroke = Stroke::solid(INK, 0.6);
const THIN: Stroke = Stroke::solid(INK, 0.25);
const HATCH: Stroke = Stroke::solid(FAINT, 0.2);
const HIDDEN: Stroke = Stroke::dashed(FAINT, 0.35, "2 1");
const AXIS: Stroke = Stroke::dashed(FAINT, 0.25, "6 1.2 1 1.2");
const PART_FILL: &str = "#eef1f4";
const INSERT_FILL: &str = "#efd9a0";

/// The drawing as SVG.
pub fn svg(geometry: &Geometry, block: &TitleBlock) -> String {
    let size = shown(geometry);
    let view = View::of(geometry, size);
    let description = format!("Half-section of the hole, {}, scale {}", size.text(), view.scale_text());
    let mut d = Drawing::new(WIDTH, HEIGHT, "mm", &block.title, &description);
    d.rectangle(at(5.0, 5.0), WIDTH - 10.0, HEIGHT - 10.0, "none", OUTLINE);
    view.part(&mut d);
    view.behind(&mut d);
    view.outside(&mut d);
    view.insert(&mut d, geometry);
    view.held(&mut d, geometry);
    view.axis(&mut d);
    view.dimensions(&mut d, geometry);
    list(&mut d, geometry, &view);
    title_block(&mut d, block, &view);
    d.finish()
}

struct View {
    scale: f64,
    /// Height of the mouth on the sheet.
    mouth: f64,
    boss: f64,
    bottom: f64,
    depth: f64,
    through: bool,
    wall: Vec<Stretch>,
    size: Shown,
}

impl View {
    fn of(geometry: &Geometry, size: Shown) -> View {
        let depth = mm(geometry.depth);
        let boss = mm(geometry.boss);
        // Below a blind hole a floor as thick as a third of its depth is shown.
        let bottom = if geometry.through { depth } else { depth * 4.0 / 3.0 };
        let largest = boss.max(bottom);
        let scale = SCALES.into_iter().find(|s| s * largest <= ROOM).unwrap_or(ROOM / largest);
        // The view stands in the middle of the sheet's height.
        let mouth = ((HEIGHT - bottom * scale) / 2.0).max(MOUTH_Y);
        View { scale, mouth, boss, bottom, depth, through: geometry.through, wall: wall(geometry, size), size }
    }
    fn scale_text(&self) -> String {
        if self.scale >= 1.0 { format!("{} : 1", self.scale) } else { format!("1 : {:.3}", 1.0 / self.scale) }
    }
    fn point(&self, radius: f64, depth: f64) -> At {
        at(AXIS_X + radius * self.scale, self.mouth + depth * self.scale)
    }
    /// The wall's corners on one side, mouth to bottom.
    fn corners(&self, side: f64) -> Vec<At> {
        self.wall.iter().flat_map(|s| [self.point(side * s.radius, s.from), self.point(side * s.radius, s.to)]).collect()
    }
    /// The cut half: part material, hatched.
    fn part(&self, d: &mut Drawing) {
        let wall = self.corners(1.0);
        let outer = [self.point(self.boss / 2.0, self.bottom), self.point(self.boss / 2.0, 0.0)];
        let floor = if self.through { Vec::new() } else { vec![self.point(0.0, self.depth)] };
        let foot = if self.through { Vec::new() } else { vec![self.point(0.0, self.bottom)] };
        d.polygon(&[&wall[..], &floor[..], &foot[..], &outer[..]].concat(), PART_FILL, Stroke::solid(PART_FILL, 0.0));
        self.hatch(d);
        // The axis parts the halves: no edge is drawn along it.
        d.polyline(&[&outer[1..], &wall[..], &floor[..]].concat(), OUTLINE);
        let last = wall.last().copied().map_or_else(Vec::new, |corner| if self.through { vec![corner] } else { foot });
        d.polyline(&[&last[..], &outer[..]].concat(), OUTLINE);
    }
    /// Edges of the hole that are seen behind the cut: its rims, and where its width changes.
    fn behind(&self, d: &mut Drawing) {
        let mut edge = |radius: f64, depth: f64| {
            d.line(self.point(0.0, depth), self.point(radius, depth), OUTLINE);
        };
        self.wall.first().into_iter().for_each(|s| edge(s.radius, s.from));
        for pair in self.wall.windows(2).filter(|pair| pair[0].radius != pair[1].radius) {
            edge(pair[0].radius.min(pair[1].radius), pair[1].from);
        }
        if let Some(last) = self.wall.last().filter(|_| self.through) {
            edge(last.radius, last.to);
        }
    }
    /// Lines at 45°, clipped to the cut by walking along each of them.
    fn hatch(&self, d: &mut Drawing) {
        const STEP: f64 = 2.4;
        const WALK: f64 = 0.15;
        let (right, bottom) = (self.boss / 2.0 * self.scale, self.bottom * self.scale);
        let mut start = STEP / 2.0;
        while start < right + bottom {
            let mut run: Option<(f64, f64)> = None;
            let mut x = (start - bottom).max(0.0);
            while x <= right.min(start) {
                let y = start - x;
                if self.solid(x / self.scale, y / self.scale) {
                    run = Some((run.map_or(x, |r| r.0), x));
                } else if let Some((from, to)) = run.take() {
                    self.stroke(d, start, from, to);
                }
                x += WALK;
            }
            if let Some((from, to)) = run {
                self.stroke(d, start, from, to);
            }
            start += STEP;
        }
    }
    fn stroke(&self, d: &mut Drawing, start: f64, from: f64, to: f64) {
        d.line(at(AXIS_X + from, self.mouth + start - from), at(AXIS_X + to, self.mouth + start - to), HATCH);
    }
    fn solid(&self, radius: f64, depth: f64) -> bool {
        let inside = self.wall.iter().find(|s| s.from <= depth && depth <= s.to).map(|s| s.radius);
        match inside {
            Some(hole) => radius >= hole,
            None => depth > self.depth && depth <= self.bottom,
        }
    }
    /// The uncut half: outline, and the hole behind it as hidden lines.
    fn outside(&self, d: &mut Drawing) {
        let half = -self.boss / 2.0;
        d.polyline(
            &[self.point(0.0, 0.0), self.point(half, 0.0), self.point(half, self.bottom), self.point(0.0, self.bottom)],
            OUTLINE,
        );
        let mut hidden = self.corners(-1.0);
        if !self.through {
            hidden.push(self.point(0.0, self.depth));
        }
        d.polyline(&hidden, HIDDEN);
    }
    fn insert(&self, d: &mut Drawing, geometry: &Geometry) {
        let Some(insert) = &geometry.insert else { return };
        let bore = mm(geometry.thread.thread.minor_diameter()) / 2.0;
        // A flange rests on the mouth, outside the hole.
        let flange: f64 = insert.steps.iter().take_while(|s| s.form == "flange").map(|s| mm(s.length)).sum();
        let mut depth = mm(geometry.insert_at) - flange;
        for step in &insert.steps {
            let (outer, length) = (mm(step.diameter) / 2.0, mm(step.length));
            let corner = self.point(0.0, depth);
            let (w, h) = (outer * self.scale, length * self.scale);
            self.half(d, corner, w, h, INSERT_FILL);
            let knurled = step.form == "knurl";
            let mut y = corner.y + 1.0;
            while knurled && y < corner.y + h - 0.4 {
                d.line(at(corner.x + w - 1.6, y), at(corner.x + w, y), THIN);
                y += 1.2;
            }
            depth += length;
        }
        // The bore with its thread, as deep as the thread, or through.
        let top = mm(geometry.insert_at) - flange;
        let deep = if insert.through { depth } else { (top + mm(insert.thread_length)).min(depth) };
        self.half(d, self.point(0.0, top), bore * self.scale, (deep - top) * self.scale, "#ffffff");
        self.thread(d, mm(geometry.thread.thread.major()) / 2.0, top, deep);
    }
    /// The cut half of a body of revolution: no edge runs along the axis.
    fn half(&self, d: &mut Drawing, corner: At, width: f64, height: f64, fill: &'static str) {
        let (right, foot) = (corner.x + width, corner.y + height);
        let corners = [corner, at(right, corner.y), at(right, foot), at(corner.x, foot)];
        d.polygon(&corners, fill, Stroke::solid(fill, 0.0));
        d.polyline(&corners, THIN);
    }
    /// A nut in its pocket, and the thread of a hole in the part: crests as the wall, the outside as a thin line (ISO 6410).
    fn held(&self, d: &mut Drawing, geometry: &Geometry) {
        let thread = &geometry.thread;
        let major = mm(thread.thread.major()) / 2.0;
        if thread.made != "metal" {
            let grown = major + mm(thread.offset);
            if let Some(hole) = self.wall.iter().find(|s| s.purpose == "thread") {
                self.thread(d, grown, hole.from, (hole.from + mm(thread.engaged)).min(self.bottom));
            }
            return;
        }
        let Some(pocket) = self.wall.iter().find(|s| s.section == Section::Hexagon) else { return };
        // A tenth of play on each side.
        let (inner, outer) = (mm(thread.thread.minor_diameter()) / 2.0, pocket.radius - 0.1);
        let corner = self.point(inner, pocket.from);
        d.rectangle(corner, (outer - inner) * self.scale, mm(thread.engaged) * self.scale, INSERT_FILL, THIN);
        self.thread(d, major, pocket.from, pocket.from + mm(thread.engaged));
    }
    fn thread(&self, d: &mut Drawing, radius: f64, from: f64, to: f64) {
        d.line(self.point(radius, from), self.point(radius, to), THIN);
    }
    fn axis(&self, d: &mut Drawing) {
        d.line(at(AXIS_X, self.mouth - 8.0), at(AXIS_X, self.mouth + self.bottom * self.scale + 8.0), AXIS);
    }
    fn dimensions(&self, d: &mut Drawing, geometry: &Geometry) {
        let below = self.mouth + self.bottom * self.scale + 13.0;
        let boss = format!("boss Ø {}{}", two(self.boss), if geometry.boss_given { "" } else { " at least" });
        across(d, self.point(-self.boss / 2.0, self.bottom), self.point(self.boss / 2.0, self.bottom), below, &boss);
        if let Some(first) = self.wall.first() {
            let (sign, width) = mouth(first);
            across(
                d,
                self.point(-first.radius, 0.0),
                self.point(first.radius, 0.0),
                self.mouth - 12.0,
                &format!("{sign} {width}"),
            );
        }
        let left = AXIS_X - self.boss / 2.0 * self.scale - 9.0;
        let label = if self.through { format!("{} through", two(self.depth)) } else { format!("{} deep", two(self.depth)) };
        down(d, self.mouth, self.mouth + self.depth * self.scale, left, AXIS_X - self.boss / 2.0 * self.scale, &label);
        // Numbers of short stretches are pushed apart.
        const APART: f64 = 7.0;
        let mut free = f64::NEG_INFINITY;
        for (place, stretch) in self.wall.iter().enumerate() {
            let tip = self.point(stretch.radius, (stretch.from + stretch.to) / 2.0);
            let knee = at(AXIS_X + self.boss / 2.0 * self.scale + 6.0, tip.y.max(free));
            free = knee.y + APART;
            d.line(tip, knee, THIN);
            balloon(d, at(knee.x + 3.0, knee.y), place + 1);
        }
    }
}

fn mouth(stretch: &Stretch) -> (&'static str, String) {
    match stretch.section {
        Section::Round => ("Ø", two(stretch.radius * 2.0)),
        Section::Hexagon => ("across flats", two(stretch.radius * 2.0)),
    }
}

fn two(value: f64) -> String {
    format!("{value:.2}")
}

fn balloon(d: &mut Drawing, centre: At, number: usize) {
    d.circle(centre, 3.0, "#ffffff", THIN);
    d.text(at(centre.x, centre.y + 1.2), &number.to_string(), TextStyle::plain(3.4, Anchor::Middle));
}

fn across(d: &mut Drawing, left: At, right: At, y: f64, label: &str) {
    for end in [left, right] {
        d.line(at(end.x, end.y), at(end.x, y + if y > end.y { 1.5 } else { -1.5 }), THIN);
    }
    d.line(at(left.x, y), at(right.x, y), THIN);
    arrow(d, at(left.x, y), 1.0, 0.0);
    arrow(d, at(right.x, y), -1.0, 0.0);
    d.text(at((left.x + right.x) / 2.0, y - 1.2), label, TextStyle::plain(3.6, Anchor::Middle));
}

fn down(d: &mut Drawing, top: f64, bottom: f64, x: f64, edge: f64, label: &str) {
    for y in [top, bottom] {
        d.line(at(edge, y), at(x - 1.5, y), THIN);
    }
    d.line(at(x, top), at(x, bottom), THIN);
    arrow(d, at(x, top), 0.0, 1.0);
    arrow(d, at(x, bottom), 0.0, -1.0);
    d.text(at(x - 1.4, (top + bottom) / 2.0), label, TextStyle::plain(3.6, Anchor::Middle).turned(-90.0));
}

/// A slim arrow head whose tip lies at a point; the shaft leaves in the direction given.
fn arrow(d: &mut Drawing, tip: At, dx: f64, dy: f64) {
    let back = at(tip.x + 2.4 * dx, tip.y + 2.4 * dy);
    let (side_x, side_y) = (0.5 * dy, 0.5 * dx);
    d.polygon(&[tip, at(back.x + side_x, back.y + side_y), at(back.x - side_x, back.y - side_y)], INK, Stroke::solid(INK, 0.1));
}

/// The list of sizes at the right: finished with limits, drawn, pins, depth.
fn list(d: &mut Drawing, geometry: &Geometry, view: &View) {
    let mut y = 16.0;
    d.text(at(LIST_X, y), "Sizes in mm", TextStyle::plain(4.6, Anchor::Start).bold());
    y += 6.0;
    d.text(at(LIST_X, y), &format!("View: {}", view.size.text()), TextStyle::plain(3.2, Anchor::Start).colour(FAINT));
    for (place, stretch) in view.wall.iter().enumerate() {
        y += 9.0;
        balloon(d, at(LIST_X + 3.0, y - 1.2), place + 1);
        let head = format!("{}, depth {} to {}", stretch.purpose, two(stretch.from), two(stretch.to));
        d.text(at(LIST_X + 8.0, y), &head, TextStyle::plain(3.6, Anchor::Start).bold());
        for line in sizes(geometry, stretch) {
            y += 4.6;
            d.text(at(LIST_X + 8.0, y), &line, TextStyle::plain(3.3, Anchor::Start));
        }
    }
    for line in remarks(geometry) {
        y += 6.0;
        d.text(at(LIST_X, y), &line, TextStyle::plain(3.3, Anchor::Start));
    }
}

fn sizes(geometry: &Geometry, stretch: &Stretch) -> Vec<String> {
    let sign = if stretch.section == Section::Hexagon { "across flats" } else { "Ø" };
    if stretch.purpose == "undercut" && !geometry.hole.iter().any(|s| s.purpose == "undercut") {
        return vec![format!("recess {sign} {}", two(stretch.radius * 2.0))];
    }
    let middle = (stretch.from + stretch.to) / 2.0;
    let Some(step) = geometry.hole.iter().find(|s| mm(s.from) <= middle && middle <= mm(s.to)) else { return Vec::new() };
    let size = &step.finished;
    vec![
        format!("finished {sign} {} ({} to {})", two(mm(size.nominal)), two(mm(size.low)), two(mm(size.high))),
        drawn(step, sign),
        format!("go pin {}, no-go {}", two(mm(step.check.go)), two(mm(step.check.no_go))),
    ]
}

fn drawn(step: &HoleStep, sign: &str) -> String {
    match &step.drawn {
        Drawn::Size { diameter, offset, .. } => {
            format!("CAD {sign} {} (process offset {})", two(mm(*diameter)), two(mm(*offset)))
        }
        Drawn::Unknown(_) => "CAD diameter unknown: print the hole ladder first".into(),
        Drawn::Machined => "CAD diameter: drill or tap to size".into(),
    }
}

fn remarks(geometry: &Geometry) -> Vec<String> {
    let mut lines = vec![format!(
        "Thread {} ({}), engaged {}",
        geometry.thread.thread.designation(),
        geometry.thread.made,
        two(mm(geometry.thread.engaged))
    )];
    if let Some(insert) = &geometry.insert {
        lines.push(format!("{}, {} long", insert.name, two(mm(insert.length))));
    }
    if let Some((least, most)) = geometry.gap {
        let range =
            if two(mm(least)) == two(mm(most)) { two(mm(least)) } else { format!("{} to {}", two(mm(least)), two(mm(most))) };
        lines.push(format!("Glue gap {range} each side"));
    }
    if let Some(vent) = &geometry.vent {
        lines.push(format!("Vent Ø {} to {} at the bottom, or a flat", two(mm(vent.least)), two(mm(vent.most))));
    }
    if let Some(chamfer) = geometry.chamfer {
        lines.push(format!("Chamfer {} at the mouth (not shown)", two(mm(chamfer))));
    }
    lines
}

fn title_block(d: &mut Drawing, block: &TitleBlock, view: &View) {
    const TEXT: f64 = 2.9;
    let x = LIST_X - 4.0;
    let room = WIDTH - 5.0 - x - 6.0;
    let scale = ("scale".to_string(), format!("{}, A4, sizes in mm, half-section", view.scale_text()));
    let standing = ("not for".to_string(), "lifting, overhead loads, brakes, climbing, vehicles, medical use".to_string());
    let mut rows: Vec<(&str, String)> = Vec::new();
    for (label, text) in std::iter::once(&scale).chain(&block.lines).chain([&standing]) {
        for (i, line) in lines_of(text, TEXT, room - 19.0).into_iter().enumerate() {
            rows.push((if i == 0 { label.as_str() } else { "" }, line));
        }
    }
    let height = 5.0 * (rows.len() as f64 + 1.0 + if block.mark.is_empty() { 0.0 } else { 1.0 }) + 5.0;
    let top = HEIGHT - 5.0 - height;
    d.rectangle(at(x, top), WIDTH - 5.0 - x, height, "#ffffff", OUTLINE);
    let mut y = top + 6.0;
    if !block.mark.is_empty() {
        d.text(at(x + 3.0, y), &block.mark, TextStyle::plain(4.2, Anchor::Start).bold());
        y += 5.0;
    }
    // Bold letters run a tenth wider than plain ones.
    let size = (4.2 * room / (1.1 * text_width(&block.title, 4.2))).min(4.2);
    d.text(at(x + 3.0, y), &block.title, TextStyle::plain(size, Anchor::Start).bold());
    for (label, text) in rows {
        y += 5.0;
        d.text(at(x + 3.0, y), label, TextStyle::plain(TEXT, Anchor::Start).colour(FAINT));
        d.text(at(x + 22.0, y), &text, TextStyle::plain(TEXT, Anchor::Start));
    }
}
