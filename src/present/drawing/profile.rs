//! The hole's profile as radius and depth, to revolve in any CAD program.

use super::{Shown, shown, wall};
use crate::joint::Geometry;
use crate::joint::geometry::Section;
use crate::present::Table;
use crate::present::table::Cell;

/// Points of the profile from the mouth to the bottom and back to the axis of a blind hole, in millimetres.
///
/// A hexagonal stretch is given by half its width across flats and marked: it is extruded, not revolved.
pub fn table(geometry: &Geometry) -> Table {
    let shown: Shown = shown(geometry);
    let mut table = Table::new(&["radius_mm", "depth_mm", "section", "purpose", "size"]);
    let mut point = |radius: f64, depth: f64, section: Section, purpose: &str| {
        let section = match section {
            Section::Round => "round",
            Section::Hexagon => "hexagon across flats",
        };
        table.row(vec![Cell::Number(radius), Cell::Number(depth), section.into(), purpose.into(), shown.word().into()]);
    };
    let wall = wall(geometry, shown);
    for stretch in &wall {
        point(stretch.radius, stretch.from, stretch.section, stretch.purpose);
        point(stretch.radius, stretch.to, stretch.section, stretch.purpose);
    }
    if let Some(last) = wall.last().filter(|_| !geometry.through) {
        point(0.0, last.to, last.section, "bottom");
    }
    table
}
