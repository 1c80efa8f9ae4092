//! A knurled insert held by the plastic in its knurl.

use super::residual::{Wall, solid_outer};
use super::{metal, residual, torque};
use crate::joint::geometry::{Geometry, InsertStep};
use crate::joint::method::Case;
use crate::joint::mode::Mode;
use crate::joint::model::Model;
use crate::joint::part::Part;
use crate::mechanics::bond::knurl_pull_out;
use crate::quantity::Measure;
use uom::si::f64::{Length, Ratio};

/// Whether a stretch of an insert holds by form: a knurl, or a groove that plastic fills.
fn holds(step: &InsertStep) -> bool {
    matches!(step.form.as_str(), "knurl" | "groove")
}

/// Length of the stretch held by form, and the diameter it shears on.
fn held(geometry: &Geometry) -> Option<(Length, Length)> {
    let insert = geometry.insert.as_ref()?;
    let length: f64 = insert.steps.iter().filter(|s| holds(s)).map(|s| s.length.si()).sum();
    let knurls = insert.steps.iter().filter(|s| s.form == "knurl").map(|s| s.diameter.si());
    let diameter = knurls.fold(0.0, f64::max);
    (length > 0.0 && diameter > 0.0).then(|| (Length::from_si(length), Length::from_si(diameter)))
}

/// Share of the knurl's teeth that stand in the plastic: all in a hole that lets their roots pass, none in one as wide as the
/// knurl; by the ring that is displaced. One that is pressed in is aimed at `interference`, closer to the knurl than its roots:
/// what is aimed at counts as whole.
fn standing(model: &mut Model<'_>, geometry: &Geometry, interference: Option<Length>) -> Ratio {
    let whole = Ratio::from_si(1.0);
    let knurl = geometry.insert.as_ref().and_then(|i| i.steps.iter().find(|s| s.form == "knurl"));
    let (Some(knurl), Some(hole)) = (knurl, geometry.hole.first()) else { return whole };
    let outer = knurl.diameter.si();
    let roots = match knurl.knurl_depth {
        Some(depth) => outer - 2.0 * depth.si(),
        None => outer * model.assumed("insert_hole_share"),
    };
    let aimed = interference.map_or(roots, |by| roots.max(outer - by.si()));
    let hole = hole.finished.nominal.si();
    Ratio::from_si(((outer * outer - hole * hole) / (outer * outer - aimed * aimed)).clamp(0.0, 1.0))
}

/// Knurl shear, the metal thread inside, torque; `interference` is what an insert that is pressed in is aimed at.
pub fn knurled(model: &mut Model<'_>, case: &Case<'_>, part: &Part, geometry: &Geometry, interference: Option<Length>) {
    let Some((length, diameter)) = held(geometry) else {
        model.blocked("a knurl on the insert", "an insert with a knurl: a plain one holds by glue only");
        return;
    };
    let filled = model.assume_own::<Ratio>("knurl_fill");
    let standing = standing(model, geometry, interference);
    let tau = part.shear.clone();
    model.fails(Mode::KnurlShear, "knurl-pull-out: shear strength x pi D L x filled share", move |draw| {
        knurl_pull_out(tau.get(draw), diameter, length, draw.get(filled) * standing)
    });
    let inner = metal::insert_strength(model, case.insert);
    metal::in_metal(model, inner, geometry.thread.engaged);
    torque::strips(model);
    torque::turns(model, part.shear.clone(), diameter, length, Some(filled));
}

/// A knurl wedges the boss open while it is pulled: bursting, less the stress melting left behind.
pub fn wedge(model: &mut Model<'_>, part: &Part, geometry: &Geometry) {
    let Some((length, diameter)) = held(geometry) else { return };
    let wall = Wall::of(model, part);
    let friction = model.assume::<Ratio>("flank_friction");
    let left = model.assume::<Ratio>("heat_stress");
    let outer = solid_outer(model, geometry);
    model.fails(Mode::HoopBurst, "lame-hoop of the wedging knurl with an axial flaw (short-crack-strength)", move |draw| {
        let strength = wall.strength(draw) - wall.sound(draw) * draw.get(left);
        residual::burst_load(strength, diameter * 0.5, outer, diameter, length, draw.get(friction))
    });
}
