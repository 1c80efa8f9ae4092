//! The metal side: the screw's thread and shank, the thread inside an insert or nut. Never biased by series of plastics.

use super::diameters::Screw;
use super::thread::screw;
use crate::book::Record;
use crate::joint::distribution::Law;
use crate::joint::fact::{Fact, fact};
use crate::joint::geometry::Geometry;
use crate::joint::mode::Mode;
use crate::joint::model::{InputOrigin, Model, Var};
use crate::mechanics::screw::tensile_load;
use crate::mechanics::stripping::{
    external_shear_area, hole_thread_factor, internal_shear_area, screw_thread_factor, strength_ratio,
};
use crate::quantity::Measure;
use uom::si::f64::{Length, Pressure, Ratio};

/// Screw taken when none is named.
const USUAL_SCREW: &str = "screw/steel-8-8";

/// The metal record behind a screw or an insert.
pub fn metal_of<'b>(model: &Model<'b>, record: Option<&'b Record>) -> Option<&'b Record> {
    model.need.book.in_use(record?.common().metal.as_deref()?)
}

/// The screw named, else the usual one.
pub fn screw_record<'b>(model: &Model<'b>) -> Option<&'b Record> {
    model.need.screw.or_else(|| model.need.book.in_use(USUAL_SCREW))
}

fn screw_strength(model: &mut Model<'_>) -> Option<Var<Pressure>> {
    let record = screw_record(model);
    let known = metal_of(model, record).and_then(|m| fact(model.need, m, "tensile_strength", None));
    match known {
        Some(known) => {
            if model.need.screw.is_none() {
                model.caution("no screw is named: a steel screw of class 8.8 is assumed");
            }
            Some(quietly(model, &known))
        }
        None => {
            model.would_help("the strength of the screw", "--screw ID, or a claim of `tensile_strength` of its metal");
            None
        }
    }
}

/// A metal's strength; its scatter is none of the plastic's.
fn quietly(model: &mut Model<'_>, known: &Fact) -> Var<Pressure> {
    let scatter = model.scatter;
    let var = model.fact(known);
    model.scatter = scatter;
    var
}

/// The screw breaks, or its thread shears in a hole with those crests.
pub fn in_plastic(model: &mut Model<'_>, geometry: &Geometry) {
    let screw = screw(model);
    breaks(model);
    let Some(strength) = screw_strength(model) else { return };
    let shear = model.assumed("metal_shear");
    let (pitch, engaged) = (model.need.thread.pitch(), geometry.thread.engaged);
    let crest =
        geometry.hole.iter().find(|s| s.purpose == "thread").map_or(model.need.thread.minor_diameter(), |s| s.finished.high);
    model.fails(Mode::MetalThreadShear, "0.6 Rm x external-shear-area x C2", move |draw| {
        let area = external_shear_area(pitch, engaged, crest, draw.get(screw.pitch_diameter));
        // A plastic hole is the weaker side by far: C2 at its constant.
        draw.get(strength) * shear * area * screw_thread_factor(Ratio::from_si(0.0))
    });
}

/// The screw breaks in its stress area.
pub fn breaks(model: &mut Model<'_>) {
    let Some(strength) = screw_strength(model) else { return };
    let area = model.need.thread.stress_area();
    model.fails(Mode::ScrewBreak, "tensile-load: Rm x stress area", move |draw| tensile_load(draw.get(strength), area));
}

/// Screw and thread of an insert or nut: whichever shears first, by Alexander's factors (metal on metal).
pub fn in_metal(model: &mut Model<'_>, inner: Option<Var<Pressure>>, engaged: Length) {
    let screw: Screw = screw(model);
    breaks(model);
    let (Some(outer), Some(inner)) = (screw_strength(model), inner) else {
        model.would_help("the strength of the insert's metal", "a claim of `tensile_strength` of its metal");
        return;
    };
    let thread = model.need.thread;
    let shear = model.assumed("metal_shear");
    let pitch = thread.pitch();
    let band = |l: Length, h: Length| Law::Uniform { low: l.si(), high: h.si() };
    let (minor, hole_pitch) = match thread.limits() {
        Some(l) => {
            (band(l.internal.minor.min, l.internal.minor.max), band(l.internal.pitch_diameter.min, l.internal.pitch_diameter.max))
        }
        None => (Law::Fixed(thread.minor_diameter().si()), Law::Fixed(thread.pitch_diameter().si())),
    };
    let minor: Var<Length> = model.own("metal thread minor diameter", minor, InputOrigin::Thread);
    let hole_pitch: Var<Length> = model.own("metal thread pitch diameter", hole_pitch, InputOrigin::Thread);
    model.fails(Mode::MetalThreadShear, "0.6 Rm x shear area x C2 or C3, the weaker side", move |draw| {
        let (tn, ts) = (draw.get(inner) * shear, draw.get(outer) * shear);
        let an = internal_shear_area(pitch, engaged, draw.get(screw.major), draw.get(hole_pitch));
        let asx = external_shear_area(pitch, engaged, draw.get(minor), draw.get(screw.pitch_diameter));
        let rs = strength_ratio(tn, an, ts, asx);
        let of_insert = tn * an * hole_thread_factor(rs);
        let of_screw = ts * asx * screw_thread_factor(rs);
        if of_insert < of_screw { of_insert } else { of_screw }
    });
}

/// The strength of an insert's metal, where known.
pub fn insert_strength(model: &mut Model<'_>, insert: Option<&Record>) -> Option<Var<Pressure>> {
    let metal = model.need.book.record(insert?.common().metal.as_deref()?)?;
    let known = fact(model.need, metal, "tensile_strength", None)?;
    Some(quietly(model, &known))
}

/// The strength of a nut: that of the screw's metal, as nuts are paired with screws of their class.
pub fn nut_strength(model: &mut Model<'_>) -> Option<Var<Pressure>> {
    model.caution("the nut is assumed to be as strong as the screw: pair them by property class");
    screw_strength(model)
}
