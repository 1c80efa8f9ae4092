//! Stored limits: 6g screws in 6H holes (ISO 965-2), 2A screws in 2B holes (ASME B1.1).
//!
//! Tables, not formulas. `Read` rows stand in two independent public tables that agree to 0.0005 mm (metric) or in one
//! public table (unified); the standards themselves were not opened. `Recalled` rows are from memory, in whole or in part: a row
//! of which one limit was not read counts as recalled (M8, M10).

use uom::si::f64::Length;

use super::Known;
use super::Known::{Read, Recalled};
use super::sizes::{Series, System, Thread};

/// Smallest and largest size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Smallest.
    pub min: Length,
    /// Largest.
    pub max: Length,
}

impl Band {
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
    pub major: Band,
    /// Pitch diameter d2.
    pub pitch_diameter: Band,
    /// Root diameter d3 at the rounded root, a reference dimension.
    pub root: Option<Band>,
    /// How the limits are known.
    pub known: Known,
}

/// Limits of a hole's thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Internal {
    /// Tolerance class.
    pub class: &'static str,
    /// Minor diameter D1.
    pub minor: Band,
    /// Pitch diameter D2.
    pub pitch_diameter: Band,
    /// Smallest major diameter D.
    pub major_min: Length,
    /// Largest major diameter D, a reference dimension.
    pub major_max: Option<Length>,
    /// How the limits are known.
    pub known: Known,
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
    /// The stored limits; `None` when none are stored for this thread.
    pub fn limits(&self) -> Option<Limits> {
        match (self.system, self.series) {
            (System::Metric, Series::Coarse) => metric(self),
            (System::Metric, Series::Fine) => None,
            (System::Unified, _) => unified(self),
        }
    }
    fn band(&self, max: f64, min: f64) -> Band {
        Band { min: self.length(min), max: self.length(max) }
    }
}

fn metric(thread: &Thread) -> Option<Limits> {
    let &(_, s, h, known) = METRIC.iter().find(|(size, ..)| *size == thread.size)?;
    Some(Limits {
        external: External {
            class: "6g",
            major: thread.band(s[0], s[1]),
            pitch_diameter: thread.band(s[2], s[3]),
            root: Some(thread.band(s[4], s[5])),
            known,
        },
        internal: Internal {
            class: "6H",
            minor: thread.band(h[1], h[0]),
            pitch_diameter: thread.band(h[3], h[2]),
            major_min: thread.major(),
            major_max: Some(thread.length(h[4])),
            known,
        },
        source: "ISO 965-2 (limits for general purpose threads, coarse series), read in public tables or recalled",
    })
}

fn unified(thread: &Thread) -> Option<Limits> {
    let row = UNIFIED.iter().find(|r| r.0 == thread.size && r.1 == thread.pitch_written)?;
    let (_, _, s, h, screw_known, hole_known) = *row;
    Some(Limits {
        external: External {
            class: "2A",
            major: thread.band(s[0], s[1]),
            pitch_diameter: thread.band(s[2], s[3]),
            root: None,
            known: screw_known,
        },
        internal: Internal {
            class: "2B",
            minor: thread.band(h[1], h[0]),
            pitch_diameter: thread.band(h[3], h[2]),
            major_min: thread.major(),
            major_max: None,
            known: hole_known,
        },
        source: "ASME B1.1, classes 2A and 2B, read in a public table or recalled",
    })
}

/// size; 6g: d max, d min, d2 max, d2 min, d3 max, d3 min; 6H: D1 min, D1 max, D2 min, D2 max, D max (mm).
type MetricRow = (&'static str, [f64; 6], [f64; 5], Known);

const METRIC: &[MetricRow] = &[
    ("M1.6", [1.581, 1.496, 1.354, 1.291, 1.202, 1.075], [1.221, 1.321, 1.373, 1.458, 1.736], Read),
    ("M1.8", [1.781, 1.696, 1.554, 1.491, 1.402, 1.275], [1.421, 1.521, 1.573, 1.658, 1.936], Recalled),
    ("M2", [1.981, 1.886, 1.721, 1.654, 1.548, 1.408], [1.567, 1.679, 1.740, 1.830, 2.148], Read),
    ("M2.2", [2.180, 2.080, 1.888, 1.817, 1.693, 1.540], [1.713, 1.838, 1.908, 2.003, 2.360], Recalled),
    ("M2.5", [2.480, 2.380, 2.188, 2.117, 1.993, 1.840], [2.013, 2.138, 2.208, 2.303, 2.660], Read),
    ("M3", [2.980, 2.874, 2.655, 2.580, 2.439, 2.272], [2.459, 2.599, 2.675, 2.775, 3.172], Read),
    ("M3.5", [3.479, 3.354, 3.089, 3.004, 2.829, 2.635], [2.850, 3.010, 3.110, 3.222, 3.699], Read),
    ("M4", [3.978, 3.838, 3.523, 3.433, 3.220, 3.002], [3.242, 3.422, 3.545, 3.663, 4.219], Read),
    ("M5", [4.976, 4.826, 4.456, 4.361, 4.110, 3.869], [4.134, 4.334, 4.480, 4.605, 5.240], Read),
    ("M6", [5.974, 5.794, 5.324, 5.212, 4.891, 4.596], [4.917, 5.153, 5.350, 5.500, 6.294], Read),
    ("M7", [6.974, 6.794, 6.324, 6.212, 5.891, 5.596], [5.917, 6.153, 6.350, 6.500, 7.294], Recalled),
    ("M8", [7.972, 7.760, 7.160, 7.042, 6.619, 6.272], [6.647, 6.912, 7.188, 7.348, 8.340], Recalled),
    ("M10", [9.968, 9.732, 8.994, 8.862, 8.344, 7.938], [8.376, 8.676, 9.026, 9.206, 10.396], Recalled),
    ("M12", [11.966, 11.701, 10.829, 10.679, 10.072, 9.601], [10.106, 10.441, 10.863, 11.063, 12.452], Recalled),
];

/// size, threads per inch; 2A: d max, d min, d2 max, d2 min; 2B: D1 min, D1 max, D2 min, D2 max (in); screw and hole known how.
type UnifiedRow = (&'static str, f64, [f64; 4], [f64; 4], Known, Known);

const UNIFIED: &[UnifiedRow] = &[
    ("#2", 56.0, [0.0854, 0.0813, 0.0738, 0.0717], [0.0667, 0.0737, 0.0744, 0.0772], Read, Read),
    ("#2", 64.0, [0.0854, 0.0816, 0.0753, 0.0733], [0.0691, 0.0753, 0.0759, 0.0786], Recalled, Recalled),
    ("#3", 48.0, [0.0983, 0.0938, 0.0848, 0.0825], [0.0764, 0.0845, 0.0855, 0.0885], Recalled, Recalled),
    ("#3", 56.0, [0.0983, 0.0942, 0.0867, 0.0845], [0.0797, 0.0865, 0.0874, 0.0902], Recalled, Recalled),
    ("#4", 40.0, [0.1112, 0.1061, 0.0950, 0.0925], [0.0849, 0.0939, 0.0958, 0.0991], Recalled, Read),
    ("#4", 48.0, [0.1113, 0.1068, 0.0978, 0.0954], [0.0894, 0.0968, 0.0985, 0.1016], Recalled, Recalled),
    ("#5", 40.0, [0.1242, 0.1191, 0.1080, 0.1054], [0.0979, 0.1062, 0.1088, 0.1121], Recalled, Recalled),
    ("#5", 44.0, [0.1243, 0.1195, 0.1095, 0.1070], [0.1004, 0.1079, 0.1102, 0.1134], Recalled, Recalled),
    ("#6", 32.0, [0.1372, 0.1312, 0.1169, 0.1141], [0.1040, 0.1140, 0.1177, 0.1214], Recalled, Read),
    ("#6", 40.0, [0.1372, 0.1321, 0.1210, 0.1184], [0.1110, 0.1190, 0.1218, 0.1252], Recalled, Recalled),
    ("#8", 32.0, [0.1631, 0.1571, 0.1428, 0.1399], [0.1300, 0.1390, 0.1437, 0.1475], Recalled, Read),
    ("#8", 36.0, [0.1632, 0.1577, 0.1452, 0.1424], [0.1340, 0.1420, 0.1460, 0.1496], Recalled, Recalled),
    ("#10", 24.0, [0.1890, 0.1818, 0.1619, 0.1586], [0.1450, 0.1560, 0.1629, 0.1672], Recalled, Recalled),
    ("#10", 32.0, [0.1891, 0.1831, 0.1688, 0.1658], [0.1560, 0.1640, 0.1697, 0.1736], Recalled, Recalled),
    ("#12", 24.0, [0.2150, 0.2078, 0.1879, 0.1845], [0.1710, 0.1810, 0.1889, 0.1933], Recalled, Recalled),
    ("#12", 28.0, [0.2150, 0.2085, 0.1918, 0.1886], [0.1770, 0.1860, 0.1928, 0.1970], Recalled, Recalled),
    ("1/4", 20.0, [0.2489, 0.2408, 0.2164, 0.2127], [0.1960, 0.2070, 0.2175, 0.2224], Recalled, Read),
    ("1/4", 28.0, [0.2490, 0.2425, 0.2258, 0.2225], [0.2110, 0.2200, 0.2268, 0.2311], Recalled, Recalled),
];
