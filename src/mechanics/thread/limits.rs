//! Limits of sizes: 6g screws in 6H holes (ISO 965-1), 2A screws in 2B holes (ASME B1.1), pipe threads (ISO 228-1).
//!
//! Metric limits are the basic sizes with the deviations and tolerances of ISO 965-1, which are tabulated by pitch and by
//! range of diameters. The formulas printed beside those tables, with their rounding, miss them by up to 6 %: the tables
//! count. `Read` tolerances follow from rows of ISO 965-2 that stand in two independent public tables; the standards
//! themselves were not opened. Unified limits are computed by the formulas of ASME B1.1. Tolerances of pipe threads are
//! recalled.

use uom::si::f64::Length;

use super::ValueStatus;
use super::ValueStatus::{Computed, Read, Recalled};
use super::sizes::{System, Thread};

/// Smallest and largest size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeLimits {
    /// Smallest.
    pub min: Length,
    /// Largest.
    pub max: Length,
}

impl SizeLimits {
    /// The middle of the band.
    pub fn middle(self) -> Length {
        (self.min + self.max) * 0.5
    }
}

/// Limits of a screw's thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct External {
    /// Tolerance class.
    pub class: &'static str,
    /// Major diameter d.
    pub major: SizeLimits,
    /// Pitch diameter d2.
    pub pitch_diameter: SizeLimits,
    /// Root diameter d3 at the rounded root, a reference dimension.
    pub root: Option<SizeLimits>,
    /// How the limits are known.
    pub known: ValueStatus,
}

/// Limits of a hole's thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Internal {
    /// Tolerance class.
    pub class: &'static str,
    /// Minor diameter D1.
    pub minor: SizeLimits,
    /// Pitch diameter D2.
    pub pitch_diameter: SizeLimits,
    /// Smallest major diameter D.
    pub major_min: Length,
    /// Largest major diameter D, a reference dimension.
    pub major_max: Option<Length>,
    /// How the limits are known.
    pub known: ValueStatus,
}

/// Limits of a thread in both parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The screw.
    pub external: External,
    /// The hole.
    pub internal: Internal,
    /// Which standard.
    pub source: &'static str,
}

impl Thread {
    /// The limits; `None` where the standard has no such class for this pitch, or none are stored.
    pub fn limits(&self) -> Option<Limits> {
        match self.system {
            System::Metric => metric(self),
            System::Unified => Some(unified(self)),
            System::Pipe => pipe(self),
        }
    }
    fn band(&self, max: f64, min: f64) -> SizeLimits {
        SizeLimits { min: self.length(min), max: self.length(max) }
    }
}

/// To a multiple of a step, as the tables round.
fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

/// Share of the pitch between the pitch diameter and the smallest rounded root: H - 2 · 0.125 P (ISO 965-1).
const ROUNDED_ROOT: f64 = 0.616_025;
/// Share of the pitch between the pitch diameter and the largest major diameter of a hole: 11/12 H.
const MAJOR_OF_HOLE: f64 = 0.793_857;

fn metric(thread: &Thread) -> Option<Limits> {
    let p = thread.pitch_written;
    let d = thread.diameter;
    let &(_, es, td, td1, by_pitch) = BY_PITCH.iter().find(|row| row.0 == p)?;
    let &(_, _, _, td2, t_d2, by_range) = BY_RANGE.iter().find(|row| row.0 < d && d <= row.1 && row.2 == p)?;
    let known = if by_pitch == Read && by_range == Read { Read } else { Recalled };
    let millimetre = |um: f64| um / 1e3;
    let basic = |length: Length| rounded(length.get::<uom::si::length::millimeter>(), 1e-3);
    let (d2, d1) = (basic(thread.pitch_diameter()), basic(thread.minor_diameter()));
    let top = d2 - millimetre(es);
    let (low, high) = (top - millimetre(td2), d2 + millimetre(t_d2));
    Some(Limits {
        external: External {
            class: "6g",
            major: thread.band(d - millimetre(es), d - millimetre(es + td)),
            pitch_diameter: thread.band(top, low),
            root: Some(thread.band(d1 - millimetre(es), rounded(low - ROUNDED_ROOT * p, 1e-3))),
            known,
        },
        internal: Internal {
            class: "6H",
            minor: thread.band(d1 + millimetre(td1), d1),
            pitch_diameter: thread.band(high, d2),
            major_min: thread.major(),
            major_max: Some(thread.length(rounded(high + MAJOR_OF_HOLE * p, 1e-3))),
            known,
        },
        source: "ISO 965-1 (deviations and tolerances by pitch and diameter), read in public tables or recalled",
    })
}

/// Tolerances of ASME B1.1 for a length of engagement of one diameter: Td2 = 0.0015 (D^1/3 + Le^1/2) + 0.015 P^2/3 for 2A,
/// 1.3 times that for 2B; allowance 0.3 Td2; Td = 0.060 P^2/3; minor diameter of the hole by its own formula.
fn unified(thread: &Thread) -> Limits {
    let (d, p) = (thread.diameter, 1.0 / thread.pitch_written);
    let two_thirds = libm::cbrt(p * p);
    let td2 = 0.0015 * libm::cbrt(d) + 0.0015 * libm::sqrt(d) + 0.015 * two_thirds;
    let allowance = 0.3 * td2;
    let inch = |length: Length| length.get::<uom::si::length::inch>();
    let (d2, d1) = (inch(thread.pitch_diameter()), inch(thread.minor_diameter()));
    let coarse = 0.25 * p - 0.4 * p * p;
    let minor = if d < 0.25 { (0.05 * two_thirds + 0.03 * p / d - 0.002).clamp(coarse, 0.394 * p) } else { coarse };
    let at = |value: f64| rounded(value, 1e-4);
    // Minor diameters of holes of #6 and larger are given to 0.001 in.
    let hole = |value: f64| rounded(value, if d > 0.13 { 1e-3 } else { 1e-4 });
    Limits {
        external: External {
            class: "2A",
            major: thread.band(at(d - allowance), at(d - allowance - 0.06 * two_thirds)),
            pitch_diameter: thread.band(at(d2 - allowance), at(d2 - allowance - td2)),
            root: None,
            known: Computed,
        },
        internal: Internal {
            class: "2B",
            // Below 1/4 in the tables add the tolerance to the rounded minimum.
            minor: thread.band(hole(if d < 0.25 { hole(d1) } else { d1 } + minor), hole(d1)),
            pitch_diameter: thread.band(at(d2 + 1.3 * td2), at(d2)),
            major_min: thread.major(),
            major_max: None,
            known: Computed,
        },
        source: "ASME B1.1, classes 2A and 2B, computed by its formulas",
    }
}

fn pipe(thread: &Thread) -> Option<Limits> {
    let &(_, td, td2, td1) = PIPE.iter().find(|row| row.0 == thread.pitch_written)?;
    let (d, d2, d1) = (thread.major(), thread.pitch_diameter(), thread.minor_diameter());
    let below = |top: Length, t: f64| SizeLimits { min: top - thread.length(t), max: top };
    let above = |low: Length, t: f64| SizeLimits { min: low, max: low + thread.length(t) };
    Some(Limits {
        external: External { class: "A", major: below(d, td), pitch_diameter: below(d2, td2), root: None, known: Recalled },
        internal: Internal {
            class: "G",
            minor: above(d1, td1),
            pitch_diameter: above(d2, td2),
            major_min: d,
            major_max: None,
            known: Recalled,
        },
        source: "ISO 228-1 (class A outside), recalled",
    })
}

/// ISO 965-1 by pitch (mm): deviation of g, tolerance 6 of the major diameter, tolerance 6 of the hole's minor diameter (µm).
const BY_PITCH: &[(f64, f64, f64, f64, ValueStatus)] = &[
    (0.35, 19.0, 85.0, 100.0, Read),
    (0.4, 19.0, 95.0, 112.0, Read),
    (0.45, 20.0, 100.0, 125.0, Read),
    (0.5, 20.0, 106.0, 140.0, Read),
    (0.6, 21.0, 125.0, 160.0, Read),
    (0.7, 22.0, 140.0, 180.0, Read),
    (0.75, 22.0, 140.0, 190.0, Recalled),
    (0.8, 24.0, 150.0, 200.0, Read),
    (1.0, 26.0, 180.0, 236.0, Read),
    (1.25, 28.0, 212.0, 265.0, Recalled),
    (1.5, 32.0, 236.0, 300.0, Recalled),
    (1.75, 34.0, 265.0, 335.0, Recalled),
];

/// ISO 965-1 by diameter (over, up to, mm) and pitch: tolerance 6 of the pitch diameter of screw and hole (µm).
const BY_RANGE: &[(f64, f64, f64, f64, f64, ValueStatus)] = &[
    (1.4, 2.8, 0.35, 63.0, 85.0, Read),
    (1.4, 2.8, 0.4, 67.0, 90.0, Read),
    (1.4, 2.8, 0.45, 71.0, 95.0, Read),
    (2.8, 5.6, 0.35, 67.0, 90.0, Recalled),
    (2.8, 5.6, 0.5, 75.0, 100.0, Read),
    (2.8, 5.6, 0.6, 85.0, 112.0, Read),
    (2.8, 5.6, 0.7, 90.0, 118.0, Read),
    (2.8, 5.6, 0.8, 95.0, 125.0, Read),
    (5.6, 11.2, 0.75, 100.0, 132.0, Recalled),
    (5.6, 11.2, 1.0, 112.0, 150.0, Read),
    (5.6, 11.2, 1.25, 118.0, 160.0, Recalled),
    (5.6, 11.2, 1.5, 132.0, 180.0, Recalled),
    (11.2, 22.4, 1.0, 118.0, 160.0, Recalled),
    (11.2, 22.4, 1.25, 132.0, 180.0, Recalled),
    (11.2, 22.4, 1.5, 140.0, 190.0, Recalled),
    (11.2, 22.4, 1.75, 150.0, 200.0, Recalled),
];

/// ISO 228-1 by threads per inch: tolerances of major, pitch and the hole's minor diameter (mm).
const PIPE: &[(f64, f64, f64, f64)] =
    &[(28.0, 0.214, 0.107, 0.282), (19.0, 0.25, 0.125, 0.445), (14.0, 0.284, 0.142, 0.541), (11.0, 0.36, 0.18, 0.64)];

#[cfg(test)]
mod tests;
