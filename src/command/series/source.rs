//! Where a series comes from: a record by id, a record file, or a plain table of loads.

use crate::command::library::{self, Loaded};
use crate::command::{CommandOutcome, Context, Fault, Shared, class};
use gripbook::book::files::{self, FileRole};
use gripbook::book::view::{Rig, Specimen};
use gripbook::book::{Book, Miss, Record};
use gripbook::plugins::Registry;
use gripbook::quantity::{Measure, Quantity, Written};
use gripbook::series::curve::{Gatherer, Pull, Settings};
use gripbook::series::importer::{Ask, RowIn, Sink};
use gripbook::series::loads::loads;
use gripbook::series::record::{self, Measurement, Series};
use gripbook::series::specimen::Sample;
use gripbook::series::vocabulary;
use std::path::Path;

/// A table of loads taken in.
#[derive(Debug, Default)]
pub struct Rows {
    /// The rows.
    pub rows: Vec<RowIn>,
}

impl Sink for Rows {
    fn sample(&mut self, _: f64, _: f64, _: u64) {}
    fn row(&mut self, row: RowIn) {
        self.rows.push(row);
    }
    fn progress(&mut self, _: u64) {}
}

/// Whether the text names a file rather than a record.
pub fn is_file(text: &str) -> bool {
    (text.ends_with(".yaml") || text.ends_with(".csv")) && Path::new(text).is_file()
}

/// Opens the packs; a record file adds the pack it lies in.
pub fn open(texts: &[&str], shared: &Shared, context: &Context) -> Result<Loaded, Fault> {
    let mut shared = shared.clone();
    for text in texts.iter().filter(|t| t.ends_with(".yaml") && is_file(t)) {
        let folder = context.folder.join(text);
        let pack = folder.parent().and_then(|p| gripbook::book::standing_in(p, context.home.as_deref()));
        match pack {
            Some(pack) => {
                let pack = pack.display().to_string();
                if !shared.pack.contains(&pack) {
                    shared.pack.push(pack);
                }
            }
            None => {
                return Err(Fault::data(format!("{text}: the record belongs to no pack: there is no pack.yaml above it"))
                    .help("move it into a pack, or give a table of loads as CSV"));
            }
        }
    }
    library::open(&shared, context)
}

/// The series measured on the members of a class, where a word names one and no series.
pub fn members(loaded: &Loaded, text: &str) -> Option<CommandOutcome> {
    let is_series = is_file(text) || loaded.book.record(&format!("series/{text}")).is_some();
    if is_series { None } else { library::members(loaded, text, class::with_series) }
}

/// The series somebody means.
pub fn series(book: &Book, text: &str) -> Result<Series, Fault> {
    let name = if is_file(text) {
        let stem = Path::new(text).file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
        format!("series/{stem}")
    } else {
        text.to_owned()
    };
    let direct = if name.contains('/') { book.record(&name) } else { book.record(&format!("series/{name}")) };
    let found = match direct {
        Some(record) => record,
        None => named(book, &name)?,
    };
    let found = library::still_held(book, found)?;
    record::series(found).ok_or_else(|| Fault { exit: 1, message: format!("{} is not a test series", found.id), help: None })
}

/// The series of a name; a source that bears the name too is not meant.
fn named<'b>(book: &'b Book, name: &str) -> Result<&'b Record, Fault> {
    let (text, mut candidates) = match book.resolve(name, &["book"]) {
        Ok(record) => return Ok(record),
        Err(Miss::Ambiguous { text, candidates }) => (text, candidates),
        Err(miss) => return Err(library::missed(book, &miss)),
    };
    if candidates.iter().any(|id| id.kind() == "series") {
        candidates.retain(|id| id.kind() == "series");
    }
    let only = if let [only] = &candidates[..] { book.record(only.as_str()) } else { None };
    only.ok_or_else(|| library::missed(book, &Miss::Ambiguous { text, candidates }))
}

/// The measurement asked for, else the first with single results, else the first.
pub fn measurement<'s>(series: &'s Series, quantity: Option<&str>) -> Result<&'s Measurement, Fault> {
    let list = &series.measurements;
    let chosen = match quantity {
        Some(word) => list.iter().find(|m| m.word == word),
        None => list.iter().find(|m| m.sample.is_some()).or(list.first()),
    };
    chosen.ok_or_else(|| {
        let words: Vec<&str> = list.iter().map(|m| m.word.as_str()).collect();
        Fault {
            exit: 1,
            message: format!("{} has no such quantity", series.id),
            help: Some(format!("it has {}", words.join(", "))),
        }
    })
}

/// A table of loads as a sample.
pub fn table(registry: &Registry, path: &str, unit: Option<&str>) -> Result<Sample, Fault> {
    let importer = registry.importer("table").ok_or_else(|| Fault::data("the table importer is missing"))?;
    let mut file = std::fs::File::open(path).map_err(|e| Fault::data(format!("{path}: {e}")))?;
    let mut rows = Rows::default();
    let ask = Ask { file: path.to_owned(), ..Ask::default() };
    importer.read(&mut file, &ask, &mut rows).map_err(|f| stopped(&f))?;
    sample_of(&rows.rows, path, unit)
}

/// The first of the findings that stopped a reading, as a fault; the others are notices.
pub fn stopped(findings: &[gripbook::finding::Finding]) -> Fault {
    for finding in findings.iter().rev().skip(1).rev() {
        gripbook::present::writer::notice(&told(finding));
    }
    match findings.last() {
        Some(f) if f.rule == gripbook::sandbox::STOPPED => {
            Fault { exit: crate::command::plugins::FAILED, message: f.message.clone(), help: f.help.clone() }
        }
        Some(f) => Fault { exit: 3, message: told(f), help: f.help.clone() },
        None => Fault::data("the file cannot be read"),
    }
}

/// A finding in one line: place, message, rule.
pub fn told(f: &gripbook::finding::Finding) -> String {
    let line = f.place.span.map(|s| format!(":{}", s.line)).unwrap_or_default();
    format!("{}{line}: {} ({})", f.place.file, f.message, f.rule)
}

/// Rows with a `load` as specimens; a row without one is skipped.
pub fn sample_of(rows: &[RowIn], file: &str, unit: Option<&str>) -> Result<Sample, Fault> {
    let mut sample: Option<Sample> = None;
    for row in rows {
        let Some(load) = row.get("load") else { continue };
        let place = format!("{file}:{}", row.line);
        let held = row.get("held").is_some_and(|h| matches!(h, "yes" | "true" | "1" | "x"));
        let own_unit = row.get("unit").or(unit);
        let one = loads(load, own_unit).map_err(|f| Fault::data(format!("{place}: {}", f.message)).help(f.help))?;
        let [read] = &one.specimens[..] else {
            return Err(Fault::data(format!("{place}: one load for each row, not `{load}`"))
                .help("a decimal comma is written as a point; further loads take rows of their own"));
        };
        let field = |name: &str| row.get(name).map(Box::<str>::from);
        if let Some(mode) = row.get("mode")
            && !vocabulary::is_mode(mode)
        {
            return Err(Fault::data(format!("{place}: `{mode}` is not a known failure mode")).help(vocabulary::mode_help(mode)));
        }
        let number = sample.as_ref().map_or(0, |s| s.specimens.len());
        let specimen = Specimen {
            label: field("label").or_else(|| Some((number + 1).to_string().into())),
            censored: read.censored || held || row.get("mode") == Some("machine-limit"),
            mode: field("mode"),
            batch: field("batch"),
            job: field("job"),
            date: field("date"),
            position: field("position"),
            note: field("note"),
            ..Specimen::of(read.value.clone())
        };
        match &mut sample {
            None => sample = Some(Sample { specimens: vec![specimen], ..one }),
            Some(s) if s.quantity == one.quantity => s.specimens.push(specimen),
            Some(_) => {
                return Err(Fault::data(format!("{place}: `{load}` is a different quantity from that of the rows before")));
            }
        }
    }
    sample.ok_or_else(|| {
        Fault::data(format!("{file}: none of the rows has a load")).help("fill in the column `load`, e.g. `812 N`")
    })
}

/// A curve of a series with what it says, or why it cannot be read.
#[derive(Debug)]
pub struct Read {
    /// Label of the specimen.
    pub label: String,
    /// Its mode.
    pub mode: Option<String>,
    /// The pull.
    pub pull: Result<Pull, String>,
}

/// Feeds a gatherer.
pub struct Gather(pub Gatherer);

impl Sink for Gather {
    fn sample(&mut self, travel: f64, load: f64, line: u64) {
        self.0.push(travel, load, line);
    }
    fn row(&mut self, _: RowIn) {}
    fn progress(&mut self, _: u64) {}
}

/// The curves kept beside a record, reduced with what record and rig say.
pub fn curves(loaded: &Loaded, series: &Series, measured: &Measurement, here: &Path) -> Vec<Read> {
    let Some(sample) = &measured.sample else { return Vec::new() };
    let book = &loaded.book;
    let Some(record) = book.record(&series.id) else { return Vec::new() };
    let root = &book.pack_of(record).root;
    let (listing, below) = (files::list(root, here), files::folder_of(root, here));
    let (ask, settings) = ask(book, series);
    let folder = format!("{}/", series.id);
    let mut list = Vec::new();
    for specimen in &sample.specimens {
        let Some(name) = &specimen.curve else { continue };
        let path = format!("{folder}{name}");
        let found = listing.get(&path).filter(|f| f.part == FileRole::Curve);
        let ask = Ask { file: path.clone(), ..ask.clone() };
        let pull = match found.map(|f| f.bytes(&below)) {
            None => Err("the file is not in the pack".to_owned()),
            Some(Err(fault)) => Err(fault.message),
            Some(Ok(bytes)) => in_its_unit(&loaded.registry, &bytes, &ask, settings, &specimen.value),
        };
        list.push(Read { label: specimen.label().to_owned(), mode: specimen.mode.as_deref().map(str::to_owned), pull });
    }
    list
}

/// Difference between a peak and the load on record, relative, up to which they are the same.
const SAME_LOAD: f64 = 5e-3;

/// Reads a recording by its own heading. Where that names no unit of load, or another than was said when it was imported,
/// the unit of the recorded load is the one that was said.
fn in_its_unit(registry: &Registry, bytes: &[u8], ask: &Ask, settings: Settings, recorded: &Written) -> Result<Pull, String> {
    let agrees = |pull: &Pull| (pull.peak.si() - recorded.si).abs() <= SAME_LOAD * recorded.si.abs();
    let headed = reduce(registry, bytes, ask, settings);
    if headed.as_ref().is_ok_and(agrees) {
        return headed;
    }
    let said = reduce(registry, bytes, &Ask { load_unit: Some(recorded.unit), ..ask.clone() }, settings);
    if headed.is_err() || said.as_ref().is_ok_and(agrees) { said } else { headed }
}

fn reduce(registry: &Registry, bytes: &[u8], ask: &Ask, settings: Settings) -> Result<Pull, String> {
    let importer = registry.importer("curve").ok_or("the curve importer is missing")?;
    let mut gather = Gather(Gatherer::new(settings));
    let mut input = bytes;
    let read = importer.read(&mut input, ask, &mut gather);
    read.map_err(|f| f.last().map(told).unwrap_or_default())?;
    gather.0.finish(&ask.file).map_err(|f| told(&f))
}

/// What record and rig say about the recordings of a series.
pub fn ask(book: &Book, series: &Series) -> (Ask, Settings) {
    let (rig, test) = (series.test.rig.as_deref().and_then(|id| book.record(id)), &series.test);
    let travel_unit = test.travel_unit.as_deref().and_then(|unit| Quantity::Length.unit(unit));
    let ask = Ask { speed: test.speed.as_ref().map(|s| s.si * 1e3), travel_unit, ..Ask::default() };
    let mut settings = Settings { pitch: pitch(series), ..Settings::default() };
    of_rig(rig.and_then(Record::rig), &mut settings);
    (ask, settings)
}

/// How much a rig gives and what it can measure.
pub fn of_rig(rig: Option<&Rig>, settings: &mut Settings) {
    settings.compliance = rig.and_then(|r| r.compliance.as_ref()).map(|c| c.si * 1e3);
    settings.capacity = rig.and_then(|r| r.capacity.as_ref()).map(|c| c.si);
}

/// Pitch in mm: stated, or that of the coarse metric thread.
pub fn pitch(series: &Series) -> Option<f64> {
    if let Some(stated) = &series.joint.thread_pitch {
        return Some(stated.si * 1e3);
    }
    let thread = gripbook::mechanics::thread::parse(series.joint.thread.as_deref()?).ok()?;
    Some(thread.pitch().get::<uom::si::length::millimeter>())
}
