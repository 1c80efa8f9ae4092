//! The shape of a joint: boss, hole steps from the mouth to the bottom, insert, thread, groove, vent, and three sizes of every hole.
//!
//! Lengths are typed; drawings, hole tables and cutting bodies are made from this type alone.

use crate::mechanics::thread::Thread;
use uom::si::f64::Length;

/// A size with its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// What is aimed at.
    pub nominal: Length,
    /// Smallest allowed.
    pub low: Length,
    /// Largest allowed.
    pub high: Length,
}

/// The size to draw in the model, or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub enum Drawn {
    /// Finished size minus the offset of the process.
    Size {
        /// Diameter to draw.
        diameter: Length,
        /// Offset that was taken off: measured minus drawn, of this process near this diameter.
        offset: Length,
        /// Standard deviation between holes of the process, where measured.
        sd: Option<Length>,
    },
    /// No offset is known: the text says what to do.
    Unknown(String),
    /// The size is cut, not printed: drill or tap it.
    Machined,
}

/// Pins that show whether a hole is right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// This pin must enter.
    pub go: Length,
    /// This pin must not enter.
    pub no_go: Length,
}

/// One cylindrical (or hexagonal) stretch of the hole.
#[derive(Debug, Clone, PartialEq)]
pub struct HoleStep {
    /// What the stretch is for: `thread`, `insert`, `lead-in`, `undercut`, `shoulder`, `protrusion`, `nut pocket`, `clearance`.
    pub purpose: &'static str,
    /// Shape of the cross-section.
    pub section: Section,
    /// Diameter the joint needs, with limits (across flats for a hexagon).
    pub finished: Size,
    /// Diameter to draw.
    pub drawn: Drawn,
    /// Pins to check it with.
    pub check: Check,
    /// Depth at which the stretch begins, from the mouth.
    pub from: Length,
    /// Depth at which it ends.
    pub to: Length,
}

/// Cross-section of a stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Section {
    /// A circle.
    Round,
    /// A hexagon.
    Hexagon,
}

/// One stretch of an insert, from the mouth to the bottom.
#[derive(Debug, Clone, PartialEq)]
pub struct InsertStep {
    /// Largest outer diameter.
    pub diameter: Length,
    /// Length along the axis.
    pub length: Length,
    /// `knurl`, `groove`, `plain`, `pilot` or `flange`.
    pub form: String,
    /// Depth of the knurl on the radius, where known.
    pub knurl_depth: Option<Length>,
    /// `straight`, `diamond` or `slanted`, for a knurl.
    pub knurl: Option<String>,
}

/// The insert or nut in the hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Insert {
    /// Id of its record; `None` for a standard nut.
    pub id: Option<String>,
    /// What people call it.
    pub name: String,
    /// Whole length.
    pub length: Length,
    /// Length of its inner thread.
    pub thread_length: Length,
    /// Whether the thread runs through.
    pub through: bool,
    /// Its outer profile; empty for a nut.
    pub steps: Vec<InsertStep>,
}

impl Insert {
    /// Largest outer diameter that goes into the hole (a flange stays outside).
    pub fn largest(&self) -> Length {
        use crate::quantity::Measure;
        let inside = self.steps.iter().filter(|s| s.form != "flange").map(|s| s.diameter.si());
        Length::from_si(inside.fold(0.0, f64::max))
    }
    /// 0 for one diameter: in a plain hole its whole length is bonded over one gap; else 1.
    pub fn other_diameters(&self) -> u8 {
        u8::from(self.steps.iter().any(|s| s.diameter != self.largest()))
    }
    /// 0 with a groove, in which a ring of glue keys into both sides; else 1.
    pub fn without_groove(&self) -> u8 {
        u8::from(!self.steps.iter().any(|s| s.form == "groove"))
    }
    /// 0 with a shoulder to stop on, 1 with a groove alone, else 2.
    pub fn without_shoulder(&self) -> u8 {
        use crate::quantity::Measure;
        let plain = self.steps.iter().filter(|s| s.form == "plain");
        let widths: std::collections::BTreeSet<u64> = plain.map(|s| s.diameter.si().to_bits()).collect();
        match widths.len() {
            2.. => 0,
            _ => 1 + self.without_groove(),
        }
    }
}

/// A ring-shaped recess in the wall of the hole that glue fills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Groove {
    /// Depth of its upper edge, from the mouth.
    pub from: Length,
    /// Depth of its lower edge.
    pub to: Length,
    /// Diameter at its bottom.
    pub diameter: Length,
}

/// A small hole that lets air out of a blind one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vent {
    /// Smallest diameter.
    pub least: Length,
    /// Largest diameter.
    pub most: Length,
}

/// The thread that holds.
#[derive(Debug, Clone, PartialEq)]
pub struct EngagedThread {
    /// Which thread.
    pub thread: Thread,
    /// Length over which screw and thread overlap.
    pub engaged: Length,
    /// Radial growth of a printed thread; zero for others.
    pub offset: Length,
    /// `formed`, `cut`, `printed` or `metal`.
    pub made: &'static str,
}

/// The shape of a joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Geometry {
    /// Outer diameter of the boss (or of the plate's part that counts).
    pub boss: Length,
    /// Whether the boss was asked for; otherwise it is the least one advised.
    pub boss_given: bool,
    /// Whether the hole goes through.
    pub through: bool,
    /// Depth of the hole from the mouth.
    pub depth: Length,
    /// Stretches from the mouth to the bottom.
    pub hole: Vec<HoleStep>,
    /// The thread that holds.
    pub thread: EngagedThread,
    /// The insert or nut.
    pub insert: Option<Insert>,
    /// Depth of the insert's upper face below the mouth (zero: flush).
    pub insert_at: Length,
    /// Glue on one side, where glue is used: smallest and largest over the steps.
    pub gap: Option<(Length, Length)>,
    /// Recesses in the wall.
    pub grooves: Vec<Groove>,
    /// A vent of a blind hole, where one is needed.
    pub vent: Option<Vent>,
    /// Chamfer at the mouth, on the radius.
    pub chamfer: Option<Length>,
    /// Names of the assumptions behind the shape.
    pub assumed: Vec<&'static str>,
}
