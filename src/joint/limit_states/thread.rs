//! A thread in the plastic: shear, crushing of the crests, elastic jumping, bursting.

use super::diameters::{Diameter, HALF_ANGLE, Made, Screw};
use super::residual::{Wall, solid_outer};
use super::{brittle, residual};
use crate::joint::distribution::Law;
use crate::joint::geometry::Geometry;
use crate::joint::mode::Mode;
use crate::joint::model::{InputOrigin, Model};
use crate::joint::part::{self, Part};
use crate::mechanics::bursting::jumping_load;
use crate::mechanics::stripping::{crest_crushing_load, dilation_factor, internal_shear_area, stripping_load};
use crate::quantity::Measure;
use uom::si::f64::{Angle, Force, Length, Pressure, Ratio};

/// The diameters of the need's screw, the same screw for every method.
pub fn screw(model: &mut Model<'_>) -> Screw {
    let thread = model.need.thread;
    let name = thread.designation();
    let band = |low: Length, high: Length| Law::Uniform { low: low.si(), high: high.si() };
    let (major, pitch_diameter) = match thread.limits() {
        Some(l) => {
            (band(l.external.major.min, l.external.major.max), band(l.external.pitch_diameter.min, l.external.pitch_diameter.max))
        }
        None => {
            model.caution(format!("no tolerance limits are stored for {name}: basic sizes are used"));
            (Law::Fixed(thread.major().si()), Law::Fixed(thread.pitch_diameter().si()))
        }
    };
    Screw {
        major: model.input(format!("screw {name} major diameter"), major, InputOrigin::Thread),
        pitch_diameter: model.input(format!("screw {name} pitch diameter"), pitch_diameter, InputOrigin::Thread),
    }
}

/// Diameters of the hole's thread: at the pitch line and at the crests.
#[derive(Debug, Clone, Copy)]
struct HoleThread {
    pitch_diameter: Diameter,
    crest: Diameter,
}

fn hole_thread(model: &mut Model<'_>, made: Made, screw: Screw, geometry: &Geometry) -> HoleThread {
    let thread = model.need.thread;
    let band = |low: Length, high: Length| Law::Uniform { low: low.si(), high: high.si() };
    let finished = geometry.hole.iter().find(|s| s.purpose == "thread").map(|s| s.finished);
    let crest_limits = finished.map_or(Law::Fixed(thread.minor_diameter().si()), |f| band(f.low, f.high));
    match made {
        Made::Formed => HoleThread {
            pitch_diameter: Diameter::Drawn(screw.pitch_diameter),
            crest: Diameter::Drawn(model.own("hole", crest_limits, InputOrigin::Hole)),
        },
        Made::Cut => {
            let pitch_diameter = match thread.limits() {
                Some(l) => band(l.internal.pitch_diameter.min, l.internal.pitch_diameter.max),
                None => Law::Fixed(thread.pitch_diameter().si()),
            };
            HoleThread {
                pitch_diameter: Diameter::Drawn(model.own("hole pitch diameter", pitch_diameter, InputOrigin::Thread)),
                crest: Diameter::Drawn(model.own("hole", crest_limits, InputOrigin::Assumed(vec!["drill_tolerance"]))),
            }
        }
        Made::Printed => {
            let (sd, origin) = match finished {
                // Limits of a process are two standard deviations of the diameter either way.
                Some(f) if model.need.process.is_some() => ((f.high - f.low).si() / 8.0, InputOrigin::Hole),
                _ => (model.assumed("print_sd"), InputOrigin::Assumed(vec!["print_sd"])),
            };
            let grown = geometry.thread.offset * 2.0;
            let deviation =
                model.own("printed thread, deviation of its diameters", Law::Normal { mean: 0.0, sd: 2.0 * sd }, origin);
            HoleThread {
                pitch_diameter: Diameter::Printed(thread.pitch_diameter() + grown, deviation),
                crest: Diameter::Printed(thread.minor_diameter() + grown, deviation),
            }
        }
    }
}

/// Every state of a thread in the plastic, with those of a brittle part.
pub fn in_part(model: &mut Model<'_>, part: &Part, made: Made, geometry: &Geometry) {
    let screw = screw(model);
    let hole = hole_thread(model, made, screw, geometry);
    shear(model, part, screw, hole, geometry);
    crests(model, part, screw, hole, geometry);
    jump(model, part, screw, hole, geometry);
    burst(model, part, made, screw, hole, geometry);
    brittle::roots(model, part, made, screw, hole.pitch_diameter, geometry);
    brittle::break_out(model, part, geometry, geometry.thread.engaged);
}

fn shear(model: &mut Model<'_>, part: &Part, screw: Screw, hole: HoleThread, geometry: &Geometry) {
    let dilation = dilation(model, geometry);
    let (pitch, engaged, tau) = (model.need.thread.pitch(), geometry.thread.engaged, part.shear.clone());
    model.fails(Mode::PartThreadShear, "shear strength x internal-shear-area (x dilation)", move |draw| {
        let area = internal_shear_area(pitch, engaged, draw.get(screw.major), hole.pitch_diameter.get(draw));
        stripping_load(tau.get(draw), area, dilation, Ratio::from_si(1.0))
    });
    if engaged > model.need.thread.major() * 2.5 {
        model.caution("beyond 2.5 screw diameters more engaged length helps little: the first threads carry most (practice)");
    }
}

/// Alexander's C1 between s/D 1.4 and 1.9; below 1.4 its value there, and the wall states govern.
fn dilation(model: &mut Model<'_>, geometry: &Geometry) -> Ratio {
    let major = model.need.thread.major();
    dilation_factor(geometry.boss, major)
        .or_else(|| {
            model
                .caution("the boss is thinner than 1.4 screw diameters: no dilation factor is known there, and the wall governs");
            // A factor of one there would make a thinner boss the stronger one.
            dilation_factor(major * 1.4, major)
        })
        .unwrap_or(Ratio::from_si(1.0))
}

fn crests(model: &mut Model<'_>, part: &Part, screw: Screw, hole: HoleThread, geometry: &Geometry) {
    let bearing = model.assume::<Ratio>("bearing_over_yield");
    let (pitch, engaged, yielding) = (model.need.thread.pitch(), geometry.thread.engaged, part.yielding.clone());
    model.fails(Mode::CrestCrush, "crest-crushing-load at 1.0 to 1.6 x tensile yield", move |draw| {
        let strength = yielding.get(draw) * draw.get(bearing);
        crest_crushing_load(strength, draw.get(screw.major), hole.crest.get(draw), engaged, pitch)
    });
}

fn jump(model: &mut Model<'_>, part: &Part, screw: Screw, hole: HoleThread, geometry: &Geometry) {
    let Some(modulus) = part::modulus(model) else { return };
    let poisson = part::poisson(model);
    let friction = model.assume::<Ratio>("flank_friction");
    let (engaged, outer, left) = (geometry.thread.engaged, solid_outer(model, geometry), part.left);
    model.fails(Mode::ElasticJump, "jumping-load: the boss grows by the radial overlap", move |draw| {
        let overlap = (draw.get(screw.major) - hole.crest.get(draw)) * 0.5;
        let inner = hole.pitch_diameter.get(draw) * 0.5;
        if overlap.si() <= 0.0 || outer <= inner {
            return Force::from_si(0.0);
        }
        // Stiffness counts as falling like a strength.
        let left = left.map_or(Ratio::from_si(1.0), |l| draw.get(l));
        let (e, nu, mu) = (draw.get(modulus) * left, draw.get(poisson), draw.get(friction));
        let load =
            jumping_load(overlap, inner, outer, e, nu, draw.get(screw.pitch_diameter), engaged, Angle::from_si(HALF_ANGLE), mu);
        load.unwrap_or(Force::from_si(f64::INFINITY))
    });
}

fn burst(model: &mut Model<'_>, part: &Part, made: Made, screw: Screw, hole: HoleThread, geometry: &Geometry) {
    let wall = Wall::of(model, part);
    let share = model.assume::<Ratio>("first_thread_share");
    let friction = model.assume::<Ratio>("flank_friction");
    let forming = (made == Made::Formed).then(|| {
        if model.need.brittle() {
            model.assume::<Ratio>("forming_stress_brittle")
        } else {
            model.assume::<Ratio>("forming_stress")
        }
    });
    let (engaged, outer) = (geometry.thread.engaged, solid_outer(model, geometry));
    model.fails(
        Mode::HoopBurst,
        "lame-hoop with an axial flaw (short-crack-strength), less the stress already there",
        move |draw| {
            let strength = wall.strength(draw);
            let there = forming.map_or(Pressure::from_si(0.0), |f| wall.sound(draw) * draw.get(f));
            let inner = hole.pitch_diameter.get(draw) * 0.5;
            let pitch_diameter = draw.get(screw.pitch_diameter);
            residual::burst_load(strength - there, inner, outer, pitch_diameter, engaged, draw.get(friction)) / draw.get(share)
        },
    );
}
