//! Shapes that several methods share: a hole with a thread, a hole for an insert.

use super::geometry::{EngagedThread, Geometry, Groove, Insert, Vent};
use super::glue::{gap_range, is_thin};
use super::hole::{self, Made};
use super::limit_states::bond::{HoleForm, aimed_gap};
use super::method::{Case, Impossible};
use super::need::Need;
use super::nut::Nut;
use crate::book::Record;
use crate::quantity::{Amount, Measure, Quantity};
use uom::si::f64::Length;

pub(super) fn mm(length: Length) -> String {
    Amount::new(Quantity::Length, length.si()).text(3)
}

pub(super) fn refuse<T>(message: String, help: String) -> Result<T, Impossible> {
    Err(Impossible { message, help })
}

/// The boss asked for, or the least one advised, checked against the hole.
pub(super) fn boss(need: &Need<'_>, around: Length, times: f64, widest: Length) -> Result<(Length, bool), Impossible> {
    // The advised wall round what is held, up to a hole a fifth of the wall wider, then round the hole; to the next half
    // millimetre. A slightly wider hole must not call for a thicker, stronger boss.
    let wall = around.si() * (times - 1.0);
    let wanted = (around.si() + wall).max(widest.si() + 0.8 * wall);
    let least = Length::from_si((wanted * 2e3 - 1e-6).ceil() / 2e3);
    let boss = need.boss.unwrap_or(least);
    if boss <= widest {
        return refuse(
            format!("a boss of {} lies inside its hole of {}", mm(boss), mm(widest)),
            format!("at least {} is advised", mm(least)),
        );
    }
    if let Some(edge) = need.edge.filter(|edge| *edge * 2.0 <= widest) {
        return refuse(
            format!("a hole of {} breaks out of a part that ends {} from its axis", mm(widest), mm(edge)),
            format!("leave at least {} from the axis to the edge", mm(least * 0.5)),
        );
    }
    Ok((boss, need.boss.is_some()))
}

/// Depth of the hole: what was asked, else the least that works.
fn depth(need: &Need<'_>, taken: Length) -> Result<Length, Impossible> {
    let room = Length::from_si(need.assumptions.value("bottom_clearance") + need.assumptions.value("protrusion"));
    let least = if need.through { taken } else { taken + room };
    match need.depth {
        Some(given) if given < taken => refuse(
            format!("{} do not fit into a depth of {}", mm(taken), mm(given)),
            format!("make it at least {} deep", mm(least)),
        ),
        Some(given) => Ok(given),
        None => Ok(least),
    }
}

fn vent(need: &Need<'_>) -> Option<Vent> {
    let vent = need.assumptions.get("vent");
    (!need.through).then(|| Vent { least: Length::from_si(vent.low), most: Length::from_si(vent.high) })
}

/// Names of the assumptions behind a shape: those that were needed, and what its limits rest on.
pub(super) fn assumed(need: &Need<'_>, names: &[(&'static str, bool)], made: Made) -> Vec<&'static str> {
    let mut all: Vec<&'static str> = names.iter().filter(|(_, needed)| *needed).map(|(name, _)| *name).collect();
    if !need.through && need.depth.is_none() {
        all.extend(["bottom_clearance", "protrusion"]);
    }
    match made {
        Made::Cut => all.push("drill_tolerance"),
        Made::Printed if need.process.is_none() => all.push("hole_tolerance"),
        Made::Printed => {}
    }
    all
}

fn glue_names(need: &Need<'_>, adhesive: Option<&Record>, form: HoleForm) -> [(&'static str, bool); 7] {
    let aimed = need.gap.is_none() && need.hole_size.is_none();
    let thin = is_thin(need.book, adhesive);
    [
        ("boss_over_insert", need.boss.is_none()),
        ("glue_gap", aimed && !thin),
        ("thin_glue_gap", aimed && thin),
        ("vent", !need.through),
        ("screw_bore", form == HoleForm::Following),
        ("undercut_depth", form == HoleForm::Undercut),
        ("undercut_width", form == HoleForm::Undercut),
    ]
}

/// A hole that carries a thread itself.
pub fn threaded(
    need: &Need<'_>,
    diameter: Length,
    made: Made,
    offset: Length,
    kind: &'static str,
) -> Result<Geometry, Impossible> {
    let thread = need.thread;
    let diameter = need.hole_size.unwrap_or(diameter);
    if diameter >= thread.major() {
        return refuse(
            format!("a hole of {} is as wide as the screw ({}), so no thread is left", mm(diameter), mm(thread.major())),
            format!("the tap drill of {} is {}", thread.designation(), mm(thread.length(thread.tap))),
        );
    }
    if diameter < thread.root_diameter() * 0.8 {
        return refuse(
            format!("a hole of {} is far smaller than the core of the screw ({})", mm(diameter), mm(thread.root_diameter())),
            format!("the tap drill of {} is {}", thread.designation(), mm(thread.length(thread.tap))),
        );
    }
    let depth = depth(need, need.length)?;
    let (boss, boss_given) = boss(need, thread.major(), need.assumptions.value("boss_over_screw"), thread.major())?;
    Ok(Geometry {
        boss,
        boss_given,
        through: need.through,
        depth,
        hole: vec![hole::step(need, "thread", diameter, made, Length::from_si(0.0), depth)],
        thread: EngagedThread { thread, engaged: need.length, offset, made: kind },
        insert: None,
        insert_at: Length::from_si(0.0),
        gap: None,
        grooves: Vec::new(),
        vent: None,
        chamfer: Some(thread.pitch()),
        assumed: assumed(need, &[("boss_over_screw", need.boss.is_none())], made),
    })
}

/// The thread inside an insert: engaged as far as was asked, at most over the insert's thread.
fn in_metal(need: &Need<'_>, insert: &Insert) -> EngagedThread {
    let engaged = if need.length < insert.thread_length { need.length } else { insert.thread_length };
    EngagedThread { thread: need.thread, engaged, offset: Length::from_si(0.0), made: "metal" }
}

/// Part of the advised hole below which an insert does not enter.
const ENTERS: f64 = 0.85;

/// A hole for a knurled insert: one diameter, deeper than the insert where it is blind; `advised` unless another is asked for.
pub fn knurled(case: &Case<'_>, insert: &Insert, advised: Length) -> Result<Geometry, Impossible> {
    let need = case.need;
    let diameter = need.hole_size.unwrap_or(advised);
    let largest = insert.largest();
    if diameter < advised * ENTERS {
        return refuse(
            format!("the insert ({}) does not enter a hole of {}", mm(largest), mm(diameter)),
            format!("make it {}", mm(advised)),
        );
    }
    if diameter >= largest {
        return refuse(
            format!("a hole of {} is larger than the insert ({}), and there is no glue", mm(diameter), mm(largest)),
            format!("make it {}, or glue the insert", mm(largest * need.assumptions.value("insert_hole_share"))),
        );
    }
    let depth = depth(need, insert.length)?;
    let (boss, boss_given) = boss(need, largest, need.assumptions.value("boss_over_insert"), largest)?;
    Ok(Geometry {
        boss,
        boss_given,
        through: need.through,
        depth,
        hole: vec![hole::step(need, "insert", diameter, Made::Printed, Length::from_si(0.0), depth)],
        thread: in_metal(need, insert),
        insert: Some(insert.clone()),
        insert_at: Length::from_si(0.0),
        gap: None,
        grooves: Vec::new(),
        vent: vent(need),
        chamfer: Some(Length::from_si(0.3e-3)),
        assumed: assumed(
            need,
            &[
                ("boss_over_insert", need.boss.is_none()),
                ("insert_hole_share", need.hole_size.is_none()),
                ("vent", !need.through),
            ],
            Made::Printed,
        ),
    })
}

/// A hole for a glued insert: plain, following its steps, or with an undercut.
pub fn glued(case: &Case<'_>, insert: &Insert, form: HoleForm) -> Result<Geometry, Impossible> {
    let need = case.need;
    let gap = need.gap.unwrap_or_else(|| aimed_gap(&need.assumptions, is_thin(need.book, case.adhesive)));
    let largest = insert.largest();
    let widest = need.hole_size.unwrap_or(largest + gap * 2.0);
    if widest < largest {
        return refuse(
            format!("a hole of {} is smaller than the insert ({})", mm(widest), mm(largest)),
            format!("make it {}: {} of glue on each side", mm(largest + gap * 2.0), mm(gap)),
        );
    }
    let depth = depth(need, insert.length)?;
    let (boss, boss_given) = boss(need, largest, need.assumptions.value("boss_over_insert"), widest)?;
    let gap = (widest - largest) * 0.5;
    let (hole, pairs) = match form {
        HoleForm::Following => following(need, insert, gap, depth),
        HoleForm::Plain | HoleForm::Undercut => plain(need, insert, widest, depth),
    };
    let grooves = if form == HoleForm::Undercut { vec![undercut(need, insert, widest)] } else { Vec::new() };
    Ok(Geometry {
        boss,
        boss_given,
        through: need.through,
        depth,
        hole,
        thread: in_metal(need, insert),
        insert: Some(insert.clone()),
        insert_at: Length::from_si(0.0),
        gap: gap_range(&pairs),
        grooves,
        vent: vent(need),
        chamfer: None,
        assumed: assumed(need, &glue_names(need, case.adhesive, form), Made::Printed),
    })
}

type HoleAndPairs = (Vec<super::geometry::HoleStep>, Vec<(Length, Length)>);

fn inside(insert: &Insert) -> impl Iterator<Item = &super::geometry::InsertStep> {
    insert.steps.iter().filter(|s| s.form != "flange")
}

fn plain(need: &Need<'_>, insert: &Insert, diameter: Length, depth: Length) -> HoleAndPairs {
    let hole = vec![hole::step(need, "insert", diameter, Made::Printed, Length::from_si(0.0), depth)];
    (hole, inside(insert).map(|s| (diameter, s.diameter)).collect())
}

/// The hole narrows where the insert does; where it would have to widen again below, it keeps the wider diameter above, so
/// that the insert can be put in. The last shoulder is the end stop.
fn following(need: &Need<'_>, insert: &Insert, gap: Length, depth: Length) -> HoleAndPairs {
    let steps: Vec<_> = inside(insert).collect();
    let mut hole: Vec<super::geometry::HoleStep> = Vec::new();
    let mut pairs = Vec::new();
    let mut at = Length::from_si(0.0);
    for (i, step) in steps.iter().enumerate() {
        let widest_below = steps[i..].iter().map(|s| s.diameter.si()).fold(0.0, f64::max);
        let diameter = Length::from_si(widest_below) + gap * 2.0;
        let to = at + step.length;
        pairs.push((diameter, step.diameter));
        match hole.last_mut() {
            Some(last) if last.finished.nominal == diameter => last.to = to,
            _ => hole.push(hole::step(need, "insert", diameter, Made::Printed, at, to)),
        }
        at = to;
    }
    let bore = need.thread.major() + Length::from_si(need.assumptions.value("screw_bore"));
    // Lengths that are added up differ from their sum by rounding.
    if (depth - at).si() > 1e-9 {
        // Below the insert only the screw has to pass: the shoulder stops the insert.
        hole.push(hole::step(need, "protrusion", bore, Made::Printed, at, depth));
    }
    (hole, pairs)
}

/// A ring in the wall half way down the insert, where glue keys into the part.
fn undercut(need: &Need<'_>, insert: &Insert, hole: Length) -> Groove {
    let width = Length::from_si(need.assumptions.value("undercut_width"));
    let deep = Length::from_si(need.assumptions.value("undercut_depth"));
    let middle = insert.length * 0.5;
    Groove { from: middle - width * 0.5, to: middle + width * 0.5, diameter: hole + deep * 2.0 }
}

/// A clearance hole, with a pocket for a nut where one is captive; what bears on the plastic is that wide.
pub fn clearance(case: &Case<'_>, nut: Option<&Nut>, bears: Length) -> Result<Geometry, Impossible> {
    let need = case.need;
    let bore = need.hole_size.unwrap_or_else(|| super::limit_states::torque::clearance(&need.thread));
    if bore <= need.thread.major() {
        return refuse(
            format!("the screw ({}) does not pass a hole of {}", mm(need.thread.major()), mm(bore)),
            format!("a medium clearance hole is {}", mm(super::limit_states::torque::clearance(&need.thread))),
        );
    }
    if bore >= bears {
        return refuse(
            format!("a hole of {} is as wide as what bears on it ({})", mm(bore), mm(bears)),
            format!("a medium clearance hole is {}", mm(super::limit_states::torque::clearance(&need.thread))),
        );
    }
    let zero = Length::from_si(0.0);
    let widest = nut.map_or(bore, |nut| nut.flats * (2.0 / 3f64.sqrt()));
    let (boss, boss_given) =
        boss(need, if widest > bears { widest } else { bears }, need.assumptions.value("boss_over_bearing"), widest)?;
    let mut hole = vec![hole::step(need, "clearance", bore, Made::Printed, zero, need.length)];
    let mut depth = need.length;
    if let Some(nut) = nut {
        let play = Length::from_si(need.assumptions.value("nut_play"));
        let mut pocket = hole::step(need, "nut pocket", nut.flats + play, Made::Printed, depth, depth + nut.height + play);
        pocket.section = super::geometry::Section::Hexagon;
        depth = pocket.to;
        hole.push(pocket);
    }
    Ok(Geometry {
        boss,
        boss_given,
        through: true,
        depth,
        hole,
        thread: EngagedThread {
            thread: need.thread,
            engaged: nut.map_or(need.length, |nut| nut.height),
            offset: zero,
            made: "metal",
        },
        insert: None,
        insert_at: zero,
        gap: None,
        grooves: Vec::new(),
        vent: None,
        chamfer: None,
        assumed: assumed(need, &[("boss_over_bearing", need.boss.is_none()), ("nut_play", nut.is_some())], Made::Printed),
    })
}
