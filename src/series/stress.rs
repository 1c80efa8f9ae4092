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
    let joint = &series.joint;
    if let Some(stated) = &joint.bond_area {
        return Some(EngagedArea { area: stated.amount(), definition: format!("bond area {}", stated.text) });
    }
    let length = joint.length.as_ref()?;
    let insert = joint.insert.is_some() || joint.method.as_ref().is_some_and(|m| m.contains("insert"));
    let (diameter, name) = if insert {
        let hole = joint.hole.as_ref()?;
        (hole.si, format!("hole {}", hole.text))
    } else {
        let nominal = joint.thread.as_deref().and_then(|t| t.strip_prefix('M'));
        let nominal = nominal.and_then(|d| parse(&format!("{d} mm"), Quantity::Length).ok());
        let diameter = nominal.or_else(|| joint.thread_diameter.as_deref().cloned())?;
        (diameter.si, format!("major diameter {}", diameter.text))
    };
    let cylinder = Length::from_si(diameter) * length.amount() * PI;
    Some(EngagedArea { area: cylinder, definition: format!("cylinder π · {name} · length {}", length.text) })
}
