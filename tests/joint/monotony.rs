//! Monotony over random cases: what must never help never helps, draw by draw, because rival cases share their draws.

use super::{book, mm, need, never_above, rules};
use gripbook::book::Book;
use gripbook::joint::Mode;
use gripbook::joint::judge::judge;
use gripbook::joint::need::Need;
use gripbook::mechanics::{stripping, thread};
use gripbook::plugins::methods;
use gripbook::quantity::Measure;
use gripbook::suit::Rule;
use proptest::prelude::*;
use std::sync::LazyLock;

static BOOK: LazyLock<(Book, Vec<Rule>)> = LazyLock::new(|| {
    let book = book(&[]);
    let rules = rules(&book);
    (book, rules)
});

const THREADS: [&str; 6] = ["M2", "M3", "M4", "M6", "#4-40", "1/4-20"];
const MATERIALS: [&str; 6] = ["pla", "petg", "pc", "pa12", "tough", "pmma"];
const IN_PLASTIC: [&str; 3] = ["direct-screw", "cut-thread", "printed-thread"];

/// A need of a random case: lengths in screw diameters.
fn case(material: usize, thread_name: usize, length: f64, boss: f64) -> Need<'static> {
    let (book, rules) = &*BOOK;
    let thread = thread::parse(THREADS[thread_name]).expect("a thread of the table");
    let mut need = need(book, rules, MATERIALS[material], 1.0);
    need.thread = thread;
    need.length = thread.major() * length;
    need.boss = Some(thread.major() * boss);
    need.draws = 300;
    need
}

/// Loads of every draw; `None` where the case cannot be made.
fn loads(need: &Need<'_>, method: &str) -> Option<Vec<f64>> {
    let judgement = judge(need, methods::ALL, Some(method));
    Some(judgement.candidates.first()?.capacity.as_ref()?.loads.clone())
}

fn state(need: &Need<'_>, method: &str, mode: Mode) -> Option<f64> {
    let judgement = judge(need, methods::ALL, Some(method));
    let capacity = judgement.candidates.first()?.capacity.as_ref()?;
    capacity.states.iter().find(|s| s.mode == mode).map(|s| s.load.median)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn more_length_is_never_weaker(m in 0..6usize, t in 0..6usize, k in 0..3usize, length in 0.8..2.2f64, more in 0.05..1.5f64, boss in 2.0..6.0f64) {
        let (short, long) = (loads(&case(m, t, length, boss), IN_PLASTIC[k]), loads(&case(m, t, length + more, boss), IN_PLASTIC[k]));
        if let (Some(short), Some(long)) = (short, long) {
            never_above(&short, &long, "length");
        }
    }

    #[test]
    fn a_larger_hole_is_never_stronger(m in 0..6usize, t in 0..6usize, length in 0.8..2.5f64, hole in 0.80..0.96f64, wider in 0.002..0.03f64) {
        let at = |share: f64| {
            let mut need = case(m, t, length, 4.0);
            need.hole_size = Some(need.thread.major() * share);
            loads(&need, "direct-screw")
        };
        if let (Some(narrow), Some(wide)) = (at(hole), at(hole + wider)) {
            never_above(&wide, &narrow, "hole");
        }
    }

    #[test]
    fn a_larger_boss_never_bursts_earlier(m in 0..6usize, t in 0..6usize, k in 0..3usize, length in 0.8..2.5f64, boss in 1.5..5.0f64, more in 0.1..3.0f64) {
        let at = |boss: f64| state(&case(m, t, length, boss), IN_PLASTIC[k], Mode::HoopBurst);
        if let (Some(thin), Some(thick)) = (at(boss), at(boss + more)) {
            prop_assert!(thin <= thick * (1.0 + 1e-9), "{thin} {thick}");
        }
    }

    #[test]
    fn more_gap_is_never_stronger_for_thin_glue(m in 0..6usize, gap in 0.005..0.19f64, wider in 0.001..0.08f64) {
        let at = |gap: f64| {
            let mut need = case(m, 1, 1.9, 4.0);
            need.adhesive = Some(BOOK.0.record("adhesive/cyanoacrylate-thin").expect("thin"));
            need.gap = Some(mm(gap));
            loads(&need, "insert-glued-plain")
        };
        if let (Some(narrow), Some(wide)) = (at(gap), at((gap + wider).min(0.199))) {
            never_above(&wide, &narrow, "gap");
        }
    }

    #[test]
    fn the_offset_takes_area_by_its_exact_derivative(pitch in 0.2..2.0f64, times in 3.0..12.0f64, length in 0.5..20.0f64, c in 0.0..0.1f64) {
        // Hand: ASn = (pi/P) Le d [P/2 + (d - D2 - 2c)/sqrt 3], so dASn/dc = -2 pi d Le/(P sqrt 3), whatever c is.
        let d = pitch * times;
        let area = |c: f64| stripping::printed_shear_area(mm(pitch), mm(length), mm(d), mm(c)).si() * 1e6;
        let step = 0.01 * pitch;
        let slope = (area(c * pitch + step) - area(c * pitch)) / step;
        let exact = -2.0 * std::f64::consts::PI * d * length / (pitch * 3f64.sqrt());
        prop_assert!((slope / exact - 1.0).abs() < 1e-9, "{slope} against {exact}");
    }
}

#[test]
fn the_random_cases_have_loads() {
    for (place, material) in MATERIALS.iter().enumerate() {
        for method in IN_PLASTIC {
            assert!(loads(&case(place, 1, 1.5, 4.0), method).is_some(), "{material}: {method}");
        }
    }
}
