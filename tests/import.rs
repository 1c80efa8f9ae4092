//! `import` from outside: nothing is guessed, nothing is lost, nothing is overwritten.

use super::series::{answer, gripbook};
use std::fs;
use std::path::Path;
use tempfile::TempDir;

pub fn pack() -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let put = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    put("pack.yaml", "id: mine\ntitle: Mine\ndescription: A trial.\nlicence: CC0-1.0\n");
    put("sources/pulls-2026-05.yaml", "type: campaign\ntitle: Pulls of May\nby: bench\nissued: 2026-05\n");
    put("processes/screen.yaml", "name: Screen printer\nprinter_type: vat-screen\n");
    folder
}

/// The toe curve of statistics.md section 8 in steps of 0.01 mm.
fn toe_curve() -> String {
    let load = |x: f64| match x {
        x if x <= 0.2 => 2500.0 * x * x,
        x if x <= 0.8 => 1000.0 * (x - 0.1),
        x if x <= 1.0 => 700.0 + 200.0 * (x - 0.8),
        x if x <= 1.1 => 740.0 - 5000.0 * (x - 1.0),
        _ => 240.0,
    };
    let rows: String = (0..=120).map(|i| f64::from(i) / 100.0).map(|x| format!("{x:.2},{:.4}\n", load(x))).collect();
    format!("travel (mm),load (N)\n{rows}")
}

fn curve(folder: &Path, more: &[&str]) -> std::process::Output {
    let head = ["import", "curve", "a1.csv", "--series", "housing", "--source", "pulls-2026-05", "--method", "cut-thread"];
    gripbook(folder, &[&head[..], more].concat())
}

/// Peak 740 N at 1.00 mm (0.90 from the true start), 1000 N/mm, 390.675 N·mm to the peak, 20 % lost at 1.03 mm: by hand.
#[test]
fn a_curve_becomes_a_specimen() {
    let folder = pack();
    fs::write(folder.path().join("a1.csv"), toe_curve()).unwrap();
    let out = curve(folder.path(), &["--yes", "--format", "json"]);
    let a: serde_json::Value =
        serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)));
    let pull = &a["specimens"][0]["pull"];
    let si = |v: &serde_json::Value| v["si"].as_f64().unwrap();
    assert_eq!(pull["peak"]["value"], 740.0);
    assert!((si(&pull["travel_at_peak_corrected"]) - 0.9e-3).abs() < 1e-8);
    assert!((si(&pull["stiffness"]["value"]) - 1e6).abs() < 1.0);
    assert!((si(&pull["energy_to_peak"]) - 0.390_675).abs() < 1e-6);
    assert!((si(&pull["break"]["travel"]) - 1.03e-3).abs() < 1e-9);
    assert_eq!(pull["stiffness"]["of"], "system");
    let kept = folder.path().join("series/housing/a1.csv");
    assert_eq!(fs::read(kept).unwrap(), toe_curve().into_bytes());
    assert!(gripbook(folder.path(), &["check"]).status.success());
    assert_eq!(answer(folder.path(), &["series", "housing"])["mean"]["value"], 740.0);
}

/// Units that were said on the line and that the heading lacks are kept with the series: its curve can be drawn again.
#[test]
fn units_said_on_the_line_are_kept() {
    let folder = pack();
    fs::write(folder.path().join("a1.csv"), toe_curve().replace("travel (mm),load (N)", "travel,load")).unwrap();
    let out = curve(folder.path(), &["--yes", "--travel-unit", "mm", "--load-unit", "N"]);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(gripbook(folder.path(), &["check"]).status.success());
    let plot = gripbook(folder.path(), &["series", "housing", "--full", "--plot", "loads.svg"]);
    let text = String::from_utf8_lossy(&plot.stdout).into_owned();
    assert!(plot.status.success() && folder.path().join("loads-curves.svg").exists(), "{text}");
    // Peak at 0.90 mm from the true start, as of the same curve with its units in the heading.
    assert!(text.contains("0.90") || text.contains("0.900"), "{text}");
}

/// Names of records are taken as they are spoken, as everywhere; what no record is called is told with what is near.
#[test]
fn a_record_is_named_as_elsewhere() {
    let folder = pack();
    fs::write(folder.path().join("loads.csv"), "label,load\na,900 N\nb,950 N\nc,930 N\n").unwrap();
    let head =
        ["import", "table", "loads.csv", "--series", "grey", "--source", "pulls-2026-05", "--method", "insert glued plain"];
    let taken = |more: &[&str]| gripbook(folder.path(), &[&head[..], more].concat());
    let wrong = taken(&["--material", "petgg", "--yes"]);
    let said = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert!(wrong.status.code() == Some(1) && said.contains("no material is called `petgg`"), "{said}");
    assert!(said.contains("polymer/petg") && !folder.path().join("series").exists(), "{said}");
    let done = taken(&["--material", "PETG", "--set", "adhesive=Epoxy slow", "--set", "joint.process=screen", "--yes"]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let record = fs::read_to_string(folder.path().join("series/grey.yaml")).unwrap();
    for line in
        ["method: insert-glued-plain", "material: polymer/petg", "adhesive: adhesive/epoxy-slow", "process: process/screen"]
    {
        assert!(record.contains(line), "{line}: {record}");
    }
}

#[test]
fn nobody_to_ask_and_dry_runs_write_nothing() {
    let folder = pack();
    fs::write(folder.path().join("a1.csv"), toe_curve()).unwrap();
    let asked = curve(folder.path(), &[]);
    assert_eq!(asked.status.code(), Some(2));
    assert!(asked.stdout.is_empty() && String::from_utf8_lossy(&asked.stderr).contains("--yes"));
    let dry = curve(folder.path(), &["--dry-run"]);
    assert!(dry.status.success() && String::from_utf8_lossy(&dry.stdout).contains("value: 740 N"));
    assert!(!folder.path().join("series").exists());
}

#[test]
fn nothing_is_overwritten() {
    let folder = pack();
    let file = folder.path().join("a1.csv");
    fs::write(&file, toe_curve()).unwrap();
    assert!(curve(folder.path(), &["--yes"]).status.success());
    let record = fs::read(folder.path().join("series/housing.yaml")).unwrap();
    fs::write(&file, toe_curve().replace("740", "741")).unwrap();
    let again = curve(folder.path(), &["--yes"]);
    assert_eq!(again.status.code(), Some(3));
    fs::rename(&file, folder.path().join("b1.csv")).unwrap();
    let other = gripbook(folder.path(), &["import", "curve", "b1.csv", "--series", "housing", "--yes"]);
    assert!(other.status.success(), "{}", String::from_utf8_lossy(&other.stderr));
    let longer = fs::read_to_string(folder.path().join("series/housing.yaml")).unwrap();
    let old = String::from_utf8(record).unwrap();
    assert_eq!(longer.lines().filter(|l| !old.contains(*l)).count(), 2, "one specimen and the number");
    assert!(fs::read(folder.path().join("series/housing/a1.csv")).unwrap() == toe_curve().into_bytes());
}

/// Each fault has its name and line, exit 3, and leaves the pack as it was.
#[test]
fn bad_recordings_are_refused_with_their_line() {
    let head = "travel (mm),load (N)\n";
    let ramp: String = (0..100).map(|i| format!("{}.{:02},{}\n", i / 100, i % 100, i * 5)).collect();
    let cases: [(&str, String, &str); 8] = [
        ("mass", ramp.replacen("0.00", "position_mm,load_kg\n0.00", 1), "a1.csv:1: the load column"),
        ("no header", ramp.clone(), "column-missing"),
        ("one sample", format!("{head}0.00,0\n"), "curve-too-short"),
        ("reversed", format!("{head}0,0\n1,-5\n2,-9\n3,-2\n"), "a1.csv:4"),
        ("NUL", format!("{head}{ramp}\0\n"), "a1.csv:102: a NUL byte"),
        ("marks", "travel (mm);load (N)\n0.0;0.5\n0.1;0,7\n0.2;0.9\n".into(), "a1.csv:3"),
        ("two recordings", format!("{head}{ramp}{head}{ramp}"), "a1.csv:102"),
        ("empty", String::new(), "samples-none"),
    ];
    for (name, text, said) in cases {
        let folder = pack();
        fs::write(folder.path().join("a1.csv"), text).unwrap();
        let out = curve(folder.path(), &["--yes"]);
        let error = String::from_utf8_lossy(&out.stderr).into_owned();
        assert_eq!(out.status.code(), Some(3), "{name}: {error}");
        assert!(error.contains(said) && out.stdout.is_empty(), "{name}: {error}");
        assert!(!folder.path().join("series").exists(), "{name}");
    }
}

/// A load at the limit of the cell: held, not failed.
#[test]
fn saturation_is_censored() {
    let folder = pack();
    let rows: String = (0..100).map(|i| format!("{}.{:02},{}\n", i / 100, i % 100, (i * 10).min(500))).collect();
    fs::write(folder.path().join("a1.csv"), format!("travel (mm),load (N)\n{rows}")).unwrap();
    assert!(curve(folder.path(), &["--yes", "--capacity", "500 N"]).status.success());
    let text = fs::read_to_string(folder.path().join("series/housing.yaml")).unwrap();
    assert!(text.contains("value: 500 N, mode: machine-limit, censored: true"), "{text}");
}

/// A plan is written, filled in by hand, and read back: one series for each combination.
#[test]
fn a_plan_comes_back() {
    let folder = pack();
    let plan = ["plan", "--matrix", "method=cut-thread,direct-screw", "thread=M3", "--specimens", "4", "--out", "plan"];
    assert!(gripbook(folder.path(), &plan).status.success());
    assert_eq!(gripbook(folder.path(), &plan).status.code(), Some(4), "a results sheet is never replaced");
    let sheet = fs::read_to_string(folder.path().join("plan/results.csv")).unwrap();
    let mut load = 700;
    let filled: Vec<String> = sheet
        .lines()
        .map(|line| match line.split_once(",open,,") {
            Some((start, end)) => {
                load += 10;
                format!("{start},open,{load} N,{end}")
            }
            None => line.to_owned(),
        })
        .collect();
    fs::write(folder.path().join("filled.csv"), filled.join("\n")).unwrap();
    let out =
        gripbook(folder.path(), &["import", "results", "filled.csv", "--series", "t1", "--source", "pulls-2026-05", "--yes"]);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(gripbook(folder.path(), &["check"]).status.success());
    let a = answer(folder.path(), &["series", "t1-a"]);
    assert_eq!((a["n"].clone(), a["series"]["joint"]["method"].clone()), (4.into(), "cut-thread".into()));
    assert_eq!(a["groups"]["level"], "job");
}

/// Readings of a ladder: mean offset and interval by hand (-0.10, -0.08, -0.09 mm; ± 4.303 · 0.01/√3 = 0.025 mm).
#[test]
fn ladder_readings_become_hole_offsets() {
    let folder = pack();
    fs::write(folder.path().join("r.csv"), "drawn,measured\n2.5 mm,2.40 mm\n2.5 mm,2.42 mm\n2.5 mm,2.41 mm\n").unwrap();
    let command = ["import", "ladder", "r.csv", "--process", "screen", "--source", "pulls-2026-05", "--yes"];
    assert!(gripbook(folder.path(), &command).status.success());
    let text = fs::read_to_string(folder.path().join("processes/screen.yaml")).unwrap();
    assert!(text.contains("offset: -0.090 mm, sd: 0.010 mm, n: 3") && text.contains("-0.115 mm to -0.065 mm"), "{text}");
    assert!(gripbook(folder.path(), &["check"]).status.success());
    assert_eq!(gripbook(folder.path(), &command).status.code(), Some(3), "an offset on record is not replaced");
}

/// What an import that was killed between its two steps leaves is found by `check` and healed by running it again; a record
/// whose recording is gone is an error.
#[test]
fn an_import_cut_short_is_found_and_healed() {
    let folder = pack();
    fs::write(folder.path().join("a1.csv"), toe_curve()).unwrap();
    let kept = folder.path().join("series/housing");
    fs::create_dir_all(&kept).unwrap();
    fs::write(kept.join("a1.csv"), toe_curve()).unwrap();
    let out = gripbook(folder.path(), &["check"]);
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(text.contains("warning  curve-unnamed") && text.contains("run it again"), "{text}");
    assert!(curve(folder.path(), &["--yes"]).status.success());
    let out = gripbook(folder.path(), &["check"]);
    assert!(out.status.success() && !String::from_utf8_lossy(&out.stdout).contains("curve-"));
    fs::rename(kept.join("a1.csv"), kept.join("a2.csv")).unwrap();
    let out = gripbook(folder.path(), &["check"]);
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(out.status.code() == Some(1) && text.contains("error  curve-missing") && text.contains("warning  curve-unnamed"));
}

/// A sheet names its plan: it comes back once, then again with what was added, and never as a sheet of another plan.
#[test]
fn a_results_sheet_is_held_to_its_plan() {
    let folder = pack();
    let here = folder.path();
    let plan = |seed: &str, out: &str| {
        let command = ["plan", "--matrix", "method=cut-thread,direct-screw", "--thread", "M3", "--length", "6mm", "--seed", seed];
        assert!(gripbook(here, &[&command[..], &["--out", out]].concat()).status.success());
        fs::read_to_string(here.join(out).join("results.csv")).unwrap()
    };
    let fill = |sheet: &str, label: &str, cells: &str| {
        let lines = sheet.lines().map(|l| match l.strip_prefix(&format!("{label},")) {
            Some(rest) => format!("{label},{}{cells}", rest.split_once(",,").map_or(rest, |r| &rest[..=r.0.len()])),
            None => l.to_owned(),
        });
        lines.collect::<Vec<_>>().join("\n") + "\n"
    };
    let take = |name: &str, text: &str| {
        fs::write(here.join(name), text).unwrap();
        gripbook(here, &["import", "results", name, "--series", "t1", "--source", "pulls-2026-05", "--yes"])
    };
    let said =
        |out: &std::process::Output| format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
    let (one, two) = (plan("1", "one"), plan("2", "two"));
    let part = fill(&one, "A-1-1", "812 N,part-thread-shear,2.50 mm,,,,");
    let out = take("a.csv", &part);
    assert!(out.status.success() && said(&out).contains("The sheet is that of plan"), "{}", said(&out));
    let more = fill(&part, "A-2-1", "857 N,part-thread-shear,2.54 mm,,,,");
    let out = take("a.csv", &more);
    assert!(out.status.success() && said(&out).contains("In the records already, with the same load: 1."), "{}", said(&out));
    let record = fs::read_to_string(here.join("series/t1-a.yaml")).unwrap();
    assert!(record.contains("thread: M3") && record.contains("hole: 2.50 mm") && record.contains("plan: "), "{record}");
    let changed = fill(&one, "A-1-1", "999 N,part-thread-shear,,,,,");
    assert!(said(&take("a.csv", &changed)).contains("another load"));
    let other = fill(&two, "A-1-1", "700 N,part-thread-shear,,,,,");
    let out = take("b.csv", &other);
    assert!(out.status.code() == Some(3) && said(&out).contains("holds the specimens of plan"), "{}", said(&out));
    // The loads of one plan under the first line of another.
    let swapped = format!("{}\n{}", two.lines().next().unwrap(), part.split_once('\n').unwrap().1);
    let out = take("c.csv", &swapped);
    assert!(out.status.code() == Some(3) && said(&out).contains("are not the rows of plan"), "{}", said(&out));
    let bare: String = part.lines().filter(|l| !l.starts_with('#')).map(|l| format!("{l}\n")).collect();
    assert!(said(&take("d.csv", &bare)).contains("every load that is filled in is in the records already"));
}
