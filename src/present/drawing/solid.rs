//! The hole as a body to subtract, in STL (binary, millimetres), closed.

use super::{Stretch, shown, wall};
use crate::joint::Geometry;
use crate::joint::geometry::Section;
use crate::present::stl;
use std::f64::consts::PI;

/// Corners of every ring; a multiple of six, so that the corners of a hexagon fall on ring points. The polygon's flats lie
/// 0.03 % of the radius inside the circle: a micrometre at 3 mm.
const CORNERS: usize = 120;
/// The body stands out of the mouth (and out of the far side of a through hole), so that it cuts cleanly.
const PROUD_MM: f64 = 1.0;

/// A point in millimetres; the mouth lies at z = 0, the hole goes down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Across.
    pub x: f64,
    /// Across.
    pub y: f64,
    /// Along the axis.
    pub z: f64,
}

/// A triangle, its corners counter-clockwise seen from outside.
pub type Triangle = [Point; 3];

/// The closed surface of the cutting body.
pub fn surface(geometry: &Geometry) -> Vec<Triangle> {
    let wall = wall(geometry, shown(geometry));
    let rings = rings(&wall, geometry.through);
    let mut all = Vec::new();
    let (Some(first), Some(last)) = (rings.first(), rings.last()) else { return all };
    cap(first, true, &mut all);
    for pair in rings.windows(2) {
        band(&pair[0], &pair[1], &mut all);
    }
    cap(last, false, &mut all);
    all
}

fn rings(wall: &[Stretch], through: bool) -> Vec<Vec<Point>> {
    let last = wall.len().saturating_sub(1);
    let mut rings = Vec::new();
    for (place, stretch) in wall.iter().enumerate() {
        let top = if place == 0 { -PROUD_MM } else { stretch.from };
        let bottom = if place == last && through { stretch.to + PROUD_MM } else { stretch.to };
        rings.push(ring(stretch, top));
        rings.push(ring(stretch, bottom));
    }
    rings
}

fn ring(stretch: &Stretch, depth: f64) -> Vec<Point> {
    let corner = |k: usize| {
        let angle = 2.0 * PI * k as f64 / CORNERS as f64;
        let radius = match stretch.section {
            Section::Round => stretch.radius,
            Section::Hexagon => stretch.radius / libm::cos(angle % (PI / 3.0) - PI / 6.0),
        };
        Point { x: radius * libm::cos(angle), y: radius * libm::sin(angle), z: -depth }
    };
    (0..CORNERS).map(corner).collect()
}

fn band(upper: &[Point], lower: &[Point], all: &mut Vec<Triangle>) {
    if upper == lower {
        return;
    }
    for k in 0..CORNERS {
        let next = (k + 1) % CORNERS;
        all.push([upper[k], lower[k], upper[next]]);
        all.push([upper[next], lower[k], lower[next]]);
    }
}

fn cap(ring: &[Point], top: bool, all: &mut Vec<Triangle>) {
    let centre = Point { x: 0.0, y: 0.0, z: ring[0].z };
    for k in 0..CORNERS {
        let next = (k + 1) % CORNERS;
        all.push(if top { [centre, ring[k], ring[next]] } else { [centre, ring[next], ring[k]] });
    }
}

/// The body as a binary STL file.
pub fn stl(geometry: &Geometry) -> Vec<u8> {
    let facets: Vec<stl::Facet> = surface(geometry).iter().map(|t| t.map(|p| [p.x, p.y, p.z])).collect();
    stl::binary(&facets, &format!("gripbook hole, millimetres, {} size", shown(geometry).word()))
}
