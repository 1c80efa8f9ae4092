//! Mean stress on the area a joint engages, with the area it was divided by.

use super::record::Series;
use crate::quantity::{Measure, Quantity, parse};
use std::f64::consts::PI;
use uom::si::f64::{Area, Force, Length, Pressure};

/// An area with its definition.
#[derive(Debug, Clone, PartialEq)]
pub struct EngagedArea {
    /// The area.
    pub area: Area,
    /// What it is.
    pub definition: String,
}

impl EngagedArea {
    /// Mean stress of a load on it.
    pub fn stress(&self, load: Force) -> Pressure {
        load / self.area
    }
}

/// The engaged area of a series, where its record gives the dimensions: the bond area as stated, the cylinder at the hole for
/// an insert, the cylinder at the major diameter for a thread in the part.
pub fn engaged_area(series: &Series) -> Option<EngagedArea> {
    if let Some(stated) = series.joint("bond_area").and_then(|t| parse(&t, Quantity::Area).ok()) {
        return Some(EngagedArea { area: Area::from_si(stated.si), definition: format!("bond area {}", stated.text) });
    }
    let length_of = |field: &str| series.joint(field).and_then(|t| parse(&t, Quantity::Length).ok());
    let length = length_of("length")?;
    let insert = series.joint("insert").is_some() || series.joint("method").is_some_and(|m| m.contains("insert"));
    let (diameter, name) = if insert {
        let hole = length_of("hole")?;
        (hole.si, format!("hole {}", hole.text))
    } else {
        let thread = series.joint("thread");
        let nominal =
            thread.as_deref().and_then(|t| t.strip_prefix('M')).and_then(|d| parse(&format!("{d} mm"), Quantity::Length).ok());
        let diameter = nominal.or_else(|| length_of("thread_diameter"))?;
        (diameter.si, format!("major diameter {}", diameter.text))
    };
    let cylinder = Length::from_si(diameter) * Length::from_si(length.si) * PI;
    Some(EngagedArea { area: cylinder, definition: format!("cylinder π · {name} · length {}", length.text) })
}
