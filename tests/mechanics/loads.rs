//! Rows about loads: stripping factors, bursting, torque, bonds, light, fits, wetting, notches.

use super::table::{Got, Row, typed};
use gripbook::quantity::Amount;

/// `ALEX-…`: Alexander's factors.
pub fn alexander(row: &Row) -> Got {
    match row.after("ALEX-").split('-').next() {
        Some("C1") => typed(&format!("alexander-dilation boss={}mm major=1mm", row.input("s/D"))),
        Some("C2") => typed(&format!("alexander-screw-thread strength_ratio={}", row.input("Rs"))),
        Some("C3") => typed(&format!("alexander-hole-thread strength_ratio={}", row.input("Rs"))),
        other => panic!("{}: {other:?}", row.id),
    }
}

/// `RAD-…`: radial force and pressure.
pub fn radial(row: &Row) -> Got {
    match row.after("RAD-") {
        "1" => share(typed("radial-force axial=1N half_angle=30deg friction=0"), 1.0),
        "2" => share(typed(&format!("radial-force axial=1N half_angle=30deg friction={}", row.input("mu"))), 1.0),
        "3" => typed(&format!(
            "radial-pressure axial={}N half_angle=30deg friction=0 pitch_diameter={}mm engaged={}mm",
            row.input("F"),
            row.input("d2"),
            row.input("Le")
        )),
        other => panic!("{}: {other}", row.id),
    }
}

/// A result over a reference in its own SI unit, as a plain number.
fn share(got: Got, reference: f64) -> Got {
    let plain = Amount::new(gripbook::quantity::Quantity::Number, got.amount.si / reference);
    Got { amount: plain, formula: got.formula }
}

/// `LAME-…`: cylinders.
pub fn lame(row: &Row) -> Got {
    let rest = row.after("LAME-");
    match rest {
        "BH-22.4" => {
            let stress = row.number("Sut") / row.number("fs");
            let (d, p, nu) = (row.input("Di"), row.input("p"), row.input("nu"));
            typed(&format!("wall-clavarino inner_diameter={d}mm pressure={p}MPa stress={stress}MPa poisson={nu}"))
        }
        "BH-22.5" => {
            let stress = row.number("Syt") / row.number("fs");
            let (d, p, nu) = (row.input("Di"), row.input("p"), row.input("nu"));
            typed(&format!("wall-birnie inner_diameter={d}mm pressure={p}MPa stress={stress}MPa poisson={nu}"))
        }
        // Tube 20/40 in jacket 40/60 mm of one steel, whose hoop stress at the bore is 100 MPa.
        "BH-22.6-p" => typed("lame-pressure inner=20mm outer=30mm hoop=100MPa"),
        "BH-22.6-d" => {
            let e = row.input("E");
            typed(&format!(
                "shrink-interference pressure=38.46153846MPa interface=20mm outer=30mm bore=10mm part_modulus={e}MPa part_poisson=0.27 insert_modulus={e}MPa insert_poisson=0.27"
            ))
        }
        _ if rest.starts_with("K-") => typed(&format!("lame-ratio inner=1mm outer={}mm", row.input("OD/ID"))),
        _ => {
            let cylinder = format!("inner={}mm outer={}mm pressure={}MPa", row.input("ri"), row.input("ro"), row.input("p"));
            if rest.ends_with(".1") {
                typed(&format!("lame-hoop {cylinder}"))
            } else {
                typed(&format!("lame-growth {cylinder} modulus={}MPa poisson={}", row.input("E"), row.input("nu")))
            }
        }
    }
}

const M3: &str = "pitch=0.5mm pitch_diameter=2.675241mm";

/// `TRQ-…`: torque and preload.
pub fn torque(row: &Row) -> Got {
    let rest = row.after("TRQ-");
    let bhandari = "lead=24mm pitch_diameter=94mm friction=0.15 half_angle=15deg";
    let frictions = |mu: &str| format!("thread_friction={mu} head_friction={mu} head_diameter=4.45mm");
    match rest {
        "SH83a" => typed("torque-nut-factor nut_factor=0.2 preload=25000lbf diameter=0.75in"),
        "BH62a" => typed(&format!("thread-torque axial=300kN {bhandari}")),
        "BH62b" => typed(&format!("thread-torque-loosening axial=300kN {bhandari}")),
        "BH62c" => typed(&format!("thread-efficiency {bhandari}")),
        "M3-100N" => typed(&format!("torque-exact preload=100N {M3} {}", frictions(&row.input("mu")))),
        "thread-M3" => typed(&format!(
            "thread-torque axial=1000N lead=0.5mm pitch_diameter=2.675241mm friction={} half_angle=30deg",
            row.input("mu")
        )),
        _ if rest.starts_with("K-M3-") => typed(&format!("nut-factor diameter=3mm {M3} {}", frictions(row.after("TRQ-K-M3-")))),
        _ if rest.starts_with("KDP-") => typed(&format!(
            "torque-nut-factor nut_factor={} preload={}lbf diameter={}in",
            row.input("K"),
            row.input("P"),
            row.input("D")
        )),
        _ => vdi(row),
    }
}

/// Assembly preload of class 8.8 at 90 % of 640 MPa, and the torque that gives it.
fn vdi(row: &Row) -> Got {
    let size = format!("major={}mm pitch={}mm", row.input("d"), row.input("P"));
    let mm = |line: String| typed(&line).amount.value();
    let (d2, d3) = (mm(format!("pitch-diameter {size}")), mm(format!("root-diameter {size}")));
    let (p, mu, head) = (row.input("P"), row.input("mu"), row.input("DKm=(dw+dh)/2"));
    let preload = typed(&format!(
        "assembly-preload yield_strength=640MPa pitch={p}mm pitch_diameter={d2}mm root_diameter={d3}mm thread_friction={mu} utilisation=0.9"
    ));
    if row.id.ends_with(".1") {
        return preload;
    }
    let rest = format!(
        "preload={}kN pitch={p}mm pitch_diameter={d2}mm thread_friction={mu} head_friction={mu} head_diameter={head}mm",
        preload.amount.value()
    );
    let (exact, short) = (typed(&format!("torque-exact {rest}")), typed(&format!("torque-short {rest}")));
    assert!((short.amount.si / exact.amount.si - 1.0).abs() < 0.005, "{}: the short form is far off", row.id);
    exact
}

/// `ADH-…`: bonds.
pub fn bond(row: &Row) -> Got {
    let rest = row.after("ADH-");
    match rest {
        "ISO10123-A" | "piDL" => typed(&format!("bond-area diameter={}mm length={}mm", row.input("D"), row.input("L"))),
        "ISO10123-tau" => typed(&format!("mean-shear force={}N diameter=12.675mm length=11.10mm", row.input("F"))),
        "drop" => typed(&format!("glue-drops volume={}mm3 density=1.05g/cm3 drop=6mg", row.input("V"))),
        "VOLK" => typed(&format!("volkersen-peak half_lag={}", row.input("wL/2"))),
        _ => {
            let case = row.after("ADH-SL-");
            let s = |name: &str| format!("{:e}N", row.number(name));
            let sleeve = format!(
                "radius={}mm length={}mm gap={}mm shear_modulus={}MPa insert_stiffness={} part_stiffness={}",
                row.input("r"),
                row.input("L"),
                row.input("t"),
                row.input("G"),
                s("S1"),
                s("S2")
            );
            // Cases 2 and 5 are held at the opposite face.
            let through = case.starts_with('2') || case.starts_with('5');
            let formula = match (through, case.ends_with(".1")) {
                (false, true) => "sleeve-peak-same-face",
                (false, false) => "sleeve-far-same-face",
                (true, true) => "sleeve-near-through",
                (true, false) => "sleeve-far-through",
            };
            typed(&format!("{formula} {sleeve}"))
        }
    }
}

/// `UV-…`: light.
pub fn light(row: &Row) -> Got {
    let rest = row.after("UV-");
    match rest {
        "atten-1" | "atten-2" => {
            let (e, z, h) = (row.input("E0"), row.input("z"), row.input("h"));
            typed(&format!("dose-through-wall dose={e}mJ/cm2 wall={z}mm penetration={h}um"))
        }
        _ if rest.starts_with("zmax-") => {
            let (h, e, ec) = (row.input("h"), row.input("E0"), row.input("Ec"));
            typed(&format!("light-reach penetration={h}um dose={e}mJ/cm2 critical={ec}mJ/cm2"))
        }
        _ if rest.starts_with("Cd-") => {
            let (h, e, ec) = (row.input("Dp"), row.input("E0"), row.input("Ec"));
            typed(&format!("cure-depth penetration={h}um dose={e}mJ/cm2 critical={ec}mJ/cm2"))
        }
        _ if rest.starts_with("h-") => typed(&format!("penetration-depth path=93um absorbance={}", row.input("A"))),
        other => panic!("{}: {other}", row.id),
    }
}

/// `TH-…`: thermal gap, pressure and hoop stress.
pub fn thermal(row: &Row) -> Got {
    if row.id.starts_with("TH-gap-") {
        let per_metre = |name: &str| row.number(name) * 1e6;
        return typed(&format!(
            "thermal-gap-change diameter={}mm part_expansion={:.3}um/m/K insert_expansion={:.3}um/m/K heating={}K",
            row.input("D"),
            per_metre("ap"),
            per_metre("ab"),
            row.input("dT")
        ));
    }
    // The first E and nu of the row are the polymer's; the insert is brass throughout.
    let fit = format!(
        "interface={}mm outer={}mm bore={}mm part_modulus={}MPa part_poisson={} insert_modulus=100GPa insert_poisson=0.34 part_expansion={:.3}um/m/K insert_expansion=0um/m/K cooling={}K",
        row.input("ri"),
        row.input("ro"),
        row.input("rb"),
        row.input("E"),
        row.input("nu"),
        row.number("da") * 1e6,
        row.input("dT")
    );
    let formula = if row.id.ends_with(".1") { "thermal-fit-pressure" } else { "thermal-hoop" };
    typed(&format!("{formula} {fit}"))
}

/// `WET-…`: surface energies.
pub fn wetting(row: &Row) -> Got {
    let (case, place) = row.after("WET-").rsplit_once('.').expect("case and place");
    let angles = |polymer| match polymer {
        "PMMA" => "water=80deg diiodomethane=41deg",
        "PS" => "water=91deg diiodomethane=35deg",
        "PVC" => "water=87deg diiodomethane=36deg",
        "PTFE" => "water=108deg diiodomethane=77deg",
        "PE" => "water=104deg diiodomethane=53deg",
        other => panic!("{}: {other}", row.id),
    };
    let solid = match case {
        "Wa-PP-epoxy" => "solid_dispersive=30.5mJ/m2 solid_polar=0mJ/m2",
        "Wa-PTFE-epoxy" => "solid_dispersive=18.6mJ/m2 solid_polar=0.5mJ/m2",
        _ => {
            let part = ["dispersive", "polar", "total"][place.parse::<usize>().expect("1 to 3") - 1];
            return typed(&format!("owens-wendt-{part} {}", angles(row.id.split(['-', '.']).nth(2).expect("a polymer"))));
        }
    };
    let formula = if place == "1" { "work-of-adhesion" } else { "contact-angle" };
    typed(&format!("{formula} {solid} liquid_dispersive=41.2mJ/m2 liquid_polar=5mJ/m2"))
}

/// `NOTCH-…`: cracks and notches.
pub fn notch(row: &Row) -> Got {
    let rest = row.after("NOTCH-");
    let toughness = || format!("toughness={}MPa.m^0.5", row.input("KIc"));
    match rest.split('-').next() {
        Some("L") => typed(&format!("critical-distance {} strength={}MPa", toughness(), row.input("s0"))),
        Some("flaw") => typed(&format!("edge-crack-strength {} depth={}mm", toughness(), row.input("a"))),
        Some("EH") => {
            let arguments = format!("{} depth={}mm strength={}MPa", toughness(), row.input("a"), row.input("s0"));
            let kept = share(typed(&format!("short-crack-strength {arguments}")), row.number("s0") * 1e6);
            let direct = typed(&format!("short-crack-share {arguments}"));
            assert!((kept.amount.si / direct.amount.si - 1.0).abs() < 1e-12, "{}", row.id);
            direct
        }
        Some("Kt") => typed(&format!("notch-factor depth={}mm radius={}mm", row.input("a"), row.input("rho"))),
        other => panic!("{}: {other:?}", row.id),
    }
}
