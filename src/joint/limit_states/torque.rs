//! Tightening: what strips the thread, what turns the insert.

use super::thread::screw;
use crate::joint::model::Model;
use crate::joint::need::Need;
use crate::joint::part::PartStrength;
use crate::mechanics::bond::torque_out;
use crate::mechanics::thread::Thread;
use crate::mechanics::torque::{head_friction_diameter, strip_torque};
use crate::quantity::Measure;
use uom::si::f64::{Length, Ratio, Torque};

/// Head diameters of cylinder head screws by thread diameter, mm (ISO 4762, recalled).
const HEADS: [(f64, f64); 11] = [
    (1.6, 3.0),
    (2.0, 3.8),
    (2.5, 4.5),
    (3.0, 5.5),
    (4.0, 7.0),
    (5.0, 8.5),
    (6.0, 10.0),
    (8.0, 13.0),
    (10.0, 16.0),
    (12.0, 18.0),
    (14.0, 21.0),
];

/// Head diameter of the usual screw of a thread: from the table, else 1.8 times the thread diameter.
pub fn head_diameter(thread: &Thread) -> Length {
    let d = thread.major().si() * 1e3;
    let known = HEADS.iter().find(|(size, _)| (size - d).abs() < 1e-6);
    Length::from_si(known.map_or(1.8 * d, |(_, head)| *head) * 1e-3)
}

/// Clearance hole of the mate: medium, else 1.1 times the thread diameter.
pub fn clearance(thread: &Thread) -> Length {
    thread.clearance().map_or(thread.major() * 1.1, |c| thread.length(c.sizes[1]))
}

/// Head of the named screw, else of the usual one.
pub fn head_of(need: &Need<'_>) -> Length {
    let claimed = need.screw.and_then(|s| s.claims("head_diameter").first()).and_then(|c| c.value.middle_si());
    claimed.map_or_else(|| head_diameter(&need.thread), Length::from_si)
}

/// The torque that strips: thread part and head friction at the load that fails the joint.
pub fn strips(model: &mut Model<'_>) {
    let screw = screw(model);
    let friction = friction(model);
    let thread = model.need.thread;
    let under_head = head_friction_diameter(head_of(model.need), clearance(&thread));
    let pitch = thread.pitch();
    let spread = model.spread_shared::<Ratio>("strip_torque_sd", "strip torque against its formula");
    if model.need.screw.is_none() {
        model.caution("the diameter of the head is recalled from its standard, not read there: measure yours");
    }
    model.torques.strip = Some(Box::new(move |draw, load| {
        let mu = draw.get(friction);
        let sure = strip_torque(load, pitch, draw.get(screw.pitch_diameter), mu, mu, under_head);
        Torque::from_si(sure.si() * draw.get(spread).si())
    }));
}

fn friction(model: &mut Model<'_>) -> crate::joint::model::Var<Ratio> {
    let named = model.need.screw.and_then(|s| crate::joint::fact::fact(model.need, s, "friction_thread", None));
    match named {
        Some(known) => {
            let scatter = model.scatter;
            let var = model.fact(&known);
            model.scatter = scatter;
            var
        }
        None => model.assume::<Ratio>("friction"),
    }
}

/// The torque that turns an insert of that diameter and length in its hole.
pub fn turns(
    model: &mut Model<'_>,
    strength: PartStrength,
    diameter: Length,
    length: Length,
    filled: Option<crate::joint::model::Var<Ratio>>,
) {
    model.torques.turn = Some(Box::new(move |draw| {
        let share = filled.map_or(Ratio::from_si(1.0), |f| draw.get(f));
        torque_out(strength.get(draw) * share, diameter, length)
    }));
    model.caution("a mating part whose hole is larger than the insert jacks the insert out when tightened: let the mating part rest on the insert");
}
