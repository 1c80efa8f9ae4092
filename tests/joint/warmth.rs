//! Warmth and loads that are held: a falling curve up to the softening, nothing from there on, and never a short pull sold as a
//! held load.

use super::{book, mm, need, rules, ways};
use gripbook::book::Book;
use gripbook::joint::held::{self, Class};
use gripbook::joint::judge::{Candidate, judge};
use gripbook::joint::need::{Consequence, Duration, Need};
use gripbook::quantity::Measure;
use gripbook::suit::{Rule, Verdict};
use uom::si::f64::{Force, ThermodynamicTemperature, Time};

fn at<'b>(book: &'b Book, rules: &'b [Rule], material: &str, celsius: f64) -> Need<'b> {
    let mut need = need(book, rules, material, 6.0);
    need.using.hottest = Some(ThermodynamicTemperature::from_si(celsius + 273.15));
    need.draws = 1_000;
    need
}

/// Highest temperature at which a load is given, with 5 % point and median on the way there.
fn climb(material: &str, method: &str, adhesive: Option<&str>) -> Option<f64> {
    let book = book(&[]);
    let rules = rules(&book);
    let mut before: Option<(f64, f64)> = None;
    let mut last = None;
    for step in 0..=194 {
        let celsius = 23.0 + f64::from(step) * 0.5;
        let mut need = at(&book, &rules, material, celsius);
        need.adhesive = adhesive.map(|id| book.record(id).expect("the adhesive"));
        let judgement = judge(&need, &ways(need.book), Some(method));
        let c: &Candidate<'_> = &judgement.candidates[0];
        let Some(load) = c.capacity.as_ref().map(|k| k.load) else {
            assert!(!c.because.is_empty() && c.lower_bound.is_none(), "{material} {method} {celsius}");
            if let (Some(last), true) = (last, c.verdict != Verdict::Unknown) {
                assert_eq!(c.verdict, Verdict::DoesNotSuit, "{material} {method}: {celsius} after {last}");
                assert!(
                    c.because.iter().any(|b| b.contains("soften") || b.contains("serves") || b.contains("°C")),
                    "{:?}",
                    c.because
                );
            }
            continue;
        };
        let lost = last.is_some_and(|l: f64| celsius - l > 0.6);
        assert!(!lost, "{material} {method}: a load again at {celsius} after none since {last:?}");
        if let Some(before) = before {
            let falls = load.low <= before.0 * (1.0 + 1e-9) && load.median <= before.1 * (1.0 + 1e-9);
            assert!(falls, "{material} {method}: {celsius}: {load:?} {before:?}");
            assert!(load.low > 0.85 * before.0 && load.median > 0.9 * before.1, "a step at {celsius}: {load:?} {before:?}");
        }
        before = Some((load.low, load.median));
        last = Some(celsius);
    }
    last
}

/// To the half degree of the steps, and as much for a limit that is met exactly.
fn ends_at(last: Option<f64>, celsius: f64) {
    assert!(last.is_some_and(|last| (last - celsius).abs() <= 0.5), "{last:?} against {celsius}");
}

/// Transition temperatures less the margin of 15 K (practice): PLA 60 °C (10.3389/fchem.2013.00032, Table 2), PETG 75 to 85 °C
/// (recalled), ABS 107 °C (handbook table of the book); PC by its heat deflection at 135 °C. To the half degree of the steps.
#[test]
fn strength_falls_without_a_step_and_ends_a_margin_below_softening() {
    ends_at(climb("pla", "cut-thread", None), 45.0);
    ends_at(climb("petg", "direct-screw", None), 64.8);
    ends_at(climb("abs", "heat-set-insert", None), 92.0);
    ends_at(climb("pc", "cut-thread", None), 120.0);
    ends_at(climb("pla", "through-bolt", None), 45.0);
}

#[test]
fn a_glued_joint_ends_at_the_lower_of_part_and_glue() {
    // Polycarbonate stands far more than either glue: cyanoacrylate serves to 80 °C, epoxy softens at 55 °C less 15 K.
    ends_at(climb("pc", "insert-glued-plain", Some("adhesive/cyanoacrylate-thick")), 80.0);
    ends_at(climb("pc", "insert-glued-stepped", Some("adhesive/epoxy-slow")), 40.0);
    ends_at(climb("pla", "insert-glued-plain", Some("adhesive/cyanoacrylate-thick")), 45.0);
}

#[test]
fn without_a_softening_temperature_nothing_is_said_above_room_temperature() {
    let book = book(&[]);
    let rules = rules(&book);
    let ask = |celsius: f64| {
        let need = at(&book, &rules, "tough", celsius);
        let judgement = judge(&need, &ways(need.book), Some("cut-thread"));
        let c = &judgement.candidates[0];
        let settle = c.missing.iter().filter(|l| l.blocks).map(|l| l.settle.clone()).collect::<Vec<_>>().join(" ");
        (c.verdict, c.capacity.is_some(), settle)
    };
    assert!(ask(23.0).1 && ask(25.0).1);
    let (verdict, load, settle) = ask(40.0);
    assert_eq!((verdict, load), (Verdict::Unknown, false));
    assert!(settle.contains("`tg` or `hdt`"), "{settle}");
}

/// A pack with one resin; the figures are of the test.
fn resin(properties: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("folder");
    std::fs::create_dir_all(folder.path().join("resins")).expect("folder");
    let pack = "id: warm\ntitle: One resin\ndescription: For a test.\nlicence: CC0-1.0\n";
    std::fs::write(folder.path().join("pack.yaml"), pack).expect("file");
    let text = format!(
        "name: Warm resin\nfamily: urethane-acrylate\nproperties:\n{properties}  thermoset:\n    - {{value: true, basis: practice}}\n"
    );
    std::fs::write(folder.path().join("resins/warm.yaml"), text).expect("file");
    folder
}

#[test]
fn strengths_claimed_at_temperatures_are_followed_and_then_left() {
    let strength = |value: u32, celsius: u32| {
        format!("    - {{value: {value} MPa, basis: practice, conditions: {{temperature: {celsius} °C}}}}\n")
    };
    let claims = [(50, 23), (45, 40), (25, 60)].map(|(v, c)| strength(v, c)).concat();
    let folder = resin(&format!("  tensile_strength:\n{claims}"));
    let book = book(&[folder.path().to_str().expect("path")]);
    assert!(book.left_out.is_empty(), "{:?}", book.left_out);
    let rules = rules(&book);
    let median = |celsius: f64| {
        let need = at(&book, &rules, "resin/warm", celsius);
        judge(&need, &ways(need.book), Some("cut-thread")).candidates[0].capacity.as_ref().map(|k| k.load.median)
    };
    let room = median(23.0).expect("a load");
    // Hand: 45/50, (45 + 25)/2/50 and 25/50, each less half of a tenth of the way to the last claim (0.05 x 17/37, 27/37, 1).
    for (celsius, share, way) in [(40.0, 0.9, 17.0 / 37.0), (50.0, 0.7, 27.0 / 37.0), (60.0, 0.5, 1.0)] {
        let got = median(celsius).expect("a load") / room;
        // To 2 %: where toughness limits some draws, those fall by their own share.
        assert!((got / (share * (1.0 - 0.05 * way)) - 1.0).abs() < 0.02, "{celsius}: {got}");
    }
    assert_eq!(median(61.0), None, "beyond the last claim nothing is known");
}

fn held_of(need: &Need<'_>, method: &str) -> (Verdict, Option<held::Held>, String, f64) {
    let judgement = judge(need, &ways(need.book), Some(method));
    let c = &judgement.candidates[0];
    (c.verdict, c.held.clone(), c.because.join(" "), c.capacity.as_ref().map_or(0.0, |k| k.load.low))
}

#[test]
fn a_held_load_is_a_share_of_practice_by_class_and_never_the_short_pull() {
    let book = book(&[]);
    let rules = rules(&book);
    let ask = |text: &str, celsius: f64, method: &str| {
        let mut need = at(&book, &rules, "petg", celsius);
        let lasting = held::lasting(text).expect("a time");
        (need.using.duration, need.using.held) = (lasting.duration, lasting.time);
        held_of(&need, method)
    };
    let mut before = f64::INFINITY;
    for (text, class) in [("1 h", Class::Hour), ("10 h", Class::Day), ("2 weeks", Class::Month), ("a year", Class::Years)] {
        let (verdict, answer, because, short) = ask(text, 23.0, "cut-thread");
        let answer = answer.expect("an answer for the held load");
        let load = answer.load().expect("a share of practice");
        assert_eq!((answer.class, verdict), (class, Verdict::Unknown), "{because}");
        assert!(load < 0.51 * short && load < before && because.contains("practice"), "{text}: {load} of {short}");
        assert!(answer.text("9 N").contains("practice"));
        before = load;
    }
    assert!(ask("short", 23.0, "cut-thread").1.is_none());
    // PETG softens at about 80 °C: at 55 °C a load that stays finds it creeping, while a short pull still has a load.
    let (verdict, answer, because, short) = ask("a year", 55.0, "cut-thread");
    assert!(answer.expect("an answer").load().is_none() && short > 0.0);
    assert_eq!(verdict, Verdict::DoesNotSuit);
    assert!(because.contains("it creeps"), "{because}");
    let (_, pressed, because, _) = ask("a day", 23.0, "press-fit-insert");
    assert!(pressed.is_none_or(|h| h.load().is_none()), "{because}");
}

#[test]
fn a_held_need_is_weighed_against_the_held_load() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = at(&book, &rules, "petg", 23.0);
    let (_, _, _, short) = held_of(&need, "cut-thread");
    need.load = Some(Force::from_si(0.8 * short));
    assert_ne!(held_of(&need, "cut-thread").0, Verdict::DoesNotSuit, "a short pull holds it");
    need.using.duration = Duration::Held;
    let judgement = judge(&need, &ways(need.book), Some("cut-thread"));
    let c = &judgement.candidates[0];
    let p = c.survival.expect("a survival").share;
    let share = c.held.as_ref().expect("an answer").share;
    let loads = &c.capacity.as_ref().expect("loads").loads;
    let counted = loads.iter().filter(|f| **f * share >= 0.8 * short).count() as f64 / loads.len() as f64;
    assert!((p - counted).abs() < 1e-12 && p < 0.95, "{p}");
    need.using.consequence = Consequence::Injury;
    assert!(judge(&need, &ways(need.book), Some("cut-thread")).candidates[0].survival.is_none());
}

#[test]
fn a_creep_rupture_claim_counts_as_long_and_as_warm_as_it_reaches() {
    let folder = resin(
        "  tensile_strength:\n    - {low: 45 MPa, high: 55 MPa, range: typical, basis: practice}\n  creep_rupture_strength:\n    - {low: 15 MPa, high: 18 MPa, range: typical, basis: practice, conditions: {time: 1000 h}}\n",
    );
    let book = book(&[folder.path().to_str().expect("path")]);
    assert!(book.left_out.is_empty(), "{:?}", book.left_out);
    let rules = rules(&book);
    let ask = |hours: f64| {
        let mut need = at(&book, &rules, "resin/warm", 23.0);
        need.boss = Some(mm(12.0));
        (need.using.duration, need.using.held) = (Duration::Held, Some(Time::from_si(hours * 3600.0)));
        held_of(&need, "cut-thread")
    };
    let (verdict, answer, because, short) = ask(1000.0);
    let answer = answer.expect("an answer");
    // Hand: the middle of 15 to 18 MPa over the middle of the lognormal of 45 to 55 MPa: 16.5/49.75 = 0.332.
    assert!((answer.share - 0.332).abs() < 0.01 && answer.basis() == "creep-rupture claims", "{answer:?}");
    assert!((answer.load().expect("a load") / short - answer.share).abs() < 1e-9);
    assert!(matches!(verdict, Verdict::WithCare | Verdict::ModelOnly), "{because}");
    let longer = ask(2000.0).1.expect("an answer");
    assert_eq!(longer.basis(), "practice", "1000 h say nothing of 2000 h");
}
