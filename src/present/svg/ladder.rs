//! Drawing of the hole-ladder coupon, to scale in millimetres.

use super::{Anchor, Drawing, FAINT, INK, Stroke, TextStyle, at, lines_of};
use crate::series::plan::ladder::{HoleEnd, Ladder};

const MARGIN: f64 = 24.0;

/// The drawing as an SVG file; `footer` goes below.
pub fn draw(l: &Ladder, title: &str, footer: &[String]) -> String {
    let (width, depth) = (l.tile * l.columns as f64, l.tile * l.rows as f64);
    let (left, top) = (MARGIN + l.tile, 26.0);
    let page = (left + width + 30.0).max(130.0);
    let lines: Vec<String> = footer.iter().flat_map(|l| lines_of(l, 2.8, page - 16.0)).collect();
    let height = top + depth + 18.0 + 4.0 * lines.len() as f64;
    let text = format!(
        "Plate {width} by {depth} by {} mm with {} holes; rows of blind holes {} mm deep, then through holes.",
        l.thickness,
        l.holes.len(),
        l.depth
    );
    let mut d = Drawing::new(page, height, "mm", title, &text);
    d.text(at(8.0, 9.0), title, TextStyle::plain(4.2, Anchor::Start).bold());
    let line = Stroke::solid(INK, 0.35);
    let outline = [
        at(left, top),
        at(left + width, top),
        at(left + width, top + depth),
        at(left, top + depth),
        at(left, top + l.tile),
        at(left - l.tile, top + l.tile),
        at(left - l.tile, top),
    ];
    d.polygon(&outline, "#f4f5f6", line);
    for hole in &l.holes {
        let centre = at(left + (hole.column as f64 + 0.5) * l.tile, top + (hole.row as f64 + 0.5) * l.tile);
        let fill = if hole.kind == HoleEnd::Through { "#ffffff" } else { "#c9ccd1" };
        d.circle(centre, hole.diameter / 2.0, fill, Stroke::solid(INK, 0.25));
        if hole.row == 0 {
            d.text(at(centre.x, top - 3.0), &format!("{:.1}", hole.diameter), TextStyle::plain(3.2, Anchor::Middle));
        }
        if hole.column + 1 == l.columns {
            let words = format!("{} {}", hole.kind.word(), hole.repeat);
            d.text(at(left + width + 3.0, centre.y + 1.1), &words, TextStyle::plain(3.2, Anchor::Start));
        }
    }
    d.text(at(left, top - 9.0), "CAD diameter in mm", TextStyle::plain(3.0, Anchor::Start).colour(FAINT));
    d.text(at(left - l.tile / 2.0, top + l.tile / 2.0 + 1.0), "ear", TextStyle::plain(2.8, Anchor::Middle).colour(FAINT));
    let size = format!("{width} × {depth} × {} mm, blind holes {} mm deep", l.thickness, l.depth);
    d.text(at(8.0, top + depth + 9.0), &size, TextStyle::plain(3.4, Anchor::Start));
    d.paragraph(at(8.0, top + depth + 15.0), &lines, 4.0, TextStyle::plain(2.8, Anchor::Start).colour(FAINT));
    d.finish()
}
