//! A nut behind the plastic: the ring under it yields or shears out, its thread and the screw are loaded.

use super::{metal, torque};
use crate::joint::geometry::Geometry;
use crate::joint::mode::Mode;
use crate::joint::model::Model;
use crate::joint::need::Need;
use crate::joint::nut;
use crate::joint::part::Part;
use crate::mechanics::bond::bond_area;
use crate::mechanics::screw::head_bearing_load;
use uom::si::f64::Length;

/// Diameter that bears on the plastic: the nut's flats in a pocket, else the washer under head and nut.
pub fn bears(need: &Need<'_>, pocket: bool, head: Length) -> Length {
    let flats = nut::usual(need).filter(|_| pocket).map(|nut| nut.flats);
    flats.unwrap_or_else(|| head * need.assumptions.value("washer_over_head"))
}

/// Every state of a nut, in a pocket of the part or free on a washer.
pub fn clamped(model: &mut Model<'_>, part: &Part, geometry: &Geometry, pocket: bool) {
    let thread = model.need.thread;
    let bore = geometry.hole.first().map_or(thread.major(), |s| s.finished.high);
    let bears = bears(model.need, pocket, torque::head_of(model.need));
    if !pocket {
        model.assumptions.insert("washer_over_head");
    }
    let floor = model.need.length;
    let yielding = part.yielding.clone();
    model.fails(Mode::HeadBearing, "head-bearing-load on the ring under the nut or washer", move |draw| {
        head_bearing_load(yielding.get(draw), bears, bore)
    });
    let shear = part.shear.clone();
    model.fails(Mode::BreakOut, "shear of the plastic round the nut or washer: strength x pi D t", move |draw| {
        shear.get(draw) * bond_area(bears, floor)
    });
    let strength = metal::nut_strength(model);
    let height = match nut::usual(model.need) {
        Some(nut) => {
            model.claims_used(&nut.claims);
            nut.height
        }
        None => thread.major() * model.assumed("nut_height"),
    };
    metal::in_metal(model, strength, height);
    torque::strips(model);
    model.caution("the length asked for counts as plastic under the nut");
    model.caution("the sizes of head and washer are recalled from their standards, not read there: measure yours");
}
