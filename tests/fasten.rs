//! The command: bad input, isolation of invented data, exit codes, the form of the answer.

use serde_json::Value;
use std::process::{Command, Output};

mod screen;
mod verdicts;

fn gripbook(args: &[&str]) -> Output {
    let folder = tempfile::tempdir().expect("folder");
    Command::new(env!("CARGO_BIN_EXE_gripbook"))
        .args(args)
        .current_dir(folder.path())
        .env_remove("GRIPBOOK_CACHE")
        .env("HOME", folder.path())
        .output()
        .expect("the program runs")
}

fn fasten(args: &[&str]) -> Output {
    gripbook(&[&["fasten", "--draws", "2000"], args].concat())
}

fn json(args: &[&str]) -> Value {
    let out = fasten(&[args, &["--format", "json"]].concat());
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)))
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

const CASE: [&str; 6] = ["--material", "pla", "--thread", "M3", "--length", "6mm"];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&CASE[..], more].concat()
}

/// Of the claims of light's way through a resin, that at the wavelength of the lamp is used, for the hole in the shade too.
#[test]
fn the_penetration_depth_is_that_at_the_lamp() {
    let hole = ["--material", "logger-clear", "--thread", "M3", "--length", "6mm", "--pack", "demo", "--wall", "40mm"];
    let asked = |wavelength: &'static str, dose: &'static str| {
        let light = ["--method", "insert-own-resin", "--wavelength", wavelength, "--dose", dose];
        json(&[&hole[..], &light].concat())["candidates"][0].clone()
    };
    let at = asked("405nm", "6000mJ/cm²");
    let claims = at["claims"].to_string();
    assert!(claims.contains("resin/logger-clear:penetration_depth") && claims.contains("318 µm"), "{claims}");
    let other = asked("365nm", "6000mJ/cm²");
    assert!(!other["claims"].to_string().contains("penetration_depth"), "{}", other["claims"]);
    assert!(other["missing"].to_string().contains("penetration_depth` (liquid, 365 nm)"), "{}", other["missing"]);
    // Beer and Lambert: the depth of cure is 0.318 mm x ln(dose / 13.2 mJ/cm²), 1.95 mm at 6 J/cm² and 0.48 mm at 60 mJ/cm².
    let median = |c: &Value| c["load"]["median"]["si"].as_f64();
    let weaker = asked("405nm", "60mJ/cm²");
    let ratio = median(&at).zip(median(&weaker)).map(|(deep, shallow)| deep / shallow);
    assert!(ratio.is_some_and(|r| (2.0..5.0).contains(&r)), "{ratio:?}");
}

#[test]
fn the_answer_has_the_promised_fields() {
    let answer = json(&with(&["--need", "300N"]));
    let candidates = answer["candidates"].as_array().expect("candidates");
    let methods: std::collections::BTreeSet<&str> = candidates.iter().filter_map(|c| c["method"].as_str()).collect();
    assert_eq!(methods.len(), 11, "{methods:?}");
    for c in candidates {
        for field in ["method", "verdict", "load", "modes", "geometry", "evidence", "missing", "assumptions", "cautions"] {
            assert!(!c[field].is_null() || matches!(field, "load" | "geometry"), "{}: no {field}", c["method"]);
        }
        assert!(
            ["suits", "suits-with-care", "model-only", "does-not-suit", "unknown"]
                .contains(&c["verdict"].as_str().expect("verdict"))
        );
    }
    let first = candidates.iter().find(|c| c["method"] == "cut-thread").expect("cut thread");
    let si = |path: &[&str]| path.iter().fold(&first["load"], |v, k| &v[*k])["si"].as_f64().expect("a number");
    assert_eq!(si(&["lower_bound"]), si(&["low"]));
    assert_eq!(first["load"]["lower_bound"]["kind"], "predictive-5");
    assert!(si(&["low"]) < si(&["median"]) && si(&["median"]) < si(&["high"]));
    let shares: f64 = first["modes"].as_object().expect("modes").values().filter_map(Value::as_f64).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
    for size in ["finished", "drawn", "check"] {
        assert!(!first["geometry"][size].is_null(), "{size}");
    }
}

#[test]
fn without_a_process_no_drawn_size_is_given() {
    let answer = json(&with(&["--method", "direct-screw"]));
    assert!(
        text(answer["candidates"][0]["geometry"]["drawn"]["unknown"].to_string().as_bytes())
            .contains("print the hole ladder first")
    );
    let args =
        ["--pack", "demo", "--material", "resin/logger-grey", "--thread", "M3", "--length", "6mm", "--method", "direct-screw"];
    let with_process = json(&[&args[..], &["--process", "process/logger-grey-screen"]].concat());
    let geometry = &with_process["candidates"][0]["geometry"];
    let (finished, drawn) =
        (geometry["finished"]["nominal"]["si"].as_f64().unwrap(), geometry["drawn"]["diameter"]["si"].as_f64().unwrap());
    // Hand: the ladder (invented) has -0.090 mm at 2.5 and 2.6 and -0.078 at 3.3 mm drawn; finished = drawn + offset.
    assert!((finished - drawn - -0.090e-3).abs() < 0.004e-3, "{finished} {drawn}");
    assert!(with_process["invented"].as_bool().unwrap());
}

#[test]
fn invented_data_never_touches_a_real_answer() {
    let ask: Vec<Vec<&str>> = vec![
        with(&["--need", "300N"]),
        vec!["--material", "tough", "--thread", "M3", "--length", "5.7mm", "--need", "200N", "--boss", "9mm"],
        vec!["--calibration"],
    ];
    for args in ask {
        for format in ["text", "json"] {
            let plain = fasten(&[&args[..], &["--format", format]].concat());
            let demo = fasten(&[&args[..], &["--format", format, "--pack", "demo"]].concat());
            let blank = |out: &Output| {
                let kept = text(&out.stdout);
                // The one field, or the last lines of the page, that hold the command.
                let lines = kept.lines().take_while(|l| !l.starts_with("gripbook fasten"));
                lines.filter(|l| !l.trim_start().starts_with("\"command\"")).collect::<Vec<_>>().join("\n")
            };
            assert!(!blank(&plain).is_empty());
            assert_eq!(blank(&plain), blank(&demo), "{args:?} {format}");
            assert_eq!(plain.status.code(), demo.status.code());
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let args = with(&["--need", "300N", "--format", "json"]);
    let one = fasten(&args);
    assert_eq!(one.stdout, fasten(&args).stdout);
    let other = fasten(&[&args[..], &["--seed", "2"]].concat());
    assert_ne!(one.stdout, other.stdout);
}

#[test]
fn a_mass_is_no_load() {
    let out = fasten(&with(&["--need", "20kg"]));
    assert_eq!(out.status.code(), Some(2));
    let said = text(&out.stderr);
    assert!(said.contains("20 kgf") && said.contains("196.1 N"), "{said}");
    assert!(out.stdout.is_empty());
}

#[test]
fn impossible_geometry_is_refused_with_the_nearest_right_thing() {
    let cases: &[(&[&str], &str)] = &[
        (&["--depth", "4mm"], "at least 6"),
        (&["--boss", "2.5mm"], "at least"),
        (&["--length", "-3mm"], "above zero"),
        (&["--length", "0mm"], "above zero"),
        // ISO 261: the coarse pitch of M3 is 0.5 mm.
        (&["--length", "0.4mm"], "less than one pitch of M3 (0.5 mm)"),
        (&["--length", "1e-30mm"], "less than one pitch"),
        (&["--thread", "M3x0.7"], ""),
        (&["--thread", "M13"], ""),
        (&["--thread", "M3x"], "`M3x` lacks its pitch"),
        (&["--need", "0N"], "rank by design load"),
        (&["--infill", "10"], "write 10%"),
        (&["--method", "direct-screw", "--hole-size", "3.4mm"], "tap drill"),
        (&["--method", "heat-set-insert", "--hole-size", "6mm"], "no glue"),
        (&["--method", "screw-it"], "direct-screw"),
        (&["--factor", "0"], "factor"),
        (&["--hottest", "10°C", "--coldest", "30°C"], "below"),
        (&["--set", "axial_flow=1mm"], "axial_flaw"),
        (&["--insert", "heat-set-m4"], "M4"),
        (&["--edge", "1mm"], "breaks out"),
        (&["--wavelength", "405"], "405 nm"),
        (&["--method", "glued"], "did you mean `insert-glued"),
        (&["--method", "printed-thread", "--offset", "5mm"], "0.05 mm"),
        (&["--method", "captive-nut", "--hole-size", "20mm"], "3.40 mm"),
        (&["--factor", "NaN"], "factor"),
        (&["--infill", "140%"], "100 %"),
    ];
    for (more, wanted) in cases {
        let mut args: Vec<&str> = Vec::new();
        for pair in CASE.chunks(2).filter(|p| !more.contains(&p[0])) {
            args.extend(pair);
        }
        args.extend(*more);
        let out = gripbook(&[&["fasten"], &args[..]].concat());
        let said = text(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{more:?}: {said}");
        assert!(said.contains(wanted), "{more:?}: {said}");
    }
}

#[test]
fn unknown_ids_get_the_nearest_one() {
    let out = fasten(&["--material", "petgg", "--thread", "M3", "--length", "6mm"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("petg"), "{}", text(&out.stderr));
}

#[test]
fn injury_gets_no_promise() {
    let out = fasten(&with(&["--consequence", "injury", "--need", "100N"]));
    assert_eq!(out.status.code(), Some(1));
    let said = text(&out.stdout);
    assert!(said.contains("licensed") && said.contains("no load is given"), "{said}");
    assert!(!said.contains("prediction bound") && !said.contains("survival"), "{said}");
    let answer = json(&with(&["--consequence", "injury"]));
    assert!(answer["candidates"].as_array().unwrap().iter().all(|c| c["load"].is_null()));
}

#[test]
fn strict_makes_everything_but_a_plain_yes_a_no() {
    // Nobody measured either in a plastic of this class.
    for (method, word) in [("cut-thread", "model-only"), ("captive-nut", "model-only")] {
        let args = with(&["--need", "100N", "--method", method]);
        assert_eq!(json(&args)["candidates"][0]["verdict"], word);
        assert_eq!(fasten(&args).status.code(), Some(0), "{method}");
        assert_eq!(fasten(&[&args[..], &["--strict"]].concat()).status.code(), Some(1), "{method}");
    }
    assert_eq!(fasten(&with(&["--need", "90kN"])).status.code(), Some(1), "no method holds nine tonnes");
}

#[test]
fn a_load_that_nobody_measured_is_called_so_wherever_it_stands() {
    let folder = tempfile::tempdir().expect("folder");
    let (drawing, sheet) = (folder.path().join("hole.svg"), folder.path().join("sheet.json"));
    let out = ["--drawing", drawing.to_str().expect("path"), "--out", sheet.to_str().expect("path")];
    let args = with(&[&["--method", "captive-nut"], &out[..]].concat());
    let screen = text(&fasten(&args).stdout);
    let title = screen.lines().next().expect("a title");
    assert!(title.ends_with("model only, not measured"), "{screen}");
    let load = screen.lines().find(|l| l.starts_with("Design load")).expect("a load");
    assert!(load.contains(" N, model only (lower 5 %"), "{screen}");
    let answer: Value = serde_json::from_slice(&std::fs::read(&sheet).expect("the sheet")).expect("JSON");
    assert_eq!((&answer["verdict"], &answer["contract"]), (&Value::from("model-only"), &Value::from(1)));
    assert_eq!(answer["candidates"][0]["design_load"]["model_only"], true);
    let drawn = std::fs::read_to_string(&drawing).expect("the drawing");
    assert!(drawn.matches("not measured").count() >= 2, "verdict and load in the title block");
    let args = with(&["--method", "captive-nut"]);
    let csv = text(&fasten(&[&args[..], &["--format", "csv"]].concat()).stdout);
    assert!(csv.lines().nth(1).is_some_and(|l| l.contains(",model-only,")), "{csv}");
    let whole = text(&fasten(&[&args[..], &["--format", "markdown"]].concat()).stdout);
    assert!(whole.contains("model only, not measured") && whole.contains("Values used"), "{whole}");
}

#[test]
fn what_goes_round_a_thread_leads_only_when_asked_for() {
    let answer = json(&with(&["--need", "300N"]));
    assert_ne!(answer["best"]["method"], "through-bolt");
    let bolt = answer["candidates"].as_array().unwrap().iter().find(|c| c["method"] == "through-bolt").expect("listed");
    assert_eq!(bolt["alternative"], true);
    let screen = text(&fasten(&with(&["--need", "300N"])).stdout);
    assert!(screen.lines().any(|l| l.starts_with("through-bolt") && l.contains("alternative")), "{screen}");
    let named = json(&with(&["--need", "300N", "--method", "through-bolt"]));
    assert_eq!(
        (&named["best"]["method"], &named["candidates"][0]["alternative"]),
        (&Value::from("through-bolt"), &Value::from(false))
    );
}

#[test]
fn a_named_insert_is_what_the_answer_is_about() {
    let answer = json(&with(&["--insert", "heat set"]));
    assert_eq!(answer["best"]["insert"], "insert/heat-set-m3", "{}", answer["best"]);
    for candidate in answer["candidates"].as_array().unwrap() {
        assert_eq!(candidate["alternative"] == true, candidate["insert"] != "insert/heat-set-m3", "{candidate}");
    }
    let named = json(&with(&["--insert", "heat set", "--method", "cut-thread"]));
    assert_eq!((&named["best"]["method"], &named["candidates"][0]["alternative"]), (&"cut-thread".into(), &false.into()));
}

/// What was typed is told as it was typed: units of loads, lengths without zeros, times with their plural.
#[test]
fn the_screen_speaks_as_it_was_asked() {
    let screen = |line: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_gripbook")).args(line).env("COLUMNS", "80").output().expect("runs");
        text(&out.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let first = screen(&["fasten", "abs", "#4-40", "0.25in", "20lbf"]);
    assert!(first.starts_with("#4-40 x 6.35 mm in ") && first.contains("survival at 20 lbf (89 N)"), "{first}");
    for (typed, told) in [("6 months", "for 6 months:"), ("a year", "for 1 year:"), ("3 h", "for 3 h:")] {
        let held = screen(&["fasten", "pla", "M3", "6mm", "100N", "--method", "direct-screw", "--for", typed]);
        assert!(held.contains(told) && held.starts_with("M3 x 6 mm in "), "{typed}: {held}");
    }
    let others = screen(&["fasten", "pla", "M3", "6mm", "100N", "--for", "6 months"]);
    assert!(others.contains("other method verdict sustained because"), "{others}");
}

/// What programs are told begins with the best; a way that stands beside the answer comes after every other.
#[test]
fn alternatives_are_listed_last() {
    let asked = ["fasten", "abs", "#4-40", "4.75mm", "300N", "--format"];
    let answer: Value = serde_json::from_slice(&fasten(&[&asked[1..], &["json"]].concat()).stdout).unwrap();
    let candidates = answer["candidates"].as_array().unwrap();
    assert_eq!(candidates[0]["method"], answer["best"]["method"]);
    let beside: Vec<bool> = candidates.iter().map(|c| c["alternative"] == true).collect();
    assert!(beside.is_sorted() && beside.contains(&true), "{beside:?}");
    let csv = text(&fasten(&[&asked[1..], &["csv"]].concat()).stdout);
    let first = csv.lines().find(|line| line.starts_with("1,")).expect("a first row");
    assert_eq!(first.split(',').nth(1), answer["best"]["method"].as_str(), "{first}");
}

/// Uncured resin is left in threads printed of resin, not in those of a filament.
#[test]
fn a_filament_leaves_no_uncured_resin() {
    let warned =
        |material: &str| text(&fasten(&[material, "M4", "8mm", "--method", "printed-thread"]).stdout).contains("uncured resin");
    assert!(warned("tough") && !warned("petg"));
}

/// A load for a year: neither table nor fields give the short pull as what may stay.
#[test]
fn a_sustained_load_is_told_to_programs_and_on_the_drawing() {
    let asked = ["petg", "M3", "6mm", "100N", "--method", "heat-set-insert", "--for", "a year", "--format"];
    let answer: Value = serde_json::from_slice(&fasten(&[&asked[..], &["json"]].concat()).stdout).unwrap();
    let candidate = &answer["candidates"][0];
    assert_eq!(candidate["design_load"]["kind"], "short-pull");
    // By hand: half of what strips, times the share that stays of a load, since the preload stays as long.
    let si = |value: &Value| value["si"].as_f64().unwrap();
    let (share, torque) = (candidate["held"]["share"].as_f64().unwrap(), &candidate["torque"]);
    assert!(share < 0.5 && (si(&torque["tighten"]) / (0.5 * share * si(&torque["low"])) - 1.0).abs() < 1e-9, "{torque}");
    let csv = text(&fasten(&[&asked[..], &["csv"]].concat()).stdout);
    assert!(csv.lines().any(|line| line.ends_with(",sustained_n,sustained_share")), "{csv}");
    let told = csv.lines().find(|line| line.starts_with("1,")).and_then(|line| line.rsplit(',').next()?.parse::<f64>().ok());
    assert_eq!(told, Some(share), "{csv}");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.svg");
    fasten(&[&asked[..asked.len() - 1], &["--drawing", file.to_str().unwrap()]].concat());
    let drawn = std::fs::read_to_string(file).unwrap();
    assert!(drawn.contains(">sustained<") && drawn.contains("held, 1 year") && !drawn.contains(">design load<"), "{drawn}");
}

#[test]
fn zero_is_no_advice() {
    // Every axial flaw so deep, and every insert pressed so hard, that many a boss splits before anything pulls.
    let args = with(&["--method", "press-fit-insert", "--set", "press_interference=0.5mm"]);
    let answer = json(&args);
    let candidate = &answer["candidates"][0];
    assert_eq!(candidate["verdict"], "does-not-suit", "{candidate}");
    assert!(candidate["design_load"].is_null() && candidate["torque"]["tighten"].is_null(), "{candidate}");
    let screen = text(&fasten(&args).stdout);
    assert!(screen.contains("holds nothing in") && screen.contains("none, and no tightening torque"), "{screen}");
    assert!(!screen.contains(" 0 N"), "{screen}");
}

#[test]
fn a_saved_sheet_is_traced_from_its_own_recommendation() {
    let folder = tempfile::tempdir().expect("folder");
    let sheet = folder.path().join("sheet.json");
    let path = sheet.to_str().expect("path");
    fasten(&with(&["--need", "300N", "--out", path]));
    let saved: Value = serde_json::from_slice(&std::fs::read(&sheet).expect("the sheet")).expect("JSON");
    let traced = text(&gripbook(&["trace", path]).stdout);
    let best = saved["candidates"].as_array().unwrap().iter().find(|c| c["method"] == saved["best"]["method"]).expect("it");
    let title = best["title"].as_str().expect("a title");
    let told: Vec<&str> = traced.lines().filter(|l| l.starts_with("- ")).collect();
    assert!(told[0].contains("the sheet says") && told[0].contains(title), "{traced}");
    assert!(told[1].starts_with(&format!("- {title}")), "{traced}");
}

#[test]
fn a_photopolymer_takes_no_hot_insert_and_a_missing_tool_no_method() {
    let answer = json(&["--material", "tough", "--thread", "M3", "--length", "5.7mm", "--without", "tap"]);
    for name in ["heat-set-insert", "press-fit-insert", "cut-thread"] {
        let c = answer["candidates"].as_array().unwrap().iter().find(|c| c["method"] == name).expect(name);
        assert_eq!(c["verdict"], "does-not-suit", "{name}");
    }
}

#[test]
fn overrides_are_said() {
    let answer = json(&with(&["--set", "axial_flaw=0.1mm..0.2mm", "--method", "cut-thread"]));
    assert_eq!(answer["overridden"][0]["name"], "axial_flaw");
    let said = text(&fasten(&with(&["--set", "axial_flaw=0.1mm", "--method", "cut-thread"])).stdout);
    assert!(said.contains("Overridden by --set: axial_flaw = 0.1 mm"), "{said}");
}

#[test]
fn the_first_screen_says_what_to_make_and_the_whole_page_says_the_rest() {
    let args = with(&["--need", "300N"]);
    let screen = text(&fasten(&args).stdout);
    for word in ["Use", "Reason", "Hole", "Torque", "Design load", "Failure modes", "Cautions", "Not for lifting"] {
        assert!(screen.lines().any(|l| l.starts_with(word)), "{word}:\n{screen}");
    }
    let whole = text(&fasten(&[&args[..], &["--full"]].concat()).stdout);
    for word in ["Evidence", "Ranking", "Limit states", "Assembly effort and reuse", "Values used", "Assumptions used", "go pin"]
    {
        assert!(whole.contains(word) && !screen.contains(&format!("{word}\n")), "{word}:\n{whole}");
    }
    let markdown = text(&fasten(&[&args[..], &["--format", "markdown"]].concat()).stdout);
    assert!(markdown.contains("Assumptions used"), "Markdown is always whole");
}

#[test]
fn softening_is_a_gate() {
    let hot = json(&with(&["--hottest", "58°C", "--method", "cut-thread"]));
    assert_eq!(hot["candidates"][0]["verdict"], "does-not-suit", "PLA softens at 55 to 60 °C");
    assert!(hot["candidates"][0]["load"].is_null() && hot["candidates"][0]["torque"].is_null());
    let warm = json(&with(&["--hottest", "40°C", "--method", "cut-thread"]));
    assert_eq!(warm["candidates"][0]["verdict"], "model-only", "15 K below the glass transition of 60 °C a load is given");
}

#[test]
fn a_held_load_stands_beside_the_short_pull() {
    let held = ["--for", "a year", "--method", "cut-thread"];
    let answer = json(&with(&held));
    let (load, held_load) = (&answer["candidates"][0]["load"], &answer["candidates"][0]["held"]);
    let number = |v: &Value| v["si"].as_f64().expect("a load");
    assert!((number(&held_load["load"]) / number(&load["lower_bound"]) - 0.25).abs() < 1e-9, "{held_load}");
    assert_eq!((held_load["class"].as_str(), held_load["basis"].as_str()), (Some("years"), Some("practice")));
    let said = text(&fasten(&with(&held)).stdout);
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("Sustained") && flat.contains("practice, no creep data"), "{said}");
    let warm = json(&with(&["--for", "a year", "--hottest", "40°C", "--method", "cut-thread"]));
    let warm = &warm["candidates"][0];
    assert!(warm["held"]["load"].is_null() && !warm["load"].is_null() && warm["verdict"] == "does-not-suit", "{warm}");
    let bad = fasten(&with(&["--for", "soon"]));
    assert_eq!(bad.status.code(), Some(2));
    assert!(text(&bad.stderr).contains("3 months"), "{}", text(&bad.stderr));
}

#[test]
fn assumptions_and_calibration_print() {
    let table = gripbook(&["fasten", "--assumptions", "--format", "json"]);
    let table: Value = serde_json::from_slice(&table.stdout).expect("JSON");
    assert!(table["assumptions"].as_array().unwrap().len() > 40);
    let said = text(&gripbook(&["fasten", "--calibration"]).stdout);
    assert!(said.contains("thread shear only") && said.contains("None feeds knurls or bonded inserts"), "{said}");
}

#[test]
fn a_hole_table_is_written() {
    let folder = tempfile::tempdir().expect("folder");
    let list = folder.path().join("list.yaml");
    std::fs::write(&list, "- {material: pla, thread: M3, length: 5.7 mm, method: heat-set-insert}\n- {material: tough, thread: M4, length: 8 mm, method: insert-glued-stepped, adhesive: epoxy-slow}\n").unwrap();
    let out = folder.path().join("holes");
    let done = gripbook(&["fasten", "--hole-table", list.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let csv = std::fs::read_to_string(out.join("hole-table.csv")).unwrap();
    assert!(csv.starts_with("material,thread,engaged_mm") && csv.lines().count() >= 4, "{csv}");
    assert!(std::fs::read_to_string(out.join("hole-table.md")).unwrap().contains("| material |"));
    std::fs::write(&list, "- {material: pla, thread: M3, lenght: 5 mm}\n").unwrap();
    let bad = gripbook(&["fasten", "--hole-table", list.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(bad.status.code(), Some(2));
}

#[test]
fn a_trace_leads_from_the_load_to_claims_sources_places_and_assumptions() {
    let answer = json(&with(&["--method", "cut-thread", "--trace"]));
    let steps = answer["trace"].as_array().expect("a tree");
    let kinds: std::collections::BTreeSet<&str> = steps.iter().filter_map(|s| s["facts"]["kind"].as_str()).collect();
    for kind in ["capacity", "limit-state", "input", "assumption", "series", "thread", "spread"] {
        assert!(kinds.contains(kind), "{kind}: {kinds:?}");
    }
    // Every claim and assumption the sheet says it used stands in the tree.
    let said: String = steps.iter().filter_map(|s| s["text"].as_str()).collect::<Vec<_>>().join("\n");
    let candidate = &answer["candidates"][0];
    for claim in candidate["claims"].as_array().expect("claims") {
        let address = claim["claim"].as_str().expect("address");
        assert!(said.contains(address), "{address} is used but not traced\n{said}");
    }
    for assumption in candidate["assumptions"].as_array().expect("assumptions") {
        let name = assumption["name"].as_str().expect("name");
        assert!(said.contains(&format!("assumption {name} =")), "{name} is used but not traced");
    }
    assert!(said.contains("Table 2 (read: table)") && said.contains("chapman-1996"), "{said}");
    let page = text(&fasten(&with(&["--method", "cut-thread", "--trace"])).stdout);
    assert!(page.contains("Where the load comes from") && page.contains("most of its spread comes from"), "{page}");
}

#[test]
fn every_assumption_can_be_set_and_is_listed() {
    let table = gripbook(&["fasten", "--assumptions", "--format", "json"]);
    let table: Value = serde_json::from_slice(&table.stdout).expect("JSON");
    for row in table["assumptions"].as_array().expect("rows") {
        let (name, value) = (row["name"].as_str().expect("name"), row["value"].as_str().expect("value"));
        let set = format!("{name}={}", value.replace(" to ", ".."));
        let out = gripbook(&["fasten", "--assumptions", "--set", &set, "--format", "json"]);
        let again: Value = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{set}: {e} {}", text(&out.stderr)));
        let same = again["assumptions"].as_array().expect("rows").iter().find(|r| r["name"] == name).expect("the row");
        assert_eq!(same["overridden"], true, "{set}");
        let close = |k: &str| {
            (same[k].as_f64().expect("number") - row[k].as_f64().expect("number")).abs()
                <= 5e-3 * row[k].as_f64().expect("number")
        };
        assert!(close("low") && close("high"), "{set}: {same}");
    }
}
