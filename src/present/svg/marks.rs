//! Marks for failure modes: shape, colour and word together.

use super::{At, COLOURS, Drawing, Stroke, at};

/// A shape of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Circle,
    Square,
    Triangle,
    Diamond,
    Down,
    Cross,
    Plus,
}

const SHAPES: [Shape; 7] =
    [Shape::Circle, Shape::Square, Shape::Triangle, Shape::Diamond, Shape::Down, Shape::Cross, Shape::Plus];

/// Draws the mark of the `place`-th mode; one that held is open with an arrow to higher loads.
pub fn mark(d: &mut Drawing, centre: At, place: usize, held: bool, size: f64) {
    let colour = COLOURS[place % COLOURS.len()];
    let shape = SHAPES[place % SHAPES.len()];
    let fill = if held { "#ffffff" } else { colour };
    let stroke = Stroke::solid(colour, size * 0.22);
    let r = size;
    let (x, y) = (centre.x, centre.y);
    match shape {
        Shape::Circle => d.circle(centre, r * 0.9, fill, stroke),
        Shape::Square => d.rectangle(at(x - r * 0.8, y - r * 0.8), r * 1.6, r * 1.6, fill, stroke),
        Shape::Triangle => d.polygon(&[at(x, y - r), at(x + r, y + r * 0.8), at(x - r, y + r * 0.8)], fill, stroke),
        Shape::Diamond => {
            d.polygon(&[at(x, y - r * 1.1), at(x + r * 1.1, y), at(x, y + r * 1.1), at(x - r * 1.1, y)], fill, stroke)
        }
        Shape::Down => d.polygon(&[at(x, y + r), at(x + r, y - r * 0.8), at(x - r, y - r * 0.8)], fill, stroke),
        Shape::Cross => cross(d, centre, r * 0.85, colour, true),
        Shape::Plus => cross(d, centre, r, colour, false),
    };
    if held {
        let tip = at(x + r * 3.2, y);
        d.line(at(x + r * 1.2, y), tip, stroke);
        d.polyline(&[at(tip.x - r, y - r * 0.7), tip, at(tip.x - r, y + r * 0.7)], stroke);
    }
}

fn cross<'d>(d: &'d mut Drawing, c: At, r: f64, colour: &'static str, turned: bool) -> &'d mut Drawing {
    let stroke = Stroke::solid(colour, r * 0.55);
    if turned {
        d.line(at(c.x - r, c.y - r), at(c.x + r, c.y + r), stroke).line(at(c.x - r, c.y + r), at(c.x + r, c.y - r), stroke)
    } else {
        d.line(at(c.x - r, c.y), at(c.x + r, c.y), stroke).line(at(c.x, c.y - r), at(c.x, c.y + r), stroke)
    }
}
