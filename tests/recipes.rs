//! The recipes of DEVELOPERS.md hold: what was added is found, and what is missing is named with its file.

use gripbook::book::kinds::built_in_schemas;
use gripbook::check::catalogue::Catalogue;
use gripbook::check::{schema_findings, schemas_of};
use gripbook::plugins::BUILT_IN;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn source(root: &Path, path: &str) -> String {
    fs::read_to_string(root.join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Names of the Rust files and folders of a module, without their ending.
fn modules(root: &Path, folder: &str) -> BTreeSet<String> {
    let entries = fs::read_dir(root.join(folder)).expect("a folder").map(|e| e.expect("an entry").path());
    let names = entries.filter(|p| p.is_dir() || p.extension().is_some_and(|e| e == "rs"));
    let names = names.filter_map(|p| Some(p.file_stem()?.to_str()?.to_owned()));
    names.filter(|n| !["mod", "common", "tests", "sheet"].contains(&n.as_str())).collect()
}

const KINDS: [&str; 5] = ["method", "command", "audit", "importer", "formula"];

/// The lines that make known what is there, each with its file.
fn lines(root: &Path, kind: &str) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    match kind {
        "method" => {
            for name in modules(root, "src/plugins/methods") {
                all.push(("src/plugins/methods/mod.rs", format!("mod {name};")));
            }
        }
        "audit" => {
            for name in modules(root, "src/plugins/audits") {
                all.push(("src/plugins/audits/mod.rs", format!("mod {name};")));
            }
        }
        "importer" => {
            for name in modules(root, "src/plugins/importers") {
                all.push(("src/plugins/importers/mod.rs", format!("pub mod {name};")));
            }
        }
        "formula" => {
            for name in modules(root, "src/mechanics") {
                let text = fs::read_to_string(root.join(format!("src/mechanics/{name}.rs"))).unwrap_or_default();
                if name != "book" && text.contains("\npub fn formulas() -> Vec<Formula> {") {
                    all.push(("src/mechanics/mod.rs", format!("pub mod {name};")));
                    all.push(("src/mechanics/book.rs", format!("{name}::formulas),")));
                }
            }
        }
        _ => {
            for name in modules(root, "src/command") {
                all.push(("src/command/mod.rs", format!("mod {name};")));
                let text = fs::read_to_string(root.join(format!("src/command/{name}.rs"))).unwrap_or_default();
                let cards =
                    text.lines().filter_map(|l| l.strip_prefix("pub const ")?.strip_suffix(": CommandCard = CommandCard {"));
                all.extend(cards.map(|card| ("src/command/registry.rs", format!("    &super::{name}::{card},"))));
            }
        }
    }
    all
}

/// Those that are not in their file.
fn missing(root: &Path, kind: &str) -> Vec<String> {
    let lacks = lines(root, kind).into_iter().filter(|(file, line)| !source(root, file).contains(&format!("{line}\n")));
    lacks.map(|(file, line)| format!("{file}: add `{}`", line.trim())).collect()
}

#[test]
fn everything_that_is_there_is_known() {
    for kind in KINDS {
        assert_eq!(missing(&root(), kind), Vec::<String>::new(), "{kind}");
    }
    assert_eq!(lines(&root(), "method").len(), BUILT_IN.methods.len());
    assert_eq!(lines(&root(), "audit").len(), BUILT_IN.audits.len());
    assert_eq!(lines(&root(), "importer").len(), BUILT_IN.importers.len());
}

/// A copy of what the recipes touch and the build reads.
fn copy() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for part in ["src", "schemas", "records", "tools", "tests"] {
        super::book::copy(&root().join(part), &folder.path().join(part));
    }
    for file in ["Cargo.toml", "Cargo.lock"] {
        fs::copy(root().join(file), folder.path().join(file)).expect("copied");
    }
    folder
}

fn begin(root: &Path, words: &[&str]) -> std::process::Output {
    let tool = Path::new(env!("CARGO_MANIFEST_DIR")).join("tools/new");
    Command::new("python3").arg(tool).args(words).arg("--root").arg(root).output().expect("python3 is needed")
}

/// Each recipe is followed in a copy of the tree; each line it writes is missed by name when it is taken away. Where
/// `GRIPBOOK_RECIPES` is set the copy is compiled too.
#[test]
fn the_recipes_can_be_followed() {
    let folder = copy();
    let here = folder.path();
    for kind in KINDS {
        let before: BTreeSet<_> = lines(here, kind).into_iter().collect();
        let made = begin(here, &[kind, "river-rope"]);
        assert!(made.status.success(), "{kind}: {}", String::from_utf8_lossy(&made.stderr));
        assert_eq!(missing(here, kind), Vec::<String>::new(), "{kind}");
        let added: Vec<_> = lines(here, kind).into_iter().filter(|l| !before.contains(l)).collect();
        // What plugs in is known by its `mod`; the help and the list of topics have an order that somebody decides.
        let wanted = if matches!(kind, "command" | "formula") { 2 } else { 1 };
        assert_eq!(added.len(), wanted, "{kind}: {added:?}");
        for (file, line) in added {
            let whole = source(here, file);
            let bare: Vec<&str> = whole.lines().filter(|l| !l.ends_with(line.as_str())).collect();
            assert_eq!(bare.len() + 1, whole.lines().count(), "{file}: {line}");
            fs::write(here.join(file), bare.join("\n") + "\n").expect("written");
            assert_eq!(missing(here, kind), [format!("{file}: add `{}`", line.trim())]);
            fs::write(here.join(file), whole).expect("written");
        }
        let twice = begin(here, &[kind, "river-rope"]);
        assert!(!twice.status.success() && String::from_utf8_lossy(&twice.stderr).contains("exists"), "{kind}");
    }
    // The build names the method in the schema of series.
    assert!(source(here, "schemas/series.schema.json").contains("\"registered\": \"methods\""));
    let made = begin(here, &["property", "polymer", "river_wear", "length"]);
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    data_only(here);
    let texts: Vec<(String, String)> = modules_of_schemas(here);
    let texts: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let found = schema_findings(&texts).expect("the schemas are JSON");
    assert!(found.is_empty(), "{found:#?}");
    let catalogue = Catalogue::of(&schemas_of(&texts).expect("the schemas are JSON"));
    assert!(catalogue.property("polymer", "river_wear").is_some());
    assert!(catalogue.property("river-rope", "length").is_some());
    assert_eq!(catalogue.kind("river-rope").map(|k| (&*k.folder, &*k.role)), Some(("river-ropes", "step")));
    assert!(catalogue.families.is_within("river-rope", "polyester"));
    if env::var_os("GRIPBOOK_RECIPES").is_some() {
        let target = root().join("target/recipes");
        let built =
            Command::new(env!("CARGO")).current_dir(here).env("CARGO_TARGET_DIR", target).args(["check", "--locked"]).output();
        let built = built.expect("cargo runs");
        assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
    }
}

/// Rule, kind, family and unit: files of records and schemas, and one line of the table of units.
fn data_only(here: &Path) {
    let units = || source(here, "src/quantity/table.rs");
    let before = units();
    for words in [
        &["rule", "river-rope"][..],
        &["kind", "river-rope"],
        &["family", "river-rope", "polyester"],
        &["unit", "length", "ft", "[ft_i]", "0.3048"],
    ] {
        let made = begin(here, words);
        assert!(made.status.success(), "{words:?}: {}", String::from_utf8_lossy(&made.stderr));
        let twice = begin(here, words);
        let said = String::from_utf8_lossy(&twice.stderr).into_owned();
        assert!(!twice.status.success() && (said.contains("exists") || said.contains("already")), "{words:?}: {said}");
    }
    let line = "        unit(\"ft\", &[], \"[ft_i]\", 0.3048, 1.0),\n";
    let after = units();
    assert_eq!(after.replacen(line, "", 1), before, "one line, and nothing else");
    // It stands among the lengths, which come first.
    assert!(after.find(line) < after.find("    Area \"area\""), "{after}");
    for wrong in [&["unit", "lenth", "ft", "[ft_i]", "0.3048"][..], &["family", "rope", "nothing"], &["rule", "River"]] {
        assert!(!begin(here, wrong).status.success(), "{wrong:?}");
    }
    let rule = here.join("records/book/rules/river-rope.yaml");
    let checked = gripbook(&["check", rule.to_str().expect("UTF-8")]);
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stdout));
}

/// What a scaffold leaves open begins with an ellipsis; nothing of that kind is in the book.
#[test]
fn nothing_is_left_open() {
    let mut open = Vec::new();
    let mut folders = vec![root().join("records"), root().join("schemas")];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(&folder).expect("a folder").map(|e| e.expect("an entry").path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "yaml" || e == "json") {
                let text = fs::read_to_string(&path).expect("a text");
                open.extend((text.contains(": … ") || text.contains("\"… ")).then_some(path));
            }
        }
    }
    assert!(open.is_empty(), "{open:?}");
}

fn modules_of_schemas(root: &Path) -> Vec<(String, String)> {
    let entries = fs::read_dir(root.join("schemas")).expect("schemas").map(|e| e.expect("an entry").path());
    let text = |path: PathBuf| Some((path.file_name()?.to_str()?.to_owned(), fs::read_to_string(&path).ok()?));
    entries.filter_map(text).collect()
}

/// A word of a property means the same sort of thing in every kind that has it.
#[test]
fn a_property_has_the_same_flags_in_every_kind() {
    let schemas = schemas_of(built_in_schemas()).expect("the schemas");
    let catalogue = Catalogue::of(&schemas);
    let mut groups = BTreeMap::new();
    for (kind, card) in catalogue.kinds.iter().flat_map(|kind| kind.properties.iter().map(move |card| (kind, card))) {
        let (first, known) = groups.entry(&card.word).or_insert((&kind.word, &card.groups));
        let thermal = |all: &[String]| all.iter().filter(|g| *g != "thermal").cloned().collect::<Vec<_>>();
        assert_eq!(thermal(&card.groups), thermal(known), "{} of {} and {first}", card.word, kind.word);
    }
    // Tensile strength carries threads: if nothing asked for it, the flags were not read.
    let asked = catalogue.asked_by_models("material");
    assert_eq!(asked.first().map(|(word, _)| *word), Some("tensile_strength"), "{asked:?}");
    assert!(catalogue.property("polymer", "izod_strength").is_some_and(|p| p.is("mechanical") && p.is("impact")));
    assert!(catalogue.failures.iter().any(|w| w == "pull_out_load"));
    let series = schemas.document("series.schema.json").expect("a schema");
    let quantity = &series["properties"]["measurements"]["items"]["properties"]["quantity"];
    let words: Vec<&str> = quantity["enum"].as_array().expect("words").iter().filter_map(|w| w.as_str()).collect();
    assert!(catalogue.failures.iter().all(|w| words.contains(&w.as_str())), "{:?}", catalogue.failures);
}

/// A line for every command whose answers have more forms than the page.
const TABLES: &[(&str, &[&str])] = &[
    ("check", &["check", "records/demo/pack.yaml"]),
    ("suits", &["suits", "--material", "pla"]),
    ("fasten", &["fasten", "pla", "M3", "6mm", "--draws", "500"]),
    ("find", &["find", "pla"]),
    ("show", &["show"]),
    ("series", &["series", "--loads", "410,395,402", "--unit", "N"]),
    ("thread", &["thread", "M3"]),
    ("formula", &["formula"]),
    ("compare", &["compare", "--a", "410,395,402", "--b", "380,371,385", "--unit", "N"]),
    ("plan", &["plan", "--ladder"]),
    ("audit", &["audit", "records/demo"]),
    ("review", &["review", "HEAD", "records/demo", "--no-answers"]),
    ("why", &["why"]),
    ("gaps", &["gaps"]),
    ("export", &["export"]),
];

fn gripbook(args: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_gripbook")).current_dir(root()).env("COLUMNS", "120").args(args).output().expect("runs")
}

/// The commands that the help lists, each with the formats its own help offers.
fn offered() -> Vec<(String, Vec<String>)> {
    let help = String::from_utf8(gripbook(&["--help"]).stdout).expect("UTF-8");
    let names = help.lines().filter_map(|line| line.strip_prefix("  ")?.split_once("  ")).map(|(name, _)| name.trim());
    let commands = names.filter(|name| !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase()));
    let formats = |name: &str| {
        let help = String::from_utf8(gripbook(&[name, "--help"]).stdout).expect("UTF-8");
        let (_, rest) = help.split_once("How the answer is written: ").unwrap_or_else(|| panic!("{name}: {help}"));
        let list: String = rest.split('[').next().unwrap_or_default().split_whitespace().collect();
        list.split(',').map(str::to_owned).collect::<Vec<_>>()
    };
    commands.map(|name| (name.to_owned(), formats(name))).collect()
}

#[test]
fn a_command_has_the_formats_its_help_offers() {
    let all = offered();
    assert!(all.len() > 20 && all.iter().any(|(_, formats)| formats.len() > 3), "{all:?}");
    for (name, formats) in all {
        let more: Vec<&String> = formats.iter().filter(|f| !["text", "json", "markdown"].contains(&f.as_str())).collect();
        let line = TABLES.iter().find(|(known, _)| *known == name).map(|(_, line)| *line);
        assert!(more.is_empty() || line.is_some(), "tests/recipes.rs: add a line of `{name}` to TABLES");
        for format in more {
            let out = gripbook(&[line.unwrap_or_default(), &["--format", format]].concat());
            let said = String::from_utf8_lossy(&out.stderr);
            assert!(matches!(out.status.code(), Some(0 | 1)), "{name} --format {format}: {said}");
        }
    }
    let refused = Command::new(env!("CARGO_BIN_EXE_gripbook")).args(["trace", "polymer/pla:tg", "--format", "csv"]).output();
    let refused = refused.expect("runs");
    assert_eq!((refused.status.code(), refused.stdout.len()), (Some(2), 0), "{refused:?}");
}
