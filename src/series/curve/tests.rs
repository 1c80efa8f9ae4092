//! Synthetic curves with exact answers (statistics.md section 8: derived by hand, teeth from an independent library).

use super::teeth::SAW_TOOTH;
use super::*;
use crate::quantity::Measure;

fn pull(settings: Settings, points: impl IntoIterator<Item = (f64, f64)>) -> Result<Pull, Finding> {
    let mut g = Gatherer::new(settings);
    for (i, (x, y)) in points.into_iter().enumerate() {
        g.push(x, y, i as u64 + 1);
    }
    g.finish("t.csv")
}

fn toe(x: f64) -> f64 {
    if x <= 0.2 {
        2500.0 * x * x
    } else if x <= 0.8 {
        1000.0 * (x - 0.1)
    } else if x <= 1.0 {
        700.0 + 200.0 * (x - 0.8)
    } else if x <= 1.1 {
        740.0 - 5000.0 * (x - 1.0)
    } else {
        240.0
    }
}

fn toe_points() -> Vec<(f64, f64)> {
    (0..=120).map(|i| f64::from(i) / 100.0).map(|x| (x, toe(x))).collect()
}

fn rules(p: &Pull) -> Vec<&str> {
    p.findings.iter().map(|f| f.rule).collect()
}

/// Peak 740 N at 1.00 mm, slope 1000 N/mm, zero at 0.1 mm, energy to peak 390.675 N·mm by trapezium (390.6667 exact),
/// loss of 20 % at 1.03 mm, of 10 % at 1.02 mm. By hand.
#[test]
fn toe_curve() {
    let p = pull(Settings::default(), toe_points()).unwrap();
    let slope = p.slope.unwrap();
    assert_eq!(p.peak.si(), 740.0);
    assert!((p.travel_at_peak.si() - 1e-3).abs() < 1e-15);
    assert!((slope.stiffness.si() - 1e6).abs() < 1e-3, "{}", slope.stiffness.si());
    assert!((slope.zero.si() - 1e-4).abs() < 1e-9);
    assert!((p.travel_at_peak_corrected.unwrap().si() - 0.9e-3).abs() < 1e-9);
    assert!((p.energy_to_peak.si() - 0.390_675).abs() < 1e-9, "{}", p.energy_to_peak.si());
    assert!((p.load_drop.unwrap().travel.si() - 1.03e-3).abs() < 1e-12);
    let strict = Settings { drop: 0.1, ..Settings::default() };
    assert!((pull(strict, toe_points()).unwrap().load_drop.unwrap().travel.si() - 1.02e-3).abs() < 1e-12);
    assert!(!p.held && !slope.rig_taken_off);
}

/// F = 1000 x (2 - x): peak 1000 N at 1 mm, energy 666.667 N·mm less 1000 h²/6 by trapezium (h = 0.1: 665.0). By hand.
#[test]
fn parabola() {
    let points = (0..=20).map(|i| f64::from(i) / 10.0).map(|x| (x, 1000.0 * x * (2.0 - x)));
    let p = pull(Settings::default(), points).unwrap();
    assert!((p.peak.si() - 1000.0).abs() < 1e-9 && (p.travel_at_peak.si() - 1e-3).abs() < 1e-12);
    assert!((p.energy_to_peak.si() - 0.665).abs() < 1e-9);
}

/// Teeth as scipy.signal.find_peaks gives them, energies by hand: 250 N·mm to the first peak, 1115 in all.
#[test]
fn saw_tooth() {
    let points = SAW_TOOTH;
    let p = pull(Settings::default(), points).unwrap();
    assert_eq!(p.teeth.len(), 4);
    assert!((p.tooth_pitch.unwrap().si() - 0.6e-3).abs() < 1e-12);
    assert!((p.energy_to_peak.si() - 0.25).abs() < 1e-12 && (p.energy.si() - 1.115).abs() < 1e-12);
    assert_eq!(pull(Settings { prominence: 0.3, ..Settings::default() }, points).unwrap().teeth.len(), 2);
}

/// 1000 N/mm at 60 mm/min and 10 Hz: 100 N between samples (series.md; by hand).
#[test]
fn slow_sampling_makes_the_peak_doubtful() {
    let coarse = (0..=10).map(|i| f64::from(i) / 10.0).map(|x| (x, 1000.0 * x)).chain([(1.1, 20.0)]);
    let p = pull(Settings::default(), coarse).unwrap();
    assert!((p.peak_doubt.si() - 100.0).abs() < 1e-9);
    assert!(rules(&p).contains(&"peak-doubtful"));
    // A flat top hides nothing, however steep the way there.
    let fine = (0..=2000).map(|i| f64::from(i) / 1000.0).map(|x| (x, 1000.0 * x * (2.0 - x)));
    assert!(pull(Settings::default(), fine).unwrap().findings.is_empty());
}

/// Series springs: 1/(1/1000 + 1/4000) = 800 N/mm seen, 1000 N/mm without the rig of 0.25 µm/N. By hand.
#[test]
fn the_rig_is_taken_off() {
    let points: Vec<(f64, f64)> = (0..=100).map(|i| f64::from(i) / 100.0).map(|x| (x, 800.0 * x)).chain([(1.01, 0.0)]).collect();
    let known = Settings { compliance: Some(0.000_25), ..Settings::default() };
    let seen = pull(Settings::default(), points.clone()).unwrap().slope.unwrap();
    let joint = pull(known, points).unwrap().slope.unwrap();
    assert!((seen.stiffness.si() - 8e5).abs() < 1e-3 && !seen.rig_taken_off);
    assert!((joint.stiffness.si() - 1e6).abs() < 1e-3 && joint.rig_taken_off);
}

#[test]
fn bad_recordings_are_named() {
    let ramp = || (0..=100).map(|i| f64::from(i) / 100.0).map(|x| (x, 500.0 * x));
    let one = pull(Settings::default(), [(0.0, 1.0)]).unwrap_err();
    assert_eq!((one.rule, one.place.span.unwrap().line), ("curve-too-short", 1));
    let reversed = pull(Settings::default(), ramp().map(|(x, y)| (x, -y))).unwrap_err();
    assert_eq!((reversed.rule, reversed.place.span.unwrap().line), ("load-reversed", 101));
    let gap = pull(Settings::default(), ramp().filter(|(x, _)| !(0.3..0.5).contains(x))).unwrap();
    assert!(rules(&gap).contains(&"samples-missing"));
    let limit = Settings { capacity: Some(400.0), ..Settings::default() };
    let held = pull(limit, ramp().map(|(x, y)| (x, y.min(400.0)))).unwrap();
    assert!(held.held && rules(&held).contains(&"load-saturated"));
    let level = pull(Settings::default(), ramp().map(|(x, y)| (x, y.min(400.0)))).unwrap();
    assert!(!level.held && rules(&level).contains(&"load-level"));
    let twice = pull(Settings::default(), [(0.0, 0.0), (1.0, 5.0), (2.0, 1.0), (3.0, 5.0), (4.0, 0.0)]).unwrap();
    assert!(rules(&twice).contains(&"peaks-equal") && twice.peak_line == 2);
    let negative = pull(Settings::default(), ramp().chain([(1.01, -60.0)])).unwrap();
    assert!(rules(&negative).contains(&"load-negative"));
    let offset = pull(Settings::default(), ramp().map(|(x, y)| (x, y + 60.0))).unwrap();
    assert!(rules(&offset).contains(&"load-offset"));
    assert_eq!(pull(Settings::default(), (0..9).map(|i| (f64::from(i), 0.0))).unwrap_err().rule, "load-none");
}

/// Two million samples keep the answers of the fine curve.
#[test]
fn long_recordings() {
    let n = 2_000_000;
    let points = (0..=n).map(|i| 1.2 * f64::from(i) / f64::from(n)).map(|x| (x, toe(x)));
    let p = pull(Settings::default(), points).unwrap();
    assert!((p.peak.si() - 740.0).abs() < 1e-2);
    assert!((p.slope.unwrap().stiffness.si() - 1e6).abs() < 50.0, "{:?}", p.slope);
    assert!((p.energy_to_peak.si() - 0.390_666_7).abs() < 1e-5);
    assert!(p.outline.len() <= 2 * bins::MOST_RUNS);
}
