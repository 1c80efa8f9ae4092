//! A hole that nobody asked for: that of the measured series of such joints, by nearness in length.
//!
//! At the length of a series it is the hole of that series; between the nearest shorter and the nearest longer one it goes
//! from one hole to the other as the logarithm of the length does, so that it never jumps. Beyond all of them it stays.

use crate::book::Record;
use crate::joint::geometry::Geometry;
use crate::joint::measured::Measured;
use crate::joint::method::{Case, Impossible, Method};
use crate::joint::need::Need;
use crate::quantity::Measure;
use uom::si::f64::Length;

/// Diameter of a hole and gap of the glue, where given.
pub(super) type HoleAndGap = (Option<Length>, Option<Length>);

/// A shape, and whose hole it has.
pub(super) struct Shaped {
    /// Ids of the series that told the hole, the nearer one first; none where it was asked for or no series told.
    pub told_by: Vec<String>,
    /// What was asked for or told.
    pub hole: HoleAndGap,
    /// The shape.
    pub geometry: Result<Geometry, Impossible>,
}

/// The shape of a joint.
pub(super) fn shaped(method: &dyn Method, case: &Case<'_>, series: &[Measured<'_>]) -> Shaped {
    let need = case.need;
    let like: Vec<&Measured<'_>> = series.iter().filter(|s| tells(s, method, case)).collect();
    let shape = |need: &Need<'_>| method.geometry(&Case { need, insert: case.insert, adhesive: case.adhesive });
    if let Some((told_by, (hole_size, gap))) = told(&like, need.length) {
        let told = Need { hole_size, gap, ..need.clone() };
        // A hole in a stepped shape is given by its gap.
        if let Ok(geometry) = shape(&told).or_else(|_| shape(&Need { hole_size: None, ..told.clone() })) {
            return Shaped { told_by, hole: (hole_size, gap), geometry: Ok(geometry) };
        }
    }
    Shaped { told_by: Vec::new(), hole: (need.hole_size, need.gap), geometry: shape(need) }
}

/// Whether a series is of such a joint, with a hole to tell.
fn tells(series: &Measured<'_>, method: &dyn Method, case: &Case<'_>) -> bool {
    let need = case.need;
    let same = |a: Option<&Record>, b: Option<&Record>| a.map(|r| &r.id) == b.map(|r| &r.id);
    need.hole_size.is_none()
        && need.gap.is_none()
        && !need.any_material
        && series.method == method.card().name
        && series.material.id == need.material.id
        && series.thread == need.thread
        && same(series.insert, case.insert)
        && same(series.adhesive, case.adhesive)
        && (series.hole().is_some() || series.gap().is_some())
}

/// The hole at a length, and the series it is told by.
fn told(like: &[&Measured<'_>], length: Length) -> Option<(Vec<String>, HoleAndGap)> {
    let count = |s: &Measured<'_>| s.specimens.iter().map(|x| x.stands_for).sum::<usize>();
    // Of several of one length that with the most specimens.
    let by_weight = |a: &Measured<'_>, b: &Measured<'_>| count(b).cmp(&count(a)).then(a.record.id.cmp(&b.record.id));
    let apart = |s: &Measured<'_>| ln(s.length, length).abs();
    let nearest = |a: &&&Measured<'_>, b: &&&Measured<'_>| apart(a).total_cmp(&apart(b)).then_with(|| by_weight(a, b));
    let below = like.iter().filter(|s| s.length <= length).min_by(nearest);
    let above = like.iter().filter(|s| s.length >= length).min_by(nearest);
    let of = |s: &Measured<'_>| (vec![s.record.id.to_string()], (s.hole(), s.gap()));
    let (below, above) = match (below, above) {
        (Some(one), Some(other)) if one.length < other.length => (one, other),
        (one, other) => return one.or(other).map(|s| of(s)),
    };
    let share = ln(below.length, length) / ln(below.length, above.length);
    let between = |a: Option<Length>, b: Option<Length>| a.zip(b).map(|(a, b)| a + (b - a) * share);
    let (hole, gap) = (between(below.hole(), above.hole()), between(below.gap(), above.gap()));
    let (near, far) = if share <= 0.5 { (below, above) } else { (above, below) };
    if hole.is_none() && gap.is_none() {
        return Some(of(near));
    }
    // Two series with one hole tell no other between them.
    let alike = (below.hole(), below.gap()) == (above.hole(), above.gap());
    let told_by = if alike { vec![near] } else { vec![near, far] };
    Some((told_by.into_iter().map(|s| s.record.id.to_string()).collect(), (hole, gap)))
}

fn ln(from: Length, to: Length) -> f64 {
    libm::log(to.si() / from.si())
}
