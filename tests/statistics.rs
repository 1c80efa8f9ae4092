//! Statistics against values from outside: every row of the check table is computed or stands in a short list with its reason.

mod batches;
mod equivariance;
mod published;
mod sets;
mod several;
mod single;
pub mod table;
mod wild;

use gripbook::statistics::distribution::normal_cdf;
use gripbook::statistics::round::{HalfRule, round_numbers_with_uncertainty, round_to_places};
use gripbook::statistics::tolerance::{
    CoverageConfidence, predictive_factor, predictive_factor_sigma_known, tolerance_factor, tolerance_factor_sigma_known,
};
use gripbook::statistics::weibull::{unbiasing_factor, weibull_pivots};
use std::collections::BTreeMap;
use table::{Row, allowed, cells, expected, rows};

/// Rows that are not computed here, by the start of their id, with the reason.
const ELSEWHERE: &[(&str, &str)] = &[
    ("uni-PiDigits-", "raw data not at hand: the digits of pi themselves have mean 4.5358, so the set differs from them"),
    ("uni-Lottery-", "raw data not at hand"),
    ("uni-Lew-", "raw data not at hand"),
    ("prng-", "generator of the plan, not of statistics"),
    ("rcb-", "blocks of the plan, not of statistics"),
    ("curve-", "load-displacement curves, stage series"),
    ("unit-", "units, stage quantity"),
    ("jcgm101-9.2.3-sum", "Monte Carlo, not in this stage"),
    ("jcgm101-9.3-mass", "Monte Carlo, not in this stage"),
    ("jcgm101-9.3-shortest", "Monte Carlo, not in this stage"),
    ("jcgm101-9.5-gauge", "Monte Carlo, not in this stage"),
    ("jcgm101-9.4-", "Monte Carlo, not in this stage"),
];

/// Rows whose expected value does not follow from their own inputs, with what does (hand or library) and the reason.
const DISPUTED: &[(&str, &[f64], &str)] = &[
    (
        "sdci-n5",
        &[0.599133139134, 2.8735556340782],
        "chi-squared 0.025 with 4 degrees of freedom is 0.48441855708793 at 20 digits; the table is off in the sixth decimal",
    ),
    (
        "prop-tau",
        &[7.768276984247, 0.2020234552122],
        "root of the sum of squared relative uncertainties by hand, with the inputs of the row",
    ),
    (
        "acee-strength-10",
        &[14.702 + 1.504, 0.5870945409387, 0.5251133211032],
        "both standard deviations by hand from the five values",
    ),
];

fn reason_elsewhere(id: &str) -> Option<&'static str> {
    ELSEWHERE.iter().find(|(start, _)| id.starts_with(start)).map(|(_, reason)| *reason)
}

/// What the library gives for a row; `None` when no function is known for its id.
fn computed(row: &Row) -> Option<Vec<f64>> {
    match row.id.split('-').next()? {
        "uni" => single::univariate(row),
        "n3a" | "n3b" => single::three(row),
        "sdci" | "c4" | "cvci" | "t975" | "modcv" | "nonpar" | "k" => single::factors(row),
        "cmh18" => single::eighteen(row),
        "wb" => single::weibull(row),
        "grubbs" | "grubbs1" | "grubbs2" | "grubbs3" | "mnr" => single::outliers(row),
        "pow" | "n" => single::planning(row),
        "acee" => single::divisors(row),
        "anova" => several::certified_anova(row),
        "welch" | "n3v3" | "n3" | "perm" | "mwu" => several::two(row),
        "KW" => several::ranks(row),
        "tukey" => several::all_pairs(row),
        "pg" => several::plant_growth(row),
        "srange" => several::range_quantile(row),
        "padj" => several::adjusted(row),
        "hedgesJ" => several::correction(row),
        "comb" => several::sources(row),
        "bcg" => several::trials(row),
        "gumH1" => several::end_gauge(row),
        "gumH2" => several::resistor(row),
        "gumH3" => several::thermometer(row),
        "prop" | "jcgm101" => several::propagation(row),
        _ => None,
    }
}

/// Rounded text for the two kinds of rounding rows.
fn rounded(row: &Row) -> Option<String> {
    if row.id.starts_with("roundeven-") {
        let value = row.inputs.split(' ').next()?;
        let places = if row.inputs.contains("2 dp") { 2 } else { 0 };
        return round_to_places(value, places, HalfRule::ToEven).ok();
    }
    let (value, uncertainty) = row.inputs.split_once(" +/- ")?;
    let pair = round_numbers_with_uncertainty(value.parse().ok()?, uncertainty.parse().ok()?, 2).ok()?;
    Some(format!("{} ({})", pair.value, pair.uncertainty))
}

fn fault(row: &Row) -> Option<String> {
    if row.id.starts_with("round") {
        let own = rounded(row);
        return (own.as_deref() != Some(&row.expected)).then(|| format!("{}: {own:?}, expected {}", row.id, row.expected));
    }
    let Some(own) = computed(row) else {
        return Some(format!("{}: neither computed nor listed", row.id));
    };
    let wanted = expected(row);
    if own.len() != wanted.len() {
        return Some(format!("{}: {own:?} against `{}`", row.id, row.expected));
    }
    own.iter().zip(&wanted).find_map(|(a, b)| {
        let miss = (a - b).abs();
        // NaN must not pass.
        let fits = miss <= allowed(row, *b).max(4.0 * f64::EPSILON * b.abs());
        (!fits).then(|| format!("{}: {a}, expected {b} ± {}", row.id, row.tolerance))
    })
}

/// A disputed row must differ from its table and agree with the value found otherwise.
fn disputed_fault(row: &Row, right: &[f64], reason: &str) -> Option<String> {
    println!("disputed {}: {reason}", row.id);
    if fault(row).is_none() {
        return Some(format!("{}: listed as disputed but reproduced", row.id));
    }
    let own = computed(row)?;
    let agrees = own.len() == right.len() && own.iter().zip(right).all(|(a, b)| (a / b - 1.0).abs() < 1e-11);
    (!agrees).then(|| format!("{}: {own:?} against {right:?}", row.id))
}

#[test]
fn every_check_row_is_reproduced_or_listed() {
    let mut faults = Vec::new();
    let mut elsewhere: BTreeMap<&str, usize> = BTreeMap::new();
    let mut checked = 0;
    for row in rows() {
        if let Some((start, _)) = ELSEWHERE.iter().find(|(start, _)| row.id.starts_with(start)) {
            *elsewhere.entry(start).or_default() += 1;
            continue;
        }
        checked += 1;
        match DISPUTED.iter().find(|(id, _, _)| *id == row.id) {
            Some((_, right, reason)) => faults.extend(disputed_fault(&row, right, reason)),
            None => faults.extend(fault(&row)),
        }
    }
    for (start, count) in &elsewhere {
        println!("{count} rows {start}*: {}", reason_elsewhere(start).unwrap_or(""));
    }
    println!("{checked} rows checked, {} elsewhere", elsewhere.values().sum::<usize>());
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    assert_eq!(elsewhere.len(), ELSEWHERE.len(), "a listed group has no rows any more");
    assert_eq!(checked + elsewhere.values().sum::<usize>(), 538, "rows were added or lost");
}

/// Status words of the table in the words used for tests.
#[test]
fn every_check_row_says_where_its_value_is_from() {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows() {
        let status = row.status.as_str();
        let word = if status.contains("published") || status.starts_with("certified") || status.starts_with("seen") {
            "published"
        } else if status.starts_with("computed") {
            "library"
        } else if status.starts_with("exact") {
            "hand"
        } else if status.starts_with("recalled") {
            "memory"
        } else {
            panic!("{}: status `{status}`", row.id)
        };
        *count.entry(word).or_default() += 1;
    }
    println!("{count:?}");
    assert!(!count.contains_key("self"));
}

/// All nine factors for n = 2 to 30 to 1e-6.
#[test]
fn tolerance_factor_table() {
    let all = cells(include_str!("data/tolerance-factors.csv"));
    let (head, body) = (&all[0], &all[1..]);
    assert_eq!(body.len(), 29);
    for line in body {
        let n: usize = line[0].parse().expect("n is whole");
        for (name, text) in head.iter().zip(line).skip(1) {
            let wanted: f64 = text.parse().expect("a factor is a number");
            let ask = |coverage: f64, confidence: f64| CoverageConfidence { coverage, confidence };
            let own = match name.as_str() {
                "kB_90_95" => tolerance_factor(n, ask(0.90, 0.95)),
                "kA_99_95" => tolerance_factor(n, ask(0.99, 0.95)),
                "k_95_75" => tolerance_factor(n, ask(0.95, 0.75)),
                "k_95_95" => tolerance_factor(n, ask(0.95, 0.95)),
                "k_95_90" => tolerance_factor(n, ask(0.95, 0.90)),
                // One standard deviation: 84.13 % is Φ(1) shortened.
                "k_95_84.13" => tolerance_factor(n, ask(0.95, normal_cdf(1.0))),
                "EN1990_predictive_Vunknown" => predictive_factor(n, 0.95),
                "EN1990_predictive_Vknown" => predictive_factor_sigma_known(n, 0.95),
                "k_95_75_sigma_known" => tolerance_factor_sigma_known(n, ask(0.95, 0.75)),
                other => panic!("column {other} is not known"),
            }
            .expect("n from 2 on");
            assert!((own - wanted).abs() <= 1.0e-6, "{name} n={n}: {own} against {wanted}");
        }
    }
}

/// The table in the source is the published one, cell by cell.
#[test]
fn weibull_bias_table() {
    let all = cells(include_str!("data/weibull-bias.csv"));
    let column = |name: &str| all[0].iter().position(|h| h == name).expect("a column of the table");
    for line in &all[1..] {
        let n: usize = line[0].parse().expect("N is whole");
        let cell = |name: &str| line[column(name)].parse::<f64>().expect("a cell is a number");
        assert_eq!(unbiasing_factor(n), Ok(cell("UF")));
        for (confidence, low, high) in [(0.95, ".025", ".975"), (0.90, ".05", ".95"), (0.80, ".10", ".90")] {
            let pivots = weibull_pivots(n, confidence).expect("a table size");
            let at = |kind: &str, end: &str| cell(&format!("{kind}{end}"));
            assert_eq!((pivots.shape.low, pivots.shape.high), (at("q", low), at("q", high)));
            assert_eq!((pivots.scale.low, pivots.scale.high), (at("t", low), at("t", high)));
        }
    }
}

/// Values printed beside the table: random effects of the vaccine trials (published example), to the printed digits.
#[test]
fn vaccine_trials_as_printed() {
    use gripbook::statistics::combine::{BetweenVariance, common_mean, random_effects};
    let list = several::vaccine();
    let random = random_effects(&list, BetweenVariance::DerSimonianLaird, 0.95).expect("13 trials");
    assert!((random.mean + 0.714117).abs() < 1e-6);
    assert!((random.between_variance - 0.308760).abs() < 1e-6);
    assert!((common_mean(&list).expect("13 trials").q - 152.2330).abs() < 1e-4);
}

/// NumAcc4, the hardest of the NIST univariate sets, and SmLs07 (certified): the digits binary numbers can hold at all.
#[test]
fn large_offsets_cost_no_digits() {
    use gripbook::statistics::{many::anova, summary::summary};
    let s = summary(&sets::univariate("NumAcc4")).expect("1001 values");
    assert!((s.mean / 10_000_000.2 - 1.0).abs() < 1e-13 && (s.sd / 0.1 - 1.0).abs() < 1e-8);
    let groups = sets::groups("SmLs07");
    let views: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
    let table = anova(&views).expect("nine groups");
    assert!((table.f / 21.0 - 1.0).abs() < 1e-4, "{}", table.f);
}
