//! Hoop stress that is there before any load: forming, pressing, cold.

use super::thread::HALF_ANGLE;
use crate::book::Record;
use crate::joint::fact::fact;
use crate::joint::geometry::Geometry;
use crate::joint::mode::Mode;
use crate::joint::model::{Model, Var};
use crate::joint::need::ROOM;
use crate::joint::part::Part;
use crate::mechanics::bursting::bursting_load;
use crate::mechanics::bursting::lame_hoop;
use crate::mechanics::fit::{Fit, cooling_hoop, press_pressure};
use crate::mechanics::fracture::short_crack_strength;
use crate::quantity::Measure;
use uom::si::f64::{Angle, Force, Length, Pressure, Ratio, TemperatureCoefficient, TemperatureInterval};

/// Poisson's ratio of insert metals (brass 0.34, steel 0.30): it hardly matters beside the plastic.
const METAL_POISSON: f64 = 0.34;

/// Axial load whose wedging bursts the boss with that much strength left; zero when nothing is left or there is no wall.
pub fn burst_load(
    left: Pressure,
    inner: Length,
    outer: Length,
    pitch_diameter: Length,
    engaged: Length,
    friction: Ratio,
) -> Force {
    if left.si() <= 0.0 || outer <= inner {
        return Force::from_si(0.0);
    }
    bursting_load(left, inner, outer, pitch_diameter, engaged, Angle::from_si(HALF_ANGLE), friction)
        .unwrap_or(Force::from_si(f64::INFINITY))
}

/// Stress-free state of a metal insert in the part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StressFree {
    /// As assembled at room temperature.
    Room,
    /// As the melt set, at the glass transition.
    Melt,
}

/// Elastic hoop stress that cold adds round an insert, as an upper bound; a state of its own, because it needs no load.
pub fn cold(model: &mut Model<'_>, part: &Part, metal: Option<&Record>, geometry: &Geometry, from: StressFree) {
    let need = model.need;
    let Some(coldest) = need.using.coldest.map(|t| t.si()) else { return };
    let Some(insert) = &geometry.insert else { return };
    let Some((modulus, expansion, metal_modulus, metal_expansion)) = elastic(model, part, metal) else { return };
    let start = match from {
        StressFree::Room => ROOM,
        StressFree::Melt => crate::joint::fact::single(need, need.material, "tg").map_or(ROOM, |t| t.0.max(ROOM)),
    };
    let cooling = TemperatureInterval::from_si((start - coldest).max(0.0));
    let (interface, outer, bore) = (insert.largest() * 0.5, geometry.boss * 0.5, need.thread.minor_diameter() * 0.5);
    let (poisson, tensile, toughness) = (part.poisson, part.tensile.clone(), part.toughness);
    let flaw = model.assume_own::<Length>("axial_flaw");
    model.caution("stress from cold is elastic, from the stress-free state: an upper bound, because plastic creeps");
    model.fails(Mode::HoopBurst, "cooling-hoop against short-crack-strength: zero when the cold alone bursts it", move |draw| {
        let fit = Fit {
            interface,
            outer,
            bore,
            part_modulus: draw.get(modulus),
            part_poisson: draw.get(poisson),
            insert_modulus: draw.get(metal_modulus),
            insert_poisson: Ratio::from_si(METAL_POISSON),
        };
        let hoop = cooling_hoop(fit, draw.get(expansion), draw.get(metal_expansion), cooling);
        let strength = short_crack_strength(draw.get(toughness), draw.get(flaw), tensile.get(draw));
        Force::from_si(if hoop >= strength { 0.0 } else { f64::INFINITY })
    });
}

type Elastic = (Var<Pressure>, Var<TemperatureCoefficient>, Var<Pressure>, Var<TemperatureCoefficient>);

fn elastic(model: &mut Model<'_>, part: &Part, metal: Option<&Record>) -> Option<Elastic> {
    let need = model.need;
    let expansion = fact(need, need.material, "cte", None);
    let of_metal = |property: &'static str| metal.and_then(|m| fact(need, m, property, None));
    let (metal_modulus, metal_expansion) = (of_metal("tensile_modulus"), of_metal("cte"));
    let (Some(modulus), Some(expansion), Some(metal_modulus), Some(metal_expansion)) =
        (part.modulus, expansion, metal_modulus, metal_expansion)
    else {
        model.doubts.push("what the cold does is not known: modulus or expansion is missing".into());
        model.would_help(
            format!("modulus and expansion of {} and of the insert's metal", need.material.id),
            "claims of `tensile_modulus` and `cte`",
        );
        return None;
    };
    Some((modulus, model.fact(&expansion), model.fact(&metal_modulus), model.fact(&metal_expansion)))
}

/// A pressed insert: hoop stress of the press fit, and what wedging of the ribs may add.
pub fn pressed(model: &mut Model<'_>, part: &Part, geometry: &Geometry, interference: Length) {
    let Some(insert) = geometry.insert.clone() else { return };
    let Some(modulus) = part.modulus else {
        model.blocked(format!("elastic modulus of {}", model.need.material.id), "a claim of `tensile_modulus`");
        return;
    };
    let flaw = model.assume_own::<Length>("axial_flaw");
    let friction = model.assume::<Ratio>("flank_friction");
    let (tensile, toughness, poisson) = (part.tensile.clone(), part.toughness, part.poisson);
    let (interface, outer, bore) = (insert.largest() * 0.5, geometry.boss * 0.5, model.need.thread.minor_diameter() * 0.5);
    let widening = model.assume_own::<Ratio>("press_widening");
    let engaged = insert.length;
    model.fails(
        Mode::HoopBurst,
        "press-pressure and lame-hoop against short-crack-strength, the rest against wedging",
        move |draw| {
            let fit = Fit {
                interface,
                outer,
                bore,
                part_modulus: draw.get(modulus),
                part_poisson: draw.get(poisson),
                insert_modulus: Pressure::from_si(100e9),
                insert_poisson: Ratio::from_si(METAL_POISSON),
            };
            let hoop = lame_hoop(interface, outer, press_pressure(interference * draw.get(widening), fit));
            let strength = short_crack_strength(draw.get(toughness), draw.get(flaw), tensile.get(draw));
            burst_load(strength - hoop, interface, outer, interface * 2.0, engaged, draw.get(friction))
        },
    );
}
