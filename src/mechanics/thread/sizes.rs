//! Which threads there are: ISO metric coarse and fine M1 to M12, unified coarse and fine #2 to 3/8 in (1/4-20 and 3/8-16
//! are the camera threads of ISO 1222), parallel pipe threads G1/16 to G1, with their holes.
//!
//! Sizes: ISO 261, ASME B1.1, ISO 228-1. Tap drills: ISO 2306 and drill number tables. Clearance holes: ISO 273 and
//! ASME B18.2.8.

use serde::Serialize;
use uom::si::f64::Length;

use super::ValueStatus;
use super::ValueStatus::{Read, Recalled};
use super::profile;
use crate::quantity::{Amount, Measure, Quantity};

/// The families of thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum System {
    /// ISO metric: diameters and pitches in mm.
    Metric,
    /// Unified: diameters in inches, pitches as threads per inch.
    Unified,
    /// Parallel pipe thread: diameters in mm, pitches as threads per inch, 55°. Geometry only.
    Pipe,
}

/// Coarse or fine series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PitchSeries {
    /// The usual pitch of a diameter.
    Coarse,
    /// A finer pitch of the same diameter.
    Fine,
}

/// Clearance holes for a screw, in the unit of its system.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearanceHoles {
    /// Close, medium and coarse (unified: close, normal, loose).
    pub sizes: [f64; 3],
    /// How they are known.
    pub known: ValueStatus,
}

/// One thread of the table. Numbers are in the unit of the system; use the methods for lengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    /// Name of the size: `M3`, `#4`, `1/4`, `G1/8`.
    pub size: &'static str,
    /// The family.
    pub system: System,
    /// Coarse or fine.
    pub series: PitchSeries,
    /// Major diameter, mm or in.
    pub diameter: f64,
    /// Pitch in mm, or threads per inch.
    pub pitch_written: f64,
    /// Tap drill, mm or in, and how it is known.
    pub tap: f64,
    /// How the tap drill is known.
    pub tap_known: ValueStatus,
}

impl Thread {
    /// The designation: `M3`, `M3x0.35`, `#4-40`. A coarse metric pitch is left out, as usual.
    pub fn designation(&self) -> String {
        match (self.system, self.series) {
            (System::Metric, PitchSeries::Coarse) | (System::Pipe, _) => self.size.to_string(),
            (System::Metric, PitchSeries::Fine) => format!("{}x{}", self.size, self.pitch_written),
            (System::Unified, _) => format!("{}-{}", self.size, self.pitch_written),
        }
    }
    /// The unit its sizes are written in.
    pub fn unit(&self) -> &'static str {
        match self.system {
            System::Metric | System::Pipe => "mm",
            System::Unified => "in",
        }
    }
    /// Whether its flanks stand at 60°, which joint models and shear areas take for granted.
    pub fn fastens(&self) -> bool {
        self.system != System::Pipe
    }
    /// A number in the unit of the system as a length.
    pub fn length(&self, number: f64) -> Length {
        let si = Quantity::Length.unit(self.unit()).map_or(f64::NAN, |u| u.unit().si_from_number(number));
        Length::from_si(si)
    }
    /// A length as it is shown for this system.
    pub fn amount(&self, length: Length) -> Amount {
        Amount::of(length).shown_in(self.unit())
    }
    /// Major diameter.
    pub fn major(&self) -> Length {
        self.length(self.diameter)
    }
    /// Pitch.
    pub fn pitch(&self) -> Length {
        match self.system {
            System::Metric => self.length(self.pitch_written),
            System::Unified => self.length(1.0) / self.pitch_written,
            System::Pipe => self.length(25.4) / self.pitch_written,
        }
    }
    /// Height of the fundamental triangle.
    pub fn fundamental_height(&self) -> Length {
        if self.fastens() { profile::fundamental_height(self.pitch()) } else { profile::whitworth_height(self.pitch()) }
    }
    /// Basic pitch diameter.
    pub fn pitch_diameter(&self) -> Length {
        if !self.fastens() {
            return self.major() - profile::whitworth_depth(self.pitch()) * 1.0;
        }
        profile::pitch_diameter(self.major(), self.pitch())
    }
    /// Basic minor diameter of the internal thread.
    pub fn minor_diameter(&self) -> Length {
        if !self.fastens() {
            return self.major() - profile::whitworth_depth(self.pitch()) * 2.0;
        }
        profile::minor_diameter(self.major(), self.pitch())
    }
    /// Root diameter of the external thread (rounded root of ISO 68-1).
    pub fn root_diameter(&self) -> Length {
        if !self.fastens() {
            return self.major() - profile::whitworth_depth(self.pitch()) * 2.0;
        }
        profile::root_diameter(self.major(), self.pitch())
    }
    /// Stress area by the standard of its system; a pipe thread has none, the mean circle stands for it.
    pub fn stress_area(&self) -> uom::si::f64::Area {
        match self.system {
            System::Metric => profile::stress_area(self.major(), self.pitch()),
            System::Unified => profile::stress_area_unified(self.major(), self.pitch()),
            System::Pipe => {
                let mean = (self.pitch_diameter() + self.root_diameter()) * 0.5;
                mean * mean * std::f64::consts::FRAC_PI_4
            }
        }
    }
    /// A wider tap drill for less engagement, read in one public table, coarse metric threads only.
    pub fn wide_tap(&self) -> Option<Length> {
        let coarse = self.series == PitchSeries::Coarse;
        WIDE_TAP.iter().find(|(size, _)| coarse && *size == self.size).map(|&(_, drill)| self.length(drill))
    }
    /// Clearance holes, where stored.
    pub fn clearance(&self) -> Option<ClearanceHoles> {
        CLEARANCE.iter().find(|(size, ..)| *size == self.size).map(|&(_, sizes, known)| ClearanceHoles { sizes, known })
    }
}

const fn metric(size: &'static str, series: PitchSeries, diameter: f64, pitch: f64, tap: f64, tap_known: ValueStatus) -> Thread {
    Thread { size, system: System::Metric, series, diameter, pitch_written: pitch, tap, tap_known }
}

const fn unified(
    size: &'static str,
    series: PitchSeries,
    diameter: f64,
    per_inch: f64,
    tap: f64,
    tap_known: ValueStatus,
) -> Thread {
    Thread { size, system: System::Unified, series, diameter, pitch_written: per_inch, tap, tap_known }
}

const fn pipe(size: &'static str, diameter: f64, per_inch: f64, tap: f64) -> Thread {
    Thread { size, system: System::Pipe, series: Coarse, diameter, pitch_written: per_inch, tap, tap_known: Recalled }
}

use PitchSeries::{Coarse, Fine};

/// Every thread of the table, by system and diameter, coarse first.
pub const fn all() -> &'static [Thread] {
    THREADS
}

const THREADS: &[Thread] = &[
    metric("M1", Coarse, 1.0, 0.25, 0.75, Recalled),
    metric("M1.2", Coarse, 1.2, 0.25, 0.95, Recalled),
    metric("M1.4", Coarse, 1.4, 0.3, 1.1, Recalled),
    metric("M1.6", Coarse, 1.6, 0.35, 1.25, Read),
    metric("M1.6", Fine, 1.6, 0.2, 1.4, Recalled),
    metric("M1.8", Coarse, 1.8, 0.35, 1.45, Read),
    metric("M1.8", Fine, 1.8, 0.2, 1.6, Recalled),
    metric("M2", Coarse, 2.0, 0.4, 1.6, Read),
    metric("M2", Fine, 2.0, 0.25, 1.75, Recalled),
    metric("M2.2", Coarse, 2.2, 0.45, 1.75, Read),
    metric("M2.2", Fine, 2.2, 0.25, 1.95, Recalled),
    metric("M2.5", Coarse, 2.5, 0.45, 2.05, Read),
    metric("M2.5", Fine, 2.5, 0.35, 2.15, Recalled),
    metric("M3", Coarse, 3.0, 0.5, 2.5, Read),
    metric("M3", Fine, 3.0, 0.35, 2.65, Recalled),
    metric("M3.5", Coarse, 3.5, 0.6, 2.9, Read),
    metric("M3.5", Fine, 3.5, 0.35, 3.15, Recalled),
    metric("M4", Coarse, 4.0, 0.7, 3.3, Read),
    metric("M4", Fine, 4.0, 0.5, 3.5, Recalled),
    metric("M5", Coarse, 5.0, 0.8, 4.2, Read),
    metric("M5", Fine, 5.0, 0.5, 4.5, Recalled),
    metric("M6", Coarse, 6.0, 1.0, 5.0, Read),
    metric("M6", Fine, 6.0, 0.75, 5.2, Recalled),
    metric("M7", Coarse, 7.0, 1.0, 6.0, Read),
    metric("M7", Fine, 7.0, 0.75, 6.2, Recalled),
    metric("M8", Coarse, 8.0, 1.25, 6.8, Read),
    metric("M8", Fine, 8.0, 1.0, 7.0, Recalled),
    metric("M8", Fine, 8.0, 0.75, 7.2, Recalled),
    metric("M10", Coarse, 10.0, 1.5, 8.5, Read),
    metric("M10", Fine, 10.0, 1.25, 8.8, Recalled),
    metric("M10", Fine, 10.0, 1.0, 9.0, Recalled),
    metric("M10", Fine, 10.0, 0.75, 9.2, Recalled),
    metric("M12", Coarse, 12.0, 1.75, 10.2, Recalled),
    metric("M12", Fine, 12.0, 1.5, 10.5, Recalled),
    metric("M12", Fine, 12.0, 1.25, 10.8, Recalled),
    metric("M12", Fine, 12.0, 1.0, 11.0, Recalled),
    unified("#2", Coarse, 0.086, 56.0, 0.07, Read),
    unified("#2", Fine, 0.086, 64.0, 0.07, Recalled),
    unified("#3", Coarse, 0.099, 48.0, 0.0785, Recalled),
    unified("#3", Fine, 0.099, 56.0, 0.082, Recalled),
    unified("#4", Coarse, 0.112, 40.0, 0.089, Read),
    unified("#4", Fine, 0.112, 48.0, 0.0935, Recalled),
    unified("#5", Coarse, 0.125, 40.0, 0.1015, Recalled),
    unified("#5", Fine, 0.125, 44.0, 0.104, Recalled),
    unified("#6", Coarse, 0.138, 32.0, 0.1065, Read),
    unified("#6", Fine, 0.138, 40.0, 0.113, Recalled),
    unified("#8", Coarse, 0.164, 32.0, 0.136, Read),
    unified("#8", Fine, 0.164, 36.0, 0.136, Recalled),
    unified("#10", Coarse, 0.19, 24.0, 0.1495, Recalled),
    unified("#10", Fine, 0.19, 32.0, 0.159, Recalled),
    unified("#12", Coarse, 0.216, 24.0, 0.177, Recalled),
    unified("#12", Fine, 0.216, 28.0, 0.182, Recalled),
    unified("1/4", Coarse, 0.25, 20.0, 0.201, Read),
    unified("1/4", Fine, 0.25, 28.0, 0.213, Recalled),
    unified("5/16", Coarse, 0.3125, 18.0, 0.257, Recalled),
    unified("5/16", Fine, 0.3125, 24.0, 0.272, Recalled),
    unified("3/8", Coarse, 0.375, 16.0, 0.3125, Recalled),
    unified("3/8", Fine, 0.375, 24.0, 0.332, Recalled),
    pipe("G1/16", 7.723, 28.0, 6.8),
    pipe("G1/8", 9.728, 28.0, 8.8),
    pipe("G1/4", 13.157, 19.0, 11.8),
    pipe("G3/8", 16.662, 19.0, 15.25),
    pipe("G1/2", 20.955, 14.0, 19.0),
    pipe("G5/8", 22.911, 14.0, 21.0),
    pipe("G3/4", 26.441, 14.0, 24.5),
    pipe("G7/8", 30.201, 14.0, 28.25),
    pipe("G1", 33.249, 11.0, 30.75),
];

const CLEARANCE: &[(&str, [f64; 3], ValueStatus)] = &[
    ("M1", [1.1, 1.2, 1.3], Recalled),
    ("M1.2", [1.3, 1.4, 1.5], Recalled),
    ("M1.4", [1.5, 1.6, 1.8], Recalled),
    ("M1.6", [1.7, 1.8, 2.0], Recalled),
    ("M1.8", [2.0, 2.1, 2.2], Recalled),
    ("M2", [2.2, 2.4, 2.6], Read),
    ("M2.5", [2.7, 2.9, 3.1], Read),
    ("M3", [3.2, 3.4, 3.6], Read),
    ("M3.5", [3.7, 3.9, 4.2], Recalled),
    ("M4", [4.3, 4.5, 4.8], Read),
    ("M5", [5.3, 5.5, 5.8], Read),
    ("M6", [6.4, 6.6, 7.0], Read),
    ("M7", [7.4, 7.6, 8.0], Recalled),
    ("M8", [8.4, 9.0, 10.0], Recalled),
    ("M10", [10.5, 11.0, 12.0], Recalled),
    ("M12", [13.0, 13.5, 14.5], Recalled),
    ("#2", [0.094, 0.102, 0.116], Recalled),
    ("#3", [0.106, 0.116, 0.128], Recalled),
    ("#4", [0.12, 0.128, 0.144], Recalled),
    ("#5", [0.141, 0.156, 0.172], Recalled),
    ("#6", [0.154, 0.17, 0.185], Recalled),
    ("#8", [0.18, 0.196, 0.213], Recalled),
    ("#10", [0.206, 0.221, 0.238], Recalled),
    ("1/4", [0.266, 0.281, 0.295], Recalled),
    ("5/16", [0.332, 0.344, 0.359], Recalled),
    ("3/8", [0.397, 0.406, 0.422], Recalled),
];

const WIDE_TAP: &[(&str, f64)] = &[("M2", 1.75), ("M4", 3.5), ("M5", 4.5), ("M6", 5.4)];
