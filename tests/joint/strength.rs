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
