//! What only brittle parts do: cracks from thread roots, cones that break out.

use super::diameters::{Diameter, Made, Screw};
use super::residual;
use crate::joint::geometry::Geometry;
use crate::joint::mode::Mode;
use crate::joint::model::Model;
use crate::joint::part::{self, Part};
use crate::mechanics::fracture::{break_out_load, short_crack_strength};
use crate::mechanics::stripping::internal_shear_area;
use crate::quantity::Measure;
use uom::si::f64::{Length, Ratio};

/// Cracks from the roots of a thread: the shear load, less what flaws at the roots take of the strength.
///
/// A tap leaves flaws, and a forming screw too where nothing flows; a printed root is rounder; an under-cured core would explain the same, so neither is blamed alone.
pub fn roots(model: &mut Model<'_>, part: &Part, made: Made, screw: Screw, hole: Diameter, geometry: &Geometry) {
    if !model.need.brittle() {
        return;
    }
    let flaw = match made {
        Made::Cut => model.assume_own::<Length>("cut_root_flaw"),
        Made::Formed => model.assume_own::<Length>("formed_root_flaw"),
        Made::Printed => model.assume_own::<Length>("printed_root_flaw"),
    };
    let (pitch, engaged) = (model.need.thread.pitch(), geometry.thread.engaged);
    let (shear, tensile, toughness) = (part.shear.clone(), part.tensile.clone(), part::toughness(model, part));
    model.fails(Mode::RootCrack, "internal-shear-area at a strength cut by root flaws (short-crack-strength)", move |draw| {
        let sound = tensile.get(draw);
        let left: Ratio = short_crack_strength(toughness.get(draw), draw.get(flaw), sound) / sound;
        let area = internal_shear_area(pitch, engaged, draw.get(screw.major), hole.get(draw));
        shear.get(draw) * area * left
    });
    model.caution(match made {
        Made::Cut => {
            "a cut thread may crack from its roots: flaws left by the tap or an under-cured core explain that equally well"
        }
        Made::Formed => "a formed thread may crack from its roots: what does not flow is broken out of the way",
        Made::Printed => "a printed thread may crack from its roots: root flaws or an under-cured core explain that equally well",
    });
}

/// Share of the cone's reach (1.5 times the depth) that its crack has run when the load is at its peak.
const RUN_AT_PEAK: f64 = 0.45;

/// What a boss or edge at that radius leaves of the break-out of a cone: all of it where the crack reaches its peak load
/// inside the boss, else the square root of the share of the crack's ring that lies inside.
///
/// The crack round a headed stud grows stably to 0.45 of the cone before the load peaks (Eligehausen and Sawade 1989,
/// recalled), so that a wall further out than that does not lower the peak. The square root is the judgement that keeps a
/// deeper anchor from being the weaker one; where little is left, splitting governs.
fn inside(outer: f64, hole: f64, depth: f64) -> f64 {
    let needed = hole + RUN_AT_PEAK * 1.5 * depth;
    let ring = |radius: f64| radius * radius - hole * hole;
    if outer >= needed { 1.0 } else { libm::sqrt((ring(outer) / ring(needed)).max(0.0)) }
}

/// A cone breaking out of a brittle part round what is anchored at that depth.
pub fn break_out(model: &mut Model<'_>, part: &Part, geometry: &Geometry, depth: Length) {
    let need = model.need;
    if !need.brittle() {
        return;
    }
    let outer = residual::solid_outer(model, geometry).si();
    let hole = geometry.hole.iter().map(|s| s.finished.nominal.si()).fold(0.0, f64::max) / 2.0;
    let kept = Ratio::from_si(inside(outer, hole, depth.si()));
    if kept.si() < 1.0 {
        model.caution("boss or edge cuts the cone that would break out: less than in a wide plate, and it may split instead");
    }
    let spread = model.spread_by::<Ratio>("break_out_sd", "break-out formula");
    let toughness = part::toughness(model, part);
    model.fails(Mode::BreakOut, "break-out-load 2.1 KIc h^1.5 (recalled, order of magnitude), cut by the boss", move |draw| {
        break_out_load(toughness.get(draw), depth) * draw.get(spread) * kept
    });
    if need.through {
        model.caution("a through hole held on a narrow ring pulls out a smaller cone: support it widely");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cone_cut_by_its_boss_loses_without_a_step_and_never_gains_by_a_smaller_one() {
        // Hand: hole radius 1.5, depth 5.7: whole from 1.5 + 0.675 x 5.7 = 5.3475 mm; at 4.5 mm sqrt(18/26.3458) = 0.8266.
        assert_eq!(inside(5.35, 1.5, 5.7), 1.0);
        assert!((inside(4.5, 1.5, 5.7) - 0.8266).abs() < 1e-4);
        assert_eq!(inside(1.5, 1.5, 5.7), 0.0);
        let mut before = 0.0;
        for step in 0..=600 {
            let now = inside(1.5 + f64::from(step) * 0.01, 1.5, 5.7);
            assert!(now >= before && (now - before < 0.03 || before < 0.2), "{step}: {before} {now}");
            before = now;
        }
        // Deeper is never weaker, however slender the boss: 2.1 KIc h^1.5 times what is kept.
        let load = |depth: f64| depth * libm::sqrt(depth) * inside(4.0, 1.5, depth);
        assert!((1..200).all(|i| load(f64::from(i) * 0.1) <= load(f64::from(i + 1) * 0.1)));
    }
}
