//! An insert held by glue: the bond to the metal, the bond to the part, and what the gap does to both.

use super::{cure, metal, residual, torque};
use crate::book::Record;
use crate::joint::assumption::Assumptions;
use crate::joint::distribution::Law;
use crate::joint::gap::GapLine;
use crate::joint::geometry::Geometry;
use crate::joint::glue::{self, Strengths};
use crate::joint::limit_states::brittle;
use crate::joint::method::{Case, Glue};
use crate::joint::mode::Mode;
use crate::joint::model::{Draw, InputOrigin, Model, Var};
use crate::joint::part::{self, Part, PartStrength};
use crate::mechanics::bond::{bond_area, ring_volume};
use crate::mechanics::shear_lag::{Sleeve, peak_same_face};
use crate::quantity::Measure;
use uom::si::f64::{Area, Force, Length, Pressure, Ratio};

/// The hole an insert is glued into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoleForm {
    /// One diameter.
    Plain,
    /// It follows the steps of the insert and stops it.
    Following,
    /// One diameter with an undercut.
    Undercut,
}

/// A stretch of the bond: diameters of insert and hole as finished, length.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    insert: Length,
    hole: Length,
    length: Length,
    keyed: bool,
}

/// The stretches of a bond, from the mouth to the bottom.
fn stretches(geometry: &Geometry) -> Vec<Stretch> {
    let Some(insert) = &geometry.insert else { return Vec::new() };
    let largest = insert.largest();
    let mut at = geometry.insert_at.si();
    let mut all = Vec::new();
    for step in insert.steps.iter().filter(|s| s.form != "flange") {
        let middle = at + step.length.si() / 2.0;
        at += step.length.si();
        let around = geometry.hole.iter().find(|h| h.from.si() <= middle && middle <= h.to.si());
        let Some(hole) = around.map(|h| h.finished.nominal) else { continue };
        // A ring of glue in a groove shears on the cylinder of its neighbours.
        let keyed = matches!(step.form.as_str(), "groove" | "knurl");
        let diameter = if step.form == "groove" { largest } else { step.diameter };
        all.push(Stretch { insert: diameter, hole, length: step.length, keyed });
    }
    all
}

/// The same with one stretch for all that are alike, wherever they lie: it is worked out in every draw.
fn gathered(stretches: &[Stretch]) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    for one in stretches {
        match all.iter_mut().find(|a| (a.insert, a.hole, a.keyed) == (one.insert, one.hole, one.keyed)) {
            Some(alike) => alike.length += one.length,
            None => all.push(*one),
        }
    }
    all
}

/// What the gap does, in one draw.
#[derive(Clone, Copy)]
struct Gap {
    curve: Option<GapLine>,
    keyed: f64,
    off_centre: Var<Ratio>,
    spread: Var<Ratio>,
    widening: Var<Length>,
}

impl Gap {
    /// Factor on the strength at a stretch: the mean of the narrow and the wide side of an eccentric gap.
    fn factor(&self, stretch: Stretch, draw: &Draw<'_>) -> Ratio {
        let Some(curve) = self.curve else { return Ratio::from_si(1.0) };
        let gap = ((stretch.hole - stretch.insert + draw.get(self.widening)) * 0.5).max(Length::from_si(0.0));
        let off = draw.get(self.off_centre);
        let one = Ratio::from_si(1.0);
        let both = (curve.factor(gap * (one - off)) + curve.factor(gap * (one + off))) * 0.5;
        // A knurl or groove holds the glue by form, so that a wide gap there still carries what the glue itself does.
        let both = if stretch.keyed && both.si() > 0.0 { one.min(both * self.keyed) } else { both };
        both * draw.get(self.spread)
    }
}

/// Area of a bond on the insert, each stretch with its gap factor.
fn carried(stretches: &[Stretch], gap: Gap, draw: &Draw<'_>) -> Area {
    stretches.iter().fold(Area::from_si(0.0), |sum, s| sum + bond_area(s.insert, s.length) * gap.factor(*s, draw))
}

/// Every state of a glued insert.
pub fn glued(model: &mut Model<'_>, case: &Case<'_>, part: &Part, geometry: &Geometry, form: HoleForm, glue: Glue) {
    let Some(adhesive) = case.adhesive else {
        model.blocked("an adhesive", "--adhesive ID");
        return;
    };
    prepare(model, adhesive);
    let suit = glue::gate(model, case, geometry);
    let curve = glue::curve(model, adhesive);
    beyond(model, adhesive, curve, geometry);
    let stretches = stretches(geometry);
    let length: f64 = stretches.iter().map(|s| s.length.si()).sum();
    let length = Length::from_si(length);
    let strengths = match glue {
        Glue::OwnResin => glue::own_resin(model, part),
        Glue::Adhesive => glue::strengths(model, case, &suit, part),
    };
    let Some(strengths) = strengths else { return };
    let tolerance = geometry.hole.first().map_or(Length::from_si(0.0), |h| h.finished.high - h.finished.nominal).si();
    let gap = Gap {
        curve,
        keyed: model.assumed("keyed_gain"),
        off_centre: model.assume_own::<Ratio>("eccentricity"),
        spread: model.spread_by("gap_curve_sd", "gap curve"),
        widening: model.own("hole", Law::Uniform { low: -tolerance, high: tolerance }, InputOrigin::Hole),
    };
    match glue {
        Glue::OwnResin => own_resin_states(model, &strengths, gap, gathered(&stretches), geometry, length),
        Glue::Adhesive => adhesive_states(model, &strengths, gap, gathered(&stretches), part, geometry, form),
    }
    let metal_record = metal::metal_of(model, case.insert);
    peak(model, metal_record, geometry, length);
    brittle::break_out(model, part, geometry, length);
    residual::cold(model, part, metal_record, geometry, residual::StressFree::Room);
    let inner = metal::insert_strength(model, case.insert);
    metal::in_metal(model, inner, geometry.thread.engaged);
    torque::strips(model);
    let largest = geometry.insert.as_ref().map_or(Length::from_si(0.0), |i| i.largest());
    torque::turns(model, strengths.to_part.clone(), largest, length, None);
    amount(model, &stretches);
}

/// What every bond wants, before what the rules add.
fn prepare(model: &mut Model<'_>, adhesive: &Record) {
    let book = model.need.book;
    if book.is_family(&model.need.material.family, "photopolymer") {
        model.steps.push("wash the part, let it dry for 30 min or more, post-cure it fully".into());
    }
    model.steps.push("abrade and degrease both sides; note down whether an activator was used".into());
    let hours = model.assumed("load_after") / 3600.0;
    let wait = if book.is_family(&adhesive.family, "polyurethane-adhesive") { "7 days".into() } else { format!("{hours:.0} h") };
    model.steps.push(format!("load the bond after {wait}"));
    if !model.need.through {
        model.steps.push("blind hole: glue on the lower third of the insert and on the wall; the screw must not bottom".into());
    }
}

/// A gap wider than the last corner of a curve that has not come down to nothing.
fn beyond(model: &mut Model<'_>, adhesive: &Record, curve: Option<GapLine>, geometry: &Geometry) {
    let (Some(end), Some((_, widest))) = (curve.and_then(|c| c.ends_at()), geometry.gap) else { return };
    if widest.si() > end.si() + 1e-7 {
        let mm = |l: Length| l.si() * 1e3;
        model.doubts.push(format!(
            "what {} keeps at a gap of {:.2} mm each side is not known: its curve ends at {:.2} mm",
            adhesive.name,
            mm(widest),
            mm(end)
        ));
    }
}

fn filled(model: &mut Model<'_>, form: HoleForm) -> Var<Ratio> {
    match form {
        HoleForm::Plain => model.assume_own::<Ratio>("plain_fill"),
        HoleForm::Following | HoleForm::Undercut => model.assume_own::<Ratio>("stepped_fill"),
    }
}

fn adhesive_states(
    model: &mut Model<'_>,
    strengths: &Strengths,
    gap: Gap,
    stretches: Vec<Stretch>,
    part: &Part,
    geometry: &Geometry,
    form: HoleForm,
) {
    let filled = filled(model, form);
    let (to_metal, on_metal) = (strengths.to_metal.clone(), stretches.clone());
    model.fails(
        Mode::GlueToMetal,
        "bond-load over the insert's steps: strength x pi D L x gap factor x filled share",
        move |draw| to_metal.get(draw) * carried(&on_metal, gap, draw) * draw.get(filled),
    );
    let (to_part, plastic) = (strengths.to_part.clone(), part.shear.clone());
    let whole = stretches.iter().fold(Area::from_si(0.0), |sum, s| sum + bond_area(s.insert, s.length));
    // Glue counts on the insert's diameter on both sides, so that a wider hole never counts as a stronger bond. One that is
    // stronger than the plastic beside it takes the plastic along.
    let bond = move |draw: &Draw<'_>| -> Force {
        let bonded: Force = to_part.get(draw) * carried(&stretches, gap, draw) * draw.get(filled);
        let torn: Force = plastic.get(draw) * whole;
        if bonded < torn { bonded } else { torn }
    };
    match geometry.grooves.first().copied() {
        Some(groove) if form == HoleForm::Undercut => {
            let (ring, lip) = (strengths.to_metal.clone(), part.shear.clone());
            // As for the bond: counted as if the hole were as wide as the insert, so that a gap never adds strength.
            let wide = geometry.hole.first().zip(geometry.insert.as_ref());
            let gap = wide.map_or(Length::from_si(0.0), |(h, i)| h.finished.nominal - i.largest());
            let (inner, outer) = (geometry.insert.as_ref().map_or(groove.diameter, |i| i.largest()), groove.diameter - gap);
            model.fails(
                Mode::GrooveShear,
                "groove-ring-load: the weaker of glue ring and part lip, or the bond if it holds more",
                move |draw| {
                    let of_ring: Force = ring.get(draw) * bond_area(inner, groove.to - groove.from);
                    let of_lip: Force = lip.get(draw) * bond_area(outer, groove.from);
                    let keyed = if of_ring < of_lip { of_ring } else { of_lip };
                    let bonded = bond(draw);
                    if bonded > keyed { bonded } else { keyed }
                },
            );
        }
        _ => model.fails(
            Mode::GlueToPart,
            "bond-load on the hole: strength x pi D L x gap factor x filled share, or shear of the plastic if that holds less",
            bond,
        ),
    }
}

/// Own resin: it runs out of a plain hole, and it may not cure; the two outcomes are kept apart.
fn own_resin_states(
    model: &mut Model<'_>,
    strengths: &Strengths,
    gap: Gap,
    stretches: Vec<Stretch>,
    geometry: &Geometry,
    length: Length,
) {
    let Some(cure) = cure::of(model, geometry, length) else { return };
    let filled = model.assume_own::<Ratio>("own_resin_fill");
    let weaker = |a: &PartStrength, b: &PartStrength, draw: &Draw<'_>| -> Pressure {
        let (a, b) = (a.get(draw), b.get(draw));
        if a < b { a } else { b }
    };
    for cured_is_worse in [true, false] {
        let (metal, part, stretches) = (strengths.to_metal.clone(), strengths.to_part.clone(), stretches.clone());
        let mode = if cured_is_worse { Mode::NotCured } else { Mode::NotFilled };
        model.fails(mode, "bond-load x filled share x cured share", move |draw| {
            let (share, fill) = (cure.share(draw), draw.get(filled));
            if (share < fill) != cured_is_worse {
                return Force::from_si(f64::INFINITY);
            }
            weaker(&metal, &part, draw) * carried(&stretches, gap, draw) * fill * share
        });
    }
}

/// A stiff thin bond peaks at the loaded mouth: a warning, never the strength.
fn peak(model: &mut Model<'_>, metal: Option<&Record>, geometry: &Geometry, length: Length) {
    let (Some((narrow, _)), Some(insert)) = (geometry.gap, geometry.insert.as_ref()) else { return };
    let Some(modulus) = part::modulus(model) else { return };
    let stiff = residual::metal_modulus(model, metal);
    let stiff = model.inputs[stiff.place()].law.median();
    let e = model.inputs[modulus.place()].law.median();
    let sleeve = Sleeve {
        radius: insert.largest() * 0.5,
        length,
        gap: narrow.max(Length::from_si(1e-5)),
        shear_modulus: Pressure::from_si(model.assumed("glue_shear_modulus")),
        insert_stiffness: crate::mechanics::shear_lag::axial_stiffness(
            Pressure::from_si(stiff),
            insert.largest(),
            model.need.thread.minor_diameter(),
        ),
        part_stiffness: crate::mechanics::shear_lag::axial_stiffness(Pressure::from_si(e), geometry.boss, insert.largest()),
    };
    let times = peak_same_face(sleeve).si();
    if times.is_finite() && times > 2.0 {
        model.caution(format!(
            "elastic theory peaks at {times:.1} times the mean at the loaded mouth: a warning, not the strength"
        ));
    }
}

/// How much glue: the ring between insert and hole, in milligrams and drops.
fn amount(model: &mut Model<'_>, stretches: &[Stretch]) {
    let volume: f64 = stretches.iter().map(|s| ring_volume(s.hole, s.insert, s.length).si()).sum();
    let (density, drop) = (model.assumed("glue_density"), model.assumed("glue_drop"));
    let mass = volume * density;
    model.steps.push(format!(
        "apply about {:.0} mg of glue ({:.1} drops) to the lower third of the insert and to the wall",
        mass * 1e6,
        mass / drop
    ));
}

/// Glue gap on each side that is aimed at for an adhesive.
pub fn aimed_gap(assumptions: &Assumptions, thin: bool) -> Length {
    Length::from_si(if thin { assumptions.value("thin_glue_gap") } else { assumptions.value("glue_gap") })
}
