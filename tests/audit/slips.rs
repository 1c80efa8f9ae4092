//! Slips that were really published (source named in each heading): found for the right reason, neighbours left alone.

use super::{book, expected, got, pack, run, shown};
use gripbook::audit::examples;
use gripbook::plugins::audits::ALL;
use std::collections::BTreeSet;

const SLIPS: &str = include_str!("../data/audits/published/slips.md");

/// Audits of numbers: on a correct neighbour none of them may speak.
const OF_NUMBERS: [&str; 12] = [
    "conversion-slip",
    "far-from-peers",
    "value-implausible",
    "value-impossible",
    "sources-disagree",
    "sd-divisor-n",
    "sd-outside-range-bounds",
    "summary-not-reproduced",
    "range-too-wide",
    "property-class-as-strength",
    "printed-value-differs",
    "mean-outside-range",
];

#[test]
fn published_slips_are_found_for_the_right_reason_and_neighbours_left_alone() {
    let mut wrong = 0;
    let mut faults = Vec::new();
    for example in examples(SLIPS) {
        let folder = pack(&example);
        let report = run(&book(folder.path()), ALL);
        if example.wrong {
            wrong += 1;
            let name = example.title.split(',').next().expect("a name");
            let (want, have) = (expected(folder.path(), &example), got(&report.findings, name));
            if want != have || want.is_empty() {
                let all: Vec<String> = report.findings.iter().map(shown).collect();
                faults.push(format!("{}:\n want {want:?}\n have {have:?}\n {all:?}", example.title));
            }
        } else {
            let spoke: BTreeSet<&str> = report.findings.iter().map(|f| f.rule).filter(|r| OF_NUMBERS.contains(r)).collect();
            if !spoke.is_empty() {
                let all: Vec<String> = report.findings.iter().filter(|f| spoke.contains(f.rule)).map(shown).collect();
                faults.push(format!("{}: {all:?}", example.title));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(wrong >= 10, "{wrong}");
}

/// The explanation of the glass transition of 137 °C is the one a person finds: it is 58 °C in degrees Fahrenheit.
#[test]
fn a_slip_is_explained_with_the_value_it_would_give() {
    let example = examples(SLIPS).into_iter().find(|e| e.title.contains("137")).expect("the slip");
    let folder = pack(&example);
    let report = run(&book(folder.path()), ALL);
    let found = report.findings.iter().find(|f| f.rule == "conversion-slip").expect("the finding");
    assert!(found.message.contains("°F written as °C (then 58.3 °C)"), "{}", found.message);
}
