//! `series`, `compare` and `plan` from outside. Numbers are those of published tables and of independent libraries, named
//! beside each check.

mod conditions;
mod pages;
mod sheets;

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

/// Runs the program in a folder.
pub fn gripbook(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    command.current_dir(folder).args(arguments).env("GRIPBOOK_CACHE", "").env_remove("COLUMNS");
    command.stdin(std::process::Stdio::null()).output().expect("the program starts")
}

/// Its JSON answer.
pub fn answer(folder: &Path, arguments: &[&str]) -> Value {
    let all = [arguments, &["--format", "json"]].concat();
    let out = gripbook(folder, &all);
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{arguments:?}: {e}: {}", String::from_utf8_lossy(&out.stderr)))
}

fn here() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn near(value: &Value, want: f64, within: f64) {
    let got = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((got - want).abs() <= within, "{got} instead of {want}");
}

fn bound<'v>(answer: &'v Value, name: &str) -> &'v Value {
    let list = answer["bounds"].as_array().expect("bounds");
    list.iter().find(|b| b["name"] == name).unwrap_or_else(|| panic!("no bound {name}"))
}

/// k(3) for 5 % at 75 %: 3.152 (EN 14358 and ISO 16269-6 tables as reprinted), predictive 3.372 (EN 1990, 3.37): published.
/// Mean by hand.
#[test]
fn three_loads() {
    let folder = here();
    let a = answer(folder.path(), &["series", "--loads", "812 N, 857 N, 790 N"]);
    near(&a["mean"]["value"], 2459.0 / 3.0, 1e-9);
    near(&bound(&a, "five-at-75")["k"], 3.152, 6e-4);
    near(&bound(&a, "predictive-5")["k"], 3.372, 6e-4);
    // exp(mean - k s) of the logarithms, by hand with k = 3.15196.
    let logs = [812.0_f64, 857.0, 790.0].map(f64::ln);
    let mean = logs.iter().sum::<f64>() / 3.0;
    let sd = (logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / 2.0).sqrt();
    near(&bound(&a, "five-at-75")["value"]["value"], (mean - 3.15196 * sd).exp(), 0.01);
    assert_eq!(a["n"], 3);
    assert!(a["refused"].as_array().is_some_and(|r| r.iter().any(|x| x["what"] == "Weibull fit" && x["needed"] == 5)));
}

/// The same loads typed in three ways give the same answer; a number without a unit, a mass, and nothing are refused with exit 2.
#[test]
fn ways_of_typing_loads() {
    let folder = here();
    let ways: [&[&str]; 3] = [
        &["series", "--loads", "812 N, 857 N, 790 N"],
        &["series", "--loads", "812,857,790", "--unit", "N"],
        &["series", "--loads", "812 N; 857 N; 790 N"],
    ];
    let means = ways.map(|w| answer(folder.path(), w)["mean"]["si"].clone());
    assert!(means.windows(2).all(|m| m[0] == m[1]));
    for bad in ["812", "812 kg", "", "46,5 N", "-5 N"] {
        let out = gripbook(folder.path(), &["series", &format!("--loads={bad}")]);
        assert_eq!(out.status.code(), Some(2), "{bad}");
        assert!(out.stdout.is_empty() && !out.stderr.is_empty());
    }
    // What is offered is what was typed.
    let mass = gripbook(folder.path(), &["series", "--loads", "812 kg"]);
    assert!(String::from_utf8_lossy(&mass.stderr).contains("`812 kgf`"), "{}", String::from_utf8_lossy(&mass.stderr));
}

/// A word that sources bear too means the series where a series is wanted.
#[test]
fn a_word_for_a_series_means_no_source() {
    let folder = here();
    for command in [&["series", "bohl 2019"][..], &["compare", "pla", "petg"]] {
        let out = gripbook(folder.path(), command);
        let said = String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr);
        assert!(!said.contains("source/"), "{command:?}: {said}");
    }
}

/// Pooled k for n = 3: f = 10 gives 2.214, predictive 2.093 (computed from the noncentral t by an independent library).
#[test]
fn demo_series_pool_their_spread() {
    let folder = here();
    let a = answer(folder.path(), &["series", "logger-grey-cut-m3", "--pack", "demo"]);
    assert_eq!(a["series"]["invented"], true);
    let pooled = &a["pooled_spread"];
    assert!(pooled["degrees_of_freedom"].as_f64().is_some_and(|f| f >= 5.0));
    assert!(pooled["bartlett_p"].as_f64().is_some_and(|p| p >= 0.05));
    // Two print jobs: the pooled spread is one within them, so it bounds nothing over both.
    assert!(a["bounds"].as_array().unwrap().iter().all(|b| b["name"] != "five-at-75-pooled"));
    let refused = a["refused"].as_array().unwrap().iter().filter_map(|r| r["why"].as_str());
    assert!(refused.clone().any(|why| why.contains("these specimens come from several")), "{:?}", refused.collect::<Vec<_>>());
}

/// Specimens that held are counted and never averaged; those of the demo stopped at the 1800 N of the rig.
#[test]
fn held_specimens_stay_out_of_the_mean() {
    let folder = here();
    let a = answer(folder.path(), &["series", "logger-grey-cut-m4-deep", "--pack", "demo"]);
    assert_eq!((a["n"].clone(), a["held"].clone()), (2.into(), 2.into()));
    near(&a["mean"]["value"], (1716.5 + 1762.0) / 2.0, 1e-9);
    let held: Vec<&Value> = a["curves"].as_array().unwrap().iter().filter(|c| c["pull"]["held"] == true).collect();
    assert_eq!(held.len(), 2);
}

/// Curves of the demo: peaks are the loads on record, stiffness of the joint is what the curves were made from
/// (tools/demo_curves.py: 3600 N/mm within 6 % for this series, before the rig).
#[test]
fn demo_curves_give_back_what_they_were_made_from() {
    let folder = here();
    let a = answer(folder.path(), &["series", "logger-grey-direct-m3", "--pack", "demo"]);
    let curves = a["curves"].as_array().unwrap();
    assert_eq!(curves.len(), 6);
    for (curve, specimen) in curves.iter().zip(a["values"].as_array().unwrap()) {
        assert_eq!(curve["pull"]["peak"]["value"], specimen["value"]["value"]);
        near(&curve["pull"]["stiffness"]["value"]["value"], 3600.0, 0.08 * 3600.0);
        assert_eq!(curve["pull"]["stiffness"]["of"], "joint");
    }
}

/// Every published and demo series is shown; without single results no statistics are made up.
#[test]
fn published_series_say_what_the_source_says() {
    let folder = here();
    let a = answer(folder.path(), &["series", "bohl-2019-pla-infill-30"]);
    assert_eq!((a["mean"]["written"].as_str(), a["sd_kind"].as_str()), (Some("2803 N"), Some("unknown")));
    assert!(a["bounds"].as_array().unwrap().is_empty() && a["ci"].as_object().unwrap().is_empty());
    let out = gripbook(folder.path(), &["series", "bohl-2019-pla-infill-30"]);
    let text = String::from_utf8_lossy(&out.stdout);
    assert!(text.contains("no interval, bound or test") && text.contains("divisor not stated"));
    let miss = gripbook(folder.path(), &["series", "no-such-series"]);
    assert_eq!(miss.status.code(), Some(1));
}

/// Welch on the values as R gives it: t = 4.17090953508, 3.94732282454 degrees of freedom, p = 0.01441322268,
/// interval 40.91 to 206.42; exact permutation 2/20; Hedges g 2.717223 (library).
#[test]
fn compare_three_with_three() {
    let folder = here();
    let a = answer(folder.path(), &["compare", "--a", "655,702,731", "--b", "812,857,790", "--unit", "N"]);
    let pair = &a["pairs"][0];
    near(&pair["difference"]["t"], 4.170_909_535_08, 1e-9);
    near(&pair["difference"]["degrees_of_freedom"], 3.947_322_824_54, 1e-9);
    near(&pair["difference"]["p"], 0.014_413_222_68, 1e-10);
    near(&pair["difference"]["low"]["value"], 40.91, 0.005);
    near(&pair["difference"]["high"]["value"], 206.42, 0.005);
    near(&pair["permutation"]["p"], 0.1, 1e-12);
    assert_eq!(pair["permutation"]["speaks"], false);
    near(&pair["hedges_g"], 2.717_223, 1e-6);
    assert!(pair["sentence"].as_str().unwrap().starts_with("B is stronger than A by 18 %"));
}

/// 5 against 5: 20 of 252 arrangements (library). Groups that are not told apart are never called equal.
#[test]
fn not_told_apart_is_not_equal() {
    let folder = here();
    let command = ["compare", "--a", "812,857,790,845,801", "--b", "790,798,731,760,812", "--unit", "N", "--same-within", "3%"];
    let a = answer(folder.path(), &command);
    near(&a["pairs"][0]["permutation"]["p"], 20.0 / 252.0, 1e-12);
    let sentence = a["pairs"][0]["sentence"].as_str().unwrap();
    assert!(
        sentence.contains("not statistically distinguishable")
            && sentence.contains("Not shown equal within 3 %")
            && sentence.contains("per group would tell 10 %")
    );
}

/// Batches of one series as groups.
#[test]
fn compare_by_batch() {
    let folder = here();
    let a = answer(folder.path(), &["compare", "logger-grey-direct-m3", "--by", "batch", "--pack", "demo"]);
    let names: Vec<&str> = a["groups"].as_array().unwrap().iter().map(|g| g["name"].as_str().unwrap()).collect();
    assert_eq!((names, a["invented"].clone()), (vec!["batch A", "batch B"], Value::Bool(true)));
    let out = gripbook(folder.path(), &["compare", "logger-grey-direct-m3", "logger-grey-strip-m3", "--pack", "demo"]);
    assert_eq!(out.status.code(), Some(2), "a load and a torque cannot be compared");
}

/// Specimens per group, two-sided 5 %, power 80 % (90 %): table computed by an independent library.
#[test]
fn plan_numbers() {
    let folder = here();
    for (cv, difference, power, n) in [
        ("10%", "20%", "0.8", 6),
        ("10%", "20%", "0.9", 7),
        ("15%", "25%", "0.8", 7),
        ("5%", "50%", "0.8", 2),
        ("25%", "10%", "0.8", 100),
    ] {
        let a = answer(folder.path(), &["plan", "--cv", cv, "--tell", difference, "--power", power]);
        assert_eq!(a["tell"]["per_group"], n, "{cv} {difference} {power}");
    }
}

/// Plots: same bytes twice, a title, a description, no fonts, every specimen, and nothing invented unmarked.
#[test]
fn plots_say_where_they_come_from() {
    let folder = here();
    let run = |name: &str| {
        let out = gripbook(folder.path(), &["series", "logger-petg-heat-m3", "--pack", "demo", "--plot", name]);
        assert!(out.status.success());
        std::fs::read_to_string(folder.path().join(name)).unwrap()
    };
    let (one, two) = (run("p.svg"), run("q.svg"));
    // The seal is a digest of all before it, the name of the file among it.
    let body = |text: &str| text.split("<!-- seal ").next().unwrap_or_default().to_owned();
    assert!(one.contains("<!-- seal ") && body(&one) != one);
    assert_eq!(body(&one).replace("p.svg", "q.svg"), body(&two));
    assert!(one.contains("<title id=\"title\">INVENTED DATA") && one.contains("<desc") && one.contains("pack demo "));
    assert!(!one.contains("@font-face") && one.contains("--pack demo --plot p.svg"));
    assert!(folder.path().join("p-curves.svg").is_file());
}

/// Bounds where specimens held: lognormal likelihood with the prior 1/σ, integrated on a fine grid by an independent program
/// (numpy, scipy; library). The normal and the pooled form are refused and say what is given instead.
#[test]
fn bounds_with_specimens_that_held() {
    let folder = here();
    for (loads, tolerance, predictive, a_basis) in [
        ("400, 420, 410, >520", 259.1476, 257.0201, 65.8314),
        ("1716.5, 1762.0, >1800, >1800", 1420.2256, 1387.1365, 259.9955),
        ("655,702,731,690,640,>750,>750,>750,>750,>750", 572.4334, 587.9754, 393.5123),
        ("812,857,790,845,>600,>900", 714.3072, 720.9186, 544.0967),
    ] {
        let a = answer(folder.path(), &["series", "--loads", loads, "--unit", "N"]);
        near(&bound(&a, "five-at-75")["value"]["value"], tolerance, 1e-4 * tolerance);
        near(&bound(&a, "predictive-5")["value"]["value"], predictive, 1e-4 * predictive);
        near(&bound(&a, "a-basis")["value"]["value"], a_basis, 5e-4 * a_basis);
        let refused = a["refused"].as_array().unwrap();
        let normal = refused.iter().find(|r| r["what"].as_str().is_some_and(|w| w.ends_with("normal"))).unwrap();
        assert!(normal["why"].as_str().unwrap().contains("the lognormal, the rank and the Weibull bound"));
    }
}

/// Tukey on logarithms of three groups, common mean and random effects: scipy.stats.tukey_hsd and the formulas of
/// DerSimonian-Laird and Knapp-Hartung worked out apart (library).
#[test]
fn all_pairs_and_one_value() {
    let folder = here();
    let command =
        ["compare", "--a", "812,857,790", "--b", "655,702,731", "--b", "801,840,822", "--unit", "N", "--all-pairs", "--together"];
    let a = answer(folder.path(), &command);
    assert_eq!(a["all_pairs"]["by"], "tukey");
    let p: Vec<f64> = a["all_pairs"]["pairs"].as_array().unwrap().iter().map(|x| x["p"].as_f64().unwrap()).collect();
    for (got, want) in p.iter().zip([0.0075397073, 0.9981323123, 0.0071091681]) {
        assert!((got - want).abs() < 1e-6, "{p:?}");
    }
    near(&a["together"]["common"]["mean"]["value"], 800.307522109, 1e-6);
    near(&a["together"]["common"]["birge_ratio"], 3.641742679, 1e-9);
    near(&a["together"]["random"]["mean"]["value"], 780.501396147, 1e-6);
    near(&a["together"]["random"]["low"]["value"], 603.934596038, 1e-5);
}

/// The ladder of the demo: by hand, drawn 2.6 mm reads 2.51 mm on average, offset -0.09 mm, interval ± 2.776·0.01581/√5.
#[test]
fn printed_holes_give_offsets_and_no_bound() {
    let folder = here();
    let a = answer(folder.path(), &["series", "logger-grey-hole-ladder", "--pack", "demo"]);
    let rung = a["quantities"].as_array().unwrap().iter().find(|q| q["drawn"]["written"] == "2.6 mm").unwrap();
    near(&rung["offset"]["value"]["si"], -0.09e-3, 1e-9);
    near(&rung["offset"]["low"]["si"], (-0.09 - 2.776_445 * 0.015_811_39 / 5.0_f64.sqrt()) * 1e-3, 1e-9);
    assert!(rung["bounds"].as_array().is_some_and(Vec::is_empty));
}

/// Series and fasten speak of failure modes in the same words.
#[test]
fn words_are_those_of_the_joint() {
    use gripbook::joint::mode::Mode;
    use gripbook::series::vocabulary;
    for mode in Mode::ALL {
        assert!(vocabulary::is_mode(mode.word()), "{}", mode.word());
    }
}
