//! Drawings and plots as SVG: own writer, the same bytes for the same content, no fonts embedded.
//!
//! Every drawing has a title, a description for readers that cannot see it, and a white ground of its own, so that it reads
//! the same in light and dark viewers and on paper. Colour is never the only signal.

pub mod axis;
pub mod curves;
pub mod labels;
pub mod ladder;
pub mod marks;
pub mod strip;

use std::fmt::Write as _;

/// Ink for lines and text.
pub const INK: &str = "#1a1a1a";
/// Ink for what stands back: grids, secondary text.
pub const FAINT: &str = "#5f6368";
/// Grid lines.
pub const GRID: &str = "#d9dce0";
/// Colours told apart by people with any colour vision (Okabe and Ito 2008, memory), dark enough on white.
pub const COLOURS: [&str; 7] = ["#0072b2", "#d55e00", "#007a5a", "#a3408c", "#8a6100", "#3b3b3b", "#2f86c5"];

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub colour: &'static str,
    /// Width in units of the drawing.
    pub width: f64,
    /// Dash pattern, e.g. `4 2`; empty for a full line.
    pub dash: &'static str,
}

impl Stroke {
    /// A full line.
    pub const fn solid(colour: &'static str, width: f64) -> Self {
        Stroke { colour, width, dash: "" }
    }
    /// A dashed line.
    pub const fn dashed(colour: &'static str, width: f64, dash: &'static str) -> Self {
        Stroke { colour, width, dash }
    }
    fn attributes(&self) -> String {
        let dash = if self.dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", self.dash) };
        format!("stroke=\"{}\" stroke-width=\"{}\"{dash}", self.colour, number(self.width))
    }
}

/// Where a text hangs on its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Starts there.
    Start,
    /// Centred on it.
    Middle,
    /// Ends there.
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TextStyle {
    /// Height in units of the drawing.
    pub size: f64,
    /// Where it hangs.
    pub anchor: Anchor,
    /// Bold.
    pub bold: bool,
    /// Colour.
    pub colour: &'static str,
    /// Turned by so many degrees about its point.
    pub turn: f64,
}

impl TextStyle {
    /// Plain text of that size.
    pub const fn plain(size: f64, anchor: Anchor) -> Self {
        TextStyle { size, anchor, bold: false, colour: INK, turn: 0.0 }
    }
    /// The same in another colour.
    pub const fn colour(self, colour: &'static str) -> Self {
        TextStyle { colour, ..self }
    }
    /// The same in bold.
    pub const fn bold(self) -> Self {
        TextStyle { bold: true, ..self }
    }
    /// The same, turned.
    pub const fn turned(self, turn: f64) -> Self {
        TextStyle { turn, ..self }
    }
}

/// A point of the drawing; y counts downwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// A point.
pub const fn at(x: f64, y: f64) -> At {
    At { x, y }
}

/// A drawing under way.
#[derive(Debug, Clone)]
pub struct Drawing {
    width: f64,
    height: f64,
    unit: &'static str,
    title: String,
    description: String,
    body: String,
}

impl Drawing {
    /// An empty drawing; `unit` is `mm` for drawings to scale and empty for pixels.
    pub fn new(width: f64, height: f64, unit: &'static str, title: &str, description: &str) -> Self {
        Drawing {
            width,
            height,
            unit,
            title: super::safe::line(title).into_owned(),
            description: super::safe::line(description).into_owned(),
            body: String::new(),
        }
    }
    /// A straight line.
    pub fn line(&mut self, from: At, to: At, stroke: Stroke) -> &mut Self {
        self.element(&format!(
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" {}/>",
            number(from.x),
            number(from.y),
            number(to.x),
            number(to.y),
            stroke.attributes()
        ))
    }
    /// A line through points.
    pub fn polyline(&mut self, points: &[At], stroke: Stroke) -> &mut Self {
        self.element(&format!(
            "<polyline points=\"{}\" fill=\"none\" stroke-linejoin=\"round\" {}/>",
            list(points),
            stroke.attributes()
        ))
    }
    /// A closed shape; `fill` may be `none`.
    pub fn polygon(&mut self, points: &[At], fill: &str, stroke: Stroke) -> &mut Self {
        self.element(&format!("<polygon points=\"{}\" fill=\"{fill}\" {}/>", list(points), stroke.attributes()))
    }
    /// A rectangle by its upper left corner.
    pub fn rectangle(&mut self, corner: At, width: f64, height: f64, fill: &str, stroke: Stroke) -> &mut Self {
        self.element(&format!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\" {}/>",
            number(corner.x),
            number(corner.y),
            number(width),
            number(height),
            stroke.attributes()
        ))
    }
    /// A circle.
    pub fn circle(&mut self, centre: At, radius: f64, fill: &str, stroke: Stroke) -> &mut Self {
        self.element(&format!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{fill}\" {}/>",
            number(centre.x),
            number(centre.y),
            number(radius),
            stroke.attributes()
        ))
    }
    /// Lines of text below each other; the point is on the first base line.
    pub fn paragraph(&mut self, place: At, lines: &[String], spacing: f64, style: TextStyle) -> &mut Self {
        for (number, line) in lines.iter().enumerate() {
            self.text(at(place.x, place.y + spacing * number as f64), line, style);
        }
        self
    }
    /// A line of text; the point is on its base line.
    pub fn text(&mut self, place: At, text: &str, style: TextStyle) -> &mut Self {
        let anchor = match style.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let bold = if style.bold { " font-weight=\"bold\"" } else { "" };
        let turn = if style.turn == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({} {} {})\"", number(style.turn), number(place.x), number(place.y))
        };
        self.element(&format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{anchor}{bold}{turn}>{}</text>",
            number(place.x),
            number(place.y),
            number(style.size),
            style.colour,
            escaped(&super::safe::line(text))
        ))
    }
    fn element(&mut self, element: &str) -> &mut Self {
        self.body.push_str("  ");
        self.body.push_str(element);
        self.body.push('\n');
        self
    }
    /// The file.
    pub fn finish(&self) -> String {
        let (w, h, unit) = (number(self.width), number(self.height), self.unit);
        let mut out = String::new();
        // Writing to a string cannot fail.
        let _ = writeln!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}{unit}\" height=\"{h}{unit}\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-labelledby=\"title desc\" font-family=\"sans-serif\">"
        );
        let _ = writeln!(out, "  <title id=\"title\">{}</title>", escaped(&self.title));
        let _ = writeln!(out, "  <desc id=\"desc\">{}</desc>", escaped(&self.description));
        let _ = writeln!(out, "  <rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>");
        out.push_str(&self.body);
        out.push_str("</svg>\n");
        out
    }
}

fn list(points: &[At]) -> String {
    points.iter().map(|p| format!("{},{}", number(p.x), number(p.y))).collect::<Vec<_>>().join(" ")
}

/// A coordinate with at most three decimals, without trailing zeros or a negative zero.
pub fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" || short.is_empty() { "0".into() } else { short.into() }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A text broken at spaces into lines no wider than `width`.
pub fn lines_of(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Estimated width of a text in the same unit as its size; generic sans-serif letters are about half as wide as high.
pub fn text_width(text: &str, size: f64) -> f64 {
    0.56 * size * text.chars().count() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_negative_zero() {
        let list = [0.0, -0.0, -0.0001, 1.0, 1.25, 1234.5678, -3.1].map(number);
        assert_eq!(list, ["0", "0", "0", "1", "1.25", "1234.568", "-3.1"]);
    }

    #[test]
    fn hostile_text_stays_text() {
        let mut d = Drawing::new(10.0, 10.0, "mm", "<script>&", "a\u{202E}b");
        d.text(at(1.0, 2.0), "</text><script>", TextStyle::plain(3.0, Anchor::Start));
        let svg = d.finish();
        assert!(!svg.contains("<script") && svg.contains("&lt;script&gt;&amp;") && !svg.contains('\u{202E}'));
        assert_eq!(svg, d.finish());
    }
}
