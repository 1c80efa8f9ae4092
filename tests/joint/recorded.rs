//! Ways of joining that records describe: the demo's from end to end, loads by hand, missing values, faults that check names.

use super::posterior::Bench;
use super::{book, mm, need, rules, ways};
use crate::check::{rules_of, texts};
use gripbook::book::Book;
use gripbook::book::kinds::built_in_schemas;
use gripbook::joint::Mode;
use gripbook::joint::judge::{Candidate, Judgement, judge};
use gripbook::joint::need::Need;
use gripbook::joint::recorded::Vocabulary;
use gripbook::mechanics::{pin, thread};
use gripbook::quantity::Measure;
use gripbook::suit::{Rule, Verdict};
use serde_json::Value as Json;
use uom::si::f64::{Length, Pressure};

const DOWEL: &str = include_str!("../../records/demo/methods/logger-cross-dowel.yaml");

/// A dowel across the boss, as a pack of one's own would describe it: the demo's, with another origin of its numbers.
fn own(text: &str) -> String {
    let text = text.replace("basis: invented, source: river-logger-2026-05, locator: drawing 11", "basis: practice");
    let text = text.replace("basis: invented, source: river-logger-2026-05, locator: sheet 9", "basis: practice");
    let text = text.replace("basis: invented\nsource: river-logger-2026-05\nlocator: drawing 11\n", "basis: practice\n");
    let text = text.replace("metal/logger-brass", "metal/brass");
    let text = text.replace("{claim: shear_strength, of: metal/brass}", "{value: 240 MPa, basis: practice}");
    assert!(!text.contains("invented,") && !text.contains("logger-brass"), "{text}");
    text
}

/// A part of which every strength is known, and a method of the pack.
fn bench(method: &str) -> Bench {
    let bench = Bench::new();
    bench.write(
        "resins/known.yaml",
        "name: Known resin\nfamily: urethane-acrylate\nproperties:\n  tensile_strength:\n    - {value: 40 MPa, basis: practice}\n  yield_strength:\n    - {value: 50 MPa, basis: practice}\n  shear_strength:\n    - {value: 30 MPa, basis: practice}\n  thermoset:\n    - {value: true, basis: practice}\n",
    );
    bench.write("methods/cross-dowel.yaml", &own(method));
    bench
}

fn asked<'b>(book: &'b Book, rules: &'b [Rule], length: f64) -> Need<'b> {
    let mut need = need(book, rules, "resin/known", length);
    need.thread = thread::parse("M4").expect("M4");
    need.boss = Some(mm(21.0));
    need
}

fn first<'j, 'n>(judgement: &'j Judgement<'n>) -> &'j Candidate<'n> {
    judgement.candidates.first().expect("a candidate")
}

fn median(candidate: &Candidate<'_>, mode: Mode) -> f64 {
    let capacity = candidate.capacity.as_ref().unwrap_or_else(|| panic!("no load: {:?}", candidate.because));
    capacity.states.iter().find(|s| s.mode == mode).unwrap_or_else(|| panic!("no {mode:?}")).load().median
}

#[test]
fn the_dowel_of_the_demo_answers_from_end_to_end() {
    let book = book(&["demo"]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "polymer/logger-petg", 6.0);
    need.thread = thread::parse("M4").expect("M4");
    need.boss = None;
    let judgement = judge(&need, &ways(&book), Some("logger-cross-dowel"));
    let dowel = first(&judgement);
    assert!(judgement.invented && dowel.capacity.is_some(), "{:?}", dowel.because);
    assert_eq!(dowel.method.record, Some("method/logger-cross-dowel"));
    let modes: Vec<Mode> = dowel.capacity.as_ref().expect("a load").states.iter().map(|s| s.mode).collect();
    let own = [Mode::HeadBearing, Mode::BreakOut, Mode::PlateSplit, Mode::MetalThreadShear, Mode::ScrewBreak];
    assert_eq!(modes, own);
    // Hand: 1.3 times a dowel of 16 mm, to the next half millimetre above 20.8 mm.
    assert_eq!(dowel.geometry.as_ref().map(|g| g.boss), Some(mm(21.0)));
    assert_eq!((dowel.life.low, dowel.life.high, dowel.life.origin), (60.0, 200.0, "method/logger-cross-dowel"));
    assert!(dowel.hazards.iter().any(|h| h.contains("sharp edges")));
    let model = &dowel.model.as_ref().expect("a model").model;
    assert!(model.claims.iter().any(|c| c.claim.starts_with("metal/logger-brass:shear_strength")), "{:?}", model.claims);
    // It stands among the others when none is named, and never beside a real material.
    let all = judge(&need, &ways(&book), None);
    assert!(all.candidates.iter().any(|c| c.method.name == "logger-cross-dowel"));
    let pla = super::need(&book, &rules, "pla", 6.0);
    assert!(judge(&pla, &ways(&book), None).candidates.iter().all(|c| c.method.name != "logger-cross-dowel"));
    let named = judge(&pla, &ways(&book), Some("logger-cross-dowel"));
    assert_eq!(first(&named).verdict, Verdict::DoesNotSuit);
    assert!(first(&named).because[0].contains("invented"), "{:?}", first(&named).because);
}

/// Hand, with M4, length 6 mm, boss 21 mm: dowel 2.2 x 4 = 8.8 mm, its hole 8.95 mm, its length 4 x 4 = 16 mm, of which
/// 16 - 4 = 12 mm bear. Bearing 50 x 8.8 x 12 = 5280 N, tear-out 2 x 30 x 6 x 12 = 4320 N, net section
/// 40 x (21 - 8.95) x 12 = 5784 N. Every spread is lognormal with its median at the claim, and no series is of this method,
/// so that the medians of the states are these loads but for chance (4,000 draws: about 1 % of a spread of 50 %).
#[test]
fn the_medians_of_its_states_are_the_loads_by_hand() {
    let bench = bench(DOWEL);
    let book = bench.book();
    let rules = rules(&book);
    let mut need = asked(&book, &rules, 6.0);
    need.draws = 20_000;
    let judgement = judge(&need, &ways(&book), Some("cross-dowel"));
    for (mode, hand) in [(Mode::HeadBearing, 5280.0), (Mode::BreakOut, 4320.0), (Mode::PlateSplit, 5784.0)] {
        let got = median(first(&judgement), mode);
        assert!((got / hand - 1.0).abs() < 0.03, "{mode:?}: {got} instead of {hand}");
    }
    // No joint of this method was measured: what series say of other methods' formulas does not make it a measured one.
    assert!(first(&judgement).evidence.model_only());
    assert_ne!(first(&judgement).verdict, Verdict::Suits);
}

/// Memory: the bolted splice of Shigley, Mechanical Engineering Design, chapter on screws and fasteners, two bars of 1 in x 4 in
/// (Sy 54 kpsi), two bolts of 3/4 in in the section, edge 1 1/8 in, factor 1.5: bearing of the bars 54 kip, tear-out at both
/// bolts 93.5 kip, net section 90 kip; to the digits recalled.
#[test]
fn the_formulas_of_pins_give_the_loads_of_a_textbook_joint() {
    let inch = |x: f64| Length::from_si(x * 0.0254);
    let kpsi = |x: f64| Pressure::from_si(x * 6.894_757e6);
    let kip = |newtons: f64| newtons / 4448.222 / 1.5;
    let bearing = pin::pin_bearing_load(kpsi(54.0), inch(0.75), inch(1.0)).si() * 2.0;
    let tear_out = pin::tear_out_load(kpsi(0.577 * 54.0), inch(1.125), inch(1.0)).si() * 2.0;
    let net = pin::net_section_load(kpsi(54.0), inch(4.0), inch(1.5), inch(1.0)).si();
    for (got, printed) in [(bearing, 54.0), (tear_out, 93.5), (net, 90.0)] {
        assert!((kip(got) / printed - 1.0).abs() < 1e-3, "{} instead of {printed}", kip(got));
    }
}

#[test]
fn longer_is_never_weaker_and_a_thicker_boss_neither() {
    let bench = bench(DOWEL);
    let book = bench.book();
    let rules = rules(&book);
    let ways = ways(&book);
    let low = |length: f64, boss: f64| {
        let mut need = asked(&book, &rules, length);
        need.boss = Some(mm(boss));
        need.draws = 1_000;
        let judgement = judge(&need, &ways, Some("cross-dowel"));
        first(&judgement).capacity.as_ref().expect("a load").loads.clone()
    };
    let never_below = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| *b >= a * (1.0 - 1e-9));
    let mut before = low(2.0, 21.0);
    for length in [2.5, 3.0, 4.0, 6.0, 10.0, 18.0] {
        let now = low(length, 21.0);
        assert!(never_below(&before, &now), "{length} mm");
        before = now;
    }
    let mut before = low(6.0, 16.5);
    for boss in [17.0, 18.0, 21.0, 30.0] {
        let now = low(6.0, boss);
        assert!(never_below(&before, &now), "boss of {boss} mm");
        before = now;
    }
}

#[test]
fn a_missing_claim_is_named_with_what_settles_it() {
    let bench = bench(&DOWEL.replace("{claim: yield_strength, of: part}", "{claim: compressive_strength, of: part}"));
    let book = bench.book();
    let rules = rules(&book);
    let need = asked(&book, &rules, 6.0);
    let judgement = judge(&need, &ways(&book), Some("cross-dowel"));
    let dowel = first(&judgement);
    assert_eq!(dowel.verdict, Verdict::Unknown);
    assert!(dowel.capacity.is_none());
    let lack = dowel.missing.iter().find(|l| l.blocks).expect("what is missing");
    assert_eq!(lack.what, "compressive strength of resin/known");
    assert_eq!(lack.settle, "a claim of `compressive_strength` in resin/known");
}

/// A boss that the dowel's hole takes whole has no value, and is told so; a hole that does not pass the screw is impossible.
#[test]
fn sizes_that_contradict_one_another_are_told() {
    let bench = bench(&DOWEL.replace("of: dowel, plus: 0.15 mm", "of: dowel, plus: 15 mm"));
    let book = bench.book();
    let rules = rules(&book);
    let mut need = asked(&book, &rules, 6.0);
    let ways = ways(&book);
    let judgement = judge(&need, &ways, Some("cross-dowel"));
    assert!(first(&judgement).missing.iter().any(|l| l.what.contains("net-section-load")), "{:?}", first(&judgement).missing);
    need.hole_size = Some(mm(3.9));
    let judgement = judge(&need, &ways, Some("cross-dowel"));
    let why = first(&judgement).impossible.as_ref().expect("impossible");
    assert!(why.message.contains("does not pass"), "{why:?}");
}

/// Series of the method move its answer; they move no other method's, nor do others' series move it.
#[test]
fn series_of_the_method_calibrate_it_alone() {
    let loads = [(2000.0, "A"), (2060.0, "A"), (1950.0, "B"), (2030.0, "B")];
    let told = |pulled: Option<&str>, asks: &str| {
        let bench = bench(DOWEL);
        if let Some(method) = pulled {
            let joint = format!("method: {method}, boss: 21 mm, axis: along-build, length: 6 mm, hole: 4.5 mm");
            bench.series_of("known", "pulled", &joint, "break-out", &loads);
        }
        let book = bench.book();
        let rules = rules(&book);
        let mut need = asked(&book, &rules, 6.0);
        need.thread = thread::parse("M3").expect("M3");
        need.hole_size = Some(mm(4.5));
        let judgement = judge(&need, &ways(&book), Some(asks));
        let states = &first(&judgement).capacity.as_ref().expect("a load").states;
        states.iter().map(|s| (s.mode, s.load().median)).collect::<Vec<_>>()
    };
    let of = |states: &[(Mode, f64)], mode: Mode| states.iter().find(|(m, _)| *m == mode).expect("the state").1;
    let plain = told(None, "cross-dowel");
    assert_eq!(told(Some("through-bolt"), "cross-dowel"), plain, "another method's break-out says nothing here");
    let measured = told(Some("cross-dowel"), "cross-dowel");
    assert!((of(&measured, Mode::BreakOut) / 2010.0 - 1.0).abs() < 0.1, "{measured:?} from {plain:?}");
    assert_eq!(told(Some("cross-dowel"), "through-bolt"), told(None, "through-bolt"), "nor the other way round");
}

/// The record of the demo with one thing wrong: the finding, where it stands (the words it points at), and what it advises.
#[test]
fn each_fault_of_a_record_is_named_with_its_place_and_advice() {
    let cases = [
        ("formula: pin-bearing-load", "formula: pin-baring-load", "formula-unknown", "pin-baring-load", "`pin-bearing-load`"),
        ("edge: {geometry: length}", "egde: {geometry: length}", "input-unknown", "egde", "`edge`"),
        ("formula: tear-out-load", "formula: bond-area", "result-unfit", "bond-area", "gives a load"),
        ("diameter: {geometry: dowel}", "diameter: {geometry: dovel}", "length-unknown", "dovel", "`dowel`"),
        (
            "of: thread_diameter, times: 4",
            "of: thread_diametre, times: 4",
            "length-unknown",
            "thread_diametre",
            "`thread_diameter`",
        ),
        ("strength: {claim: yield_strength, of: part}", "strength: {geometry: dowel}", "input-unfit", "dowel", "yield strength"),
        (
            "strength: {claim: yield_strength, of: part}",
            "strength: {assumption: metal_shear}",
            "input-unfit",
            "metal_shear",
            "another",
        ),
        (
            "{claim: yield_strength, of: part}",
            "{claim: yield_strenght, of: part}",
            "claim-unknown",
            "yield_strenght",
            "`yield_strength`",
        ),
        ("dilation: {value: \"0.8\",", "dilation: {value: 0.8 mm,", "input-unfit", "0.8 mm", "units: %, 1"),
        (
            "strength: {claim: yield_strength, of: part}",
            "strength: {claim: amorphous, of: part}",
            "input-unfit",
            "amorphous",
            "number",
        ),
        (
            "strength: {claim: yield_strength, of: part}",
            "strength: {assumption: metal_sheer}",
            "word-unknown",
            "metal_sheer",
            "metal_shear",
        ),
        ("hazards: [edges, fragments]", "hazards: [edges, fragmants]", "word-unknown", "fragmants", "fragments"),
        ("mode: plate-split", "mode: plate-splits", "word-unknown", "plate-splits", "plate-split"),
        ("  - group: tightening", "  - group: tightning", "word-unknown", "tightning", "tightening"),
        (
            "diameter: {of: clearance_hole}",
            "diameter: {of: insert_diameter}",
            "takes-missing",
            "insert_diameter",
            "takes: {insert",
        ),
        ("  - group: tightening", "  - group: clamped-nut", "group-unfit", "clamped-nut", "clearance or pocket"),
        ("{name: dowel_hole,", "{name: pitch,", "length-twice", "pitch", "another name"),
        ("of: metal/logger-brass", "of: metal/logger-bras", "reference-unknown", "metal/logger-bras", "correct the id"),
    ];
    let texts_of: Vec<String> = cases.iter().map(|(right, wrong, ..)| own_but(right, wrong)).collect();
    for (((_, wrong, rule, place, advice), found), text) in cases.iter().zip(texts("methods", &texts_of)).zip(&texts_of) {
        let one = found.iter().find(|f| f.rule == *rule).unwrap_or_else(|| panic!("{wrong}: {:?}", rules_of(&found)));
        let span = one.place.span.expect("a place");
        let line = text.lines().nth(span.line as usize - 1).expect("a line");
        let from: String = line.chars().skip(span.column as usize - 1).collect();
        assert!(from.trim_start_matches('"').starts_with(place), "{wrong}: {from}");
        assert!(one.help.as_deref().unwrap_or_default().contains(advice), "{wrong}: {:?}", one.help);
    }
}

/// The demo's record as another pack would have it (the demo's own records are not there), with one change.
fn own_but(right: &str, wrong: &str) -> String {
    assert!(DOWEL.contains(right), "{right}");
    let text = DOWEL.replacen(right, wrong, 1);
    let text = text.replace(", source: river-logger-2026-05, locator: drawing 11", "");
    let text = text.replace(", source: river-logger-2026-05, locator: sheet 9", "");
    text.replace("source: river-logger-2026-05\nlocator: drawing 11\n", "")
}

/// The lists of the schema are those of the program.
#[test]
fn words_of_the_schema_are_those_of_the_program() {
    let (_, text) = built_in_schemas().iter().find(|(name, _)| *name == "method.schema.json").expect("the schema");
    let schema: Json = serde_json::from_str(text).expect("JSON");
    let words = |pointer: &str| -> Vec<String> {
        let list = schema.pointer(pointer).and_then(Json::as_array).unwrap_or_else(|| panic!("{pointer}"));
        list.iter().map(|w| w.as_str().expect("a word").to_owned()).collect()
    };
    let known = Vocabulary::of();
    let state = "/$defs/state/properties";
    assert_eq!(words(&format!("{state}/group/enum")), known.groups);
    assert_eq!(words(&format!("{state}/mode/enum")), Mode::ALL.map(Mode::word));
    assert_eq!(words("/properties/hazards/items/enum"), known.hazards);
    assert_eq!(words("/properties/needs/items/enum"), known.needs);
    assert_eq!(words("/properties/hole/properties/steps/items/properties/purpose/enum"), known.purposes);
    let measures = schema["$defs"]["assumption"]["measures"].as_object().expect("a map");
    let mut listed: Vec<&str> =
        measures.values().flat_map(|names| names.as_array().expect("names")).filter_map(Json::as_str).collect();
    for (quantity, names) in measures {
        for name in names.as_array().expect("names").iter().filter_map(Json::as_str) {
            let row = gripbook::joint::assumption::row(name).unwrap_or_else(|| panic!("no assumption {name}"));
            assert_eq!(row.quantity.word(), quantity, "{name}");
        }
    }
    listed.sort_unstable();
    assert_eq!(words("/$defs/assumption/enum"), listed);
    for name in words("/properties/life/properties/assumption/enum") {
        assert!(gripbook::joint::assumption::row(&name).is_some(), "{name}");
    }
}
