//! Hoop stress that is there before any load: forming, pressing, cold.

use super::diameters::HALF_ANGLE;
use crate::book::Record;
use crate::joint::fact::fact;
use crate::joint::geometry::{Geometry, Insert};
use crate::joint::mode::Mode;
use crate::joint::model::{Draw, Model, Var};
use crate::joint::need::ROOM;
use crate::joint::part::{self, Part, PartStrength, Toughness};
use crate::mechanics::bursting::bursting_load;
use crate::mechanics::bursting::lame_hoop;
use crate::mechanics::fit::{Fit, cooling_hoop, press_pressure};
use crate::mechanics::fracture::short_crack_strength;
use crate::quantity::Measure;
use uom::si::f64::{Angle, Force, Length, Pressure, Ratio, TemperatureCoefficient, TemperatureInterval};

/// Poisson's ratio of insert metals (brass 0.34, steel 0.30): it hardly matters beside the plastic.
const METAL_POISSON: f64 = 0.34;

/// The wall round a hole, with a flaw along the axis: flute, seam, tap scratch, layer line.
#[derive(Debug, Clone)]
pub struct Wall {
    tensile: PartStrength,
    toughness: Toughness,
    flaw: Var<Length>,
}

impl Wall {
    /// The wall of this part in this case.
    pub fn of(model: &mut Model<'_>, part: &Part) -> Wall {
        Wall {
            tensile: part.tensile.clone(),
            toughness: part::toughness(model, part),
            flaw: model.assume_own::<Length>("axial_flaw"),
        }
    }
    /// Tensile strength without the flaw.
    pub fn sound(&self, draw: &Draw<'_>) -> Pressure {
        self.tensile.get(draw)
    }
    /// What the flaw leaves of it.
    pub fn strength(&self, draw: &Draw<'_>) -> Pressure {
        short_crack_strength(self.toughness.get(draw), draw.get(self.flaw), self.tensile.get(draw))
    }
}

/// Outer radius of the wall that counts: the boss up to the nearest edge, or behind a cellular inside the perimeters round
/// the hole alone.
pub fn solid_outer(model: &mut Model<'_>, geometry: &Geometry) -> Length {
    let boss = geometry.boss * 0.5;
    // An edge on one side counts as one all round: on the safe side.
    let boss = model.need.edge.filter(|edge| *edge < boss).unwrap_or(boss);
    let (Some(infill), Some(perimeters)) = (model.need.using.infill, model.need.using.perimeters) else { return boss };
    if infill >= 1.0 {
        return boss;
    }
    let hole = geometry.hole.iter().map(|s| s.finished.nominal.si()).fold(0.0, f64::max) / 2.0;
    let solid = Length::from_si(hole + f64::from(perimeters) * model.assumed("perimeter_width"));
    if solid < boss { solid } else { boss }
}

/// A metal insert in the part, its elastic constants as inputs.
#[derive(Clone, Copy)]
struct Sleeve {
    interface: Length,
    outer: Length,
    bore: Length,
    part_modulus: Var<Pressure>,
    part_poisson: Var<Ratio>,
    metal_modulus: Var<Pressure>,
}

impl Sleeve {
    fn fit(&self, draw: &Draw<'_>) -> Fit {
        Fit {
            interface: self.interface,
            outer: self.outer,
            bore: self.bore,
            part_modulus: draw.get(self.part_modulus),
            part_poisson: draw.get(self.part_poisson),
            insert_modulus: draw.get(self.metal_modulus),
            insert_poisson: Ratio::from_si(METAL_POISSON),
        }
    }
}

/// Elastic modulus of an insert's metal; that of copper alloys where none is stated.
pub fn metal_modulus(model: &mut Model<'_>, metal: Option<&Record>) -> Var<Pressure> {
    let need = model.need;
    match metal.and_then(|m| fact(need, m, "tensile_modulus", None)) {
        Some(known) => {
            let scatter = model.scatter;
            let var = model.fact(&known);
            // The scatter of a metal's stiffness is none of the plastic's strength.
            model.scatter = scatter;
            var
        }
        None => model.assume::<Pressure>("insert_modulus"),
    }
}

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
    let Some((sleeve, expansion, metal_expansion)) = elastic(model, metal, geometry, insert) else { return };
    let start = match from {
        StressFree::Room => ROOM,
        StressFree::Melt => crate::joint::fact::single(need, need.material, "tg").map_or(ROOM, |t| t.0.max(ROOM)),
    };
    let cooling = TemperatureInterval::from_si((start - coldest).max(0.0));
    let wall = Wall::of(model, part);
    model.caution("stress from cold is elastic, from the stress-free state: an upper bound, because plastic creeps");
    model.fails(Mode::HoopBurst, "cooling-hoop against short-crack-strength: zero when the cold alone bursts it", move |draw| {
        let hoop = cooling_hoop(sleeve.fit(draw), draw.get(expansion), draw.get(metal_expansion), cooling);
        Force::from_si(if hoop >= wall.strength(draw) { 0.0 } else { f64::INFINITY })
    });
}

fn sleeve(model: &mut Model<'_>, metal: Option<&Record>, geometry: &Geometry, insert: &Insert) -> Option<Sleeve> {
    let part_modulus = part::modulus(model)?;
    Some(Sleeve {
        interface: insert.largest() * 0.5,
        outer: solid_outer(model, geometry),
        bore: model.need.thread.minor_diameter() * 0.5,
        part_modulus,
        part_poisson: part::poisson(model),
        metal_modulus: metal_modulus(model, metal),
    })
}

type Elastic = (Sleeve, Var<TemperatureCoefficient>, Var<TemperatureCoefficient>);

fn elastic(model: &mut Model<'_>, metal: Option<&Record>, geometry: &Geometry, insert: &Insert) -> Option<Elastic> {
    let need = model.need;
    let expansion = fact(need, need.material, "cte", None);
    let metal_expansion = metal.and_then(|m| fact(need, m, "cte", None));
    let (Some(sleeve), Some(expansion), Some(metal_expansion)) =
        (sleeve(model, metal, geometry, insert), expansion, metal_expansion)
    else {
        model.doubts.push("the effect of cold is not known: the modulus or the coefficient of expansion is missing".into());
        model.would_help(
            format!("modulus and expansion of {} and of the insert's metal", need.material.id),
            "claims of `tensile_modulus` and `cte`",
        );
        return None;
    };
    Some((sleeve, model.fact(&expansion), model.fact(&metal_expansion)))
}

/// A pressed insert: hoop stress of the press fit, and what wedging of the ribs may add.
pub fn pressed(model: &mut Model<'_>, part: &Part, metal: Option<&Record>, geometry: &Geometry, interference: Length) {
    let Some(insert) = geometry.insert.clone() else { return };
    let Some(sleeve) = sleeve(model, metal, geometry, &insert) else {
        model.blocked(format!("elastic modulus of {}", model.need.material.id), "a claim of `tensile_modulus`");
        return;
    };
    let wall = Wall::of(model, part);
    let friction = model.assume::<Ratio>("flank_friction");
    let widening = model.assume_own::<Ratio>("press_widening");
    let engaged = insert.length;
    model.fails(
        Mode::HoopBurst,
        "press-pressure and lame-hoop against short-crack-strength, the rest against wedging",
        move |draw| {
            let pressure = press_pressure(interference * draw.get(widening), sleeve.fit(draw));
            let hoop = lame_hoop(sleeve.interface, sleeve.outer, pressure);
            let left = wall.strength(draw) - hoop;
            burst_load(left, sleeve.interface, sleeve.outer, sleeve.interface * 2.0, engaged, draw.get(friction))
        },
    );
}
