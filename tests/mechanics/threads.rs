//! Rows about threads: basic sizes, stored limits, holes, stress and shear areas.

use super::table::{Got, Row, si, typed};
use gripbook::mechanics::thread::{ThreadQuestion, ThreadSheet, parse, sheet};
use gripbook::quantity::{Amount, Measure, Quantity};
use uom::si::f64::Length;

fn sheet_of(name: &str, asked: ThreadQuestion) -> ThreadSheet {
    let thread = parse(name).unwrap_or_else(|e| panic!("{name}: {}", e.message()));
    sheet(&thread, asked).unwrap_or_else(|e| panic!("{name}: {}", e.message()))
}

fn plain(name: &str) -> ThreadSheet {
    sheet_of(name, ThreadQuestion::default())
}

fn area(name: &str) -> Amount {
    plain(name).stress_area.expect("a stress area")
}

fn length(text: &str) -> Option<Length> {
    Some(Length::from_si(si(text, Quantity::Length)))
}

/// `ISO-…`: sizes from diameter and pitch by formula, and the same from the sheet.
pub fn iso(row: &Row) -> Got {
    let rest = row.after("ISO-");
    if let Some(name) = rest.strip_prefix("As-tab-") {
        return area(name).into();
    }
    let (what, name) = rest.split_once('-').unwrap_or((rest, ""));
    let (formula, on_sheet): (&str, fn(&ThreadSheet) -> Amount) = match what {
        "d2" => ("pitch-diameter", |s| s.basic.pitch_diameter),
        "D1" => ("minor-diameter", |s| s.basic.minor_diameter),
        "d3" => ("root-diameter", |s| s.basic.root_diameter),
        "As" => ("stress-area", |s| s.stress_area.expect("a stress area")),
        other => panic!("{}: {other}", row.id),
    };
    let got = typed(&format!("{formula} major={}mm pitch={}mm", row.input("d"), row.input("P")));
    let shown = on_sheet(&plain(name));
    assert!((shown.si / got.amount.si - 1.0).abs() < 1e-12, "{}: sheet and formula differ", row.id);
    got
}

/// `ISO898-…`: printed stress areas and loads.
pub fn iso898(row: &Row) -> Got {
    match row.after("ISO898-").strip_prefix("As-tab-") {
        Some(name) => area(name).into(),
        None => typed(&format!("screw-tensile-load strength={}MPa stress_area={}mm2", row.input("min"), row.input("As"))),
    }
}

/// `ISO965-…`, `UN2A-…`, `UN2B-…`: stored limits.
pub fn limits(row: &Row, start: &str) -> Got {
    let rest = row.after(start);
    let (name, what) = match start {
        "ISO965-" => rest.split_once('-').expect("thread and size"),
        _ => rest.rsplit_once('-').expect("thread and size"),
    };
    let l = plain(name).limits.unwrap_or_else(|| panic!("{name}: no limits"));
    let missing = || panic!("{}: not stored", row.id);
    match what {
        "d_max" => l.external_major.max,
        "d_min" => l.external_major.min,
        "d2_max" => l.external_pitch_diameter.max,
        "d2_min" => l.external_pitch_diameter.min,
        "d3-d1_max_rounded_root" => l.external_root.map_or_else(missing, |b| b.max),
        "d3_min_rounded_root" => l.external_root.map_or_else(missing, |b| b.min),
        "D1_min" => l.internal_minor.min,
        "D1_max" => l.internal_minor.max,
        "D2_min" => l.internal_pitch_diameter.min,
        "D2_max" => l.internal_pitch_diameter.max,
        "D_min" => l.internal_major_min,
        "D_max_reference" => l.internal_major_max.unwrap_or_else(missing),
        other => panic!("{}: {other}", row.id),
    }
    .into()
}

/// `UN-…`: unified sizes and areas.
pub fn unified(row: &Row) -> Got {
    let (what, name) = row.after("UN-").split_once('-').expect("what and thread");
    let s = sheet_of(name, ThreadQuestion { engaged: length("1in"), ..ThreadQuestion::default() });
    match what {
        "At" | "Atmm" => {
            let got = typed(&format!("stress-area-unified major={}in pitch={}in", row.input("d"), 1.0 / row.number("n")));
            assert!((s.stress_area.expect("a stress area").si / got.amount.si - 1.0).abs() < 1e-12, "{}", row.id);
            got
        }
        "d2" => s.basic.pitch_diameter.into(),
        "D1" => s.basic.minor_diameter.into(),
        "ASn" => {
            let got = typed(&format!(
                "internal-shear-area pitch={}in engaged=1in major={}in pitch_diameter={}in",
                1.0 / row.number("n"),
                row.input("dmin"),
                row.input("D2max")
            ));
            let worst = s.engaged.and_then(|e| e.worst).expect("2A/2B limits are stored");
            assert!((worst.internal.si / got.amount.si - 1.0).abs() < 0.01, "{}: stored limits give another area", row.id);
            got
        }
        other => panic!("{}: {other}", row.id),
    }
}

/// `STRIP-…`: shear areas at worst limits, at basic sizes, printed, and of printed unified tables.
pub fn strip(row: &Row) -> Got {
    let rest = row.after("STRIP-");
    if rest.starts_with("UN-") {
        return strip_unified(row);
    }
    if rest.starts_with("OFFSET-") {
        let (c, p, le, d) = (row.input("c"), row.input("P"), row.input("Le"), row.input("d"));
        return typed(&format!("printed-shear-area pitch={p}mm engaged={le}mm major={d}mm offset={c}mm"));
    }
    if rest.starts_with("OVERLAP-") {
        let (c, d, minor) = (row.input("c"), row.input("d"), row.input("D1"));
        return typed(&format!("thread-overlap major={d}mm minor={minor}mm offset={c}mm"));
    }
    let name = rest.split('-').find(|w| w.starts_with('M')).expect("a thread");
    let (p, le) = (row.input("P"), row.input("Le"));
    let s = sheet_of(name, ThreadQuestion { engaged: length(&format!("{le}mm")), ..ThreadQuestion::default() });
    let engaged = s.engaged.expect("a length was given");
    let worst = engaged.worst.expect("6H/6g limits are stored");
    let (on_sheet, got) = match rest.split("-M").next() {
        Some("ASn") => {
            let (d, d2) = (row.input("dmin"), row.input("D2max"));
            let line = format!("internal-shear-area pitch={p}mm engaged={le}mm major={d}mm pitch_diameter={d2}mm");
            (worst.internal, typed(&line))
        }
        Some("ASs") => {
            let (d1, d2) = (row.input("D1max"), row.input("d2min"));
            let line = format!("external-shear-area pitch={p}mm engaged={le}mm minor={d1}mm pitch_diameter={d2}mm");
            (worst.external, typed(&line))
        }
        Some("ASn-basic") => return engaged.basic.internal.into(),
        Some("ASs-basic") => return engaged.basic.external.into(),
        other => panic!("{}: {other:?}", row.id),
    };
    assert!((on_sheet.si / got.amount.si - 1.0).abs() < 1e-9, "{}: sheet and formula differ", row.id);
    got
}

/// Printed tables of unified areas at Le = d. Limits of 3/8-16 UNC 2A/2B (ASME B1.1, recalled), which has no sheet here:
/// d min 0.3643, d2 min 0.3287, D1 max 0.321, D2 max 0.3401 in.
fn strip_unified(row: &Row) -> Got {
    let rest = row.after("STRIP-UN-");
    let bolt = rest.ends_with("ASs") || rest.ends_with("table.1");
    if rest.starts_with("3/8-16") {
        return typed(if bolt {
            "external-shear-area pitch=0.0625in engaged=0.375in minor=0.321in pitch_diameter=0.3287in"
        } else {
            "internal-shear-area pitch=0.0625in engaged=0.375in major=0.3643in pitch_diameter=0.3401in"
        });
    }
    let name: String = rest.split('-').take(2).collect::<Vec<_>>().join("-");
    let s = sheet_of(&name, ThreadQuestion { engaged: length(&format!("{}in", row.input("d"))), ..ThreadQuestion::default() });
    let worst = s.engaged.and_then(|e| e.worst).expect("2A/2B limits are stored");
    if bolt { worst.external.into() } else { worst.internal.into() }
}

/// `CLR-…`: clearance holes.
pub fn clearance(row: &Row) -> Got {
    let (name, place) = row.after("CLR-").rsplit_once('.').expect("thread and place");
    let h = plain(name).holes;
    let fit = [h.clearance_close, h.clearance_medium, h.clearance_coarse];
    fit[place.parse::<usize>().expect("1 to 3") - 1].unwrap_or_else(|| panic!("{}: not stored", row.id)).into()
}

/// `TAP-…`: tap drills and the share of the thread's height they leave.
pub fn tap(row: &Row) -> Got {
    let rest = row.after("TAP-");
    if let Some(name) = rest.strip_prefix("hard-") {
        return plain(name).holes.tap_drill_wide.unwrap_or_else(|| panic!("{}: not stored", row.id)).into();
    }
    if rest.starts_with("pct-") {
        let (d, p, hole) = (row.input("D"), row.input("P"), row.input("hole"));
        return typed(&format!("thread-height-share major={d}mm pitch={p}mm hole={hole}mm"));
    }
    plain(rest.strip_prefix("UN-").unwrap_or(rest)).holes.tap_drill.into()
}

/// Radial overlap by hand: (3.0 - 2.6) / 2 = 0.2 mm in a 2.6 mm hole, (3.0 - 3.2) / 2 = -0.1 mm beyond the screw.
#[test]
fn the_overlap_is_half_the_difference_of_the_diameters() {
    for (hole, overlap) in [("2.6 mm", 0.2e-3), ("3.2 mm", -0.1e-3)] {
        let got = sheet_of("M3", ThreadQuestion { hole: length(hole), ..ThreadQuestion::default() })
            .in_hole
            .expect("a hole was asked for")
            .overlap;
        assert!((got.si - overlap).abs() < 1e-12, "{hole}: {}", got.si);
    }
}

/// Cautions stand on their side of the limit only. Limits of M3 x 0.5 (ISO 724): d 3.0, d3 2.387, D1 2.459 mm; 2.5 d = 7.5 mm.
#[test]
fn cautions_stand_on_their_side_of_the_limit_only() {
    let cases: [(&str, ThreadQuestion, &str); 5] = [
        ("long", ThreadQuestion { engaged: length("7.6 mm"), ..ThreadQuestion::default() }, "helps little"),
        ("short", ThreadQuestion { engaged: length("0.4 mm"), ..ThreadQuestion::default() }, "below one pitch"),
        ("tight", ThreadQuestion { offset: length("-0.02 mm"), ..ThreadQuestion::default() }, "too tight"),
        ("wide", ThreadQuestion { hole: length("3.0 mm"), ..ThreadQuestion::default() }, "nothing engages"),
        ("narrow", ThreadQuestion { hole: length("2.3 mm"), ..ThreadQuestion::default() }, "narrower than the screw's root"),
    ];
    for (name, asked, words) in cases {
        let cautions = sheet_of("M3", asked).cautions;
        assert!(cautions.iter().any(|c| c.contains(words)), "{name}: {cautions:?}");
    }
    let good = [
        ThreadQuestion { engaged: length("7.4 mm"), ..ThreadQuestion::default() },
        ThreadQuestion { engaged: length("0.6 mm"), ..ThreadQuestion::default() },
        ThreadQuestion { offset: length("0 mm"), ..ThreadQuestion::default() },
        ThreadQuestion { offset: length("0.05 mm"), ..ThreadQuestion::default() },
        ThreadQuestion { hole: length("2.5 mm"), ..ThreadQuestion::default() },
    ];
    let plain = plain("M3").cautions;
    for asked in good {
        assert_eq!(sheet_of("M3", asked).cautions, plain, "{asked:?}");
    }
}

/// Neighbours of a size nobody makes: 2.6 mm lies nearer to 2.5 (3.8 % of the larger) than to 3 mm (13 %).
#[test]
fn the_nearest_sizes_come_first() {
    use gripbook::mechanics::thread::ThreadFault;
    let Err(ThreadFault::Unknown { nearest, .. }) = parse("M2.6") else { panic!("M2.6 is no coarse size of the table") };
    assert_eq!(nearest[..2], ["M2.5", "M3"], "{nearest:?}");
    let Err(ThreadFault::Unknown { nearest, .. }) = parse("M7.9") else { panic!("M7.9 is no size") };
    assert_eq!(nearest[0], "M8", "{nearest:?}");
    // A size of less than half is no neighbour.
    assert!(nearest.iter().all(|n| !n.starts_with("M3")), "{nearest:?}");
}
