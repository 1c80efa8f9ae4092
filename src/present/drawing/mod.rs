//! Drawings of a joint: a dimensioned half-section, a profile to revolve, a cutting body.
//!
//! All three are made from [`Geometry`] alone, at the drawn size where one is known and else, said so, at the finished size.

pub mod profile;
pub mod section;
pub mod solid;

use crate::joint::Geometry;
use crate::joint::geometry::{Drawn, HoleStep, Section};
use crate::quantity::Measure;

/// Which size a drawing shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// Every printed stretch has a drawn size.
    Drawn,
    /// No process offset is known for at least one printed stretch.
    Finished,
}

impl Shown {
    /// What the title block says.
    pub fn text(self) -> &'static str {
        match self {
            Shown::Drawn => "drawn size (finished minus the process offset)",
            Shown::Finished => "FINISHED size: no process offset known, print the hole ladder first",
        }
    }
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Shown::Drawn => "drawn",
            Shown::Finished => "finished",
        }
    }
}

/// The size that can be shown: drawn only when every printed stretch has one.
pub fn shown(geometry: &Geometry) -> Shown {
    let unknown = geometry.hole.iter().any(|s| matches!(s.drawn, Drawn::Unknown(_)));
    if unknown { Shown::Finished } else { Shown::Drawn }
}

/// A stretch of the hole's wall: the same radius from one depth to another, in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Depth at which it begins.
    pub from: f64,
    /// Depth at which it ends.
    pub to: f64,
    /// Radius; half the width across flats for a hexagon.
    pub radius: f64,
    /// Circle or hexagon.
    pub section: Section,
    /// What it is for.
    pub purpose: &'static str,
}

/// Millimetres of a length.
pub(super) fn mm(length: uom::si::f64::Length) -> f64 {
    // Twelve digits: drawings carry no noise of binary fractions.
    let raw = length.si() * 1e3;
    format!("{raw:.9}").parse().unwrap_or(raw)
}

fn diameter(step: &HoleStep, shown: Shown) -> f64 {
    match (&step.drawn, shown) {
        (Drawn::Size { diameter, .. }, Shown::Drawn) => mm(*diameter),
        _ => mm(step.finished.nominal),
    }
}

/// The wall of the hole from the mouth to the bottom; grooves cut into the stretches they cross.
pub fn wall(geometry: &Geometry, shown: Shown) -> Vec<Stretch> {
    let mut cuts: Vec<f64> = vec![0.0, mm(geometry.depth)];
    cuts.extend(geometry.hole.iter().flat_map(|s| [mm(s.from), mm(s.to)]));
    cuts.extend(geometry.grooves.iter().flat_map(|g| [mm(g.from), mm(g.to)]));
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let mut wall: Vec<Stretch> = Vec::new();
    for ends in cuts.windows(2) {
        let middle = (ends[0] + ends[1]) / 2.0;
        let Some(step) = geometry.hole.iter().find(|s| mm(s.from) <= middle && middle <= mm(s.to)) else { continue };
        let groove = geometry.grooves.iter().find(|g| mm(g.from) <= middle && middle <= mm(g.to));
        let plain = diameter(step, shown) / 2.0;
        let radius = groove.map_or(plain, |g| plain.max(mm(g.diameter) / 2.0));
        let purpose = if radius > plain { "undercut" } else { step.purpose };
        match wall.last_mut() {
            Some(last) if last.radius == radius && last.section == step.section && last.purpose == purpose => last.to = ends[1],
            _ => wall.push(Stretch { from: ends[0], to: ends[1], radius, section: step.section, purpose }),
        }
    }
    wall
}

#[cfg(test)]
pub(crate) mod tests;
