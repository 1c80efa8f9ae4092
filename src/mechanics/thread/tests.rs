use super::{ThreadFault, ThreadQuestion, all, parse, sheet};
use crate::mechanics::stripping::{external_shear_area, internal_shear_area};
use crate::quantity::Measure;
use std::f64::consts::PI;
use uom::si::f64::Length;

fn mm(value: f64) -> Length {
    Length::from_si(value / 1e3)
}

fn close(a: f64, b: f64, relative: f64) -> bool {
    (a / b - 1.0).abs() <= relative
}

#[test]
fn designations_in_every_usual_spelling() {
    for (text, designation) in [
        ("M3", "M3"),
        ("m3", "M3"),
        ("M3x0.5", "M3"),
        ("M3×0.50", "M3"),
        ("M 3 x 0.35", "M3x0.35"),
        ("M2.5", "M2.5"),
        ("M10x1.25", "M10x1.25"),
        ("#4-40", "#4-40"),
        ("4-40", "#4-40"),
        ("No. 4-40 UNC", "#4-40"),
        ("1/4-20", "1/4-20"),
        ("1/4\"-28 UNF", "1/4-28"),
        ("3/8-16 UNC", "3/8-16"),
        ("G 1/8", "G1/8"),
    ] {
        assert_eq!(parse(text).map(|t| t.designation()), Ok(designation.to_string()), "{text}");
    }
    for t in all() {
        assert_eq!(parse(&t.designation()).as_ref(), Ok(t), "{}", t.designation());
    }
}

#[test]
fn an_unknown_thread_names_its_neighbours_and_a_wrong_pitch_the_pitches() {
    let fault = parse("M2.9").unwrap_err();
    assert!(matches!(&fault, ThreadFault::Unknown { nearest, .. } if nearest[0] == "M3"), "{fault:?}");
    let pitch = parse("M3x0.7").unwrap_err();
    assert!(pitch.message().contains("M3 has no pitch 0.7 mm"));
    assert!(pitch.help().contains("0.5 mm (coarse), 0.35 mm"), "{}", pitch.help());
    let per_inch = parse("#4-36").unwrap_err();
    assert!(per_inch.help().contains("#4-40, #4-48"), "{}", per_inch.help());
    assert!(matches!(parse("#4"), Err(ThreadFault::PitchMissing { size: "#4", .. })));
    assert!(matches!(parse("#4-4O"), Err(ThreadFault::Pitch { .. })));
    for nonsense in ["", "M", "Mx", "screw", "M3x", "-", "#", "M1e9", "Mnan", "M-3"] {
        assert!(parse(nonsense).is_err(), "{nonsense}");
    }
}

/// With basic sizes the ridge is 7/8 P wide at the major and 3/4 P at the minor diameter: exact identities of ISO 68-1.
#[test]
fn basic_shear_areas_are_exact_fractions_of_the_cylinder() {
    for t in all().iter().filter(|t| t.fastens()) {
        let le = mm(5.7);
        let internal = internal_shear_area(t.pitch(), le, t.major(), t.pitch_diameter()).si();
        let external = external_shear_area(t.pitch(), le, t.minor_diameter(), t.pitch_diameter()).si();
        assert!(close(internal, 7.0 / 8.0 * PI * t.major().si() * le.si(), 1e-12), "{}", t.designation());
        assert!(close(external, 3.0 / 4.0 * PI * t.minor_diameter().si() * le.si(), 1e-12), "{}", t.designation());
    }
}

/// Limits lie on the right side of the basic sizes, and the engaged areas in the order basic, middle, worst.
#[test]
fn limits_agree_with_the_basic_profile() {
    for t in all().iter().filter(|t| t.fastens()) {
        let Some(l) = t.limits() else { continue };
        let name = t.designation();
        let rounding = 0.0006e-3;
        assert!(l.external.major.max < t.major() && l.external.pitch_diameter.max < t.pitch_diameter(), "{name}");
        assert!((l.internal.pitch_diameter.min - t.pitch_diameter()).si().abs() < 2.0 * rounding + 1e-6, "{name}");
        // Unified minor limits above #5 are rounded to 0.001 in.
        assert!((l.internal.minor.min - t.minor_diameter()).si().abs() < 0.0005 * 0.0254 + rounding, "{name}");
        for band in [l.external.major, l.external.pitch_diameter, l.internal.minor, l.internal.pitch_diameter] {
            assert!(band.min < band.max, "{name}");
        }
        // The allowance is the same at the major and the pitch diameter (es of ISO 965-1, allowance of ASME B1.1).
        let at_major = (t.major() - l.external.major.max).si();
        let at_pitch = (t.pitch_diameter() - l.external.pitch_diameter.max).si();
        assert!((at_major - at_pitch).abs() < 3e-6, "{name}: {at_major} {at_pitch}");
        let e = sheet(t, ThreadQuestion { engaged: Some(mm(5.0)), ..ThreadQuestion::default() }).unwrap().engaged.unwrap();
        let (mid, worst) = (e.mid_zone.unwrap(), e.worst.unwrap());
        assert!(e.basic.internal.si > mid.formed.si && mid.formed.si > mid.cut.internal.si, "{name}");
        assert!(mid.cut.internal.si > worst.internal.si && mid.cut.external.si > worst.external.si, "{name}");
    }
}

/// Hand-computed from the middle of the zones: d 2.927, d2 2.6175, D2 2.725 mm; printed D2 = 2.6752 + 0.1 mm.
#[test]
fn mid_zone_areas_of_m3_with_an_insert_length() {
    let asked = ThreadQuestion { engaged: Some(mm(5.7)), offset: Some(mm(0.05)), hole: Some(mm(2.6)) };
    let s = sheet(&parse("M3").unwrap(), asked).unwrap();
    let e = s.engaged.unwrap();
    let mid = e.mid_zone.unwrap();
    assert!(close(mid.formed.value(), 44.94, 1e-3), "{}", mid.formed.value());
    assert!(close(mid.cut.internal.value(), 38.43, 1e-3), "{}", mid.cut.internal.value());
    assert!(close(mid.printed.unwrap().value(), 35.40, 1e-3));
    let printed = s.printed.unwrap();
    assert!(close(printed.areas.unwrap().internal.value(), 40.803, 1e-4));
    assert!(close(printed.overlap.value(), 0.22063, 1e-3));
    let hole = s.in_hole.unwrap();
    assert!(close(hole.height_share.value(), 61.58, 1e-3), "(3 - 2.6)/(1.299038 · 0.5)");
    assert!(close(hole.bearing.unwrap().value(), 20.056, 1e-3), "π/4 · 2.24 · 11.4");
}

#[test]
fn a_hole_or_an_offset_that_lets_the_screw_through_holds_nothing() {
    let m3 = parse("M3").unwrap();
    let wide = sheet(&m3, ThreadQuestion { engaged: Some(mm(5.0)), hole: Some(mm(3.0)), offset: None }).unwrap();
    let hole = wide.in_hole.unwrap();
    assert_eq!((hole.areas.unwrap().internal.si, hole.bearing.unwrap().si), (0.0, 0.0));
    let grown = sheet(&m3, ThreadQuestion { engaged: Some(mm(5.0)), offset: Some(mm(0.28)), hole: None }).unwrap();
    assert_eq!(grown.printed.unwrap().areas.unwrap().internal.si, 0.0);
    assert!(grown.cautions.iter().any(|c| c.contains("passes through")));
    for bad in [
        ThreadQuestion { engaged: Some(mm(0.0)), ..ThreadQuestion::default() },
        ThreadQuestion { hole: Some(mm(-2.5)), ..ThreadQuestion::default() },
        ThreadQuestion { offset: Some(mm(5.0)), ..ThreadQuestion::default() },
    ] {
        assert!(matches!(sheet(&m3, bad), Err(ThreadFault::Geometry { .. })));
    }
}

#[test]
fn a_thread_without_limits_says_so() {
    let s = sheet(&parse("M2x0.25").unwrap(), ThreadQuestion { engaged: Some(mm(5.0)), ..ThreadQuestion::default() }).unwrap();
    assert!(s.limits.is_none() && s.limits_missing.is_some_and(|m| m.starts_with("no limits")));
    let e = s.engaged.unwrap();
    assert_eq!((e.mid_zone, e.worst), (None, None));
}
