//! What no joint may promise: more than the plastic beside it holds, an insert in a hole it does not enter, a load above a limit.

use super::{book, mm, need, rules, ways};
use gripbook::joint::Mode;
use gripbook::joint::heat::limit;
use gripbook::joint::judge::judge;
use gripbook::joint::need::{Need, ROOM};
use gripbook::quantity::Measure;
use gripbook::suit::Verdict;

/// The rubber of the book has 0.39 to 0.55 MPa in tension; a plastic in shear holds no more than in tension, so a sleeve in it
/// holds at most pi D L times that, whatever the glue is.
#[test]
fn no_glue_holds_more_than_the_plastic_beside_it() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "elastomer", 6.0);
    need.boss = None;
    let judgement = judge(&need, &ways(&book), None);
    let mut seen = 0;
    for candidate in judgement.candidates.iter().filter(|c| c.adhesive.is_some()) {
        let Some((capacity, geometry)) = candidate.capacity.as_ref().zip(candidate.geometry.as_ref()) else { continue };
        let insert = geometry.insert.as_ref().expect("an insert is glued");
        let most = std::f64::consts::PI * insert.largest().si() * insert.length.si() * 0.55e6;
        for state in capacity.states.iter().filter(|s| matches!(s.mode, Mode::GlueToPart | Mode::GrooveShear)) {
            assert!(state.load().median <= most, "{}: {} N of at most {most} N", candidate.title(), state.load().median);
            seen += 1;
        }
    }
    assert!(seen >= 3, "{seen} states");
}

fn heat_set<'b>(need: &'b Need<'b>) -> gripbook::joint::judge::Judgement<'b> {
    judge(need, &ways(need.book), Some("heat-set-insert"))
}

#[test]
fn an_insert_that_does_not_enter_its_hole_has_no_load() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "pla", 6.0);
    need.hole_size = Some(mm(1.0));
    for method in ["heat-set-insert", "press-fit-insert"] {
        let judgement = judge(&need, &ways(&book), Some(method));
        let candidate = &judgement.candidates[0];
        assert_eq!(candidate.verdict, Verdict::DoesNotSuit);
        assert!(candidate.capacity.is_none() && candidate.because[0].contains("does not enter"), "{:?}", candidate.because);
    }
}

/// Hand: the teeth that stand in the plastic are those of the ring between hole and knurl.
#[test]
fn a_knurl_that_is_set_with_heat_holds_by_the_ring_it_displaces() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "pla", 6.0);
    need.boss = Some(mm(12.0));
    let shear = |need: &Need<'_>| {
        let judgement = heat_set(need);
        let candidate = &judgement.candidates[0];
        let geometry = candidate.geometry.as_ref().expect("a shape");
        let insert = geometry.insert.as_ref().expect("an insert");
        let knurl = insert.steps.iter().find(|s| s.form == "knurl").expect("a knurl").diameter.si();
        let state = candidate.capacity.as_ref().expect("a load").states.iter().find(|s| s.mode == Mode::KnurlShear);
        (state.expect("the knurl shears").load().median, knurl, geometry.hole[0].finished.nominal.si())
    };
    let (whole, knurl, roots) = shear(&need);
    need.hole_size = Some(mm((knurl + roots) * 500.0));
    let (part, _, hole) = shear(&need);
    let ring = (knurl * knurl - hole * hole) / (knurl * knurl - roots * roots);
    assert!((part / whole / ring - 1.0).abs() < 1e-6, "{part} of {whole} N, ring {ring}");
}

#[test]
fn no_limit_lies_below_the_temperature_at_which_strengths_are_measured() {
    let book = book(&[]);
    let rules = rules(&book);
    let need = need(&book, &rules, "pla", 6.0);
    let mut seen = 0;
    for record in book.of_role("material").chain(book.of_role("adhesive")) {
        if let Some(limit) = limit(&need, record) {
            assert!(limit.kelvin >= ROOM, "{}: {} K", record.id, limit.kelvin);
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen} records have a limit");
}

#[test]
fn a_hole_that_breaks_out_of_its_part_has_no_load() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "pla", 6.0);
    need.boss = None;
    need.edge = Some(mm(2.0));
    let judgement = heat_set(&need);
    let candidate = &judgement.candidates[0];
    assert_eq!(candidate.verdict, Verdict::DoesNotSuit);
    assert!(candidate.capacity.is_none() && candidate.because[0].contains("breaks out"), "{:?}", candidate.because);
    need.edge = Some(mm(8.0));
    assert!(heat_set(&need).candidates[0].capacity.is_some());
}

/// Metal is not biased by tests of plastics; a screw of plastic is no metal, and nothing measured speaks for it.
#[test]
fn a_screw_of_plastic_is_not_taken_for_measured() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "pla", 12.0);
    let word = |need: &Need<'_>| {
        let judgement = judge(need, &ways(&book), Some("cut-thread"));
        let candidate = &judgement.candidates[0];
        let first = candidate.capacity.as_ref().expect("a load").modes[0].0;
        (first, candidate.evidence.governed)
    };
    need.screw = book.in_use("screw/nylon");
    assert_eq!(word(&need), (Mode::ScrewBreak, false));
}

/// What nobody reads is not kept, and the answer is the same.
#[test]
fn an_answer_without_its_limit_states_is_the_same_answer() {
    let book = book(&[]);
    let rules = rules(&book);
    let mut need = need(&book, &rules, "tough", 6.0);
    need.boss = None;
    let whole = judge(&need, &ways(&book), None);
    let less = Need { limit_states: false, ..need.clone() };
    let brief = judge(&less, &ways(&book), None);
    let told = |judgement: &gripbook::joint::judge::Judgement<'_>| -> Vec<String> {
        let one = |c: &gripbook::joint::judge::Candidate<'_>| {
            let load = c.capacity.as_ref().map(|k| (k.load, k.modes.clone(), k.torque, k.loads.clone()));
            format!("{} {:?} {:?} {:?} {load:?}", c.title(), c.verdict, c.because, c.lower_bound)
        };
        judgement.candidates.iter().map(one).collect()
    };
    assert_eq!(told(&whole), told(&brief));
    let states = |judgement: &gripbook::joint::judge::Judgement<'_>| -> Vec<f64> {
        let with_load = judgement.candidates.iter().filter_map(|c| c.capacity.as_ref());
        with_load.flat_map(|k| k.states.iter().map(|s| s.load().median)).collect()
    };
    assert!(states(&whole).iter().all(|median| !median.is_nan()) && states(&brief).iter().all(|median| median.is_nan()));
    assert!(!states(&whole).is_empty());
}
