//! Rules of threads and inserts: each fires on a case and not on its neighbour, and `fasten` heeds them.

use super::{book, mm, rules, ways};
use crate::book::fixture;
use gripbook::book::Book;
use gripbook::joint::judge::{Judgement, judge};
use gripbook::joint::method::{Method, cases};
use gripbook::joint::need::{Axis, Duration, Need};
use gripbook::joint::rules::asked;
use gripbook::mechanics::thread;
use gripbook::quantity::Measure;
use gripbook::suit::{JOINT_FACTS, Rule, RuleOutcome, RuleStrength, STEPS, ServiceConditions, Side, Verdict};
use std::collections::BTreeSet;
use uom::si::f64::ThermodynamicTemperature;

fn with_cases() -> Book {
    book(&[fixture("rule-cases").to_str().expect("a path of this repository")])
}

fn need<'b>(book: &'b Book, rules: &'b [Rule], material: &str, thread: &str, length: f64) -> Need<'b> {
    let material = book.resolve(material, &["material"]).expect("a material");
    let mut need = Need::new(book, rules, material, thread::parse(thread).expect("a thread"), mm(length));
    need.draws = 500;
    need
}

fn set<'b>(need: &mut Need<'b>, book: &'b Book, option: &str) {
    let (name, value) = option.split_once('=').unwrap_or((option, ""));
    let number = || value.parse::<f64>().unwrap_or_else(|_| panic!("{option}: a number"));
    let celsius = || Some(ThermodynamicTemperature::from_si(number() + 273.15));
    let record = |kind: &str| Some(book.record(&format!("{kind}/{value}")).unwrap_or_else(|| panic!("{option}")));
    match name {
        "hole" => need.hole_size = Some(mm(number())),
        "boss" => need.boss = Some(mm(number())),
        "edge" => need.edge = Some(mm(number())),
        "depth" => need.depth = Some(mm(number())),
        "blind" => need.through = false,
        "process" => need.process = record("process"),
        "screw" => need.screw = record("screw"),
        "insert" => need.insert = record("insert"),
        "hottest" => need.using.hottest = celsius(),
        "coldest" => need.using.coldest = celsius(),
        "cycles" => need.using.cycles = Some(number() as u32),
        "infill" => need.using.infill = Some(number()),
        "perimeters" => need.using.perimeters = Some(number() as u32),
        "step" => need.steps.extend(STEPS.iter().filter(|s| **s == value)),
        "axis" => need.using.axis = if value == "across" { Axis::AcrossBuild } else { Axis::AlongBuild },
        "place" => {
            let all = [
                ServiceConditions::Dry,
                ServiceConditions::Damp,
                ServiceConditions::Wet,
                ServiceConditions::Immersed,
                ServiceConditions::Sun,
            ];
            need.using.place = all.into_iter().find(|p| p.word() == value);
        }
        "load" => {
            let all = [Duration::Short, Duration::Held, Duration::Repeated, Duration::Shock];
            need.using.duration = all.into_iter().find(|d| d.word() == value).expect("a duration");
        }
        other => panic!("no option `{other}`"),
    }
}

fn method<'b>(book: &'b Book, name: &str) -> &'b dyn Method {
    ways(book).into_iter().find(|m| m.card().name == name).unwrap_or_else(|| panic!("no method {name}"))
}

/// Limits of the rules are theirs; the cases lie just on either side, worked out by hand from the shapes (an M3 insert of
/// 4.6 mm in a hole of 4.0 mm, a tap drill of 2.5 mm).
#[test]
fn every_rule_fires_on_its_case_and_not_on_the_neighbour() {
    let book = with_cases();
    let rules = rules(&book);
    let table = include_str!("../data/rule-cases.csv");
    let mut seen: BTreeSet<(&str, &str)> = BTreeSet::new();
    let mut wrong = Vec::new();
    for line in table.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let [rule, fires, material, thread, length, name, options] = fields[..] else { panic!("{line}") };
        let mut need = need(&book, &rules, material, thread, length.parse().expect("a length"));
        need.insert = match (thread, name) {
            _ if options.contains("insert=") => None,
            ("M3", "heat-set-insert") => book.record("insert/heat-set-m3"),
            ("M3", "press-fit-insert") => book.record("insert/press-in-m3"),
            _ => None,
        };
        options.split_whitespace().for_each(|o| set(&mut need, &book, o));
        let method = method(&book, name);
        let case = cases(method, &need)[0];
        let geometry = method.geometry(&case).ok();
        let spoken = asked(&case, name, geometry.as_ref());
        let said = spoken.iter().find(|s| s.id.name() == rule);
        let fired = said.is_some_and(|s| matches!(s.outcome, RuleOutcome::Stands | RuleOutcome::Assumed));
        if fired != (fires == "yes") {
            wrong.push(format!("{line}: {:?}", said.map(|s| (s.outcome, &s.missing))));
        }
        seen.insert((rule, fires));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    for rule in rules.iter().filter(|r| r.of_method) {
        for fires in ["yes", "no"] {
            assert!(seen.contains(&(rule.id.name(), fires)), "{}: no case where it fires: {fires}", rule.id);
        }
    }
    assert!(seen.len() >= 2 * 40, "{} cases", seen.len());
}

/// What `fasten` can give at all, it gives: every fact of the list comes out of some fully described need.
#[test]
fn every_fact_of_the_list_is_given_to_some_rule() {
    let book = with_cases();
    let rules = rules(&book);
    let asks = |rule: &Rule, name: &str| format!("{:?}", rule.when).contains(&format!("\"{name}\""));
    for fact in JOINT_FACTS.iter().filter(|f| f.side == Side::Method) {
        let asked_for = rules.iter().any(|r| r.of_method && asks(r, fact.name));
        assert!(asked_for, "no rule looks at `{}`", fact.name);
    }
    for rule in rules.iter().filter(|r| r.of_method) {
        for fact in JOINT_FACTS.iter().filter(|f| f.side == Side::Pair) {
            assert!(!asks(rule, fact.name), "{} asks for `{}`, which only a question about a glue gives", rule.id, fact.name);
        }
        assert!(!rule.holds_unless_stated, "{}: what is not known yet of a shape is no use that was left unsaid", rule.id);
    }
}

fn only<'n>(need: &'n Need<'n>, method: &str) -> Judgement<'n> {
    judge(need, &ways(need.book), Some(method))
}

#[test]
fn gates_of_methods_shut_them_and_name_their_rule() {
    let book = with_cases();
    let rules = rules(&book);
    for (material, name, rule, neighbour) in [
        ("tough", "heat-set-insert", "thermoset-takes-no-heat-set-insert", "pla"),
        ("epoxy-cast", "heat-set-insert", "thermoset-takes-no-heat-set-insert", "pla"),
        ("pmma", "press-fit-insert", "brittle-part-takes-no-press-in-insert", "abs"),
        ("pla", "insert-own-resin", "own-resin-needs-a-resin-part", "tough"),
    ] {
        let need_here = need(&book, &rules, material, "M3", 6.0);
        let shut = only(&need_here, name);
        let shut = &shut.candidates[0];
        assert_eq!(shut.verdict, Verdict::DoesNotSuit, "{material} {name}: {:?}", shut.because);
        assert!(shut.because.iter().any(|b| b.contains(rule)), "{:?}", shut.because);
        assert!(shut.capacity.is_none(), "a joint that cannot be made has no load");
        let need_there = need(&book, &rules, neighbour, "M3", 6.0);
        let open = only(&need_there, name);
        let open = &open.candidates[0];
        assert!(open.because.iter().all(|b| !b.contains(rule)), "{:?}", open.because);
        assert!(open.geometry.is_some(), "{neighbour} {name}: {:?}", open.because);
    }
}

#[test]
fn warnings_become_cares_cautions_become_cautions_and_workmanship_becomes_steps() {
    let book = with_cases();
    let rules = rules(&book);
    let mut thin = need(&book, &rules, "pla", "M3", 6.0);
    thin.boss = Some(mm(5.5));
    let judgement = only(&thin, "direct-screw");
    let candidate = &judgement.candidates[0];
    assert!(candidate.because.iter().any(|b| b.contains("slender-boss-splits")), "{:?}", candidate.because);
    assert_eq!(candidate.verdict, Verdict::ModelOnly, "a warning makes nothing kinder that nobody measured");
    assert!(candidate.cautions.iter().any(|c| c.contains("screws-strip-at-assembly")), "{:?}", candidate.cautions);
    let steps = &candidate.model.as_ref().expect("a model").model.steps;
    assert!(steps.iter().any(|s| s.starts_with("Counterbore the mouth")), "{steps:?}");
    let roomy = need(&book, &rules, "pla", "M3", 6.0);
    let judgement = only(&roomy, "direct-screw");
    assert!(judgement.candidates[0].because.iter().all(|b| !b.contains("slender-boss")));
    let used = candidate.rules.iter().find(|r| r.id.name() == "slender-boss-splits").expect("listed");
    assert_eq!(used.strength, RuleStrength::Warning);
    assert!(used.used.iter().any(|u| u.what == "boss ratio of the joint" && u.value.starts_with("1.83")), "{:?}", used.used);
}

/// Rules that look at the shape are silent, not wrong, before it is known.
#[test]
fn without_a_shape_only_rules_that_need_none_speak() {
    let book = with_cases();
    let rules = rules(&book);
    let need = need(&book, &rules, "pla", "M3", 6.0);
    let method = method(&book, "direct-screw");
    let spoken = asked(&cases(method, &need)[0], "direct-screw", None);
    let outcome = |name: &str| spoken.iter().find(|s| s.id.name() == name).map(|s| s.outcome);
    assert_eq!(outcome("slender-boss-splits"), Some(RuleOutcome::NotAsked));
    assert_eq!(outcome("through-bolt-needs-a-through-hole"), Some(RuleOutcome::Passed));
}
