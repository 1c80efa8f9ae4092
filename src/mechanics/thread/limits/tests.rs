//! Computed limits against tables and formulas from outside.

use super::{BY_PITCH, BY_RANGE};
use crate::mechanics::thread::{Thread, all, parse};
use uom::si::f64::Length;
use uom::si::length::{inch, micrometer, millimeter};

fn mm(length: Length) -> f64 {
    length.get::<millimeter>()
}

fn close(name: &str, got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within + 1e-9, "{name}: {got:.5} against {wanted}");
}

/// 6g: d max, d min, d2 max, d2 min, d3 max, d3 min; 6H: D1 min, D1 max, D2 min, D2 max, D max (mm).
/// M1.6 to M6: limits of general purpose threads (ISO 965-2, ASME B1.13M) as two public tables reprint them, read; M7 to M12
/// recalled from the same standard.
type MetricRow = (&'static str, [f64; 6], [f64; 5]);

const METRIC: &[MetricRow] = &[
    ("M1.6", [1.581, 1.496, 1.354, 1.291, 1.202, 1.075], [1.221, 1.321, 1.373, 1.458, 1.736]),
    ("M1.8", [1.781, 1.696, 1.554, 1.491, 1.402, 1.275], [1.421, 1.521, 1.573, 1.658, 1.936]),
    ("M2", [1.981, 1.886, 1.721, 1.654, 1.548, 1.408], [1.567, 1.679, 1.740, 1.830, 2.148]),
    ("M2.2", [2.180, 2.080, 1.888, 1.817, 1.693, 1.540], [1.713, 1.838, 1.908, 2.003, 2.360]),
    ("M2.5", [2.480, 2.380, 2.188, 2.117, 1.993, 1.840], [2.013, 2.138, 2.208, 2.303, 2.660]),
    ("M3", [2.980, 2.874, 2.655, 2.580, 2.439, 2.272], [2.459, 2.599, 2.675, 2.775, 3.172]),
    ("M3.5", [3.479, 3.354, 3.089, 3.004, 2.829, 2.635], [2.850, 3.010, 3.110, 3.222, 3.699]),
    ("M4", [3.978, 3.838, 3.523, 3.433, 3.220, 3.002], [3.242, 3.422, 3.545, 3.663, 4.219]),
    ("M5", [4.976, 4.826, 4.456, 4.361, 4.110, 3.869], [4.134, 4.334, 4.480, 4.605, 5.240]),
    ("M6", [5.974, 5.794, 5.324, 5.212, 4.891, 4.596], [4.917, 5.153, 5.350, 5.500, 6.294]),
    ("M7", [6.974, 6.794, 6.324, 6.212, 5.891, 5.596], [5.917, 6.153, 6.350, 6.500, 7.294]),
    ("M8", [7.972, 7.760, 7.160, 7.042, 6.619, 6.272], [6.647, 6.912, 7.188, 7.348, 8.340]),
    ("M10", [9.968, 9.732, 8.994, 8.862, 8.344, 7.938], [8.376, 8.676, 9.026, 9.206, 10.396]),
    ("M12", [11.966, 11.701, 10.829, 10.679, 10.072, 9.601], [10.106, 10.441, 10.863, 11.063, 12.452]),
];

#[test]
fn metric_limits_are_those_of_the_public_tables() {
    for (name, s, h) in METRIC {
        let l = parse(name).unwrap().limits().unwrap();
        let root = l.external.root.unwrap();
        let (e, i) = (l.external, l.internal);
        let screw = [e.major.max, e.major.min, e.pitch_diameter.max, e.pitch_diameter.min, root.max, root.min];
        let hole = [i.minor.min, i.minor.max, i.pitch_diameter.min, i.pitch_diameter.max, i.major_max.unwrap()];
        // Two public tables differ from each other by 0.001 mm at the roots.
        for (got, wanted) in screw.iter().zip(s).chain(hole.iter().zip(h)) {
            close(name, mm(*got), *wanted, 0.001);
        }
    }
}

/// The formulas ISO 965-1 prints beside its tables (recalled): es = 15 + 11 P; Td = 180 P^2/3 - 3.15 P^-1/2;
/// TD1 = 433 P - 190 P^1.22 up to 0.8 mm, 230 P^0.7 from 1 mm; Td2 = 90 P^0.4 d^0.1 with the geometric mean of the range;
/// TD2 = 1.32 Td2. Its tables round to the R40 series, steps of 6 %.
#[test]
fn tabulated_tolerances_follow_the_formulas_of_the_standard() {
    for &(p, es, td, td1, _) in BY_PITCH {
        close("es", es, 15.0 + 11.0 * p, 1.5);
        close("Td", td / (180.0 * libm::pow(p, 2.0 / 3.0) - 3.15 / p.sqrt()), 1.0, 0.05);
        let hole = if p < 0.9 { 433.0 * p - 190.0 * libm::pow(p, 1.22) } else { 230.0 * libm::pow(p, 0.7) };
        close("TD1", td1 / hole, 1.0, 0.05);
    }
    for &(over, up_to, p, td2, hole, _) in BY_RANGE {
        let formula = 90.0 * libm::pow(p, 0.4) * libm::pow((over * up_to).sqrt(), 0.1);
        close("Td2", td2 / formula, 1.0, 0.05);
        close("TD2", hole / (1.32 * formula), 1.0, 0.06);
    }
}

/// Pitch diameters 6H of metric fine threads: basic size and upper limit. The basic sizes stand in a public table of taps by
/// ISO 965-1 (read); the limits are ISO 965-2's, recalled.
#[test]
fn fine_threads_have_limits() {
    for (name, basic, most) in
        [("M8x1", 7.350, 7.500), ("M10x1", 9.350, 9.500), ("M10x1.25", 9.188, 9.348), ("M6x0.75", 5.513, 5.645)]
    {
        let hole = parse(name).unwrap().limits().unwrap().internal;
        close(name, mm(hole.pitch_diameter.min), basic, 0.0005);
        close(name, mm(hole.pitch_diameter.max), most, 0.0005);
    }
    // ISO 965-1 has no tolerance 6 for the minor diameter of holes with pitches of 0.2 and 0.25 mm.
    let without: Vec<String> = all().iter().filter(|t| t.limits().is_none()).map(Thread::designation).collect();
    assert_eq!(without, ["M1", "M1.2", "M1.4", "M1.6x0.2", "M1.8x0.2", "M2x0.25", "M2.2x0.25"]);
}

/// size, threads per inch; 2A: d max, d min, d2 max, d2 min; 2B: D1 min, D1 max, D2 min, D2 max (in).
/// #2-56, #2-64, 2B of #4-40, #6-32, #8-32, 1/4-20, 5/16-18, 3/8-16: public tables of ASME B1.1 limits, read; others recalled.
type UnifiedRow = (&'static str, [f64; 4], [f64; 4]);

const UNIFIED: &[UnifiedRow] = &[
    ("#2-56", [0.0854, 0.0813, 0.0738, 0.0717], [0.0667, 0.0737, 0.0744, 0.0772]),
    ("#2-64", [0.0854, 0.0816, 0.0753, 0.0733], [0.0691, 0.0753, 0.0759, 0.0786]),
    ("#3-48", [0.0983, 0.0938, 0.0848, 0.0825], [0.0764, 0.0845, 0.0855, 0.0885]),
    ("#3-56", [0.0983, 0.0942, 0.0867, 0.0845], [0.0797, 0.0865, 0.0874, 0.0902]),
    ("#4-40", [0.1112, 0.1061, 0.0950, 0.0925], [0.0849, 0.0939, 0.0958, 0.0991]),
    ("#4-48", [0.1113, 0.1068, 0.0978, 0.0954], [0.0894, 0.0968, 0.0985, 0.1016]),
    ("#5-40", [0.1242, 0.1191, 0.1080, 0.1054], [0.0979, 0.1062, 0.1088, 0.1121]),
    ("#5-44", [0.1243, 0.1195, 0.1095, 0.1070], [0.1004, 0.1079, 0.1102, 0.1134]),
    ("#6-32", [0.1372, 0.1312, 0.1169, 0.1141], [0.1040, 0.1140, 0.1177, 0.1214]),
    ("#6-40", [0.1372, 0.1321, 0.1210, 0.1184], [0.1110, 0.1190, 0.1218, 0.1252]),
    ("#8-32", [0.1631, 0.1571, 0.1428, 0.1399], [0.1300, 0.1390, 0.1437, 0.1475]),
    ("#8-36", [0.1632, 0.1577, 0.1452, 0.1424], [0.1340, 0.1420, 0.1460, 0.1496]),
    ("#10-24", [0.1890, 0.1818, 0.1619, 0.1586], [0.1450, 0.1560, 0.1629, 0.1672]),
    ("#10-32", [0.1891, 0.1831, 0.1688, 0.1658], [0.1560, 0.1640, 0.1697, 0.1736]),
    ("#12-24", [0.2150, 0.2078, 0.1879, 0.1845], [0.1710, 0.1810, 0.1889, 0.1933]),
    ("#12-28", [0.2150, 0.2085, 0.1918, 0.1886], [0.1770, 0.1860, 0.1928, 0.1970]),
    ("1/4-20", [0.2489, 0.2408, 0.2164, 0.2127], [0.1960, 0.2070, 0.2175, 0.2224]),
    ("1/4-28", [0.2490, 0.2425, 0.2258, 0.2225], [0.2110, 0.2200, 0.2268, 0.2311]),
    ("5/16-18", [0.3113, 0.3026, 0.2752, 0.2712], [0.2520, 0.2650, 0.2764, 0.2817]),
    ("3/8-16", [0.3737, 0.3643, 0.3331, 0.3287], [0.3070, 0.3210, 0.3344, 0.3401]),
];

#[test]
fn unified_limits_by_formula_are_those_of_the_public_tables() {
    for (name, s, h) in UNIFIED {
        let l = parse(name).unwrap().limits().unwrap();
        let (e, i) = (l.external, l.internal);
        let screw = [e.major.max, e.major.min, e.pitch_diameter.max, e.pitch_diameter.min];
        let hole = [i.minor.min, i.minor.max, i.pitch_diameter.min, i.pitch_diameter.max];
        for (got, wanted) in screw.iter().zip(s) {
            close(name, got.get::<inch>(), *wanted, 0.0001);
        }
        // Minor diameters are rounded to 0.001 in by some tables and by hand in others.
        for (place, (got, wanted)) in hole.iter().zip(h).enumerate() {
            close(name, got.get::<inch>(), *wanted, if place < 2 { 0.001 } else { 0.0001 });
        }
    }
}

/// Basic sizes of pipe threads: ISO 7-1 and ISO 228-1 share them; the rows of a mechanical engineer's pocket book, read
/// (1/8: 28, 0.907, 0.581, 9.728, 9.147, 8.566; 1/4: 19, 1.337, 0.856, 13.157, 12.301, 11.445; 3/8: 16.662, 15.806, 14.950).
#[test]
fn pipe_threads_have_the_sizes_of_the_standard() {
    for (name, pitch, d, d2, d1) in
        [("G1/8", 0.907, 9.728, 9.147, 8.566), ("G1/4", 1.337, 13.157, 12.301, 11.445), ("G3/8", 1.337, 16.662, 15.806, 14.950)]
    {
        let t = parse(name).unwrap();
        for (got, wanted) in [(t.pitch(), pitch), (t.major(), d), (t.pitch_diameter(), d2), (t.minor_diameter(), d1)] {
            close(name, mm(got), wanted, 0.0006);
        }
        let l = t.limits().unwrap();
        assert!(l.external.pitch_diameter.max.get::<micrometer>() <= l.internal.pitch_diameter.min.get::<micrometer>());
        assert!(!t.fastens());
    }
}
