//! The way of a contribution: the hooks name commands that exist, a series goes from skeleton to tidy record, and two
//! contributions that meet in a merge are told apart by `check`.

use super::formats::{gripbook, text};
use super::repository::{begin, commit, git, lacks_git};
use super::work::{pack, write};
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::fs;
use std::path::Path;

fn file(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).expect(path)
}

fn understood(command: &str) {
    let read = |more: &[&str]| {
        let words: Vec<&str> =
            command.split_whitespace().skip(1).map(|w| w.trim_matches('"')).chain(more.iter().copied()).collect();
        gripbook(Path::new(env!("CARGO_MANIFEST_DIR")), &words)
    };
    // The help is given where everything before it is understood.
    let out = read(&["--help"]);
    assert!(out.status.success(), "{command}: {}", String::from_utf8_lossy(&out.stderr));
    assert_eq!(read(&["--no-such-option", "--help"]).status.code(), Some(2), "{command}: the test sees what is not understood");
}

#[test]
fn the_hooks_name_commands_that_exist() {
    let hooks: Yaml = serde_yaml::from_str(&file(".pre-commit-hooks.yaml")).expect("YAML");
    let hooks = hooks.as_sequence().expect("hooks");
    assert_eq!(hooks.len(), 3);
    let folders: Vec<String> = {
        let schemas = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("schemas")).expect("schemas");
        let files = schemas.map(|e| e.expect("an entry").path()).filter(|p| p.is_file());
        let texts = files.map(|p| fs::read_to_string(p).expect("a schema"));
        let all = texts.map(|t| serde_json::from_str::<Value>(&t).expect("JSON"));
        all.filter_map(|s| s["folder"].as_str().map(str::to_owned)).collect()
    };
    for hook in hooks {
        let entry = hook["entry"].as_str().expect("an entry");
        understood(&format!("{entry} records/book/polymers/pla.yaml"));
        let files = hook["files"].as_str().expect("files");
        for folder in &folders {
            assert!(files.contains(folder.as_str()), "{entry} does not look at {folder}");
        }
    }
}

/// From skeleton to tidy record: filled in, checked, audited, its hints taken out.
#[test]
fn a_series_goes_from_skeleton_to_tidy_record() {
    let folder = pack();
    let at = folder.path();
    write(at, "resins/grey.yaml", "name: Grey\nfamily: acrylate\n");
    let words = [
        "new",
        "series",
        "--name",
        "M3 cut into grey",
        "--set",
        "source=own-2026-tests",
        "--set",
        "locator=sheet 1",
        "--set",
        "basis=measured",
        "--set",
        "joint.test=pull-out",
        "--set",
        "joint.method=cut-thread",
        "--set",
        "joint.material=resin/grey",
        "--set",
        "joint.thread=M3",
        "--set",
        "joint.length=6 mm",
        "--set",
        "joint.boss=9 mm",
        "--set",
        "test.speed=6 mm/min",
        "--set",
        "test.temperature=23 °C",
    ];
    let made = gripbook(at, &words);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    // What a pull-out test needs and nobody said stands open already.
    assert!(text(&made).contains("`hole` has no value"), "{}", text(&made));
    let path = at.join("series/m3-cut-into-grey.yaml");
    let skeleton = fs::read_to_string(&path).expect("the skeleton");
    let skeleton = skeleton.lines().filter(|l| !l.starts_with("  hole:")).map(|l| format!("{l}\n")).collect::<String>();
    let (head, rest) = skeleton.split_once("  - quantity: pull_out_load").expect("the measurements");
    let tail = rest.split_once("\n# not_stated").expect("what follows").1;
    let filled = format!(
        "{head}  - quantity: pull_out_load\n    # the second one slipped once, see the book\n    specimens:\n      - {{label: a, value: 1240 N, mode: part-thread-shear}}\n      - {{mode: part-thread-shear, label: b, value: 1195 N}}\n# not_stated{tail}"
    );
    fs::write(&path, &filled).expect("the record");
    let check = gripbook(at, &["check", "series"]);
    assert_eq!(check.status.code(), Some(1));
    assert!(text(&check).contains("does not say the hole as measured"), "a pull-out test without hole: {}", text(&check));
    fs::write(&path, filled.replace("  length: 6 mm\n", "  length: 6 mm\n  hole: 2.5 mm\n")).expect("the record");
    assert_eq!(gripbook(at, &["check", "series"]).status.code(), Some(0));
    let finished = text(&gripbook(at, &["tidy", "--finish", "series"]));
    assert!(finished.contains("hints taken out: --full shows them") && finished.lines().count() <= 24, "{finished}");
    let done = fs::read_to_string(&path).expect("the record");
    let line = "# yaml-language-server: $schema=../.schemas/series.schema.json\n";
    let done = done.strip_prefix(line).expect("the line for editors");
    let expected = "name: M3 cut into grey\nsource: own-2026-tests\nlocator: sheet 1\nbasis: measured\njoint:\n  test: pull-out\n  method: cut-thread\n  material: resin/grey\n  thread: M3\n  length: 6 mm\n  hole: 2.5 mm\n  boss: 9 mm\ntest:\n  speed: 6 mm/min\n  temperature: 23 °C\nmeasurements:\n  - quantity: pull_out_load\n    # the second one slipped once, see the book\n    specimens:\n      - {label: a, value: 1240 N, mode: part-thread-shear}\n      - {label: b, value: 1195 N, mode: part-thread-shear}\n";
    assert_eq!(done, expected);
    assert_eq!(gripbook(at, &["tidy", "--finish", "--check"]).status.code(), Some(0));
}

fn ran(at: &Path, words: &[&str]) -> String {
    let out = gripbook(at, words);
    assert_eq!(out.status.code(), Some(0), "{words:?}: {}{}", text(&out), String::from_utf8_lossy(&out.stderr));
    text(&out)
}

/// The contributor's path, counted in commands: a property takes two, a series of five specimens three, and neither check nor
/// audit has anything to ask afterwards. Both begin in an empty folder with a pack, which is one command for good.
#[test]
fn a_property_takes_two_commands_and_a_series_of_five_three() {
    let folder = tempfile::tempdir().expect("a folder");
    ran(folder.path(), &["new", "pack", "--name", "Tests of the workshop", "--id", "mine", "--set", "licence=CC0-1.0"]);
    let at = &folder.path().join("mine");
    write(at, "resins/grey.yaml", "name: Grey\n# ours\nfamily: acrylate\n");
    // A property: its source out of a citation, then the claim.
    write(
        at,
        "paper.bib",
        "@article{roe, author={Roe, Jane}, title={Transitions of printed resins}, journal={J. Joints}, year=2024, volume=3, pages={1--9}, doi={10.1234/J.5}}\n",
    );
    ran(at, &["new", "source", "--from", "paper.bib"]);
    let flags = [
        "--source",
        "roe-2024-transitions",
        "--locator",
        "Table 2",
        "--basis",
        "measured",
        "--n",
        "5",
        "--sd",
        "1.2 K",
        "--method",
        "DSC",
    ];
    let more = ["--set", "sd_kind=n-1", "--set", "conditions.post_cure={time: 30 min, temperature: 60 °C}"];
    let told = ran(at, &[&["add", "resin/grey", "tg", "61 °C"][..], &flags, &more].concat());
    assert!(!told.contains("will ask"), "{told}");
    let record = fs::read_to_string(at.join("resins/grey.yaml")).expect("the record");
    assert!(record.starts_with("name: Grey\n# ours\nfamily: acrylate\nproperties:\n  tg:\n"), "{record}");
    // A series: the campaign, the specimens out of a table, what a reviewer will ask.
    write(
        at,
        "loads.csv",
        "label,load,mode,job\na,1240 N,part-thread-shear,one\nb,1195 N,part-thread-shear,one\nc,1262 N,part-thread-shear,two\nd,1218 N,part-thread-shear,two\ne,1204 N,part-thread-shear,two\n",
    );
    ran(
        at,
        &["new", "source", "--name", "Pulls of May", "--set", "type=campaign", "--set", "issued=2026-05", "--set", "by=bench"],
    );
    let joint =
        ["thread=M3", "length=6 mm", "hole=2.52 mm", "boss=9 mm", "speed=5 mm/min", "temperature=23 °C", "locator=sheet 1"];
    let set: Vec<&str> = joint.iter().flat_map(|field| ["--set", *field]).collect();
    let import = [
        "import",
        "table",
        "loads.csv",
        "--series",
        "m3-grey",
        "--source",
        "pulls-of-may",
        "--method",
        "cut-thread",
        "--material",
        "resin/grey",
        "--yes",
    ];
    ran(at, &[&import[..], &set].concat());
    let audit = ran(at, &["audit", "--format", "json"]);
    let all: Value = serde_json::from_str(&audit).expect("JSON");
    let found: Vec<&str> = all["findings"]
        .as_array()
        .expect("a list")
        .iter()
        .filter(|f| f["severity"] != "note")
        .filter_map(|f| f["rule"].as_str())
        .collect();
    assert!(found.is_empty(), "{found:?}\n{audit}");
    // The first `new` of a pack brings what an editor needs, and every record begins with its line.
    for file in ["sources/roe-2024-transitions.yaml", "sources/pulls-of-may.yaml", "series/m3-grey.yaml", "pack.yaml"] {
        let record = fs::read_to_string(at.join(file)).expect(file);
        let way = record
            .lines()
            .next()
            .and_then(|l| l.strip_prefix("# yaml-language-server: $schema="))
            .unwrap_or_else(|| panic!("{file}: {record}"));
        assert!(at.join(file).parent().expect("a folder").join(way).is_file(), "{file}: {way}");
    }
    assert_eq!(gripbook(at, &["check"]).status.code(), Some(0));
}

/// What `new` and `add` ask for is what the audits ask for: a measured claim with these fields, filled in as the schema shows,
/// leaves no audit that misses something.
#[test]
fn what_is_asked_for_is_what_the_audits_miss() {
    use gripbook::audit::asked;
    use gripbook::check::catalogue::Measures;
    let folder = pack();
    let at = folder.path();
    let claims: Value = serde_json::from_str(&file("schemas/claim.schema.json")).expect("JSON");
    let book = super::book(at);
    let kinds = [("polymer", "pla"), ("polymer", "pa12"), ("resin", "acrylate"), ("adhesive", "epoxy-slow"), ("metal", "brass")];
    for (kind, family) in kinds {
        let card = book.catalogue().kind(kind).expect("a kind");
        let mut record = format!("name: {family}\nfamily: {family}\nproperties:\n");
        for property in &card.properties {
            let (Measures::Quantity(_), Some(band)) = (&property.measures, &property.plausible) else { continue };
            let mut lines = format!(
                "    - value: {}\n      source: own-2026-tests\n      locator: sheet 1\n      basis: measured\n",
                band.high.text
            );
            let mut conditions = Vec::new();
            for field in asked::of_claim(kind, family == "pa12", property) {
                match field.strip_prefix("conditions.") {
                    Some("post_cure") => conditions.push("post_cure: {none: true}".to_owned()),
                    Some(name) => {
                        let example = &claims["$defs"]["conditions"]["properties"][name]["examples"][0];
                        conditions
                            .push(format!("{name}: {}", example.as_str().map_or_else(|| example.to_string(), str::to_owned)));
                    }
                    None if field == "n" => lines += "      n: 9\n",
                    None if field == "method" => lines += "      method: ISO 0 type A\n",
                    None => {}
                }
            }
            if !conditions.is_empty() {
                lines += &format!("      conditions: {{{}}}\n", conditions.join(", "));
            }
            record += &format!("  {}:\n{lines}", property.word);
        }
        let folder = &card.folder;
        write(at, &format!("{folder}/{family}-own.yaml"), &record);
        let out = gripbook(at, &["audit", &format!("{folder}/{family}-own.yaml"), "--format", "json"]);
        let all: Value =
            serde_json::from_str(&text(&out)).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)));
        let missed = |f: &&Value| {
            f["rule"].as_str().is_some_and(|r| r.ends_with("-missing") && r != "spread-missing" && r != "property-missing")
        };
        let found: Vec<&Value> = all["findings"].as_array().expect("a list").iter().filter(missed).collect();
        assert!(found.is_empty(), "{kind} {family}: {found:#?}");
    }
}

/// Two branches that git merges without a conflict although they contradict each other.
fn merged(ours: &[(&str, &str)], theirs: &[(&str, &str)]) -> Option<tempfile::TempDir> {
    if lacks_git() {
        return None;
    }
    let folder = pack();
    let at = folder.path();
    write(at, "polymers/grey.yaml", BASE);
    begin(at);
    for (branch, files) in [("ours", ours), ("theirs", theirs)] {
        git(at, &["checkout", "-q", "-b", branch, "main"]);
        files.iter().for_each(|(path, text)| write(at, path, text));
        commit(at, branch);
        assert_eq!(gripbook(at, &["check"]).status.code(), Some(0), "{branch} alone is right");
    }
    // git sees no conflict.
    git(at, &["merge", "-q", "--no-edit", "ours"]);
    Some(folder)
}

const BASE: &str = "name: Grey\nfamily: pla\nproperties:\n  tg:\n    - {value: 60 °C, source: own-2026-tests, locator: sheet 1, basis: measured}\n  density:\n    - {value: 1.2 g/cm³, source: own-2026-tests, locator: sheet 1, basis: measured}\n  cte:\n    - {value: 70 µm/(m·K), source: own-2026-tests, locator: sheet 1, basis: measured}\n";

fn rules(at: &Path) -> Vec<String> {
    let output = gripbook(at, &["check", "--format", "json"]);
    assert_eq!(output.status.code(), Some(1), "{}", text(&output));
    let all: Value = serde_json::from_str(&text(&output)).expect("JSON");
    all["findings"].as_array().expect("findings").iter().filter_map(|f| f["rule"].as_str().map(str::to_owned)).collect()
}

/// One path on both branches is a conflict that git itself shows. An id is a path inside its pack, so two contributions of
/// one id can meet unseen only in two packs of one repository: what both merges leave is checked together.
#[test]
fn two_contributions_of_one_id_are_found_on_the_merge_result() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    for (pack, name) in [("first", "Blue one"), ("second", "Blue two")] {
        write(at, &format!("{pack}/pack.yaml"), &format!("id: {pack}\ntitle: A pack\nlicence: CC0-1.0\n"));
        let record = format!("name: {name}\nfamily: pla\nproperties:\n  tg:\n    - {{value: 60 °C, basis: recalled}}\n");
        write(at, &format!("{pack}/polymers/blue.yaml"), &record);
        assert_eq!(gripbook(at, &["check", pack]).status.code(), Some(0), "{pack} alone is right");
    }
    let output = gripbook(at, &["check", "first", "second"]);
    assert_eq!(output.status.code(), Some(1), "{}", text(&output));
    assert!(text(&output).contains("record-twice"), "{}", text(&output));
}

#[test]
fn a_claim_that_both_branches_added_is_found_on_the_merge_result() {
    let claim = "    - {value: 61 °C, source: own-2026-tests, locator: sheet 2, basis: measured}\n";
    // One adds it before, one behind the claim that is there: git keeps both.
    let before = BASE.replace("  tg:\n", &format!("  tg:\n{claim}"));
    let behind = BASE.replace("  density:\n", &format!("{claim}  density:\n"));
    let Some(folder) = merged(&[("polymers/grey.yaml", &before)], &[("polymers/grey.yaml", &behind)]) else { return };
    let merged = fs::read_to_string(folder.path().join("polymers/grey.yaml")).expect("the record");
    assert_eq!(merged.matches("sheet 2").count(), 2, "git kept both: {merged}");
    assert!(rules(folder.path()).contains(&"claim-twice".to_owned()));
}

/// Families a pack adds below existing ones: found by the wider word, judged by the rules of the wider family.
#[test]
fn families_of_a_pack_count_in_find_and_suits() {
    let folder = pack();
    let at = folder.path();
    let families = "families: {bio-acrylate: acrylate, cyanoacrylate-brush: cyanoacrylate-thick}\n";
    write(at, "pack.yaml", &format!("id: mine\ntitle: Mine\nlicence: CC0-1.0\n{families}"));
    write(at, "resins/soy.yaml", "name: Soy resin\nfamily: bio-acrylate\n");
    write(
        at,
        "adhesives/brush.yaml",
        "name: Brush-on glue\nfamily: cyanoacrylate-brush\nproperties:\n  cure:\n    - {value: moisture, basis: practice}\n",
    );
    assert_eq!(gripbook(at, &["check"]).status.code(), Some(0));
    let json = |words: &[&str]| -> Value {
        let output = gripbook(at, &[words, &["--format", "json"]].concat());
        serde_json::from_str(&text(&output)).unwrap_or_else(|e| panic!("{e} {}", String::from_utf8_lossy(&output.stderr)))
    };
    let found = json(&["find", "--family", "acrylate"]);
    assert!(found["results"].as_array().expect("results").iter().any(|r| r["id"] == "resin/soy"), "{found}");
    // A rule on thick cyanoacrylates or a wider family speaks of the glue of the pack, as of its parent.
    let spoke = |glue: &str| -> Vec<String> {
        let all = json(&["suits", glue, "pp", "--gap", "0.1mm"]);
        let mut names: Vec<String> =
            all["rules"].as_array().expect("rules").iter().filter_map(|r| r["id"].as_str().map(str::to_owned)).collect();
        names.sort();
        names
    };
    let (own, parent) = (spoke("brush"), spoke("cyanoacrylate-thick"));
    assert!(!own.is_empty());
    assert_eq!(own, parent);
    assert_eq!(json(&["suits", "brush", "pp"])["verdict"], json(&["suits", "cyanoacrylate-thick", "pp"])["verdict"]);
}

/// `check` and the book tell claims apart by the same rule, each by itself: for pairs that differ in one respect, `check`
/// calls them one claim exactly when the book gives both one key.
#[test]
fn check_and_book_agree_on_what_one_claim_is() {
    let base = "source: own-2026-tests, locator: sheet 1, basis: measured, method: DSC";
    let with = |conditions: &str| format!("{{value: 60 °C, {base}, conditions: {{{conditions}}}}}");
    let pairs = [
        (format!("{{value: 60 °C, {base}}}"), format!("{{value: 61 °C, {base}, n: 5}}"), true),
        (with("temperature: 23 °C"), with("temperature: 23 degC"), true),
        (with("thickness: 3 mm"), with("thickness: 0.3 cm"), true),
        (with("temperature: 23 °C, moisture: dry"), with("moisture: dry, temperature: 23 °C"), true),
        (with("temperature: 23 °C"), with("temperature: 24 °C"), false),
        (with("moisture: dry"), with("moisture: wet"), false),
        (with("notched: true"), with("notched: false"), false),
        (with("adherends: [steel, brass]"), with("adherends: [brass, steel]"), false),
        (with("adherends: [steel]"), with("adherends: [steel, brass]"), false),
        (with("post_cure: {time: 30 min}"), with("post_cure: {time: 0.5 h}"), true),
        (with("post_cure: {time: 30 min}"), with("post_cure: {time: 30 min, temperature: 60 °C}"), false),
        (with("note: dry"), with("note: wet"), false),
        (format!("{{value: 60 °C, {base}}}"), format!("{{value: 60 °C, {}}}", base.replace("sheet 1", "sheet 2")), false),
        (format!("{{value: 60 °C, {base}}}"), format!("{{value: 60 °C, {}}}", base.replace(", method: DSC", "")), false),
    ];
    for (a, b, same) in pairs {
        let folder = pack();
        let at = folder.path();
        let record = |claims: &[&String]| {
            let list: String = claims.iter().map(|c| format!("    - {c}\n")).collect();
            format!("name: Grey\nfamily: pla\nproperties:\n  tg:\n{list}")
        };
        write(at, "polymers/first.yaml", &record(&[&a]));
        write(at, "polymers/second.yaml", &record(&[&b]));
        let book = super::book(at);
        let key = |id: &str| book.record(id).expect("the record").claims("tg")[0].key.to_string();
        assert_eq!(key("polymer/first") == key("polymer/second"), same, "the book: {a} {b}");
        write(at, "polymers/both.yaml", &record(&[&a, &b]));
        let output = gripbook(at, &["check", "polymers/both.yaml", "--format", "json"]);
        assert_eq!(text(&output).contains("claim-twice"), same, "check: {a} {b}");
    }
}
