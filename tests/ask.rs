//! Questions as people type them: order, spelling, classes, slips. Status of these checks: self (how a line is read is ours to
//! say); the weight of 20 kg is by the standard acceleration of free fall, ISO 80000-3, 9.80665 m/s².

use std::process::{Command, Output};

fn ask(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    command.current_dir(std::env::temp_dir()).args(arguments).env_remove("HOME").output().expect("the program runs")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn refused(output: &Output) -> String {
    assert!(output.stdout.is_empty(), "a refusal writes no answer: {}", said(output));
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The answer without the line that was typed.
fn answer(arguments: &[&str]) -> serde_json::Value {
    let output = ask(&[arguments, &["--format", "json"]].concat());
    let mut all: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    all["command"] = serde_json::Value::Null;
    all
}

#[test]
fn adhesive_and_material_come_in_either_order() {
    let straight = answer(&["suits", "cyanoacrylate-thick", "pla"]);
    assert_eq!(straight["material"], "polymer/pla");
    assert_eq!(answer(&["suits", "pla", "cyanoacrylate-thick"]), straight);
    // One of the two alone asks what goes with it.
    assert_eq!(answer(&["suits", "abs"]), answer(&["suits", "--material", "abs"]));
    assert_eq!(answer(&["suits", "epoxy-slow"]), answer(&["suits", "--adhesive", "epoxy-slow"]));
}

#[test]
fn spaces_hyphens_and_case_do_not_count() {
    let of = |arguments: &[&str]| {
        let all = answer(arguments);
        (all["adhesive"].clone(), all["material"].clone())
    };
    let wanted = of(&["suits", "superglue", "pa12"]);
    for (glue, part) in [("super glue", "PA 12"), ("Super-Glue", "pa-12"), ("SUPERGLUE", "Polyamide 12")] {
        assert_eq!(of(&["suits", glue, part]), wanted, "{glue} {part}");
    }
    // Words of a name need no quotes where they can be parted in one way only.
    assert_eq!(of(&["suits", "super", "glue", "PA", "12"]), wanted);
    // A mark between digits is part of the name.
    assert_eq!(answer(&["show", "heat set M2.5"])["id"], "insert/heat-set-m2-5");
    assert_ne!(ask(&["show", "heat set M25"]).status.code(), Some(0));
    assert!(said(&ask(&["find", "tough", "--kind", "Resins"])).contains("resin/tough"));
    assert!(said(&ask(&["find", "--family", "Nylon"])).contains("polymer/pa12"));
}

#[test]
fn a_class_lists_its_members_best_known_first() {
    let output = ask(&["suits", "epoxy", "nylon"]);
    assert_eq!(output.status.code(), Some(1));
    let told = refused(&output);
    // A class makes less sense than a name and more than nothing, whichever side it stands on.
    assert_eq!(refused(&ask(&["suits", "nylon", "epoxy"])), told);
    for member in ["pa6 ", "pa12 ", "pa66 "] {
        assert!(told.lines().any(|line| line.starts_with(member)), "{member}: {told}");
    }
    assert!(told.lines().any(|line| line.starts_with("polymer ")), "the kind of short ids is named: {told}");
    // The last two columns: series, then claims.
    let rows = told.lines().filter(|line| line.starts_with("pa"));
    let known: Vec<Vec<u32>> =
        rows.map(|row| row.split_whitespace().rev().take(2).map(|n| n.parse().expect("a number")).collect()).collect();
    assert!(known.len() >= 5, "{told}");
    assert!(known.windows(2).all(|w| (w[0][1], w[0][0]) >= (w[1][1], w[1][0])), "{told}");
    assert!(refused(&ask(&["fasten", "resin", "M3", "8mm"])).contains("\ntough "));
}

/// A word for a class that no record is of: the records with the word in their names, and no refusal where they are asked for.
#[test]
fn a_class_without_members_lists_who_bears_its_name() {
    let shown = ask(&["show", "wood"]);
    let text = said(&shown);
    assert_eq!(shown.status.code(), Some(0), "{text}");
    assert!(text.contains("No record is of the class `wood`") && text.contains("wood-fiber-particleboard-torque"), "{text}");
    // A search of the literature bears the name of what was looked for, and does not stand before it.
    assert_eq!(answer(&["show", "captive nut"])["id"], "method/captive-nut");
    let steel = refused(&ask(&["show", "steel-8-8"]));
    assert!(
        steel.contains("metal/steel-8-8") && steel.contains("screw/steel-8-8") && steel.contains("Steel screw 8.8"),
        "{steel}"
    );
}

/// Where one thing is needed a class is refused with its members; where the members can be the answer they are it.
#[test]
fn a_class_is_an_answer_where_its_members_can_be_one() {
    for word in ["resin", "nylon"] {
        let shown = ask(&["show", word]);
        assert_eq!(shown.status.code(), Some(0), "{word}");
        assert!(said(&shown).contains("names a class of"), "{}", said(&shown));
        for command in [&["series", word][..], &["compare", word, "pla"]] {
            let listed = ask(command);
            assert_eq!(listed.status.code(), Some(0), "{command:?}");
            assert!(said(&listed).contains("Series measured on them: "), "{}", said(&listed));
        }
    }
    // The material before a screw that bears its name, and neither of them hidden.
    let nylon = answer(&["show", "nylon"]);
    let members: Vec<&str> = nylon["members"].as_array().expect("a list").iter().filter_map(|m| m["id"].as_str()).collect();
    assert!(members[0].starts_with("polymer/pa") && members.contains(&"screw/nylon"), "{members:?}");
    assert_eq!(answer(&["show", "screw/nylon"])["id"], "screw/nylon");
    assert_eq!(answer(&["show", "pla"])["id"], "polymer/pla", "a member that bears the name of its class");
    // What is not known is a word for a reader and an empty cell for a program.
    assert!(said(&ask(&["show", "nylon"])).contains("not known"));
    let rows = said(&ask(&["show", "nylon", "--format", "csv"]));
    assert!(rows.contains(",,") && !rows.contains("not known"), "{rows}");
}

/// Ranges as answers print them are taken wherever a range is.
#[test]
fn a_printed_range_is_read_again() {
    let of = |bounds: &[&str]| -> Vec<String> {
        let all = answer(&[&["find", "--kind", "polymer"], bounds].concat());
        let list = all["results"].as_array().expect("a list");
        list.iter().filter_map(|r| r["id"].as_str()).map(str::to_owned).collect()
    };
    let two = of(&["--where", "tg >= 60 °C", "--where", "tg <= 110 °C"]);
    assert!(!two.is_empty());
    for range in ["tg = 60 °C to 110 °C", "tg = 60 to 110 °C", "tg = 60°C..110°C"] {
        assert_eq!(of(&["--where", range]), two, "{range}");
    }
    let gap = |text: &str| answer(&["fasten", "pla", "M3", "--assumptions", "--set", text]);
    assert_eq!(gap("protrusion=0.1 mm to 1.5 mm"), gap("protrusion=0.1mm..1.5mm"));
    let new =
        ask(&["new", "polymer", "--name", "trial", "--print", "--claim", "tensile_strength: 40 MPa to 55 MPa; basis=recalled"]);
    assert!(said(&new).contains("low: 40 MPa") && said(&new).contains("high: 55 MPa"), "{}", said(&new));
}

#[test]
fn fasten_takes_material_thread_length_and_load() {
    let words = answer(&["fasten", "petg", "M4", "8mm", "200N"]);
    let options = answer(&["fasten", "--material", "petg", "--thread", "M4", "--length", "8mm", "--need", "200N"]);
    assert_eq!(words, options);
    assert_eq!(answer(&["fasten", "petg", "M4", "8", "mm", "200", "N"]), options, "a space before the unit");
    // Options win.
    assert_eq!(answer(&["fasten", "abs", "M4", "9mm", "200N", "--material", "petg", "--length", "8mm"]), options);
    assert_eq!(answer(&["fasten", "petg", "M4", "--length", "8mm", "200N"]), options);
}

#[test]
fn a_length_that_is_not_given_is_said() {
    let plain = said(&ask(&["fasten", "petg", "M4"]));
    assert!(plain.contains("not given; 8 mm is used (2 d)"), "{plain}");
    let own = said(&ask(&["fasten", "pla", "M3", "--insert", "heat set", "--method", "heat set"]));
    assert!(own.contains("is used (the length of the insert)"), "{own}");
    assert!(!said(&ask(&["fasten", "petg", "M4", "8mm"])).contains("is used ("));
}

#[test]
fn all_mistakes_of_a_line_are_told_at_once() {
    let output = ask(&["fasten", "petgg", "M44", "8mm", "20kg"]);
    assert_eq!(output.status.code(), Some(2));
    let told = refused(&output);
    for part in ["3 mistakes", "no material is called `petgg`", "polymer/petg", "M44", "20 kgf", "196.1 N"] {
        assert!(told.contains(part), "{part}: {told}");
    }
    let told = refused(&ask(&["suits", "epoxy-slow", "pla", "--gap", "5", "--temperature", "60mm"]));
    assert!(told.contains("2 mistakes") && told.contains("--gap") && told.contains("--temperature"), "{told}");
}

#[test]
fn a_repaired_line_is_printed_where_there_is_one_way() {
    let told = |arguments: &[&str]| {
        let output = ask(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        refused(&output)
    };
    assert!(told(&["fasten", "petg", "M4", "8mm", "20kg"]).contains("Repaired: gripbook fasten petg M4 8mm 20kgf\n"));
    assert!(told(&["fasten", "petg", "M4", "8", "20"]).contains("Repaired: gripbook fasten petg M4 8mm 20N\n"));
    assert!(told(&["fasten", "petg", "M4", "--need=20kg"]).contains("Repaired: gripbook fasten petg M4 --need=20kgf\n"));
    assert!(told(&["suits", "epoxy-slow", "pla", "--gap", "0,5mm"]).contains("--gap 0.5mm\n"));
    assert!(told(&["suits", "epoxy-slow", "pla", "--temperature", "60C"]).contains("--temperature 60°C\n"));
    // A repaired line is one that works.
    assert_eq!(ask(&["fasten", "petg", "M4", "8mm", "20kgf"]).status.code(), Some(0));
}

#[test]
fn a_ranking_has_ten_rows_and_the_rest_behind_full() {
    let is_row = |line: &&str| [" with care ", " unknown ", " does not suit "].iter().any(|verdict| line.contains(verdict));
    let rows = |text: &str| text.lines().filter(is_row).count();
    let brief = said(&ask(&["suits", "abs"]));
    assert_eq!(rows(&brief), 10, "{brief}");
    assert!(brief.contains("more with --full"), "{brief}");
    let all = answer(&["suits", "abs"])["ranking"].as_array().map_or(0, Vec::len);
    assert_eq!(rows(&said(&ask(&["suits", "abs", "--full"]))), all);
    // What applies to all of them is said once, not in every row.
    let reasons: Vec<&str> = brief.lines().filter(|line| line.contains("unprepared printed")).collect();
    assert!(reasons.len() <= 1, "{brief}");
}
