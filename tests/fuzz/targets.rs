//! What is tried with any bytes, and what must hold. A target panics when something does not hold; it says whether the
//! input was accepted, so that the loop can go on from there.

use crate::book::begun;
use gripbook::book::memory::{Memory, NoMemory};
use gripbook::book::{Book, PackRoot, WantedPacks, files::built_in_files, kinds::built_in_schemas};
use gripbook::check::Checker;
use gripbook::check::packs::PackFrom;
use gripbook::finding::Span;
use gripbook::index::query::{self, PropertyBound};
use gripbook::index::{Cache, Query, Sort, search};
use gripbook::plugins::BUILT_IN;
use gripbook::quantity::{Amount, Quantity, parse, table};
use gripbook::read::{self, tree::Node, tree::Value};
use gripbook::series::curve::{Gatherer, Settings};
use gripbook::series::importer::{Ask, ColumnAsk, RowIn, Sink};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

#[path = "module.rs"]
mod module;
#[path = "shown.rs"]
mod shown;

use shown::{output, shown_safely};

/// A target.
pub struct Target {
    pub name: &'static str,
    pub run: fn(&[u8]) -> bool,
    /// Pieces that mean something to it.
    pub words: &'static [&'static str],
}

pub const PLUGIN: Target = Target {
    name: "plugin",
    run: module::run,
    words: &["{}", "\"at\":", "\"length\":", "samples", "memory", "gripbook_call", "\u{b}", "\u{10}", "A\0", "\0asm"],
};

pub const RECORD: Target = Target {
    name: "record",
    run: record,
    words: &[
        ": ",
        "- ",
        "{",
        "}",
        "[",
        "]",
        ",",
        "\n",
        "  ",
        "\t",
        "\r",
        "&a ",
        "*a",
        "!!str ",
        "<<: ",
        "? ",
        "|\n",
        ">-\n",
        "\"",
        "'",
        "#",
        "---\n",
        "...\n",
        "%YAML 1.2\n",
        "\u{202e}",
        "\u{feff}",
        "µ",
        "1e999",
        "\0",
        "\\u{1b}",
        "value: ",
        "sd: ",
        "n: ",
        "yes",
        "null",
        "~",
        "0x1",
        "012",
        "1_0",
        ".nan",
        "2026-02-30",
        "source: ",
        "properties:\n",
        "MPa",
        "°C",
        "samples: ",
        "because: ",
        "standing: disputed",
        "waive:\n",
        "low: ",
        "high: ",
        "../",
        "\u{85}",
        "\u{2028}",
    ],
};

pub const UNIT: Target = Target {
    name: "unit",
    run: unit,
    words: &[
        " ", "µ", "μ", "Ω", "°", "·", "√", "²", "−", "+", "-", "e", "E", ".", ",", "0", "1", "9", "MPa", "mPa", "N", "kgf",
        "lbf", "[psi]", "%", "/", "*", "^", "inf", "nan", "0x", "_", "\u{2009}", "\u{a0}", "\u{202f}", "１", "Ⅿ", "М", "1e308",
        "1e-400", "degC",
    ],
};

pub const QUERY: Target = Target {
    name: "query",
    run: query,
    words: &[
        "<",
        ">",
        "<=",
        ">=",
        "=",
        "!",
        " ",
        "tg",
        "tensile_strength",
        "tensile strength",
        "70 °C",
        "40 MPa",
        "yes",
        "no",
        "amorphous",
        "pla",
        "polymer/",
        "(",
        ")",
        "\"",
        "*",
        "~",
        ":",
        "and",
        "\n",
        "\u{1b}[2J",
        "ﬁ",
        "İ",
        "ß",
        "e\u{301}",
    ],
};

pub const CURVE: Target = Target {
    name: "curve",
    run: curve,
    words: &[
        ",",
        ";",
        "\t",
        "\n",
        "\r\n",
        "travel (mm)",
        "load (N)",
        "load (kN)",
        "time (s)",
        "[N]",
        "kgf",
        "1,5",
        "1.5",
        "1e999",
        "-",
        "\0",
        "\"",
        "#",
        "nan",
        "inf",
        "°",
        "\u{feff}",
        "0.00,0\n",
        "1.234,567.8\n",
        "label",
        "mode",
        "held",
        "drawn",
        "measured",
        "=1+1",
    ],
};

pub const MEMORY: Target = Target {
    name: "memory",
    run: memory,
    words: &["\0", "\0\0\0\0\0\0\0\0", "\u{7f}", "snapshot", "index-", "../", "coatings/", ".yaml", "\u{1}"],
};

pub const OUTPUT: Target = Target {
    name: "output",
    run: output,
    words: &[
        "\u{1b}[2J",
        "\u{1b}]0;x\u{7}",
        "\u{202e}",
        "\u{200b}",
        "\u{9b}31m",
        "\r",
        "\n",
        "::error::",
        "::set-output name=x::",
        "%0A",
        "::add-mask::",
        "=1+1",
        "@SUM",
        "+1",
        "-2",
        "\t",
        "|",
        "`",
        "[x](javascript:1)",
        "<img src=x>",
        "@name",
        "**",
        "\\",
        "\"",
        ",",
        "\u{2028}",
        "\u{feff}",
        "#",
        "]]>",
        "file=",
        "\u{85}",
        "\0",
    ],
};

/// Inputs to start from: the files of a folder beside this one, or what is made on the spot.
pub fn corpus(name: &str) -> Vec<Vec<u8>> {
    if name == "memory" {
        return vec![bench().snapshot.clone()];
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(CORPUS).join(name);
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path()).collect();
    files.sort();
    files.iter().filter_map(|f| std::fs::read(f).ok()).collect()
}

/// The corpus, seen from the manifest of whoever includes this file.
const CORPUS: &str = "tests/data/fuzz";

/// Whether our tree and the value of an independent reader (`yaml_serde`, a library) say the same.
pub fn agrees(ours: &Node, other: &serde_yaml::Value) -> bool {
    use serde_yaml::Value as Y;
    match (&ours.value, other) {
        (Value::Null, Y::Null) => true,
        (Value::Bool(a), Y::Bool(b)) => a == b,
        (Value::Number(digits), Y::Number(b)) => digits.parse::<f64>().ok() == b.as_f64(),
        (Value::Text(a, _), Y::String(b)) => **a == **b,
        (Value::List(a), Y::Sequence(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| agrees(a, b)),
        (Value::Map(a), Y::Mapping(b)) => {
            a.len() == b.len() && a.iter().all(|e| b.get(Y::String(e.key.text.to_string())).is_some_and(|b| agrees(&e.node, b)))
        }
        _ => false,
    }
}

fn checker() -> &'static Checker<'static> {
    static CHECKER: OnceLock<Checker<'static>> = OnceLock::new();
    CHECKER.get_or_init(|| {
        let book = PackFrom::Embedded { shown: "records/book", files: built_in_files(&PackRoot::BuiltIn) };
        Checker::new(built_in_schemas(), &[book]).expect("sound schemas")
    })
}

/// Record text → findings: no panic, places inside the text, safe output, and what is accepted means the same to an
/// independent reader.
fn record(bytes: &[u8]) -> bool {
    let reading = read::read(bytes);
    let lines = bytes.iter().filter(|b| **b == b'\n').count() + 2;
    for fault in &reading.faults {
        inside(fault.span, bytes.len(), lines + bytes.iter().filter(|b| **b == b'\r').count());
    }
    if let (true, Some(tree)) = (reading.faults.is_empty(), &reading.tree)
        && let Ok(other) = serde_yaml::from_slice::<serde_yaml::Value>(bytes)
    {
        assert!(agrees(tree, &other), "an independent reader reads {other:?}");
    }
    let kinds = ["resin", "series", "source", "rule", "adhesive", "process"];
    let kind = kinds[bytes.len() % kinds.len()];
    let found = checker().record(0, (kind, "x"), "x.yaml", bytes).findings;
    assert!(reading.faults.is_empty() || !found.is_empty(), "faults of the reader are lost");
    shown_safely(&found);
    reading.faults.is_empty()
}

fn inside(span: Span, length: usize, lines: usize) {
    assert!(span.start <= span.end && span.end as usize <= length + 1, "{span:?} of {length} bytes");
    assert!(span.line >= 1 && span.column >= 1 && span.line as usize <= lines, "{span:?} of {lines} lines");
}

/// Unit text: what is read keeps its digits, is read again alike, and what is printed is read back.
fn unit(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let mut accepted = false;
    for quantity in table::ALL {
        match parse::parse(&text, *quantity) {
            Ok(written) => {
                accepted = true;
                assert!(written.si.is_finite() && text.contains(written.digits()), "{written:?}");
                let again = parse::parse(&format!("{} {}", written.digits(), written.unit.symbol()), *quantity);
                assert_eq!(again.map(|w| w.si.to_bits()), Ok(written.si.to_bits()), "{written:?}");
                printed(*quantity, written.si);
            }
            Err(fault) => drop((fault.rule(), fault.message(), fault.help())),
        }
    }
    drop(parse::parse_any(&text));
    accepted
}

fn printed(quantity: Quantity, si: f64) {
    let shown = Amount::new(quantity, si).text(12);
    let value = Amount::new(quantity, si).value();
    // A value that leaves the range of numbers when it is converted cannot be read back.
    if !value.is_finite() || (value != 0.0 && value.abs() < 1e-290) {
        return;
    }
    let back = parse::parse(&shown, quantity).unwrap_or_else(|f| panic!("{shown} of {si:e}: {f:?}"));
    // Twelve digits of the number; a temperature's zero is far from the kelvin's.
    let scale = si.abs().max(if quantity.word() == "temperature" { 300.0 } else { 0.0 });
    assert!((back.si - si).abs() <= 1e-10 * scale, "{shown} of {si:e} is read as {:e}", back.si);
}

fn book() -> &'static Book {
    static BOOK: OnceLock<Book> = OnceLock::new();
    BOOK.get_or_init(|| {
        let here = PathBuf::from("/");
        let roots = WantedPacks { packs: Vec::new(), here: here.clone(), home: None }.roots().expect("the built-in pack");
        Book::load(&roots, &here).expect("the built-in book")
    })
}

/// Query text: bounds are read back from what they show, and any search ends.
fn query(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let kinds = book().catalogue();
    let words: Vec<String> = gripbook::index::words::words(&text).collect();
    let bound = PropertyBound::read(&text, kinds).ok();
    if let Some(bound) = &bound {
        let again = PropertyBound::read(&bound.text(), kinds);
        assert_eq!(again.ok().as_ref(), Some(bound), "{}", bound.text());
    }
    let property = query::property(&text, kinds).ok();
    let asked = Query {
        words: if bound.is_some() { Vec::new() } else { words },
        kind: query::kind(&text, kinds).ok(),
        family: query::family(&text, kinds).ok(),
        bounds: bound.into_iter().collect(),
        sort: property.map(Sort::Property),
        limit: 5,
        ..Query::default()
    };
    let found = search(book(), &asked);
    assert!(found.hits.len() <= 5 && found.hits.len() <= found.total);
    assert!(found.hits.iter().all(|h| h.score.is_finite()));
    found.total > 0
}

#[derive(Default)]
struct Taken {
    gatherer: Option<Gatherer>,
    rows: usize,
    last: u64,
}

impl Sink for Taken {
    fn sample(&mut self, travel: f64, load: f64, line: u64) {
        assert!(travel.is_finite() && load.is_finite(), "line {line}: {travel} {load}");
        assert!(line >= self.last, "lines go back");
        self.last = line;
        self.gatherer.get_or_insert_with(|| Gatherer::new(Settings::default())).push(travel, load, line);
    }
    fn row(&mut self, row: RowIn) {
        self.rows += 1;
        assert!(row.cells.iter().all(|(heading, _)| row.get(heading).is_none_or(|c| !c.is_empty())));
    }
    fn progress(&mut self, _bytes: u64) {}
}

/// Files of testing machines and tables: every importer, with and without hints; samples are finite, results too.
fn curve(bytes: &[u8]) -> bool {
    let mut accepted = false;
    let hinted = Ask {
        file: "x.csv".into(),
        load_column: Some(ColumnAsk::Number(2)),
        load_unit: Quantity::Force.unit("N"),
        travel_column: Some(ColumnAsk::Number(1)),
        travel_unit: Quantity::Length.unit("mm"),
        reversed: bytes.len() % 2 == 1,
        ..Ask::default()
    };
    let plain = Ask { file: "x.csv".into(), ..Ask::default() };
    for name in ["curve", "table", "results", "ladder"] {
        let importer = BUILT_IN.importer(name).expect("an importer");
        for ask in [&plain, &hinted] {
            let mut taken = Taken::default();
            match importer.read(&mut &*bytes, ask, &mut taken) {
                Ok(understood) => {
                    accepted = true;
                    shown_safely(&understood.findings);
                }
                Err(found) => {
                    assert!(!found.is_empty(), "{name}: refused without a word");
                    shown_safely(&found);
                }
            }
            match taken.gatherer.map(|g| g.finish("x.csv")) {
                Some(Ok(pull)) => {
                    assert!(pull.peak.value > 0.0, "{pull:?}");
                    shown_safely(&pull.findings);
                }
                Some(Err(finding)) => shown_safely(&[finding]),
                None => {}
            }
        }
    }
    accepted
}

struct Bench {
    folder: tempfile::TempDir,
    snapshot: Vec<u8>,
    place: PathBuf,
    dump: String,
}

fn load(pack: &Path, memory: &dyn Memory) -> String {
    let roots = WantedPacks { packs: Vec::new(), here: pack.into(), home: None }.roots().expect("packs");
    let book = Book::load_with(&roots[1..], pack, memory).expect("loads");
    format!("{:#?}", book.records())
}

fn snapshot_under(folder: &Path) -> Option<PathBuf> {
    std::fs::read_dir(folder)
        .ok()?
        .flatten()
        .map(|e| e.path())
        .find_map(|p| if p.is_dir() { snapshot_under(&p) } else { (p.file_name()? == "snapshot").then_some(p) })
}

fn bench() -> &'static Bench {
    static BENCH: OnceLock<Bench> = OnceLock::new();
    BENCH.get_or_init(|| {
        let folder = tempfile::tempdir().expect("a folder");
        let pack = folder.path().join("pack");
        let files = [
            ("pack.yaml", "id: small\ntitle: Small\nlicence: CC0-1.0\n"),
            ("polymers/a.yaml", "name: A\nfamily: pla\nproperties:\n  tg:\n    - {value: 61 °C, basis: recalled}\n"),
            ("polymers/b.yaml", "name: B\nalso: [bee]\nfamily: pla\n"),
        ];
        for (name, text) in files {
            let path = pack.join(name);
            std::fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
            std::fs::write(path, text).expect("a file");
        }
        let dump = load(&pack, &NoMemory);
        load(&pack, &Cache::new(&folder.path().join("cache"), &pack, false, begun()));
        let place = snapshot_under(&folder.path().join("cache")).expect("a snapshot");
        Bench { snapshot: std::fs::read(&place).expect("the snapshot"), place, dump, folder }
    })
}

/// A damaged snapshot changes no answer. One that was changed and signed anew may hold anything, but never brings the
/// program down.
fn memory(bytes: &[u8]) -> bool {
    let bench = bench();
    let (pack, cache) = (bench.folder.path().join("pack"), bench.folder.path().join("cache"));
    std::fs::write(&bench.place, bytes).expect("written");
    assert_eq!(load(&pack, &Cache::new(&cache, &pack, false, begun())), bench.dump);
    let body = &bytes[..bytes.len().saturating_sub(12)];
    let signed = [body, &(body.len() as u64).to_le_bytes(), &crc32fast::hash(body).to_le_bytes()].concat();
    std::fs::write(&bench.place, signed).expect("written");
    drop(load(&pack, &Cache::new(&cache, &pack, false, begun())));
    let mut index = Cache::new(&cache, &pack, false, begun()).large_from(1).for_search();
    drop(load(&pack, &index));
    index = Cache::new(&cache, &pack, true, begun());
    drop(load(&pack, &index));
    bytes.starts_with(b"gripbook snapshot ") && bytes.len().abs_diff(bench.snapshot.len()) < 200
}
