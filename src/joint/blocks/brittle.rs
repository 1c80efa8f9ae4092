//! What only brittle parts do: cracks from thread roots, cones that break out.

use super::thread::{Diameter, Made, Screw};
use crate::joint::geometry::Geometry;
use crate::joint::mode::Mode;
use crate::joint::model::Model;
use crate::joint::part::{self, Part};
use crate::mechanics::fracture::{break_out_load, short_crack_strength};
use crate::mechanics::stripping::internal_shear_area;
use uom::si::f64::{Length, Ratio};

/// Cracks from the roots of a cut or printed thread: the shear load, less what flaws at the roots take of the strength.
///
/// A tap leaves flaws, a printed root is rounder; an under-cured core would explain the same, so neither is blamed alone.
pub fn roots(model: &mut Model<'_>, part: &Part, made: Made, screw: Screw, hole: Diameter, geometry: &Geometry) {
    if !model.need.brittle() || made == Made::Formed {
        return;
    }
    let flaw = match made {
        Made::Cut => model.assume_own::<Length>("cut_root_flaw"),
        Made::Printed | Made::Formed => model.assume_own::<Length>("printed_root_flaw"),
    };
    let (pitch, engaged) = (model.need.thread.pitch(), geometry.thread.engaged);
    let (shear, tensile, toughness) = (part.shear.clone(), part.tensile.clone(), part::toughness(model));
    model.fails(Mode::RootCrack, "internal-shear-area at a strength cut by root flaws (short-crack-strength)", move |draw| {
        let sound = tensile.get(draw);
        let left: Ratio = short_crack_strength(draw.get(toughness), draw.get(flaw), sound) / sound;
        let area = internal_shear_area(pitch, engaged, draw.get(screw.major), hole.get(draw));
        shear.get(draw) * area * left
    });
    model.caution(match made {
        Made::Cut => {
            "a cut thread may crack from its roots: flaws left by the tap or an under-cured core explain that equally well"
        }
        _ => "a printed thread may crack from its roots: root flaws or an under-cured core explain that equally well",
    });
}

/// A cone breaking out of a brittle plate round what is anchored at that depth.
pub fn break_out(model: &mut Model<'_>, depth: Length) {
    let need = model.need;
    if !need.brittle() {
        return;
    }
    let wanted = depth * 1.5;
    let edge = need.edge.or(need.boss.map(|b| b * 0.5));
    match edge {
        Some(edge) if edge < wanted && need.edge.is_some() => {
            model
                .doubts
                .push("the edge is nearer than 1.5 times the depth: the plate may split, and there is no model for that".into());
            model.would_help("how such an edge splits", "a test series with this edge distance");
            return;
        }
        // A slender boss bursts before a cone could form in it.
        Some(edge) if edge < wanted => return,
        Some(_) => {}
        None => model.caution("a wide plate is assumed for the break-out of a cone: no edge within 1.5 times the depth"),
    }
    let spread = model.spread_by::<Ratio>("break_out_sd", "break-out formula");
    let toughness = part::toughness(model);
    model.fails(Mode::BreakOut, "break-out-load 2.1 KIc h^1.5 (recalled, order of magnitude)", move |draw| {
        break_out_load(draw.get(toughness), depth) * draw.get(spread)
    });
    if need.through {
        model.caution("a through hole held on a narrow ring pulls out a smaller cone: support it widely");
    }
}
