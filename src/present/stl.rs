//! Bodies as binary STL: closed surfaces, outward facets, the same bytes every time.

use crate::series::plan::ladder::{HoleEnd, Ladder};
use std::f64::consts::PI;

/// A corner in mm.
pub type Corner = [f64; 3];

/// A facet; corners run anticlockwise seen from outside.
pub type Facet = [Corner; 3];

/// Straight pieces of a hole's rim; a multiple of four.
const RIM: usize = 96;

/// Binary STL of facets.
pub fn binary(facets: &[Facet], name: &str) -> Vec<u8> {
    let mut out = vec![b' '; 80];
    for (place, byte) in out.iter_mut().zip(name.bytes()) {
        *place = byte;
    }
    out.extend(u32::try_from(facets.len()).unwrap_or(u32::MAX).to_le_bytes());
    for facet in facets {
        for value in normal(facet).into_iter().chain(facet.iter().flatten().copied()) {
            out.extend((value as f32).to_le_bytes());
        }
        out.extend([0, 0]);
    }
    out
}

fn normal(f: &Facet) -> Corner {
    let edge = |a: usize| [f[a][0] - f[0][0], f[a][1] - f[0][1], f[a][2] - f[0][2]];
    let (a, b) = (edge(1), edge(2));
    let n = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    let length = libm::sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
    n.map(|v| if length > 0.0 { v / length } else { 0.0 })
}

/// The coupon as a closed body, seen from above as its drawing shows it: the first row at the far side. A square ear beside the
/// first row marks the small end of the blind holes.
pub fn ladder(l: &Ladder) -> Vec<Facet> {
    let mut facets = Vec::new();
    let holds = |column: i64, row: i64| {
        let inside = (0..l.columns as i64).contains(&column) && (0..l.rows as i64).contains(&row);
        inside || (column, row) == (-1, l.rows as i64 - 1)
    };
    for row in 0..l.rows as i64 {
        for column in -1..l.columns as i64 {
            if !holds(column, row) {
                continue;
            }
            // Rows of the drawing count away from the far side, y of the body towards it.
            let far = l.rows as i64 - 1 - row;
            let hole = l.holes.iter().find(|h| (h.column as i64, h.row as i64) == (column, far));
            let tile = Tile { l, column, row };
            match hole.map(|h| (h.kind, h.diameter)) {
                None => tile.plain(&mut facets),
                Some((kind, diameter)) => tile.drilled(kind, diameter, &mut facets),
            }
            let sides = [(0, -1), (1, 0), (0, 1), (-1, 0)];
            for (side, (dx, dy)) in sides.into_iter().enumerate() {
                if !holds(column + dx, row + dy) {
                    tile.wall(side, &mut facets);
                }
            }
        }
    }
    facets
}

struct Tile<'a> {
    l: &'a Ladder,
    column: i64,
    row: i64,
}

impl Tile<'_> {
    /// Corner `k` of the square's outline, anticlockwise from the lower left; the same numbers from both sides of an edge.
    fn outline(&self, k: usize) -> (f64, f64) {
        let quarter = (RIM / 4) as i64;
        let (side, step) = ((k % RIM) as i64 / quarter, (k % RIM) as i64 % quarter);
        let (u, v) = match side {
            0 => (step, 0),
            1 => (quarter, step),
            2 => (quarter - step, quarter),
            _ => (0, quarter - step),
        };
        let scale = |base: i64, s: i64| (base * quarter + s) as f64 * self.l.tile / quarter as f64;
        (scale(self.column, u), scale(self.row, v))
    }
    /// Corner `k` of the rim. The circle of the drawn diameter touches the middle of every piece, so that a pin of that size fits.
    fn rim(&self, k: usize, diameter: f64) -> (f64, f64) {
        let angle = -0.75 * PI + 2.0 * PI * (k % RIM) as f64 / RIM as f64;
        let radius = 0.5 * diameter / libm::cos(PI / RIM as f64);
        let centre = |base: i64| (base as f64 + 0.5) * self.l.tile;
        (centre(self.column) + radius * libm::cos(angle), centre(self.row) + radius * libm::sin(angle))
    }
    fn plain(&self, out: &mut Vec<Facet>) {
        for (z, up) in [(self.l.thickness, true), (0.0, false)] {
            self.fan(z, up, |k| self.outline(k), out);
        }
    }
    /// A disc or square as a fan about the middle of the tile.
    fn fan(&self, z: f64, up: bool, edge: impl Fn(usize) -> (f64, f64), out: &mut Vec<Facet>) {
        let centre = |base: i64| (base as f64 + 0.5) * self.l.tile;
        let middle = [centre(self.column), centre(self.row), z];
        for k in 0..RIM {
            let (a, b) = (edge(k), edge(k + 1));
            let (a, b) = ([a.0, a.1, z], [b.0, b.1, z]);
            out.push(if up { [middle, a, b] } else { [middle, b, a] });
        }
    }
    fn ring(&self, z: f64, up: bool, diameter: f64, out: &mut Vec<Facet>) {
        for k in 0..RIM {
            let at = |p: (f64, f64)| [p.0, p.1, z];
            let (o0, o1) = (at(self.outline(k)), at(self.outline(k + 1)));
            let (i0, i1) = (at(self.rim(k, diameter)), at(self.rim(k + 1, diameter)));
            let pair = [[o0, o1, i1], [o0, i1, i0]];
            out.extend(pair.map(|[a, b, c]| if up { [a, b, c] } else { [a, c, b] }));
        }
    }
    fn drilled(&self, kind: HoleEnd, diameter: f64, out: &mut Vec<Facet>) {
        let top = self.l.thickness;
        let floor = match kind {
            HoleEnd::Through => 0.0,
            HoleEnd::Blind => top - self.l.depth,
        };
        self.ring(top, true, diameter, out);
        match kind {
            HoleEnd::Through => self.ring(0.0, false, diameter, out),
            HoleEnd::Blind => {
                self.fan(0.0, false, |k| self.outline(k), out);
                self.fan(floor, true, |k| self.rim(k, diameter), out);
            }
        }
        for k in 0..RIM {
            let (a, b) = (self.rim(k, diameter), self.rim(k + 1, diameter));
            let (a0, b0, a1, b1) = ([a.0, a.1, floor], [b.0, b.1, floor], [a.0, a.1, top], [b.0, b.1, top]);
            // Seen from inside the hole, which is outside the body.
            out.extend([[a0, a1, b1], [a0, b1, b0]]);
        }
    }
    fn wall(&self, side: usize, out: &mut Vec<Facet>) {
        let quarter = RIM / 4;
        for k in side * quarter..(side + 1) * quarter {
            let (a, b) = (self.outline(k), self.outline(k + 1));
            let top = self.l.thickness;
            let (a0, b0, a1, b1) = ([a.0, a.1, 0.0], [b.0, b.1, 0.0], [a.0, a.1, top], [b.0, b.1, top]);
            out.extend([[a0, b0, b1], [a0, b1, a1]]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::plan::ladder::ladder as coupon;
    use std::collections::HashMap;

    /// Every edge is run through once in each direction: the surface is closed and all facets look the same way.
    #[test]
    fn the_coupon_is_closed() {
        for middle in [1.3, 2.6, 5.1] {
            let facets = ladder(&coupon(middle));
            let key = |c: &Corner| c.map(|v| (v as f32 + 0.0).to_bits());
            let mut edges: HashMap<([u32; 3], [u32; 3]), i32> = HashMap::new();
            for f in &facets {
                for (a, b) in [(0, 1), (1, 2), (2, 0)] {
                    *edges.entry((key(&f[a]), key(&f[b]))).or_default() += 1;
                }
            }
            for ((a, b), count) in &edges {
                assert_eq!((*count, edges.get(&(*b, *a))), (1, Some(&1)), "{a:?} {b:?}");
            }
        }
    }

    /// Volume by the divergence theorem against plate plus ear less the holes, by hand with the area of the 96-gon.
    #[test]
    fn volume_by_hand() {
        let l = coupon(2.6);
        let volume: f64 = ladder(&l)
            .iter()
            .map(|[a, b, c]| {
                let cross = [b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2], b[0] * c[1] - b[1] * c[0]];
                (a[0] * cross[0] + a[1] * cross[1] + a[2] * cross[2]) / 6.0
            })
            .sum();
        let plate = 31.0 * l.tile * l.tile * l.thickness;
        let side = libm::tan(PI / RIM as f64);
        let hole = |d: f64| RIM as f64 * side * d * d / 4.0;
        let drilled: f64 =
            l.holes.iter().map(|h| hole(h.diameter) * if h.kind == HoleEnd::Blind { l.depth } else { l.thickness }).sum();
        assert!((volume - (plate - drilled)).abs() < 1e-6, "{volume} {}", plate - drilled);
    }

    /// Seen from above, ear and first row lie at the far side, as in the drawing, and not mirrored.
    #[test]
    fn the_ear_is_where_the_drawing_shows_it() {
        let l = coupon(2.6);
        let ear = ladder(&l).into_iter().flatten().filter(|c| c[0] < -0.5 * l.tile).map(|c| c[1]);
        assert!(ear.fold(f64::INFINITY, f64::min) >= (l.rows - 1) as f64 * l.tile - 1e-9);
        let floor = l.thickness - l.depth;
        let blind = ladder(&l).into_iter().flatten().filter(|c| (c[2] - floor).abs() < 1e-9).map(|c| c[1]);
        assert!(blind.fold(f64::INFINITY, f64::min) > 3.0 * l.tile);
    }

    #[test]
    fn bytes_are_as_the_format_says() {
        let facets = ladder(&coupon(2.6));
        let bytes = binary(&facets, "hole ladder");
        assert_eq!(bytes.len(), 84 + 50 * facets.len());
        assert_eq!(bytes[80..84], u32::try_from(facets.len()).unwrap().to_le_bytes());
    }
}
