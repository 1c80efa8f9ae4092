//! Teeth of a saw-tooth curve: local maxima with their prominence.
//!
//! Prominence: how far the curve falls on both sides before it rises above the peak again (topographic prominence).

use super::bins::Point;

/// One tooth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tooth {
    /// Its top.
    pub top: Point,
    /// Prominence in N.
    pub prominence: f64,
}

/// Local maxima with at least that prominence (N), in order. Level tops count once, at their middle.
pub fn teeth(points: &[Point], least: f64) -> Vec<Tooth> {
    // Of peaks of equal height the first stands for the hill: noise on a level top must not look like teeth.
    let left = falls(points.iter().map(|p| p.y), true);
    let mut right = falls(points.iter().rev().map(|p| p.y), false);
    right.reverse();
    let mut list = Vec::new();
    let mut i = 1;
    while i + 1 < points.len() {
        if points[i].y <= points[i - 1].y {
            i += 1;
            continue;
        }
        let mut end = i;
        while end + 1 < points.len() && points[end + 1].y == points[i].y {
            end += 1;
        }
        if end + 1 < points.len() && points[end + 1].y < points[i].y {
            let middle = usize::midpoint(i, end);
            let prominence = points[i].y - left[i].max(right[end]);
            if prominence >= least {
                list.push(Tooth { top: points[middle], prominence });
            }
        }
        i = end + 1;
    }
    list
}

/// For each place the least value since the last value above it (with `equal`: not below it), or since the start.
fn falls(values: impl Iterator<Item = f64>, equal: bool) -> Vec<f64> {
    // The stack holds falling heights, each with the least value met between it and the one below.
    let mut stack: Vec<(f64, f64)> = Vec::new();
    let mut out = Vec::new();
    for y in values {
        let mut least = y;
        while let Some(&(height, low)) = stack.last() {
            if height > y || (equal && height == y) {
                break;
            }
            least = least.min(low);
            stack.pop();
        }
        out.push(least);
        stack.push((y, least));
    }
    out
}

/// Middle distance between neighbouring teeth, mm; `None` with fewer than two.
pub fn pitch(teeth: &[Tooth]) -> Option<f64> {
    let mut steps: Vec<f64> = teeth.windows(2).map(|two| two[1].top.x - two[0].top.x).collect();
    steps.sort_by(f64::total_cmp);
    let middle = steps.len() / 2;
    match steps.len() {
        0 => None,
        n if n % 2 == 1 => Some(steps[middle]),
        _ => Some(f64::midpoint(steps[middle - 1], steps[middle])),
    }
}

/// A polyline with four teeth, in mm and N.
#[cfg(test)]
pub(super) const SAW_TOOTH: [(f64, f64); 10] = [
    (0.0, 0.0),
    (1.0, 500.0),
    (1.1, 350.0),
    (1.6, 480.0),
    (1.7, 300.0),
    (2.2, 450.0),
    (2.3, 280.0),
    (2.8, 420.0),
    (2.9, 150.0),
    (4.0, 120.0),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: scipy.signal.find_peaks with prominence on this polyline (library).
    #[test]
    fn polyline_of_the_literature_note() {
        let points: Vec<Point> = SAW_TOOTH.map(|(x, y)| Point { x, y }).to_vec();
        let all = teeth(&points, 25.0);
        assert_eq!(all.iter().map(|t| t.prominence).collect::<Vec<_>>(), [380.0, 130.0, 150.0, 140.0]);
        assert!((pitch(&all).unwrap() - 0.6).abs() < 1e-12);
        assert_eq!(teeth(&points, 150.0).len(), 2);
    }

    #[test]
    fn level_tops_count_once() {
        let points: Vec<Point> =
            [0.0, 2.0, 2.0, 2.0, 1.0, 2.0, 0.0].iter().enumerate().map(|(i, y)| Point { x: i as f64, y: *y }).collect();
        let all = teeth(&points, 0.5);
        assert_eq!(all.iter().map(|t| t.top.x).collect::<Vec<_>>(), [2.0, 5.0]);
        assert!(teeth(&points[..2], 0.1).is_empty() && teeth(&[], 0.1).is_empty());
    }

    #[test]
    fn noise_on_a_level_top_is_one_tooth() {
        let load = |i: usize| if !(10..=90).contains(&i) { 0.0 } else { 1000.0 + (i % 4) as f64 };
        let points: Vec<Point> = (0..100).map(|i| Point { x: i as f64, y: load(i) }).collect();
        assert_eq!(teeth(&points, 50.0).len(), 1);
    }
}
