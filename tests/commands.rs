//! `find` and `show` as a user runs them: exit codes, bytes, surroundings, hostile packs.

use super::book::{copy, fixture};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// The program in a folder, with a cache folder and nothing else of this machine's environment.
fn program(here: &Path, cache: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    command.current_dir(here).env_clear().env("GRIPBOOK_CACHE", cache).env("HOME", here);
    command
}

fn run(here: &Path, arguments: &[&str]) -> Output {
    program(here, &here.join(".cache")).args(arguments).output().expect("runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn pack() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("folder");
    copy(&fixture("coating"), folder.path());
    folder
}

#[test]
fn exit_codes_say_what_happened() {
    let folder = pack();
    let exit = |arguments: &[&str]| run(folder.path(), arguments).status.code();
    assert_eq!(exit(&["find", "lacquer"]), Some(0));
    assert_eq!(exit(&["find", "zzzzzz"]), Some(1));
    assert_eq!(exit(&["find", "--kind", "zzzzzz"]), Some(2));
    assert_eq!(exit(&["find", "--where", "tg < 7 MPa"]), Some(2));
    assert_eq!(exit(&["show"]), Some(0));
    assert_eq!(exit(&["show", "clear-lacquer"]), Some(0));
    assert_eq!(exit(&["show", "zzzzzz"]), Some(1));
    assert_eq!(exit(&["show", "pla", "--pack", "nowhere"]), Some(3));
    let wrong = run(folder.path(), &["find", "--kind", "zzzzzz"]);
    assert!(wrong.stdout.is_empty() && text(&wrong.stderr).contains("polymer"), "{wrong:?}");
}

#[test]
fn a_broken_record_is_named_and_the_answer_still_given() {
    let folder = pack();
    fs::write(folder.path().join("coatings/bad.yaml"), "name: Bad\nname: Twice\n").expect("write");
    for _ in 0..2 {
        let out = run(folder.path(), &["find", "lacquer", "--format", "json"]);
        assert_eq!(out.status.code(), Some(3));
        let named = text(&out.stderr).matches("coatings/bad.yaml").count();
        assert_eq!(named, 1, "one line for each record left out: {}", text(&out.stderr));
        let answer: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
        assert_eq!(answer["total"], 1);
        let twice = |f: &serde_json::Value| f["file"] == "coatings/bad.yaml" && f["line"] == 2 && f["column"] == 1;
        assert!(answer["left_out"].as_array().is_some_and(|all| all.iter().any(twice)), "{}", answer["left_out"]);
    }
}

/// A condition that is not whole is told what it lacks, and how it would read.
#[test]
fn an_incomplete_condition_names_what_is_missing() {
    let folder = pack();
    for (typed, lacks, repaired) in [
        ("tg >", "the value behind `>` is missing", "--where \"tg > "),
        ("> 60 °C", "the property before `>` is missing", "--where \"tg > 60 °C\""),
        ("tensile strength", "a sign and a value are missing", "--where \"tensile_strength >= "),
        ("amorphous =", "the value behind `=` is missing", "--where \"amorphous = yes\""),
    ] {
        let out = run(folder.path(), &["find", "--where", typed]);
        let said = text(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{said}");
        assert!(said.contains(lacks) && said.contains(repaired), "{typed}: {said}");
    }
}

#[test]
fn a_kind_of_a_pack_is_findable_and_showable() {
    let folder = pack();
    let found = text(&run(folder.path(), &["find", "--kind", "coating", "--where", "layer_thickness < 20 µm"]).stdout);
    assert!(found.contains("coating/silt-shield") && !found.contains("clear-lacquer"), "{found}");
    let shown = text(&run(folder.path(), &["show", "gauge varnish", "--full"]).stdout);
    for part in ["Layer thickness", "40 µm (0.040 mm)", "± 6 µm", "DISPUTED", "lid still wet", "INVENTED", "sheet 1"] {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    let shown = run(folder.path(), &["show", "clear-lacquer", "--format", "json"]).stdout;
    let answer: serde_json::Value = serde_json::from_slice(&shown).expect("JSON");
    let value = &answer["properties"][0]["claims"][0]["value"];
    // By definition of the micrometre: 40 µm = 4e-5 m.
    assert_eq!(*value, serde_json::json!({"value": 40.0, "unit": "µm", "si": 4e-5, "written": "40 µm"}));
    let packs = text(&run(folder.path(), &["show"]).stdout);
    assert!(packs.contains("built in") && packs.contains("coating-fixture") && packs.contains("CC0-1.0"), "{packs}");
}

/// The table of what is known comes first; the claims with their sources wait behind `--full` and in Markdown.
#[test]
fn a_record_opens_with_what_is_known_of_each_property() {
    let folder = pack();
    let asked = |more: &[&str]| text(&run(folder.path(), &[&["show", "polymer/pla"], more].concat()).stdout);
    let first = asked(&[]);
    assert!(first.lines().count() <= 20, "{first}");
    let head = first.lines().find(|line| line.starts_with("property")).unwrap_or_else(|| panic!("no table: {first}"));
    assert_eq!(head.split_whitespace().collect::<Vec<_>>(), ["property", "best", "range", "claims", "basis"]);
    let whole = asked(&["--full"]);
    let json: serde_json::Value = serde_json::from_str(&asked(&["--format", "json"])).expect("JSON");
    let of = |word: &str| json["properties"].as_array().expect("a list").iter().find(|p| p["property"] == word).cloned();
    let strengths = of("tensile_strength").expect("a strength")["claims"].as_array().expect("claims").clone();
    let in_use = strengths.iter().filter(|c| c["standing"] == "good").count();
    let row = first.lines().find(|line| line.starts_with("tensile strength")).unwrap_or_else(|| panic!("no row: {first}"));
    assert!(row.split("  ").any(|cell| cell.trim() == in_use.to_string()), "{in_use} claims: {row}");
    // A list of single results goes over several lines.
    let unbroken = |text: &str| text.split_whitespace().collect::<String>();
    let whole = unbroken(&whole);
    for claim in &strengths {
        let (written, source) = (claim["written"].as_str().expect("a value"), claim["locator"].as_str().expect("a place"));
        assert!(
            whole.contains(&unbroken(written)) && whole.contains(source.split(' ').next().unwrap_or(source)),
            "{written}, {source}"
        );
    }
    let cited = strengths.iter().filter_map(|c| c["cited"].as_str());
    assert!(first.contains("--full") && cited.clone().all(|source| !first.contains(source)), "{first}");
    let markdown = asked(&["--format", "markdown"]);
    assert!(cited.into_iter().all(|source| markdown.contains(source)), "Markdown is whole: {markdown}");
    let varnish = text(&run(folder.path(), &["show", "gauge varnish"]).stdout);
    assert!(varnish.starts_with("INVENTED DATA: ") && varnish.contains("not used"), "{varnish}");
}

#[test]
fn the_surroundings_change_no_byte_of_a_machine_format() {
    let folder = pack();
    let arguments = ["find", "lacquer", "--format", "json"];
    let plain = run(folder.path(), &arguments).stdout;
    let surroundings: [&[(&str, &str)]; 6] = [
        &[("COLUMNS", "1"), ("TERM", "xterm")],
        &[("COLUMNS", "0"), ("LANG", "C")],
        &[("COLUMNS", "999999"), ("LC_ALL", "tr_TR")],
        &[("TZ", "Pacific/Chatham"), ("NO_COLOR", "1")],
        &[("LC_ALL", "de_DE.UTF-8"), ("TERM", "dumb")],
        &[("GRIPBOOK_CACHE", "")],
    ];
    for more in surroundings {
        let out = program(folder.path(), &folder.path().join(".cache")).args(arguments).envs(more.iter().copied()).output();
        assert_eq!(text(&out.expect("runs").stdout), text(&plain), "{more:?}");
    }
}

#[test]
fn no_home_and_no_cache_is_one_notice() {
    let folder = pack();
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    let out = command.current_dir(folder.path()).env_clear().args(["find", "lacquer"]).output().expect("runs");
    assert_eq!(out.status.code(), Some(0));
    assert_eq!(text(&out.stderr).lines().count(), 1, "{}", text(&out.stderr));
}

#[test]
fn a_pack_cannot_redefine_what_others_define() {
    let folder = pack();
    let schema = folder.path().join("schemas/polymer.schema.json");
    let own = fs::read_to_string(folder.path().join("schemas/coating.schema.json")).expect("read");
    fs::write(&schema, own.replace("coating", "polymer")).expect("write");
    let out = run(folder.path(), &["show", "polymer/pla", "--format", "json"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(text(&out.stderr).contains("schema-twice"), "{}", text(&out.stderr));
    let answer: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(answer["role"], "material");
    fs::remove_file(schema).expect("remove");
    // A record id of the built-in book.
    fs::create_dir(folder.path().join("polymers")).expect("folder");
    let pla = "name: Better PLA\nfamily: pla\nproperties:\n  tg:\n    - {value: 190 °C, basis: recalled}\n";
    fs::write(folder.path().join("polymers/pla.yaml"), pla).expect("write");
    let out = run(folder.path(), &["show", "polymer/pla"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(out.stdout.is_empty() && text(&out.stderr).contains("polymers/pla.yaml"), "{}", text(&out.stderr));
}

/// Pages as a terminal of 80 columns shows them: no line is wider, and what is a table stays one.
#[test]
fn pages_fit_80_columns_and_tables_stay_tables() {
    let page = |line: &str| {
        let words = line.split(' ').map(|word| word.replace('+', " "));
        let out = Command::new(env!("CARGO_BIN_EXE_gripbook")).args(words).env("COLUMNS", "80").output().expect("runs");
        text(&out.stdout)
    };
    // The line, and how the head of its table begins.
    for (line, head) in [
        ("suits abs", "adhesive "),
        ("suits --adhesive epoxy-slow", "id "),
        ("show resin", "resin "),
        ("show nylon", "id "),
        ("series resin", "resin "),
        ("find tough", "id "),
        ("find --kind adhesive --limit 0", "id "),
        ("audit --ledger", "answers "),
        ("fasten pla M3 6mm 300N --full --draws 500", "   method "),
        ("fasten --calibration", "limit state "),
        ("series --loads 812,857,790+/+655,702,731 --unit N --full", "batch "),
        ("compare --a 812,857,790 --b 655,702,731 --b 801,840,822 --unit N --all-pairs --together --full", "group "),
        ("plan --cv 10% --tell 20% --full", "per group "),
        ("thread", "thread "),
    ] {
        let shown = page(line);
        let wide: Vec<&str> = shown.lines().filter(|l| l.chars().count() > 80).collect();
        assert!(wide.is_empty(), "{line}: {wide:#?}");
        assert!(shown.lines().any(|l| l.starts_with(head)), "{line}: no table that begins with {head:?}: {shown}");
    }
    for line in ["formula", "formula lame-hoop", "why unsourced", "audit", "gaps", "gaps --by method", "show", "show pla --full"]
    {
        let shown = page(line);
        // Records that are shown as examples keep their lines.
        let wide: Vec<&str> = shown.lines().filter(|l| l.chars().count() > 80 && !l.trim_start().starts_with("- {")).collect();
        assert!(!shown.is_empty() && wide.is_empty(), "{line}: {wide:#?}");
    }
}

/// What is counted is in the plural, fields have names and not keys, and a list that is cut says where the rest is.
#[test]
fn a_record_is_shown_in_words() {
    let show = |words: &[&str]| {
        let out =
            Command::new(env!("CARGO_BIN_EXE_gripbook")).arg("show").args(words).env("COLUMNS", "80").output().expect("runs");
        text(&out.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let pla = show(&["pla"]);
    assert!(pla.contains("searches, ") && pla.contains(" series") && pla.contains("missing Poisson's ratio"), "{pla}");
    let packs = show(&[]);
    assert!(packs.contains(" adhesives, ") && packs.contains(" searches, ") && packs.contains(" series, "), "{packs}");
    let series = show(&["bohl-2019-pla-infill-30"]);
    assert!(series.contains("joint, made by printed-filament") && series.contains("more fields: --full"), "{series}");
    let rule = show(&["rule/unprepared-print-bonds-badly"]);
    assert!(rule.contains("met by sanded, plasma") && rule.contains("evidence 1, source kariz-2021-sanding"), "{rule}");
    assert!(!rule.contains("lifted_by") && !rule.contains("provenance"), "{rule}");
    let grey = show(&["logger-grey", "--pack", "demo"]);
    assert!(grey.contains("elongation at break 30 % 24 to 36 % 1 invented"), "the mean of six results: {grey}");
}
