//! Labels to print, cut out and stick on: A4, three columns.

use super::{Anchor, Drawing, FAINT, INK, Stroke, TextStyle, at, lines_of};

/// A label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The mark, large.
    pub mark: String,
    /// Lines below it.
    pub lines: Vec<String>,
}

const WIDTH: f64 = 210.0;
const HEIGHT: f64 = 297.0;
const COLUMNS: usize = 5;
const LABEL: (f64, f64) = (37.0, 18.0);
const TOP: f64 = 20.0;
const LEFT: f64 = 12.5;
/// Labels on one sheet.
pub const ON_A_SHEET: usize = COLUMNS * 14;

/// One sheet of labels as an SVG file.
pub fn draw(labels: &[Label], title: &str, footer: &str) -> String {
    let text = labels.iter().map(|l| l.mark.clone()).collect::<Vec<_>>().join(", ");
    let mut d = Drawing::new(WIDTH, HEIGHT, "mm", title, &format!("Labels: {text}"));
    d.text(at(LEFT, 12.0), title, TextStyle::plain(4.2, Anchor::Start).bold());
    for (number, label) in labels.iter().take(ON_A_SHEET).enumerate() {
        let corner = at(LEFT + LABEL.0 * (number % COLUMNS) as f64, TOP + LABEL.1 * (number / COLUMNS) as f64);
        d.rectangle(corner, LABEL.0, LABEL.1, "none", Stroke::dashed(FAINT, 0.2, "1 1"));
        d.text(at(corner.x + 2.0, corner.y + 6.0), &label.mark, TextStyle::plain(5.0, Anchor::Start).bold());
        for (line, words) in label.lines.iter().take(3).enumerate() {
            let short: String = words.chars().take(30).collect();
            d.text(
                at(corner.x + 2.0, corner.y + 9.4 + 2.6 * line as f64),
                &short,
                TextStyle::plain(2.2, Anchor::Start).colour(INK),
            );
        }
    }
    let style = TextStyle::plain(2.6, Anchor::Start).colour(FAINT);
    d.paragraph(at(LEFT, HEIGHT - 12.0), &lines_of(footer, 2.6, WIDTH - 2.0 * LEFT), 3.6, style);
    d.finish()
}
