//! Mechanics against values from outside: every row of the check table is computed, or stands in a short list with its reason.

mod commands;
mod loads;
mod table;
mod threads;

use gripbook::mechanics::book::formulas;
use gripbook::mechanics::formula::Status;
use std::collections::BTreeMap;
use table::{Got, Row, rows};

/// Rows that are no check of a formula, by the start of their id, with the reason.
const RECORDS: &[(&str, &str)] = &[
    ("UV-ILS-", "published spread between laboratories"),
    ("UV-Bennett", "published spread between resins"),
    ("UV-filler", "published effect of fillers"),
    ("ADH-ISO10123-gap", "clearance of a standard specimen"),
    ("ANISO-", "published strengths of printed parts"),
    ("INS-", "published pull-out loads"),
    ("LAP-", "published ranges of adhesive classes"),
    ("LAPAM-", "published loads of printed laps"),
    ("CA-", "published strengths, one conversion each"),
    ("GAP-", "published gap limits"),
    ("ADHESIVE-ANOVA", "published share of variance"),
    ("TG-", "glass transitions of materials"),
    ("CTE-", "thermal expansions of materials"),
    ("SE-", "surface energies of materials"),
    ("WET-rule", "rule of thumb, a rule record"),
    ("STAT-", "stage statistics"),
];

/// Printed digits where the table gives no tolerance although the row is a formula's.
const PRINTED_DIGITS: &[(&str, &str)] = &[("LAME-BH-22.4", "0.00005")];

fn record(row: &Row) -> Option<&'static str> {
    RECORDS.iter().find(|(start, _)| row.id.starts_with(start)).map(|(_, why)| *why)
}

fn computed(row: &Row) -> Option<Got> {
    Some(match row.id.split('-').next()? {
        "ISO" => threads::iso(row),
        "ISO898" => threads::iso898(row),
        "ISO965" => threads::limits(row, "ISO965-"),
        "UN2A" => threads::limits(row, "UN2A-"),
        "UN2B" => threads::limits(row, "UN2B-"),
        "UN" => threads::unified(row),
        "STRIP" => threads::strip(row),
        "CLR" => threads::clearance(row),
        "TAP" => threads::tap(row),
        "ALEX" => loads::alexander(row),
        "RAD" => loads::radial(row),
        "LAME" => loads::lame(row),
        "TRQ" => loads::torque(row),
        "ADH" => loads::bond(row),
        "UV" => loads::light(row),
        "TH" => loads::thermal(row),
        "WET" => loads::wetting(row),
        "NOTCH" => loads::notch(row),
        _ => return None,
    })
}

#[test]
fn every_row_of_the_check_table_is_computed_or_listed() {
    let mut wrong = Vec::new();
    let mut counted = (0, 0);
    for row in rows() {
        if record(&row).is_some() {
            counted.1 += 1;
            continue;
        }
        let Some(got) = computed(&row) else {
            wrong.push(format!("{}: neither computed nor listed", row.id));
            continue;
        };
        let printed = PRINTED_DIGITS.iter().find(|(id, _)| *id == row.id).map(|(_, digits)| *digits);
        let (expected, allowed) = row.wanted(got.amount.unit.quantity, printed.unwrap_or(&row.tolerance));
        counted.0 += 1;
        if (got.amount.si - expected).abs() > allowed * (1.0 + 1e-9) {
            wrong.push(format!("{}: {} instead of {} {}", row.id, got.amount.text(8), row.expected, row.unit));
        }
    }
    assert!(wrong.is_empty(), "{} rows:\n{}", wrong.len(), wrong.join("\n"));
    assert_eq!(counted, (390, 83), "rows computed, rows of records");
}

#[test]
fn the_lists_of_exceptions_name_only_rows_that_exist_and_need_it() {
    let all = rows();
    for (start, why) in RECORDS {
        assert!(all.iter().any(|r| r.id.starts_with(start)), "{start} ({why}) matches no row");
    }
    for row in &all {
        let listed = record(row).is_some() || PRINTED_DIGITS.iter().any(|(id, _)| *id == row.id);
        assert!(row.tolerance != "none" || listed, "{} has no tolerance", row.id);
    }
}

/// Which kinds of evidence every formula has: its worked example and the rows of the table that call it.
fn evidence() -> BTreeMap<&'static str, Vec<Status>> {
    let mut found: BTreeMap<&'static str, Vec<Status>> = formulas().iter().map(|f| (f.name, vec![f.example.status])).collect();
    for row in rows().iter().filter(|r| record(r).is_none()) {
        if let Some(name) = computed(row).and_then(|got| got.formula) {
            found.entry(name).or_default().push(row.evidence());
        }
    }
    found
}

fn only_our_own_output(found: &[Status]) -> bool {
    found.iter().all(|s| *s == Status::Own)
}

#[test]
fn a_formula_that_rests_only_on_our_own_output_is_refused() {
    assert!(only_our_own_output(&[Status::Own, Status::Own]) && !only_our_own_output(&[Status::Own, Status::Hand]));
    for (name, found) in evidence() {
        assert!(!only_our_own_output(&found), "{name} is checked against our own output only");
    }
}

/// Loads of joint design that combine several formulas; by hand from their printed inputs.
#[test]
fn crest_crushing_and_strip_torque_as_worked_by_hand() {
    let near = |line: &str, expected: f64| {
        let got = table::typed(line).amount.si;
        assert!((got / expected - 1.0).abs() < 0.005, "{line}: {got} instead of {expected}");
    };
    for (hole, load) in [(2.5, 1660.0), (2.6, 1290.0), (2.7, 915.0), (2.8, 521.0)] {
        near(&format!("crest-crushing-load bearing_strength=80MPa major=2.927mm hole={hole}mm engaged=5.7mm pitch=0.5mm"), load);
    }
    for (mu, k) in [("0.1", 0.15269), ("0.2", 0.27957), ("0.3", 0.40719)] {
        let line = "strip-torque stripping_load=400N pitch=0.5mm pitch_diameter=2.675241mm";
        near(&format!("{line} thread_friction={mu} head_friction={mu} head_diameter=4.45mm"), k * 400.0 * 0.003);
    }
}
