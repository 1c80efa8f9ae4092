//! What is known of the material beside its measured joints: bars that scatter, or no strength at all.

use super::posterior::{Bench, NEAR_1000, PRINTED, asked, band_in};
use super::{mm, rules, ways};
use gripbook::joint::judge::judge;
use gripbook::suit::Verdict;
use uom::si::f64::Force;

/// The resin of the bench with another strength: `claim` in the place of its range.
fn bench(claim: &str) -> Bench {
    let bench = Bench::new();
    bench.write(
        "resins/bench.yaml",
        &format!(
            "name: Resin bench\nfamily: urethane-acrylate\nproperties:\n{claim}  thermoset:\n    - {{value: true, basis: practice}}\n  hdt:\n    - {{value: 90 °C, basis: practice, conditions: {{stress: 0.45 MPa}}}}\n"
        ),
    );
    bench
}

const SIX: [(f64, &str); 6] = [(970.0, "A"), (980.0, "A"), (995.0, "A"), (1005.0, "A"), (1020.0, "A"), (1030.0, "A")];

#[test]
fn bars_that_scatter_widely_do_not_blur_a_joint_that_was_measured() {
    let width = |claim: &str, loads: &[(f64, &str)]| {
        let bench = bench(claim);
        bench.series("own", PRINTED, "hoop-burst", loads);
        let (low, median, high) = band_in(&bench);
        assert!((950.0..1050.0).contains(&median), "{median}");
        (high / low).ln()
    };
    let even = "  tensile_strength:\n    - {value: 26 MPa, sd: 1 MPa, sd_kind: n-1, n: 5, basis: measured, source: bench, locator: page 2}\n";
    // As wide as five bars across the layers of a printed polymer were: 6.7 to 26 MPa.
    let wide = "  tensile_strength:\n    - {samples: [45 MPa, 20 MPa, 33 MPa, 60 MPa, 16 MPa], basis: measured, source: bench, locator: page 2}\n";
    for loads in [&NEAR_1000[..], &SIX] {
        let (even, wide) = (width(even, loads), width(wide, loads));
        println!("{} specimens: {even:.3} with even bars, {wide:.3} with uneven ones", loads.len());
        assert!(wide >= even * 0.99 && wide < even * 1.35, "{even} {wide}");
    }
}

#[test]
fn a_measured_joint_is_answered_where_nobody_claims_a_strength() {
    let judged = |bench: &Bench, length: f64, load: Option<f64>| {
        let book = bench.book();
        let rules = rules(&book);
        let mut need = asked(&book, &rules, length);
        need.hole_size = Some(mm(2.55));
        need.load = load.map(Force::new::<uom::si::force::newton>);
        let judgement = judge(&need, &ways(need.book), Some("printed-thread"));
        let best = &judgement.candidates[0];
        let band = best.capacity.as_ref().map(|c| (c.load.low, c.load.median, c.load.high));
        (best.verdict, band, best.missing.iter().map(|m| m.what.clone()).collect::<Vec<_>>(), best.evidence.specimens)
    };
    let bare = bench("");
    let (verdict, load, missing, _) = judged(&bare, 6.0, None);
    assert!(
        verdict == Verdict::Unknown && load.is_none() && missing.iter().any(|m| m.contains("tensile strength")),
        "{missing:?}"
    );
    // Nothing of the part is guessed at, whatever is asked of it: the screw alone is known.
    assert_eq!(judged(&bare, 6.0, Some(300.0)).0, Verdict::Unknown);
    bare.series("own", PRINTED, "hoop-burst", &SIX);
    let (verdict, load, missing, specimens) = judged(&bare, 6.0, Some(500.0));
    let (low, median, high) = load.expect("a load");
    println!("six of a material without a strength: {low:.0} {median:.0} {high:.0}, {verdict:?}");
    // Hand: mean 1000, sd 23.2, t(5; 0.975) = 2.571: 1000 ± 24.4 N.
    assert!((975.6..1024.4).contains(&median) && specimens == 6, "{median} {specimens}");
    assert!(high / low < 2.2 && !missing.iter().any(|m| m.contains("tensile strength")), "{low} {high} {missing:?}");
    assert!(verdict <= Verdict::WithCare, "{verdict:?}");
    // Another size of it is known less.
    let (_, load, ..) = judged(&bare, 9.0, None);
    let (less, _, more) = load.expect("a load");
    assert!(more / less > 1.2 * high / low, "{less} {more}");
}

/// Six press-in inserts that held 1,250 N and more, in a hole whose model says that the boss splits before anything pulls.
#[test]
fn joints_that_held_speak_against_a_model_in_which_they_split_unloaded() {
    let at = |hole: f64| {
        let bench = Bench::new();
        let loads = [1250.0, 1275.0, 1300.0, 1260.0, 1285.0, 1310.0];
        let specimens: String = loads
            .iter()
            .enumerate()
            .map(|(i, load)| {
                format!("      - {{label: a{i}, value: {load} N, mode: knurl-shear, job: 2026-05-0{}}}\n", 1 + i / 3)
            })
            .collect();
        bench.write(
            "series/pressed.yaml",
            &format!(
                "name: Pressed in\nsource: bench\nlocator: page 1\nbasis: measured\njoint: {{test: pull-out, method: press-fit-insert, material: polymer/pla, made_by: printed-filament, thread: M3, length: 5.7 mm, hole: {hole} mm, boss: 9 mm, insert: insert/press-in-m3, axis: along-build}}\ntest: {{direction: out, speed: 5 mm/min, temperature: 23 °C}}\nmeasurements:\n  - quantity: pull_out_load\n    specimens:\n{specimens}"
            ),
        );
        let book = bench.book();
        let rules = rules(&book);
        let ask = |boss: f64| {
            let mut need = super::need(&book, &rules, "pla", 5.7);
            (need.hole_size, need.boss, need.draws) = (None, Some(mm(boss)), 8_000);
            need.insert = book.record("insert/press-in-m3");
            let judgement = judge(&need, &ways(need.book), Some("press-fit-insert"));
            let best = &judgement.candidates[0];
            let load = best.capacity.as_ref().expect("a load").load;
            (load.low, load.median, load.high, best.verdict)
        };
        // A percent from the measured joint nothing jumps to zero either.
        (ask(9.0), ask(9.09))
    };
    // Hand: mean 1280, sd of the means of two jobs 7.1; the interval of a mean of two is wide, a twentieth is asked for.
    for hole in [4.5, 4.4, 4.3, 4.2] {
        let (here, near) = at(hole);
        println!("{hole} mm: {here:?}, a percent from it {near:?}");
        assert!((here.1 / 1280.0 - 1.0).abs() < 0.05 && here.0 > 640.0, "{hole}: {here:?}");
        assert!(near.1 > 0.8 * here.1, "{hole}: {near:?}");
    }
}

#[test]
fn one_specimen_elsewhere_vouches_for_nothing_and_another_family_never() {
    let word = |loads: &[(f64, &str)], asked_of: &str| {
        let bench = Bench::new();
        bench.resin("kin", "urethane-acrylate");
        bench.resin("far", "acrylate");
        bench.series_of("bench", "own", &format!("boss: 9 mm, axis: along-build, {PRINTED}"), "part-thread-shear", loads);
        let book = bench.book();
        let rules = rules(&book);
        let mut need = super::need(&book, &rules, asked_of, 6.0);
        need.draws = 4_000;
        let judgement = judge(&need, &ways(need.book), Some("printed-thread"));
        judgement.candidates[0].evidence.calibrated.len()
    };
    assert_eq!(word(&SIX[..1], "resin/kin"), 0, "one specimen");
    assert_eq!(word(&SIX, "resin/kin"), 1, "six of the family");
    assert_eq!(word(&SIX, "resin/far"), 0, "six of another family");
}
