//! What a person writes with the program: nothing of others is replaced, nothing typed is dropped, what cannot be is refused.

use crate::audit::formats::{gripbook, text};
use crate::audit::work::{pack, write};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn error(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// As `gripbook`, with a cache folder of its own: what the program wrote last is known there.
fn with_cache(at: &Path, cache: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    command.current_dir(at).args(arguments).env("GRIPBOOK_CACHE", cache).output().expect("runs")
}

fn read(at: &Path, path: &str) -> String {
    fs::read_to_string(at.join(path)).expect(path)
}

const PLOT: [&str; 6] = ["series", "--loads", "520,540,610", "--unit", "N", "--plot"];

/// A result goes over what the program wrote there, and over nothing else without `--force`.
#[test]
fn a_file_of_somebody_else_is_not_replaced() {
    let (folder, cache) = (pack(), tempfile::tempdir().expect("a folder"));
    let (at, cache) = (folder.path(), cache.path());
    let plot = |loads: &str, more: &[&str]| {
        let words = [&["series", "--loads", loads, "--unit", "N", "--plot", "mine.svg"][..], more].concat();
        with_cache(at, cache, &words)
    };
    write(at, "mine.svg", "drawn by hand");
    let refused = plot("520,540,610", &[]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(error(&refused).contains("mine.svg exists") && error(&refused).contains("--force"), "{}", error(&refused));
    assert_eq!(read(at, "mine.svg"), "drawn by hand");
    assert_eq!(plot("520,540,610", &["--force"]).status.code(), Some(0));
    let first = read(at, "mine.svg");
    assert!(first.starts_with("<svg"));
    // Its own file it replaces; one that somebody edited since, it does not.
    assert_eq!(plot("520,540,900", &[]).status.code(), Some(0));
    assert_ne!(read(at, "mine.svg"), first);
    write(at, "mine.svg", &(read(at, "mine.svg") + "<!-- mine -->\n"));
    assert_eq!(plot("520,540,610", &[]).status.code(), Some(2));
    assert!(read(at, "mine.svg").ends_with("<!-- mine -->\n"));
}

/// The seal in a file travels with it: another machine, a fresh clone, a run without any memory know it. A table has no room for
/// one, so there the memory decides.
#[test]
fn a_result_is_known_by_its_seal_where_nothing_is_remembered() {
    let folder = pack();
    let at = folder.path();
    write(at, "polymers/grey.yaml", "name: Grey\nfamily: pla\n");
    let run = |words: &[&str]| {
        let none = tempfile::tempdir().expect("a folder");
        let done = with_cache(at, none.path(), words);
        (done.status.code(), error(&done))
    };
    let fasten = |draws: &'static str, option: &'static str, file: &'static str| {
        ["fasten", "--material", "pla", "--thread", "M3", "--length", "6mm", "--draws", draws, option, file]
    };
    for (option, file) in [("--out", "s.json"), ("--drawing", "d.svg"), ("--solid", "s.stl")] {
        assert_eq!(run(&fasten("100", option, file)).0, Some(0), "{file}");
        let first = fs::read(at.join(file)).expect(file);
        let other = ["fasten", "--material", "pla", "--thread", "M4", "--length", "8mm", "--draws", "100", option, file];
        assert_eq!(run(&other).0, Some(0), "{file} is known");
        let sealed = fs::read(at.join(file)).expect(file);
        assert_ne!(sealed, first, "{file}");
        // Somebody's change is noticed, wherever it is.
        let mut mine = sealed.clone();
        let middle = mine.len() / 2;
        mine[middle] ^= 1;
        fs::write(at.join(file), &mine).expect(file);
        let (code, said) = run(&fasten("100", option, file));
        assert!(code == Some(2) && said.contains("not as gripbook wrote it"), "{file}: {said}");
        assert_eq!(fs::read(at.join(file)).expect(file), mine, "{file}");
    }
    // A sealed sheet is read as any other.
    assert_eq!(run(&fasten("100", "--out", "t.json")).0, Some(0));
    assert_eq!(run(&["recheck", "t.json"]).0, Some(0));
    let table = run(&["export", "polymer/grey", "--out", "tables"]);
    assert_eq!(table.0, Some(0), "{}", table.1);
    write(at, "polymers/grey.yaml", "name: Dark grey\nfamily: pla\nproperties:\n  tg:\n    - {value: 60 °C, basis: recalled}\n");
    let (code, said) = run(&["export", "polymer/grey", "--out", "tables"]);
    assert!(code == Some(2) && said.contains(".csv exists, and not as gripbook wrote it"), "{said}");
}

/// A plot over a record replaced it, with exit 0.
#[test]
fn no_result_is_written_over_a_record() {
    let folder = pack();
    let at = folder.path();
    write(at, "resins/x.yaml", "name: X\nfamily: acrylate\n");
    write(at, "series/x/a.csv", "1,2\n");
    fs::create_dir_all(at.join("sub")).expect("a folder");
    #[cfg(unix)]
    std::os::unix::fs::symlink(at.join("resins"), at.join("sub/link")).expect("a link");
    for path in ["resins/x.yaml", "pack.yaml", "series/x/a.csv", "resins/new.yaml", "sub/../resins/x.yaml", "sub/link/x.yaml"] {
        let before = fs::read(at.join(path)).ok();
        for more in [&[][..], &["--force"]] {
            let out = gripbook(at, &[&PLOT[..], &[path], more].concat());
            assert_eq!(out.status.code(), Some(2), "{path}: {}", error(&out));
            assert!(error(&out).contains("belongs to the records of the pack"), "{path}: {}", error(&out));
            assert_eq!(fs::read(at.join(path)).ok(), before, "{path}");
        }
    }
    // Beside the records there is room, and a device is no file.
    assert_eq!(gripbook(at, &[&PLOT[..], &["plots/x.svg"]].concat()).status.code(), Some(0));
    #[cfg(unix)]
    assert!(error(&gripbook(at, &[&PLOT[..], &["/dev/null"]].concat())).contains("no plain file"));
    let twice = gripbook(at, &[&PLOT[..], &["a.svg", "--out", "a.svg"]].concat());
    assert!(error(&twice).contains("two results of one command"), "{}", error(&twice));
    assert!(!at.join("a.svg").exists());
}

/// Of several files none is written when one of them cannot be.
#[test]
fn several_files_are_written_together() {
    let folder = pack();
    let at = folder.path();
    write(at, "out/sources.csv", "mine\n");
    let out = gripbook(at, &["export", "--out", "out"]);
    assert_eq!(out.status.code(), Some(2), "{}", error(&out));
    assert_eq!(fs::read_dir(at.join("out")).expect("a folder").count(), 1);
    assert!(!at.join(".gripbook-write").exists());
}

#[test]
fn a_field_that_is_not_there_is_refused_with_the_nearest() {
    let folder = pack();
    let at = folder.path();
    let cases: [(&[&str], &str); 12] = [
        (&["new", "source", "--name", "X", "--set", "doi=10.1/x"], "`DOI`"),
        (&["new", "source", "--name", "X", "--set", "titel=x"], "`title`"),
        (&["new", "series", "--name", "X", "--set", "sorce=zz"], "`source`"),
        (&["new", "series", "--name", "X", "--set", "hole=2.5 mm"], "`joint.hole`"),
        (&["new", "series", "--name", "X", "--set", "joint.tset=pull-out"], "`joint.test`"),
        (&["new", "polymer", "--name", "X", "--set", "sorce=zz"], "no field of a polymer"),
        (&["new", "polymer", "--name", "X", "--set", "source=zz"], "belongs to a claim"),
        (&["new", "polymer", "--name", "X", "--claim", "tg: 60 °C; sorce=zz"], "`source`"),
        (&["new", "polymer", "--name", "X", "--claim", "tensile_strenght: 60 MPa; basis=recalled"], "`tensile_strength`"),
        (&["new", "polymr", "--name", "X"], "`polymer`"),
        (&["new", "pack", "--name", "X", "--set", "license=CC0-1.0"], "`licence`"),
        (&["import", "table", "l.csv", "--series", "x", "--set", "holle=2 mm", "--yes"], "`hole`"),
    ];
    write(at, "l.csv", "label,load\na,520 N\n");
    for (arguments, near) in cases {
        let out = gripbook(at, arguments);
        assert_eq!(out.status.code(), Some(2), "{arguments:?}: {}{}", text(&out), error(&out));
        assert!(error(&out).contains(near), "{arguments:?}: {}", error(&out));
    }
    assert_eq!(fs::read_dir(at).expect("a folder").count(), 3, "nothing was written");
}

/// Paths of what was written are as one would type them, in JSON as on the page.
#[test]
fn what_was_written_is_named_as_one_would_type_it() {
    let folder = pack();
    let at = folder.path();
    let whole = at.join("second").to_string_lossy().into_owned();
    let cases: [(&[&str], &str); 3] = [
        (&["new", "plugin", "importer", "my-log"], "crate=plugins/sources/my-log record=plugins/my-log.yaml"),
        (&["new", "pack", "--name", "Second", "--set", "licence=CC0-1.0", "--into", &whole], "file=second/pack.yaml"),
        (&["new", "polymer", "--name", "Grey", "--set", "family=pla"], "file=polymers/grey.yaml"),
    ];
    for (arguments, paths) in cases {
        let out = gripbook(at, &[arguments, &["--format", "json"]].concat());
        let said: Value = serde_json::from_str(&text(&out)).unwrap_or_else(|e| panic!("{arguments:?}: {e} {}", error(&out)));
        for (field, path) in paths.split(' ').filter_map(|told| told.split_once('=')) {
            assert_eq!(said[field].as_str(), Some(path), "{arguments:?}");
            assert!(at.join(path).exists(), "{path}");
        }
        // Said again where it is there already.
        let again = gripbook(at, arguments);
        assert_eq!(again.status.code(), Some(2), "{arguments:?}");
        assert!(!error(&again).contains(&*at.to_string_lossy()), "{}", error(&again));
    }
}

#[test]
fn names_with_commas_and_lists_are_typed_in_a_said_form() {
    let folder = pack();
    let at = folder.path();
    let author = "author=Petrie, E. M.; Roe, Jane; Bench Group";
    let out = gripbook(
        at,
        &[
            "new",
            "source",
            "--name",
            "Joints",
            "--set",
            "type=book",
            "--set",
            author,
            "--set",
            "issued=2020",
            "--set",
            "publisher=Bench",
        ],
    );
    assert_eq!(out.status.code(), Some(0), "{}", error(&out));
    let record = read(at, "sources/joints.yaml");
    let list = "author: [{family: Petrie, given: E. M.}, {family: Roe, given: Jane}, {literal: Bench Group}]\n";
    assert!(record.contains(list), "{record}");
    let out = gripbook(at, &["new", "polymer", "--name", "Grey", "--set", "family=pla", "--set", "also=grey, matt; dull"]);
    assert_eq!(out.status.code(), Some(0), "{}", error(&out));
    assert!(read(at, "polymers/grey.yaml").contains("also: [\"grey, matt\", dull]\n"), "{}", read(at, "polymers/grey.yaml"));
    assert_eq!(gripbook(at, &["check"]).status.code(), Some(0), "{}", text(&gripbook(at, &["check"])));
}

/// No list is cut without the command that shows all, and the words are those of the kind.
#[test]
fn lists_of_words_are_those_of_the_kind_and_can_be_seen_whole() {
    let folder = pack();
    let at = folder.path();
    let families = gripbook(at, &["new", "adhesive", "--words", "family", "--format", "json"]);
    let all: Value = serde_json::from_str(&text(&families)).expect("JSON");
    let words: Vec<&str> = all["words"].as_array().expect("words").iter().filter_map(Value::as_str).collect();
    assert!(words.contains(&"epoxy-slow") && words.contains(&"photopolymer") && !words.contains(&"brass"), "{words:?}");
    let properties = text(&gripbook(at, &["new", "adhesive", "--words", "properties"]));
    let place = |word: &str| properties.find(word).unwrap_or_else(|| panic!("{word}: {properties}"));
    assert!(place("lap_shear_strength") < place("viscosity") && place("peel_strength") < place("density"));
    write(at, "adhesives/x.yaml", "name: X\nfamily: stickum\nproperties:\n  lap_shear: [{value: 20 MPa, basis: recalled}]\n");
    let told = text(&gripbook(at, &["check", "adhesives"])).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("`gripbook new adhesive --words family` lists all") && !told.contains("brass"), "{told}");
    assert!(
        told.contains("did you mean `lap_shear_strength`?") || told.contains("`gripbook new adhesive --words properties`"),
        "{told}"
    );
    // Every command that a cut list names exists and lists.
    for line in read_skeletons(at) {
        let command = line.split("(`gripbook ").nth(1).and_then(|rest| rest.split('`').next()).expect("a command");
        let out = gripbook(at, &command.split(' ').collect::<Vec<_>>());
        assert!(out.status.success() && text(&out).lines().count() > 14, "{command}: {}", error(&out));
    }
}

fn read_skeletons(at: &Path) -> Vec<String> {
    let kinds = ["polymer", "resin", "adhesive", "series", "source", "process"];
    let all = kinds.iter().map(|kind| text(&gripbook(at, &["new", kind, "--name", "X", "--print"])));
    let lines: Vec<String> =
        all.flat_map(|t| t.lines().filter(|l| l.contains("lists all")).map(str::to_owned).collect::<Vec<_>>()).collect();
    assert!(lines.len() > 4, "{lines:?}");
    lines
}

#[test]
fn a_wrong_failure_mode_gets_the_nearest() {
    let folder = pack();
    let at = folder.path();
    for (typed, near) in
        [("stripped", "`strip`"), ("thread-shear", "`part-thread-shear` or `metal-thread-shear`"), ("hoop-brust", "`hoop-burst`")]
    {
        write(at, "l.csv", &format!("label,load,mode\na,520 N,{typed}\n"));
        let out = gripbook(at, &["import", "table", "l.csv", "--series", "x", "--yes"]);
        assert!(error(&out).contains(&format!("did you mean {near}?")), "{}", error(&out));
        write(
            at,
            "series/x.yaml",
            &format!(
                "name: X\nbasis: recalled\njoint: {{test: shear}}\nmeasurements:\n  - {{quantity: failure_load, mean: 5 N, mode: {typed}}}\n"
            ),
        );
        let told = text(&gripbook(at, &["check", "series"]));
        assert!(told.contains(&format!("did you mean {near}?")), "{told}");
        fs::remove_file(at.join("series/x.yaml")).expect("removed");
    }
}

/// Absolute zero: -273.15 °C (SI brochure, 9th edition, 2.3.1). The rest is what the words mean.
#[test]
fn what_cannot_be_is_an_error_of_check() {
    let folder = pack();
    let at = folder.path();
    let claim = |property: &str, value: &str| {
        format!("name: X\nfamily: pla\nproperties:\n  {property}: [{{value: {value}, basis: recalled}}]\n")
    };
    let series = |joint: &str, rest: &str| {
        format!("name: X\nbasis: recalled\njoint: {{test: shear{joint}}}\nmeasurements:\n  - {{quantity: {rest}}}\n")
    };
    let wrong = [
        ("polymers/x.yaml", claim("tensile_strength", "-46.5 MPa"), "value-negative"),
        ("polymers/x.yaml", claim("tensile_strength", "0 MPa"), "value-zero"),
        ("polymers/x.yaml", claim("density", "-1.2 g/cm³"), "value-negative"),
        ("polymers/x.yaml", claim("tg", "-300 °C"), "below-absolute-zero"),
        ("polymers/x.yaml", claim("tg", "-1 K"), "below-absolute-zero"),
        (
            "polymers/x.yaml",
            claim("tg", "60 °C").replace("basis", "conditions: {post_cure: {temperature: -280 °C}}, basis"),
            "below-absolute-zero",
        ),
        ("polymers/x.yaml", claim("tg", "60 °C").replace("basis", "conditions: {thickness: -3 mm}, basis"), "value-negative"),
        (
            "polymers/x.yaml",
            claim("tensile_strength", "5 MPa").replace("value: 5 MPa", "low: -5 MPa, high: 5 MPa"),
            "value-negative",
        ),
        ("series/x.yaml", series(", hole: 0 mm", "failure_load, mean: 5 N"), "value-zero"),
        ("series/x.yaml", series(", hole: -2 mm", "failure_load, mean: 5 N"), "value-negative"),
        ("series/x.yaml", series("", "failure_load, mean: -5 N"), "value-negative"),
        ("series/x.yaml", series("", "failure_load, specimens: [{value: 5 N}, {value: -5 N}]"), "value-negative"),
        ("series/x.yaml", series("", "hole_diameter, mean: 0 mm"), "value-zero"),
        ("resins/x.yaml", "name: X\nfamily: brass\n".into(), "family-of-kind"),
        ("resins/x.yaml", "name: X\nfamily: pla\n".into(), "family-of-kind"),
        ("metals/x.yaml", "name: X\nfamily: acrylate\n".into(), "family-of-kind"),
        ("adhesives/x.yaml", "name: X\nfamily: stainless-steel\n".into(), "family-of-kind"),
        ("primers/x.yaml", "name: X\nfamily: epoxy\n".into(), "family-of-kind"),
    ];
    for (path, record, rule) in wrong {
        write(at, path, &record);
        let out = gripbook(at, &["check", path, "--format", "json"]);
        let all: Value = serde_json::from_str(&text(&out)).expect("JSON");
        let found: Vec<(&str, &str)> = all["findings"]
            .as_array()
            .expect("findings")
            .iter()
            .filter_map(|f| Some((f["rule"].as_str()?, f["severity"].as_str()?)))
            .collect();
        assert!(found.contains(&(rule, "error")), "{record}: {found:?}");
        assert_eq!(out.status.code(), Some(1));
        assert_eq!(gripbook(at, &["why", rule]).status.code(), Some(0));
        fs::remove_file(at.join(path)).expect("removed");
    }
    let right = [
        ("polymers/x.yaml", claim("tg", "-85 °C")),
        ("polymers/x.yaml", claim("tg", "0 K")),
        ("polymers/x.yaml", claim("tensile_strength_change", "-36 %")),
        ("polymers/x.yaml", claim("dimension_error", "-0.06 mm")),
        ("polymers/x.yaml", claim("water_uptake", "0 %")),
        ("polymers/x.yaml", claim("surface_energy_polar", "0.0 mJ/m²")),
        ("polymers/x.yaml", claim("tensile_strength", "5 MPa").replace("value: 5 MPa", "low: 0 MPa, high: 5 MPa")),
        (
            "polymers/x.yaml",
            claim("tensile_strength", "-5 MPa")
                .replace("basis", "standing: disputed, because: the sign is a slip of the print, basis"),
        ),
        ("series/x.yaml", series(", gap: 0 mm", "failure_load, mean: 0 N")),
        ("series/x.yaml", series("", "hole_deviation, mean: -0.1 mm")),
        ("resins/x.yaml", "name: X\nfamily: photopolymer-filled\n".into()),
        ("adhesives/x.yaml", "name: X\nfamily: photopolymer\n".into()),
        (
            "processes/x.yaml",
            "name: X\nprinter_type: filament\nfamily: petg\nhole_offset: [{diameter: 2.6 mm, offset: -0.12 mm}]\n".into(),
        ),
    ];
    for (path, record) in right {
        write(at, path, &record);
        let told = text(&gripbook(at, &["check", path]));
        for rule in ["value-negative", "value-zero", "below-absolute-zero", "family-of-kind"] {
            assert!(!told.contains(rule), "{record}: {told}");
        }
        fs::remove_file(at.join(path)).expect("removed");
    }
}

/// Without a format an export is its table; measurements say how they were read, whether they stand, lots, hole and loads.
#[test]
fn an_export_writes_its_table_and_measurements_whole() {
    let folder = pack();
    let at = folder.path();
    write(
        at,
        "series/x.yaml",
        "name: X\nsource: own-2026-tests\nlocator: =1+1\nbasis: measured\nread: table\njoint: {test: pull-out, thread: M3, length: 6 mm, hole: 2.5 mm, boss: 9 mm}\ntest: {speed: 5 mm/min, temperature: 23 °C}\nmeasurements:\n  - quantity: pull_out_load\n    standing: disputed\n    because: the cell was not checked\n    specimens:\n      - {label: a, value: 520 N, batch: A, job: one, mode: unknown}\n      - {label: b, value: 540 N, batch: B, job: two, mode: unknown, censored: true}\n",
    );
    let plain = gripbook(at, &["export", "series/x", "--what", "measurements"]);
    assert_eq!(plain.status.code(), Some(0), "{}", error(&plain));
    let csv = gripbook(at, &["export", "series/x", "--what", "measurements", "--format", "csv"]);
    assert_eq!(text(&plain), text(&csv), "without a format it is CSV");
    let json = gripbook(at, &["export", "series/x", "--what", "measurements", "--format", "json"]);
    let all: Value = serde_json::from_str(&text(&json)).expect("JSON");
    let row = &all["rows"][0];
    let wanted = [
        ("read", "table"),
        ("standing", "disputed"),
        ("hole", "2.5 mm"),
        ("batch", "A; B"),
        ("job", "one; two"),
        ("loads", "520 N; >540 N"),
    ];
    for (column, value) in wanted {
        assert_eq!(row[column], value, "{row}");
    }
    assert!(text(&csv).contains("'=1+1"), "{}", text(&csv));
    let schemas = gripbook(at, &["export", "--what", "schemas"]);
    assert!(schemas.status.code() == Some(2) && error(&schemas).contains("--out"), "{}", error(&schemas));
}

/// A way of joining is a record: the skeleton passes check, answers at once, and is found, shown, drawn, traced and imported to.
#[test]
fn a_new_method_passes_check_and_answers() {
    let folder = pack();
    let at = folder.path();
    let json = |words: &[&str]| -> Value {
        let out = gripbook(at, &[words, &["--format", "json"]].concat());
        serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{words:?}: {e}: {}", error(&out)))
    };
    let made = gripbook(at, &["new", "method", "cross-bar", "--name", "screw into a cross bar: \"long\""]);
    assert_eq!(made.status.code(), Some(0), "{}", error(&made));
    assert!(
        text(&made).contains("methods/cross-bar.yaml written") && !text(&made).contains("to be filled in"),
        "{}",
        text(&made)
    );
    // What it names as the next step answers.
    let told = text(&made);
    let line = told.lines().find_map(|l| l.strip_prefix("Try it: gripbook ")).expect("a next step").to_owned();
    let tried = gripbook(at, &[&line.split(' ').collect::<Vec<_>>()[..], &["--draws", "500"]].concat());
    assert!(matches!(tried.status.code(), Some(0 | 1)) && text(&tried).contains("long"), "{line}: {}", error(&tried));
    let checked = gripbook(at, &["check", "methods/cross-bar.yaml"]);
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked));
    let fasten = ["fasten", "petg", "M4", "8mm", "200N", "--draws", "500"];
    let sheet = json(&[&fasten[..], &["--method", "cross-bar", "--trace"]].concat());
    let one = &sheet["candidates"][0];
    assert_eq!((&one["method"], &one["title"]), (&"cross-bar".into(), &"screw into a cross bar: \"long\"".into()));
    assert!(one["load"]["median"]["value"].as_f64().is_some_and(|load| load > 100.0), "{one}");
    let trace = sheet["trace"].to_string();
    assert!(trace.contains("method/cross-bar") && trace.contains("room for the thread"), "the origin of its sizes: {trace}");
    let all = json(&fasten);
    let names: Vec<&str> = all["candidates"].as_array().expect("a list").iter().filter_map(|c| c["method"].as_str()).collect();
    assert!(names.contains(&"cross-bar") && names.contains(&"captive-nut"), "{names:?}");
    assert!(text(&gripbook(at, &["show", "method/cross-bar"])).contains("pin-bearing-load"));
    assert!(text(&gripbook(at, &["find", "bar", "--kind", "method"])).contains("cross-bar"));
    let drawn =
        [&fasten[..], &["--method", "cross-bar", "--drawing", "bar.svg", "--solid", "bar.stl", "--out", "sheet.json"]].concat();
    assert_eq!(gripbook(at, &drawn).status.code(), Some(0));
    assert!(read(at, "bar.svg").starts_with("<svg") && at.join("bar.stl").is_file());
    let again = gripbook(at, &["recheck", "sheet.json"]);
    assert_eq!(again.status.code(), Some(0), "{}{}", text(&again), error(&again));
    // A series may name it; a word that nobody knows is refused with the nearest.
    write(at, "loads.csv", "label,load,mode\na,900,break-out\nb,950,break-out\nc,930,break-out\n");
    let taken = |method: &str| {
        let words = ["import", "table", "loads.csv", "--series", "bars", "--yes", "--unit", "N", "--method", method];
        let of = ["--material", "polymer/petg", "--source", "own-2026-tests", "--set", "thread=M4", "--set", "length=8 mm"];
        let out = gripbook(at, &[&words[..], &of, &["--set", "locator=sheet 3"]].concat());
        (out.status.code(), text(&out) + &error(&out))
    };
    let wrong = taken("cross-bars");
    assert!(wrong.0 == Some(2) && wrong.1.contains("cross-bar"), "{wrong:?}");
    assert_eq!(taken("cross-bar").0, Some(0), "{:?}", taken("cross-bar").1);
    // It moves the answer of its own method.
    let measured = json(&[&fasten[..], &["--method", "cross-bar"]].concat());
    assert!(measured["calibration"]["used"].to_string().contains("series/bars"), "{}", measured["calibration"]);
    let plan = gripbook(at, &["plan", "--matrix", "method=cross-bar,cut-thread", "--matrix", "material=petg", "--thread", "M4"]);
    assert_eq!(plan.status.code(), Some(0), "{}", error(&plan));
    let twice = gripbook(at, &["new", "method", "cross-bar"]);
    assert!(twice.status.code() == Some(2) && error(&twice).contains("exists"), "{}", error(&twice));
    assert_eq!(gripbook(at, &["new", "method", "Cross Bar"]).status.code(), Some(2));
    assert_eq!(gripbook(at, &["new", "method", "x", "--set", "purpose=y"]).status.code(), Some(2));
}
