//! Trade facts against the model. Common practice, no source; three specimens each, so only large ratios mean anything.
//!
//! M3 screws in plates as thick as the insert, about 5.7 mm. The facts check the model, they never tune a constant. Each fact
//! is reproduced from generic class properties, or stands in a short list with its reason; an unlisted failure and a listed
//! success both fail the test.

use crate::book::fixture;
use crate::joint::{book, mm, rules, ways};
use gripbook::book::Book;
use gripbook::joint::judge::judge;
use gripbook::joint::need::{Axis, Need};
use gripbook::mechanics::thread;
use gripbook::quantity::Measure;
use gripbook::suit::{Rule, Verdict};
use uom::si::f64::{Length, RadiantExposure};

/// A joint of the facts: material, method, glue, mean load in kgf.
struct Joint {
    name: &'static str,
    material: &'static str,
    method: &'static str,
    glue: Option<&'static str>,
    insert: Option<&'static str>,
    kgf: f64,
}

const fn bare(name: &'static str, material: &'static str, method: &'static str, kgf: f64) -> Joint {
    Joint { name, material, method, glue: None, insert: None, kgf }
}

const fn glued(name: &'static str, material: &'static str, method: &'static str, glue: &'static str, kgf: f64) -> Joint {
    Joint { name, material, method, glue: Some(glue), insert: Some("insert/glue-in-stepped-m3"), kgf }
}

const DARK: &str = "resin/dark-tough-class";
const CLEAR: &str = "resin/clear-class";

const JOINTS: &[Joint] = &[
    bare("PLA heat-set", "polymer/pla", "heat-set-insert", 205.0),
    bare("PLA tapped", "polymer/pla", "cut-thread", 163.0),
    bare("dark direct", DARK, "direct-screw", 44.0),
    bare("dark tapped", DARK, "cut-thread", 55.0),
    bare("dark printed", DARK, "printed-thread", 106.0),
    glued("dark own resin", DARK, "insert-own-resin", "adhesive/own-resin", 6.0),
    glued("dark cyanoacrylate", DARK, "insert-glued-plain", "adhesive/cyanoacrylate-thick", 52.0),
    glued("dark cyanoacrylate stepped", DARK, "insert-glued-stepped", "adhesive/cyanoacrylate-thick", 56.0),
    glued("dark epoxy stepped", DARK, "insert-glued-stepped", "adhesive/epoxy-slow", 59.0),
    bare("clear direct", CLEAR, "direct-screw", 98.0),
    bare("clear tapped", CLEAR, "cut-thread", 104.0),
    bare("clear printed", CLEAR, "printed-thread", 121.0),
    glued("clear cyanoacrylate", CLEAR, "insert-glued-plain", "adhesive/cyanoacrylate-thick", 56.0),
    glued("clear cyanoacrylate stepped", CLEAR, "insert-glued-stepped", "adhesive/cyanoacrylate-thick", 82.0),
    glued("clear epoxy stepped", CLEAR, "insert-glued-stepped", "adhesive/epoxy-slow", 100.0),
];

/// Facts that generic class properties do not reproduce, each with the reason.
const NOT_REPRODUCED: &[(&str, &str)] = &[
    (
        "dark printed at least 1.4 tapped",
        "by shear area alone cut is above printed (38.4 against 35.4 mm²). Root flaws turn that round, but not so far: at 1.13 MPa·√m \
         and 48 MPa a tap flaw of 0.12 mm leaves 0.73 of the strength and a printed root of 0.02 mm leaves 0.93, so 1.27 x 0.92 = 1.17 \
         at most, and the break-out of a cone caps the printed thread. 1.4 needs tap flaws of 0.3 mm in the middle of the class, which \
         is the end of the band. Hypotheses: deeper tap cracks than assumed, or an under-cured core that the tap opens; attributed to \
         neither",
    ),
    ("dark cyanoacrylate lies in its band", KEYED),
    ("clear cyanoacrylate lies in its band", KEYED),
    ("clear cyanoacrylate stepped lies in its band", KEYED),
    (
        "clear printed lies in its band",
        "at the very end of the band (1187 N against a 95 % point of 1186 N): the recalled cone formula caps every thread in the clear \
         resin at some 770 N in the middle, below all three facts; no published cone in a printed photopolymer was found",
    ),
    ("dark direct overlaps dark own resin", FAR),
    ("dark tapped overlaps dark own resin", FAR),
    ("dark printed overlaps dark own resin", FAR),
    ("dark own resin overlaps dark epoxy stepped", FAR),
];

/// Known doubt, not fitted.
const KEYED: &str = "the bond strength of the book is that of smooth or unprepared lap joints; a knurled insert keys the glue, \
    which then fails by shear of the glue or the part and not at the face, and no measured glued insert says by how much";

/// The facts themselves lie seven- to seventeen-fold apart.
const FAR: &str = "behind a dark wall the resin stays liquid in most draws: the model sets it as far below as the facts do";

/// 5 %, 50 % and 95 % point of a predicted load, N.
struct Predicted {
    low: f64,
    median: f64,
    high: f64,
    first_mode: &'static str,
    verdict: Verdict,
    because: String,
}

fn predict(joint: &Joint, book: &Book, rules: &[Rule]) -> Predicted {
    let material = book.record(joint.material).expect("material");
    let mut need = Need::new(book, rules, material, thread::parse("M3").expect("M3"), mm(5.7));
    need.boss = Some(mm(20.0));
    need.using.axis = Axis::AlongBuild;
    need.insert = joint.insert.map(|id| book.record(id).expect("insert"));
    need.adhesive = joint.glue.map(|id| book.record(id).expect("glue"));
    // A usual post-cure, for the part's own resin.
    need.dose = Some(RadiantExposure::from_si(6000.0 * 10.0));
    need.wavelength = Some(Length::from_si(405e-9));
    let judgement = judge(&need, &ways(need.book), Some(joint.method));
    let candidate = judgement.candidates.first().expect("candidate");
    let capacity = candidate.capacity.as_ref().unwrap_or_else(|| panic!("{}: no load: {:?}", joint.name, candidate.because));
    let load = capacity.load;
    Predicted {
        low: load.low,
        median: load.median,
        high: load.high,
        first_mode: capacity.modes[0].0.word(),
        verdict: candidate.verdict,
        because: candidate.because.join("; "),
    }
}

#[test]
fn trade_facts_are_reproduced_or_listed_with_a_reason() {
    let folder = fixture("class-resins");
    let book = book(&[folder.to_str().expect("path")]);
    let rules = rules(&book);
    let predicted: Vec<Predicted> = JOINTS.iter().map(|j| predict(j, &book, &rules)).collect();
    let of = |name: &str| &predicted[JOINTS.iter().position(|j| j.name == name).expect("a joint of that name")];
    for (joint, p) in JOINTS.iter().zip(&predicted) {
        println!(
            "{:28} fact {:6.0} N   model {:6.0} ({:.0} to {:.0}) N, {}",
            joint.name,
            joint.kgf * 9.80665,
            p.median,
            p.low,
            p.high,
            p.first_mode
        );
    }
    let ratio = |a: &str, b: &str| of(a).median / of(b).median;
    let mut facts: Vec<(String, bool)> = vec![
        ("PLA heat-set at least tapped".into(), ratio("PLA heat-set", "PLA tapped") >= 1.0),
        ("dark printed at least 1.4 tapped".into(), ratio("dark printed", "dark tapped") >= 1.4),
        ("clear stepped at least 1.2 plain".into(), ratio("clear cyanoacrylate stepped", "clear cyanoacrylate") >= 1.2),
        ("dark own resin at most 0.3 adhesive".into(), ratio("dark own resin", "dark cyanoacrylate") <= 0.3),
        (
            "dark own resin is said not to suit, in plain words".into(),
            of("dark own resin").verdict == Verdict::DoesNotSuit && of("dark own resin").because.contains("stays liquid"),
        ),
    ];
    for (weaker, stronger) in [("direct", "tapped"), ("direct", "printed"), ("tapped", "printed")] {
        for resin in ["dark", "clear"] {
            let holds = ratio(&format!("{resin} {weaker}"), &format!("{resin} {stronger}")) <= 1.0;
            facts.push((format!("{resin} {weaker} at most {stronger}"), holds));
        }
    }
    for (joint, p) in JOINTS.iter().zip(&predicted) {
        let newtons = joint.kgf * 9.80665;
        facts.push((format!("{} lies in its band", joint.name), p.low <= newtons && newtons <= p.high));
    }
    let ordered = [
        ("PLA heat-set", "PLA tapped"),
        ("dark tapped", "dark printed"),
        ("clear cyanoacrylate", "clear cyanoacrylate stepped"),
        ("dark own resin", "dark cyanoacrylate"),
    ];
    for (i, a) in JOINTS.iter().enumerate() {
        for (k, b) in JOINTS.iter().enumerate().skip(i + 1).filter(|(_, b)| b.material == a.material) {
            let special = ordered.iter().any(|(x, y)| (*x == a.name && *y == b.name) || (*x == b.name && *y == a.name));
            if !special {
                let overlap = predicted[i].low <= predicted[k].high && predicted[k].low <= predicted[i].high;
                facts.push((format!("{} overlaps {}", a.name, b.name), overlap));
            }
        }
    }
    let mut wrong = Vec::new();
    for (fact, holds) in &facts {
        let listed = NOT_REPRODUCED.iter().find(|(name, _)| name == fact);
        match (holds, listed) {
            (true, Some(_)) => wrong.push(format!("{fact}: listed as not reproduced, but it is")),
            (false, None) => wrong.push(format!("{fact}: not reproduced and not listed")),
            (false, Some((_, reason))) => println!("not reproduced: {fact}: {reason}"),
            (true, None) => {}
        }
    }
    for (name, reason) in NOT_REPRODUCED {
        assert!(facts.iter().any(|(f, _)| f == name), "no fact is called {name}");
        assert!(reason.len() > 20, "{name} needs a reason");
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
