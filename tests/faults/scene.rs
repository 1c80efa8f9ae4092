//! A small pack, every command that writes into it, and what must hold after a fault.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// Files of a folder by relative path.
pub type Files = BTreeMap<PathBuf, Vec<u8>>;

/// Whether the long sweeps are wanted: over all commands and, where calls are counted, at every [`stride`]th.
pub fn full() -> bool {
    stride().is_some()
}

/// `GRIPBOOK_SWEEP=full` is every call, `GRIPBOOK_SWEEP=4` every fourth; `None` for a short run.
pub fn stride() -> Option<usize> {
    let wanted = std::env::var("GRIPBOOK_SWEEP").ok()?;
    if wanted == "full" { Some(1) } else { wanted.parse().ok().filter(|stride| *stride > 0) }
}

/// Whether a tool is missing, tried by running it. A missing one skips the test, unless `GRIPBOOK_REQUIRE` is set; what the
/// machine does not allow at all stands in `GRIPBOOK_WITHOUT`, set by continuous integration with a word to the reader.
pub fn lacks(name: &str, trial: &[&str]) -> bool {
    let tried = Command::new(trial[0]).args(&trial[1..]).stdout(Stdio::null()).stderr(Stdio::null()).status();
    if tried.is_ok_and(|status| status.success()) {
        return false;
    }
    let forbidden = std::env::var("GRIPBOOK_WITHOUT").is_ok_and(|list| list.split(' ').any(|word| word == trial[0]));
    assert!(forbidden || std::env::var_os("GRIPBOOK_REQUIRE").is_none(), "{name} is missing");
    println!("skipped: {name} missing");
    true
}

/// The program, with a cache folder and nothing else of this machine's environment.
pub fn program(here: &Path, cache: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gripbook"));
    command.current_dir(here).env_clear().env("GRIPBOOK_CACHE", cache).env("HOME", here).env("RAYON_NUM_THREADS", "1");
    command.stdin(Stdio::null());
    command
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A command that writes files.
#[derive(Debug, Clone, Copy)]
pub struct Writing {
    pub name: &'static str,
    pub arguments: &'static [&'static str],
}

const fn writing(name: &'static str, arguments: &'static [&'static str]) -> Writing {
    Writing { name, arguments }
}

/// A small joint, with few draws: what is written counts here, not what it says.
macro_rules! joint {
    ($($more:literal),*) => {
        &["fasten", "--material", "pla", "--thread", "M3", "--length", "6mm", "--draws", "100", $($more),*]
    };
}

/// Every command that writes, in each of its ways; a test holds this list against the command registry.
pub const ALL: [Writing; 32] = [
    writing(
        "import curve",
        &["import", "curve", "a1.csv", "--series", "housing", "--source", "pulls-2026-05", "--method", "cut-thread", "--yes"],
    ),
    writing(
        "import table",
        &["import", "table", "loads.csv", "--series", "lid", "--source", "pulls-2026-05", "--method", "cut-thread", "--yes"],
    ),
    writing("import results", &["import", "results", "filled.csv", "--series", "t1", "--source", "pulls-2026-05", "--yes"]),
    writing("import ladder", &["import", "ladder", "r.csv", "--process", "screen", "--source", "pulls-2026-05", "--yes"]),
    writing(
        "amend",
        &["amend", "polymer/grey:tg", "--value", "59.5 °C", "--because", "read from the wrong row", "--date", "2026-06-01"],
    ),
    writing(
        "amend many",
        &[
            "amend",
            "--source",
            "pulls-2026-05",
            "--all-specimens",
            "--unit",
            "N=kgf",
            "--because",
            "the display was set to kgf",
            "--date",
            "2026-06-01",
        ],
    ),
    writing("withdraw", &["withdraw", "polymer/grey", "--because", "the roll was mislabelled", "--date", "2026-06-01"]),
    writing(
        "withdraw results",
        &[
            "withdraw",
            "series/first:pull_out_load#a",
            "series/second:pull_out_load#b",
            "--because",
            "the jaw slipped",
            "--date",
            "2026-06-01",
        ],
    ),
    writing("tidy", &["tidy"]),
    writing("new", &["new", "polymer", "--name", "Dull filament", "--set", "family=pla"]),
    writing("new series", &["new", "series", "--name", "Lid screws", "--set", "joint.test=pull-out"]),
    writing("new source", &["new", "source", "--from", "refs.bib"]),
    writing("new pack", &["new", "pack", "--name", "Second", "--set", "licence=CC0-1.0"]),
    writing("add", &["add", "polymer/grey", "density", "1.24 g/cm³", "--basis", "recalled"]),
    writing("export --out", &["export", "grey", "--out", "export"]),
    writing("export schemas", &["export", "--what", "schemas", "--out", "export"]),
    writing("fasten --out", joint!["--out", "sheets/s.json"]),
    writing(
        "fasten, all files",
        joint!["--out", "sheets/s.json", "--drawing", "d.svg", "--profile", "p.csv", "--solid", "s.stl"],
    ),
    writing("suits --out", &["suits", "cyanoacrylate-thick", "pla", "--out", "sheets/u.json"]),
    writing("fasten --drawing", joint!["--drawing", "d.svg"]),
    writing("fasten --profile", joint!["--profile", "p.csv"]),
    writing("fasten --solid", joint!["--solid", "s.stl"]),
    writing("fasten --hole-table", &["fasten", "--hole-table", "list.txt", "--draws", "100", "--out", "holes"]),
    writing("plan --out", &["plan", "--matrix", "method=cut-thread,direct-screw", "--specimens", "4", "--out", "plan"]),
    writing("plan --ladder", &["plan", "--ladder", "--diameter", "2.5mm", "--out", "ladder"]),
    writing("series --plot", &["series", "--loads", "520,540,610", "--unit", "N", "--plot", "strip.svg"]),
    writing(
        "series --out",
        &["series", "--loads", "520,540,610", "--unit", "N", "--plot", "strip.svg", "--out", "sheets/l.json"],
    ),
    writing("compare --plot", &["compare", "--a", "520,540,610", "--b", "700,720,690", "--unit", "N", "--plot", "two.svg"]),
    writing("compare --out", &["compare", "--a", "520,540,610", "--b", "700,720,690", "--unit", "N", "--out", "sheets/c.json"]),
    writing("gaps --plot", &["gaps", "--by", "method", "--plot", "gaps.svg"]),
    writing("shell man", &["shell", "man", "--dir", "man"]),
    writing("page", &["page", "--out", "book.html", "--module", "none.wasm.gz"]),
];

const MESSY: &str = "family: pla\nname:   Messy   \n# about the transition\nproperties:\n  tg:\n    - basis: measured\n      \
                     value: 60.0 degC\n      source: pulls-2026-05\n      locator: sheet 1   \n";
const GREY: &str = "name: Grey filament\nfamily: pla\nproperties:\n  tg:\n    - {value: 61.5 °C, source: pulls-2026-05, \
                    locator: sheet 2, basis: measured}\n";

const SERIES: &str = "name: Pulls\nsource: pulls-2026-05\nlocator: sheet 4\nbasis: measured\njoint: {test: pull-out, method: cut-thread, \
                      material: polymer/grey, thread: M3, length: 6 mm, hole: 2.5 mm, boss: 9 mm}\ntest: {speed: 6 mm/min, \
                      temperature: 23 °C}\nmeasurements:\n  - quantity: pull_out_load\n    n: 3\n    specimens:\n      - {label: a, value: 1240 \
                      N, mode: part-thread-shear}\n      - {label: b, value: 1195 N, mode: part-thread-shear}\n      - {label: c, value: 1260 \
                      N, mode: part-thread-shear}\n";

/// The files of the pack before any command ran.
pub fn before() -> Files {
    let ramp: String = (0..=120)
        .map(|i| f64::from(i) / 100.0)
        .map(|x| format!("{x:.2},{:.2}\n", if x <= 1.0 { 700.0 * x } else { 300.0 }))
        .collect();
    let results = "order,label,job,place,cell,method,quantity,unit,load,mode,note\n";
    let plain: [(&str, String); 14] = [
        ("pack.yaml", "id: mine\ntitle: Mine\ndescription: A trial.\nlicence: CC0-1.0\n".into()),
        ("sources/pulls-2026-05.yaml", "type: campaign\ntitle: Pulls of May\nby: bench\nissued: 2026-05\n".into()),
        ("processes/screen.yaml", "name: Screen printer\nprinter_type: vat-screen\n".into()),
        ("polymers/messy.yaml", MESSY.into()),
        ("polymers/messy-too.yaml", MESSY.replace("Messy", "Messy too")),
        ("polymers/grey.yaml", GREY.into()),
        ("series/first.yaml", SERIES.into()),
        ("series/second.yaml", SERIES.replace("6 mm", "8 mm")),
        ("refs.bib", "@article{a, title={Pulls}, author={Roe, R.}, year=2020, doi={10.1/a}}\n@book{b, title={Threads}, author={Doe, D.}, year=2021}\n".into()),
        ("a1.csv", format!("travel (mm),load (N)\n{ramp}")),
        ("loads.csv", "label,load,mode\nb1,520 N,strip\nb2,540 N,strip\nb3,610 N,strip\n".into()),
        ("filled.csv", results.into()),
        ("r.csv", "drawn,measured\n2.5 mm,2.40 mm\n2.5 mm,2.42 mm\n2.5 mm,2.41 mm\n".into()),
        ("list.txt", "- {material: pla, thread: M3, length: 6 mm}\n".into()),
    ];
    let mut all: Files = plain.into_iter().map(|(name, text)| (name.into(), text.into_bytes())).collect();
    // Whether it answers is a matter for a browser.
    all.insert("none.wasm.gz".into(), vec![0x1f, 0x8b, 8, 0]);
    all
}

/// Writes files into a folder.
pub fn put(files: &Files, folder: &Path) {
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(path, bytes).expect("a file");
    }
}

/// Reads a folder.
pub fn files(folder: &Path) -> Files {
    fn walk(folder: &Path, inside: &Path, into: &mut Files) {
        for entry in fs::read_dir(folder.join(inside)).into_iter().flatten().flatten() {
            let name = inside.join(entry.file_name());
            if entry.file_type().is_ok_and(|t| t.is_dir()) {
                walk(folder, &name, into);
            } else if let Ok(bytes) = fs::read(folder.join(&name)) {
                into.insert(name, bytes);
            }
        }
    }
    let mut all = Files::new();
    walk(folder, Path::new(""), &mut all);
    all
}

/// Whether a file is staged for a write that was interrupted: such a name is never read as a record.
pub fn is_part(path: &Path) -> bool {
    path.components().any(|part| part.as_os_str() == ".gripbook-write")
}

/// What a scene holds when a command ran undisturbed, with the whole path of the folder blanked.
pub struct Scene {
    pub old: Files,
    pub new: BTreeMap<&'static str, Files>,
    pub cache: tempfile::TempDir,
}

impl Scene {
    /// Runs every command once, undisturbed, each in a pack of its own.
    pub fn new(commands: &[Writing]) -> Scene {
        let cache = tempfile::tempdir().expect("a folder");
        let mut old = before();
        old.insert("filled.csv".into(), filled(cache.path()).into_bytes());
        let mut new = BTreeMap::new();
        for command in commands {
            let folder = tempfile::tempdir().expect("a folder");
            put(&old, folder.path());
            let out = program(folder.path(), cache.path()).args(command.arguments).output().expect("runs");
            assert!(matches!(out.status.code(), Some(0 | 1)), "{}: {}", command.name, text(&out.stderr));
            let after = files(folder.path());
            assert!(after != old, "{} writes nothing: {}", command.name, text(&out.stderr));
            new.insert(command.name, after);
        }
        Scene { old, new, cache }
    }

    /// Every file is whole: as it was before, or as the undisturbed command leaves it. Gives the number of parts left over.
    pub fn assert_whole(&self, command: &Writing, now: &Files, what: &str) -> usize {
        let new = &self.new[command.name];
        for (path, bytes) in now {
            if is_part(path) {
                continue;
            }
            let whole = [self.old.get(path), new.get(path)].contains(&Some(bytes));
            assert!(whole, "{}, {what}: {} is neither old nor new: {:?}", command.name, path.display(), text(bytes));
        }
        for path in self.old.keys() {
            assert!(now.contains_key(path), "{}, {what}: {} is gone", command.name, path.display());
        }
        now.keys().filter(|path| is_part(path)).count()
    }

    /// Starts the program once more and looks again: everything is as before the command or as after it, and nothing else is
    /// there. Gives whether it is as after it.
    pub fn assert_mended(&self, command: &Writing, here: &Path, what: &str) -> bool {
        let out = program(here, self.cache.path()).args(["show", "polymer/grey", "--pack", "."]).output().expect("runs");
        assert!(out.status.code().is_some(), "{}, {what}: {}", command.name, text(&out.stderr));
        let now = files(here);
        let is_done = now == self.new[command.name];
        if !is_done && now != self.old {
            let is = |all: &Files, path: &PathBuf| all.get(path) == now.get(path);
            let mixed: Vec<&PathBuf> = now.keys().filter(|path| !is(&self.old, path)).collect();
            let lacks: Vec<&PathBuf> = self.new[command.name].keys().filter(|path| !is(&self.new[command.name], path)).collect();
            panic!("{}, {what}: neither old nor new as a whole: new {mixed:?}, still missing {lacks:?}", command.name);
        }
        assert!(!here.join(".gripbook-write").exists(), "{}, {what}: litter", command.name);
        is_done
    }

    /// Everything the command writes is there.
    pub fn is_done(&self, command: &Writing, now: &Files) -> bool {
        self.new[command.name].iter().all(|(path, bytes)| now.get(path) == Some(bytes))
    }
}

/// A results sheet of a plan with loads filled in.
fn filled(cache: &Path) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    put(&before(), folder.path());
    let plan = ["plan", "--matrix", "method=cut-thread,direct-screw", "thread=M3", "--specimens", "4", "--out", "plan"];
    let out: Output = program(folder.path(), cache).args(plan).output().expect("runs");
    assert!(out.status.success(), "{}", text(&out.stderr));
    let sheet = fs::read_to_string(folder.path().join("plan/results.csv")).expect("the sheet");
    let fill = |(at, line): (usize, &str)| match line.split_once(",open,,") {
        Some((start, end)) => format!("{start},open,{} N,{end}", 700 + 10 * at),
        None => line.to_owned(),
    };
    sheet.lines().enumerate().map(fill).collect::<Vec<_>>().join("\n")
}
