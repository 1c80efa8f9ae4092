//! Diameters that limit states share: of the screw, and of the thread it meets.

use crate::joint::model::{Draw, Var};
use uom::si::f64::Length;

/// Half of the flank angle of ISO metric and unified threads.
pub const HALF_ANGLE: f64 = std::f64::consts::PI / 6.0;

/// The screw's diameters as drawn: uniform inside its limits, basic where none are stored.
#[derive(Debug, Clone, Copy)]
pub struct Screw {
    /// Major diameter.
    pub major: Var<Length>,
    /// Pitch diameter.
    pub pitch_diameter: Var<Length>,
}

/// How the thread in the part is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// Formed by the screw.
    Formed,
    /// Cut with a tap.
    Cut,
    /// Printed with a radial offset.
    Printed,
}

/// A diameter of the hole's thread in a draw.
#[derive(Debug, Clone, Copy)]
pub enum Diameter {
    /// Drawn by itself.
    Drawn(Var<Length>),
    /// As drawn into the model, plus what the print adds: one deviation moves flanks and crests of one print together.
    Printed(Length, Var<Length>),
}

impl Diameter {
    /// The diameter in a draw.
    pub fn get(self, draw: &Draw<'_>) -> Length {
        match self {
            Diameter::Drawn(var) => draw.get(var),
            Diameter::Printed(aimed, deviation) => aimed + draw.get(deviation),
        }
    }
}
