//! The hole of a record that gives its steps.

use super::size::Sizes;
use crate::book::view::method;
use crate::joint::assumption;
use crate::joint::geometry::{EngagedThread, Geometry, HoleStep, Section};
use crate::joint::hole::{self, Made};
use crate::joint::hole_shape::{assumed, boss, mm, refuse};
use crate::joint::limit_states::bond::HoleForm;
use crate::joint::method::{Case, Impossible};
use crate::joint::model::Lack;
use crate::joint::nut;
use crate::quantity::Measure;
use uom::si::f64::Length;

/// The hole of a method.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hole {
    /// Round an insert, with glue.
    Glued(HoleForm),
    /// A clearance hole, with a pocket for the nut or without.
    Clamped {
        /// Whether the nut lies in a pocket.
        pocket: bool,
    },
    /// Steps of its own.
    Steps,
}

impl Hole {
    /// The hole that a record describes.
    pub fn of(hole: &method::Hole) -> Option<Hole> {
        Some(match hole.shape.as_deref() {
            Some("plain") => Hole::Glued(HoleForm::Plain),
            Some("stepped") => Hole::Glued(HoleForm::Following),
            Some("undercut") => Hole::Glued(HoleForm::Undercut),
            Some("clearance") => Hole::Clamped { pocket: false },
            Some("pocket") => Hole::Clamped { pocket: true },
            None if !hole.steps.is_empty() => Hole::Steps,
            _ => return None,
        })
    }
}

/// The purposes that a record may name, each as answers say it.
pub(in crate::joint) const PURPOSES: [&str; 7] =
    ["clearance", "insert", "lead-in", "undercut", "shoulder", "protrusion", "nut pocket"];

/// The shape of a hole with these steps, from the mouth to the bottom.
pub(super) fn stepped(case: &Case<'_>, hole: &method::Hole, sizes: &Sizes<'_>) -> Result<Geometry, Impossible> {
    let need = case.need;
    let made = if hole.made.as_deref() == Some("drilled") { Made::Cut } else { Made::Printed };
    let mut steps = Vec::new();
    for (place, stretch) in hole.steps.iter().enumerate() {
        steps.push(step(case, stretch, (made, place == 0), sizes)?);
    }
    let largest = |lengths: &mut dyn Iterator<Item = Length>| Length::from_si(lengths.map(Measure::si).fold(0.0, f64::max));
    let widest = largest(&mut steps.iter().map(across));
    let depth = largest(&mut steps.iter().map(|s| s.to));
    if let Some(given) = need.depth.filter(|given| *given < depth) {
        return refuse(
            format!("{} do not fit into a depth of {}", mm(depth), mm(given)),
            format!("make it at least {} deep", mm(depth)),
        );
    }
    let (round, times) = match &hole.boss {
        Some(boss) => (sizes.length(&boss.round).map_err(missing)?, assumption::row(&boss.times)),
        None => (widest, None),
    };
    let times = times.map_or("boss_over_bearing", |row| row.name);
    let around = if widest > round { widest } else { round };
    let (boss, boss_given) = boss(need, around, need.assumptions.value(times), widest)?;
    let insert = case.shape();
    let engaged = insert.as_ref().map(|i| i.thread_length).or_else(|| nut::usual(need).map(|nut| nut.height));
    Ok(Geometry {
        boss,
        boss_given,
        through: need.through,
        depth: need.depth.unwrap_or(depth),
        hole: steps,
        thread: EngagedThread {
            thread: need.thread,
            engaged: engaged.unwrap_or(need.length),
            offset: Length::from_si(0.0),
            made: "metal",
        },
        insert,
        insert_at: Length::from_si(0.0),
        gap: None,
        grooves: Vec::new(),
        vent: None,
        chamfer: None,
        assumed: assumed(need, &[(times, need.boss.is_none())], made),
    })
}

fn missing(lack: Lack) -> Impossible {
    Impossible { message: format!("missing: {}", lack.what), help: lack.settle }
}

/// Widest distance across a stretch: over the corners of a hexagon.
fn across(step: &HoleStep) -> Length {
    match step.section {
        Section::Round => step.finished.nominal,
        Section::Hexagon => step.finished.nominal * (2.0 / 3f64.sqrt()),
    }
}

/// One stretch; the hole that is asked for is the first one.
fn step(
    case: &Case<'_>,
    stretch: &method::Stretch,
    (made, first): (Made, bool),
    sizes: &Sizes<'_>,
) -> Result<HoleStep, Impossible> {
    let at = |size: &method::Size| sizes.length(size).map_err(missing);
    let own = at(&stretch.diameter)?;
    let diameter = case.need.hole_size.filter(|_| first).unwrap_or(own);
    let (from, to) = (at(&stretch.from)?, at(&stretch.to)?);
    let purpose = PURPOSES.into_iter().find(|p| *p == &*stretch.purpose).unwrap_or("clearance");
    if to <= from || from < Length::from_si(0.0) {
        return refuse(
            format!("the stretch for {purpose} would end at {} and begin at {}", mm(to), mm(from)),
            "ask for more length, or correct the record of the method".into(),
        );
    }
    if diameter <= Length::from_si(0.0) {
        return refuse(format!("the stretch for {purpose} would be {} wide", mm(diameter)), "correct the record".into());
    }
    if purpose == "clearance" && diameter <= case.need.thread.major() {
        return refuse(
            format!("the screw ({}) does not pass a hole of {}", mm(case.need.thread.major()), mm(diameter)),
            format!("the method's own is {}", mm(own)),
        );
    }
    let mut step = hole::step(case.need, purpose, diameter, made, from, to);
    if stretch.section.as_deref() == Some("hexagon") {
        step.section = Section::Hexagon;
    }
    Ok(step)
}
