//! Recordings of a testing machine become specimens.

use super::destination::{self, RawFile, file_name};
use super::{CurveArgs, NewSeries, SpecimenFacts, importer};
use crate::command::series::{published, source};
use crate::command::{CommandOutcome, Context, Fault, Shared, library};
use gripbook::book::Book;
use gripbook::book::view::Specimen;
use gripbook::finding::Finding;
use gripbook::present::{Page, counted, writer};
use gripbook::quantity::{Amount, Measure, Quantity, UnitId, Written, parse};
use gripbook::read::digest::sha256;
use gripbook::series::curve::mode::{Suggestion, suggest};
use gripbook::series::curve::{Gatherer, Pull, Settings};
use gripbook::series::importer::{Ask, ColumnAsk, Importer, RowIn, Sink, Understood};
use gripbook::series::record;
use gripbook::series::vocabulary;
use serde_json::json;
use std::fmt::Write;
use std::fs::File;
use std::path::Path;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

struct ReadRecording {
    label: String,
    pull: Pull,
    unit: UnitId,
    facts: Vec<String>,
    findings: Vec<Finding>,
    suggestion: Option<Suggestion>,
    mode: Option<String>,
    /// The samples as plain text, where a plug-in read them.
    text: Option<String>,
}

/// Who reads the recordings.
#[derive(Clone, Copy)]
struct Reader<'a> {
    importer: &'a dyn Importer,
    /// The plug-in's name and the SHA-256 of its module.
    plugin: Option<(&'static str, &'a str)>,
}

/// Runs `import curve`.
pub fn run(args: &CurveArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let pack = destination::pack(shared, context)?;
    if record::quantity_of(&args.quantity) != Quantity::Force {
        return Err(Fault::usage(format!("--quantity {}: the peak of a recording is a load", args.quantity))
            .help("pull_out_load, push_out_load, failure_load"));
    }
    let loaded = library::open(&args.plugins.with_packs(shared), context)?;
    let methods = context.registry.methods_of(&loaded.book);
    let mut new = destination::resolved(&args.new, &loaded.book, &methods)?;
    let (ask, settings, method) = asked(args, &new, &loaded.book)?;
    let plugin = args.plugins.importer(&loaded.book, context)?;
    let reader = match &plugin {
        Some(p) => Reader { importer: &p.importer, plugin: Some((p.importer.card().name, &p.fingerprint)) },
        None => Reader { importer: importer(context, "curve")?, plugin: None },
    };
    // What the record is checked with is made ready while the recordings are read.
    let read_all = || -> Result<Vec<ReadRecording>, Fault> {
        args.files.iter().map(|path| take(path, &ask, settings, method.as_deref(), args, (reader, context))).collect()
    };
    let (checker, taken) = rayon::join(destination::checker, read_all);
    let (checker, mut taken) = (checker?, taken?);
    given_modes(&mut taken, &args.facts, args.accept_modes)?;
    let specimens: Vec<Specimen> = taken.iter().map(|t| specimen(t, &args.facts)).collect::<Result<_, _>>()?;
    if let Some(i) = (1..specimens.len()).find(|i| specimens[..*i].iter().any(|s| s.label == specimens[*i].label)) {
        return Err(Fault::usage(format!("two recordings are called `{}`", specimens[i].label())));
    }
    if let Some(rig) = &args.rig {
        new.set.push(format!("rig={}", library::find(&loaded.book, rig, &["rig"])?.id));
    }
    if let Some(speed) = &args.speed {
        new.set.push(format!("speed={speed}"));
    }
    if let Some(unit) = &args.travel_unit.as_ref().and(ask.travel_unit) {
        new.set.push(format!("travel_unit={}", unit.symbol()));
    }
    let change = destination::series_change(&pack, &args.series, &args.quantity, &specimens, &new, &[])?;
    let folder = pack.join("series").join(&args.series);
    let raw: Vec<RawFile> = args
        .files
        .iter()
        .zip(&taken)
        .map(|(from, t)| RawFile {
            from: context.folder.join(from),
            to: folder.join(format!("{}.csv", t.label)),
            made: t.text.clone().map(String::into_bytes),
        })
        .collect();
    let mut page = Page::titled(format!("{} for series/{}", counted(taken.len(), "recording"), args.series));
    told(&mut page, &taken);
    let written = destination::carry_out_with(
        &checker,
        &mut page,
        (std::slice::from_ref(&change), &raw),
        &args.agree,
        &loaded.book,
        context,
    )?;
    let json = json!({
        "series": change.id, "written": written, "record": context.shown(&change.path),
        "specimens": taken.iter().map(taken_json).collect::<Vec<_>>(),
        "plugins": reader.plugin.iter().map(|(name, sha256)| json!({"name": name, "sha256": sha256})).collect::<Vec<_>>(),
    });
    Ok(CommandOutcome { answer: Box::new(super::imported(page, json)), exit: 0 })
}

fn amount(text: &str, quantity: Quantity, option: &str) -> Result<Written, Fault> {
    parse(text, quantity).map_err(|f| Fault::usage(format!("{option}: {}", f.message())).help(f.help()))
}

fn unit(text: &Option<String>, quantity: Quantity, option: &str) -> Result<Option<UnitId>, Fault> {
    text.as_deref()
        .map(|t| {
            quantity.unit(t).ok_or_else(|| {
                Fault::usage(format!("{option}: `{t}` is not a unit of {}", quantity.title())).help("kg is written kgf")
            })
        })
        .transpose()
}

fn column(text: &Option<String>) -> Option<ColumnAsk> {
    text.as_deref().map(|t| t.parse().map_or_else(|_| ColumnAsk::Name(t.to_owned()), ColumnAsk::Number))
}

/// What options, the series on record and the rig say.
fn asked(args: &CurveArgs, new: &NewSeries, book: &Book) -> Result<(Ask, Settings, Option<String>), Fault> {
    let known = book.record(&format!("series/{}", args.series)).and_then(record::series);
    let (mut ask, mut settings) = known.as_ref().map(|s| source::ask(book, s)).unwrap_or_default();
    if let Some(rig) = &args.rig {
        source::of_rig(library::find(book, rig, &["rig"])?.rig(), &mut settings);
    }
    if let Some(text) = &args.compliance {
        settings.compliance = Some(amount(text, Quantity::Compliance, "--compliance")?.si * 1e3);
    }
    if let Some(text) = &args.capacity {
        settings.capacity = Some(amount(text, Quantity::Force, "--capacity")?.si);
    }
    if let Some(text) = &args.pitch {
        settings.pitch = Some(amount(text, Quantity::Length, "--pitch")?.si * 1e3);
    }
    settings.drop = crate::command::compare::share(&args.drop)?;
    if let Some(text) = &args.speed {
        ask.speed = Some(amount(text, Quantity::Speed, "--speed")?.si * 1e3);
    }
    if let Some(text) = &args.zero {
        ask.zero = amount(text, Quantity::Force, "--zero")?.si;
    }
    ask.load_unit = unit(&args.load_unit, Quantity::Force, "--load-unit")?;
    ask.travel_unit = unit(&args.travel_unit, Quantity::Length, "--travel-unit")?.or(ask.travel_unit);
    ask.load_column = column(&args.load_column);
    ask.travel_column = column(&args.travel_column);
    ask.time_column = column(&args.time_column);
    ask.reversed = args.reversed;
    let method = new.method.clone().or_else(|| known.and_then(|s| s.joint.method).map(String::from));
    Ok((ask, settings, method))
}

/// Travel, load and line.
type Sample = (f64, f64, u64);

/// Samples handed on at a time.
const BATCH: usize = 4096;
/// Batches that may wait.
const WAITING: usize = 8;

/// Hands samples to the thread that reduces them. Tells the progress of a long file, on a terminal only and not before a
/// second has passed.
struct HandOn {
    batch: Vec<Sample>,
    to: SyncSender<Vec<Sample>>,
    samples: usize,
    size: u64,
    since: Instant,
    last: Duration,
    name: String,
    text: Option<String>,
}

impl HandOn {
    fn hand_on(&mut self) {
        let full = std::mem::replace(&mut self.batch, Vec::with_capacity(BATCH));
        self.samples += full.len();
        // Whoever reduces them takes all there are; were it gone, joining it would show why.
        let _ = self.to.send(full);
    }
}

impl Sink for HandOn {
    fn sample(&mut self, travel: f64, load: f64, line: u64) {
        self.batch.push((travel, load, line));
        if let Some(text) = &mut self.text {
            // The shortest digits that give the same number again; writing to a string cannot fail.
            let _ = writeln!(text, "{travel},{load}");
        }
        if self.batch.len() == BATCH {
            self.hand_on();
        }
    }
    fn row(&mut self, _: RowIn) {}
    fn progress(&mut self, bytes: u64) {
        let now = self.since.elapsed();
        if now < self.last + Duration::from_secs(1) || !writer::notices_to_terminal() {
            return;
        }
        self.last = now;
        let share = (100 * bytes).checked_div(self.size).unwrap_or(0);
        writer::notice(&format!("{}: {share} % read, {} samples", self.name, self.samples));
    }
}

/// Reads a recording and reduces it, each on a core of its own.
fn read(
    file: &mut File,
    size: u64,
    name: &str,
    ask: &Ask,
    settings: Settings,
    reader: Reader<'_>,
) -> Result<(Understood, Gatherer, Option<String>), Fault> {
    let (to, from) = sync_channel::<Vec<Sample>>(WAITING);
    let (since, name) = (Instant::now(), name.to_owned());
    let batch = Vec::with_capacity(BATCH);
    let text = reader.plugin.map(|_| String::new());
    let mut sink = HandOn { batch, to, samples: 0, size, since, last: Duration::ZERO, name, text };
    thread::scope(|scope| {
        let reducing = scope.spawn(move || {
            let mut gatherer = Gatherer::new(settings);
            from.iter().flatten().for_each(|(travel, load, line)| gatherer.push(travel, load, line));
            gatherer
        });
        let understood = reader.importer.read(file, ask, &mut sink);
        sink.hand_on();
        let text = sink.text.take();
        drop(sink);
        let gatherer = reducing.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        understood.map(|understood| (understood, gatherer, text)).map_err(|f| source::stopped(&f))
    })
}

fn take(
    path: &Path,
    ask: &Ask,
    settings: Settings,
    method: Option<&str>,
    args: &CurveArgs,
    (reader, context): (Reader<'_>, &Context),
) -> Result<ReadRecording, Fault> {
    let name = path.display().to_string();
    let whole = context.folder.join(path);
    let mut file = File::open(&whole).map_err(|e| Fault::data(format!("{name}: {e}")))?;
    let meta = file.metadata().map_err(|e| Fault::data(format!("{name}: {e}")))?;
    if !meta.is_file() {
        return Err(Fault::data(format!("{name}: not a regular file")));
    }
    let ask = Ask { file: name.clone(), ..ask.clone() };
    let (understood, gatherer, text) = read(&mut file, meta.len(), &name, &ask, settings, reader)?;
    let text = match (text, reader.plugin) {
        (Some(text), Some(plugin)) => Some(kept(text, plugin, path, &whole)?),
        _ => None,
    };
    let pull = gatherer.finish(&name).map_err(|f| source::stopped(&[f]))?;
    let stem = path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
    let label = file_name(&stem);
    if label.is_empty() {
        return Err(
            Fault::usage(format!("{name}: the name of the file gives no label")).help("call it after the specimen, e.g. a1.csv")
        );
    }
    let suggestion = suggest(&pull, &settings, method);
    let findings = [understood.findings, pull.findings.clone()].concat();
    let unit = understood.load_unit.unwrap_or(Quantity::Force.canonical());
    let mode = pull.held.then(|| "machine-limit".to_owned());
    let mut facts = understood.facts;
    facts.push(match settings.compliance {
        Some(c) => format!("rig compliance {} mm/N taken off the travel", gripbook::quantity::print::number(c, 3)),
        None => "rig compliance not known: stiffness is that of the whole system".into(),
    });
    facts.push(format!("break where {} of the peak is lost", args.drop.replace('%', " %").replace("  ", " ")));
    Ok(ReadRecording { label, pull, unit, facts, findings, suggestion, mode, text })
}

/// The samples with a head that says where they come from, so that the book needs no plug-in to read them again.
fn kept(samples: String, (name, module): (&str, &str), path: &Path, whole: &Path) -> Result<String, Fault> {
    let raw = std::fs::read(whole).map_err(|e| Fault::data(format!("{}: {e}", path.display())))?;
    let file = path.file_name().map(|f| f.to_string_lossy().into_owned()).unwrap_or_default();
    let head = format!(
        "# read by the plug-in {name}, SHA-256 {module}\n# from {file}, SHA-256 {}\ntravel (mm),load (N)\n",
        sha256(&raw)
    );
    Ok(head + &samples)
}

/// Modes said by the person; suggestions only when accepted.
fn given_modes(taken: &mut [ReadRecording], facts: &SpecimenFacts, accept: bool) -> Result<(), Fault> {
    for text in &facts.mode {
        let (label, mode) = match text.split_once('=') {
            Some((label, mode)) => (Some(label), mode),
            None => (None, text.as_str()),
        };
        if !vocabulary::is_mode(mode) {
            return Err(
                Fault::usage(format!("--mode {text}: `{mode}` is not a known failure mode")).help(vocabulary::mode_help(mode))
            );
        }
        let mut hit = false;
        for t in taken.iter_mut().filter(|t| label.is_none_or(|l| l == t.label)) {
            t.mode = Some(mode.to_owned());
            hit = true;
        }
        if !hit {
            return Err(Fault::usage(format!("--mode {text}: no recording of that name")));
        }
    }
    if accept {
        for t in taken.iter_mut().filter(|t| t.mode.is_none()) {
            t.mode = t.suggestion.as_ref().map(|s| s.mode.to_owned());
        }
    }
    Ok(())
}

fn specimen(t: &ReadRecording, facts: &SpecimenFacts) -> Result<Specimen, Fault> {
    let number = t.unit.unit().number_from_si(t.pull.peak.si());
    let text = format!("{number} {}", t.unit.symbol());
    let value = parse(&text, Quantity::Force).map_err(|f| Fault::data(format!("{}: {}", t.label, f.message())))?;
    let field = |v: &Option<String>| v.as_deref().map(Box::<str>::from);
    Ok(Specimen {
        label: Some(t.label.as_str().into()),
        censored: t.pull.held,
        mode: Some(t.mode.as_deref().unwrap_or("unknown").into()),
        batch: field(&facts.batch),
        job: field(&facts.job),
        date: field(&facts.date),
        curve: Some(format!("{}.csv", t.label).into()),
        ..Specimen::of(value)
    })
}

fn told(page: &mut Page, taken: &[ReadRecording]) {
    let read: Vec<source::Read> =
        taken.iter().map(|t| source::Read { label: t.label.clone(), mode: t.mode.clone(), pull: Ok(t.pull.clone()) }).collect();
    published::curves(page, &read);
    // How they were read is told once where it is the same for all.
    let is_common = |fact: &&String| taken.len() > 1 && taken.iter().all(|t| t.facts.contains(fact));
    let common: Vec<&String> = taken.iter().take(1).flat_map(|t| &t.facts).filter(is_common).collect();
    if !common.is_empty() {
        page.heading("How all of them were read");
        common.iter().for_each(|fact| {
            page.item((*fact).clone());
        });
    }
    for t in taken {
        page.heading(t.label.clone());
        for fact in t.facts.iter().filter(|fact| !common.contains(fact)) {
            page.item(fact.clone());
        }
        for f in t.findings.iter().filter(|f| !t.pull.findings.contains(f)) {
            page.item(source::told(f));
        }
        match (&t.suggestion, &t.mode) {
            (Some(s), mode) => {
                let named = |mode: &str| format!("{} ({mode})", vocabulary::mode_means(mode));
                let others: Vec<String> = s.or.iter().map(|mode| named(mode)).collect();
                let or = if others.is_empty() { String::new() } else { format!("; it could also be: {}", others.join(", ")) };
                page.item(format!("the curve suggests: {}, for {}{or}", named(s.mode), s.reasons.join("; ")));
                page.sub(
                    1,
                    match mode {
                        Some(m) => format!("recorded: {m}"),
                        None => format!("recorded: unknown, until you look at the part and say --mode {}={}", t.label, s.mode),
                    },
                );
            }
            (None, Some(m)) => {
                page.item(format!("recorded: {m}"));
            }
            (None, None) => {
                page.item("the curve suggests no failure mode; recorded: unknown");
            }
        }
    }
}

fn taken_json(t: &ReadRecording) -> serde_json::Value {
    json!({
        "label": t.label, "mode": t.mode, "value": Amount::of(t.pull.peak), "understood": t.facts, "findings": t.findings,
        "suggested": t.suggestion.as_ref().map(|s| json!({"mode": s.mode, "reasons": s.reasons, "or": s.or})),
        "pull": published::pull_json(&t.pull),
    })
}
