//! From options to a need.

use super::FastenArgs;
use super::typed::{self, Typed};
use crate::command::Fault;
use crate::command::library::{self, Loaded};
use crate::command::mistakes::Mistakes;
use gripbook::book::{Book, Miss, Record, RecordId};
use gripbook::joint::assumption::Assumptions;
use gripbook::joint::need::{Need, Use};
use gripbook::mechanics::thread::{self, Thread};
use gripbook::quantity::{Amount, Measure, Quantity, parse};
use gripbook::suit::{Rule, STEPS};
use uom::si::f64::{Force, Length, RadiantExposure, ThermodynamicTemperature};

/// Longest length that makes sense for a screw in a printed part, m.
const LONGEST: f64 = 0.5;
/// Largest load that makes sense, N.
const HEAVIEST: f64 = 1e6;

/// What is asked, read from the line.
pub struct FastenQuestion<'b> {
    /// The need.
    pub need: Need<'b>,
    /// The one method asked for.
    pub method: Option<String>,
    /// How the engaged length came about, when none was given.
    pub length_taken: Option<String>,
}

/// The need that the line describes; all its mistakes are told at once.
pub fn asked<'b>(
    args: &FastenArgs,
    loaded: &'b Loaded,
    rules: &'b [Rule],
    assumptions: Assumptions,
    line: &str,
) -> Result<FastenQuestion<'b>, Fault> {
    let book = &loaded.book;
    let mut mistakes = Mistakes::default();
    let typed = typed::typed(args, &mut mistakes);
    let material = material(args, &typed, book, &mut mistakes);
    let thread = thread_of(args, &typed, &mut mistakes);
    let sizes = sizes(args, &mut mistakes);
    let length = length("length", typed.length.as_deref(), &mut mistakes);
    let load = mistakes.quantity("load", typed.need.as_deref(), Quantity::Force).map(Force::from_si);
    let named = records(args, book, thread.as_ref(), &mut mistakes);
    let method =
        args.method.as_deref().and_then(|name| mistakes.keep(library::method(name, &loaded.registry.methods_of(book).names())));
    let using = using(args, &mut mistakes);
    let light = light(args, named.process, &mut mistakes);
    numbers(args, load, &mut mistakes);
    mistakes.settle(line)?;
    let (Some(material), Some(thread)) = (material, thread) else {
        return Err(Fault::usage("name a material and a thread").help(example()));
    };
    let (length, length_taken) = match length {
        Some(length) => (length, None),
        None => taken(&thread, named.insert),
    };
    let mut need = Need::new(book, rules, material, thread, length);
    need.assumptions = assumptions;
    need.any_material = typed.material.is_none();
    need.load = load;
    need.load_unit = typed.need.as_deref().and_then(|t| parse(t, Quantity::Force).ok()).map_or(need.load_unit, |w| w.unit);
    (need.factor, need.draws, need.seed) = (args.factor, args.draws, args.seed);
    (need.insert, need.adhesive, need.screw, need.process) = (named.insert, named.adhesive, named.screw, named.process);
    (need.boss, need.edge, need.hole_size, need.depth) = (sizes.boss, sizes.edge, sizes.hole, sizes.depth);
    (need.gap, need.offset, need.wall, need.through) = (sizes.gap, sizes.offset, sizes.wall, !args.blind);
    need.using = using;
    need.without = args.without.iter().copied().collect();
    need.steps = args.step.iter().filter_map(|s| STEPS.iter().copied().find(|known| known == s)).collect();
    need.unprepared = args.unprepared;
    (need.dose, need.wavelength) = light;
    fits(&need)?;
    Ok(FastenQuestion { need, method, length_taken })
}

fn example() -> String {
    format!("for example: {}", typed::EXAMPLE)
}

/// The engaged length where none is given: that of the insert, else two diameters.
fn taken(thread: &Thread, insert: Option<&Record>) -> (Length, Option<String>) {
    let own = insert.and_then(|i| i.insert()?.length.as_ref());
    let (length, why) = match own {
        Some(own) => (own.amount(), "the length of the insert"),
        None => (thread.major() * 2.0, "2 d"),
    };
    (length, Some(format!("The engaged length was not given; {} is used ({why}).", Amount::of(length).trimmed(4))))
}

/// The material; for a calibration without one any real material stands in.
fn material<'b>(args: &FastenArgs, typed: &Typed, book: &'b Book, mistakes: &mut Mistakes) -> Option<&'b Record> {
    if let Some(name) = &typed.material {
        return mistakes.record(book, name, "material");
    }
    if !args.calibration {
        mistakes.add(Fault::usage("name a material").help(example()));
        return None;
    }
    let any = book.of_role("material").find(|r| !r.invented());
    mistakes.keep(any.ok_or_else(|| Fault::data("the loaded packs hold no material")))
}

fn thread_of(args: &FastenArgs, typed: &Typed, mistakes: &mut Mistakes) -> Option<Thread> {
    let text = match &typed.thread {
        Some(text) => text,
        None if args.calibration => "M3",
        None => {
            mistakes.add(Fault::usage("name a thread").help(example()));
            return None;
        }
    };
    match thread::fastening(text) {
        Ok(thread) => Some(thread),
        Err(fault) => {
            mistakes.add(Fault::usage(format!("thread: {}", fault.message())).help(fault.help()));
            None
        }
    }
}

/// Records named beside the material.
#[derive(Default)]
struct NamedRecords<'b> {
    insert: Option<&'b Record>,
    adhesive: Option<&'b Record>,
    screw: Option<&'b Record>,
    process: Option<&'b Record>,
}

fn records<'b>(args: &FastenArgs, book: &'b Book, thread: Option<&Thread>, mistakes: &mut Mistakes) -> NamedRecords<'b> {
    let mut find = |text: &Option<String>, role: &str| text.as_deref().and_then(|text| mistakes.record(book, text, role));
    let (adhesive, screw, process) =
        (find(&args.adhesive, "adhesive"), find(&args.screw, "screw"), find(&args.process, "process"));
    let insert = args.insert.as_deref().and_then(|text| mistakes.keep(insert(book, text, thread).and_then(computed)));
    NamedRecords { insert, adhesive, screw, process }
}

/// An insert that some way of joining takes.
fn computed(insert: &Record) -> Result<&Record, Fault> {
    if insert.insert().is_some_and(|i| i.fitting.as_deref() == Some("self-tapping")) {
        let fault = Fault::usage(format!("{}: the load of an insert that cuts its own thread is not computed", insert.id));
        return Err(fault.help("pull five of them out of your own part, or choose an insert that is melted, glued or pressed in"));
    }
    Ok(insert)
}

/// The insert of that name; where several have it, the one for this thread.
fn insert<'b>(book: &'b Book, text: &str, thread: Option<&Thread>) -> Result<&'b Record, Fault> {
    let Some(thread) = thread.map(Thread::designation) else { return library::find(book, text, &["insert"]) };
    let of_thread = |id: &RecordId| book.record(id.as_str()).filter(|r| r.common().thread.as_deref() == Some(&*thread));
    match book.resolve(text, &["insert"]) {
        Ok(insert) => match insert.common().thread.as_deref() {
            Some(own) if own != thread => Err(Fault::usage(format!("{} is for {own}, not for {thread}", insert.id))
                .help("choose an insert of that thread, or leave --insert out")),
            _ => Ok(insert),
        },
        Err(Miss::Ambiguous { text, candidates }) => {
            let fitting: Vec<&Record> = candidates.iter().filter_map(of_thread).collect();
            // `heat set` for M3 is the plain one: where one id begins the others, they are its variants.
            let general = fitting.iter().find(|r| fitting.iter().all(|o| o.id.as_str().starts_with(r.id.as_str())));
            match general {
                Some(insert) => Ok(insert),
                None if fitting.is_empty() => Err(library::missed(book, &Miss::Ambiguous { text, candidates })),
                None => {
                    let candidates = fitting.iter().map(|r| r.id.clone()).collect();
                    Err(library::missed(book, &Miss::Ambiguous { text, candidates }))
                }
            }
        }
        Err(miss) => Err(library::missed(book, &miss)),
    }
}

/// Lengths given by options.
struct Sizes {
    boss: Option<Length>,
    edge: Option<Length>,
    hole: Option<Length>,
    depth: Option<Length>,
    gap: Option<Length>,
    offset: Option<Length>,
    wall: Option<Length>,
}

fn sizes(args: &FastenArgs, mistakes: &mut Mistakes) -> Sizes {
    let mut read = |option: &str, text: &Option<String>| length(option, text.as_deref(), mistakes);
    Sizes {
        boss: read("--boss", &args.boss),
        edge: read("--edge", &args.edge),
        hole: read("--hole-size", &args.hole_size),
        depth: read("--depth", &args.depth),
        gap: read("--gap", &args.gap),
        offset: read("--offset", &args.offset),
        wall: read("--wall", &args.wall),
    }
}

fn numbers(args: &FastenArgs, load: Option<Force>, mistakes: &mut Mistakes) {
    if load.is_some_and(|l| l.si() > HEAVIEST) {
        mistakes.add(Fault::usage("load: no screw in this book holds a meganewton").help("check the unit"));
    }
    if !(args.factor > 0.0 && args.factor <= 100.0) {
        mistakes.add(Fault::usage(format!("--factor {}: the factor must be above 0 and at most 100", args.factor)));
    }
    if !(100..=5_000_000).contains(&args.draws) {
        mistakes.add(Fault::usage(format!("--draws {}: the number must be from 100 to 5000000", args.draws)));
    }
}

/// Sizes that contradict one another.
fn fits(need: &Need<'_>) -> Result<(), Fault> {
    let text = |l: Length| Amount::of(l).text(3);
    let (thread, major) = (need.thread.designation(), need.thread.major());
    if need.length > major * 20.0 {
        return Err(Fault::usage(format!("length: {} is more than twenty screw diameters", text(need.length)))
            .help("the engaged length is that over which screw and thread overlap"));
    }
    if need.length < need.thread.pitch() {
        let (length, pitch) = (Amount::of(need.length).trimmed(3), Amount::of(need.thread.pitch()).trimmed(3));
        return Err(Fault::usage(format!("length: {length} is less than one pitch of {thread} ({pitch})"))
            .help("the engaged length is that over which screw and thread overlap; one to two diameters are usual"));
    }
    if let Some(depth) = need.depth.filter(|d| *d < need.length) {
        return Err(Fault::usage(format!("the length {} does not fit into --depth {}", text(need.length), text(depth)))
            .help(format!("make the hole at least {} deep, or shorten the engaged length", text(need.length))));
    }
    if let Some(edge) = need.edge.filter(|e| *e <= major * 0.5) {
        return Err(Fault::usage(format!("--edge {}: the hole of {thread} breaks out of it", text(edge)))
            .help(format!("the distance is measured from the axis; at least {} is advised", text(major * 1.25))));
    }
    if let Some(boss) = need.boss.filter(|b| *b <= major) {
        return Err(Fault::usage(format!("--boss {} lies inside the hole of {thread}", text(boss)))
            .help(format!("at least {} is advised", text(major * 2.5))));
    }
    Ok(())
}

fn using(args: &FastenArgs, mistakes: &mut Mistakes) -> Use {
    let hottest = temperature("--hottest", args.hottest.as_deref(), mistakes);
    let coldest = temperature("--coldest", args.coldest.as_deref(), mistakes);
    if let (Some(hot), Some(cold)) = (hottest, coldest)
        && hot < cold
    {
        mistakes.add(Fault::usage("--hottest lies below --coldest"));
    }
    Use {
        hottest,
        coldest,
        duration: args.lasting.duration,
        held: args.lasting.time,
        place: args.place,
        axis: args.axis,
        perimeters: args.perimeters,
        infill: infill(args.infill.as_deref(), mistakes),
        cycles: args.cycles,
        consequence: args.consequence,
    }
}

fn temperature(option: &str, text: Option<&str>, mistakes: &mut Mistakes) -> Option<ThermodynamicTemperature> {
    let text = text?;
    match parse(text, Quantity::Temperature) {
        Ok(written) if (4.0..=800.0).contains(&written.si) => Some(ThermodynamicTemperature::from_si(written.si)),
        Ok(_) => {
            mistakes.add(Fault::usage(format!("{option}: no plastic serves at {text}")));
            None
        }
        Err(fault) => {
            mistakes.wrong_quantity(option, text, Quantity::Temperature, &fault);
            None
        }
    }
}

fn infill(text: Option<&str>, mistakes: &mut Mistakes) -> Option<f64> {
    let text = text?;
    let wrong = |what: &str, right: &str| Fault::usage(format!("--infill: {what}")).help(format!("write {right}"));
    match parse(text, Quantity::Fraction) {
        Ok(written) if written.si <= 0.0 => mistakes.add(wrong("it must be above zero", "40%")),
        Ok(written) if written.si > 1.0 && written.si <= 100.0 && text.parse::<f64>().is_ok() => {
            let right = format!("{text}%");
            mistakes.add_repaired(wrong(&format!("`{text}` lacks its percent sign"), &right), text, right);
        }
        Ok(written) if written.si > 1.0 => mistakes.add(wrong("it can be at most 100 %", "40%")),
        Ok(written) => return Some(written.si),
        Err(fault) => mistakes.wrong_quantity("--infill", text, Quantity::Fraction, &fault),
    }
    None
}

/// Dose and wavelength as given, else those of the process's post-cure.
fn light(args: &FastenArgs, process: Option<&Record>, mistakes: &mut Mistakes) -> (Option<RadiantExposure>, Option<Length>) {
    let lamp = process.and_then(|p| p.process()?.post_cure.as_ref());
    let dose = args.dose.clone().or_else(|| Some(lamp?.dose.as_ref()?.text.to_string()));
    let wavelength = args.wavelength.clone().or_else(|| Some(lamp?.wavelength.as_ref()?.text.to_string()));
    let dose = mistakes.quantity("--dose", dose.as_deref(), Quantity::Dose).map(RadiantExposure::from_si);
    if let Some(bare) = wavelength.as_deref().filter(|t| t.parse::<f64>().is_ok()) {
        let fault = Fault::usage(format!("--wavelength: `{bare}` has no unit")).help(format!("write `{bare} nm`"));
        mistakes.add_repaired(fault, bare, format!("{bare}nm"));
        return (dose, None);
    }
    (dose, mistakes.quantity("--wavelength", wavelength.as_deref(), Quantity::Length).map(Length::from_si))
}

fn length(option: &str, text: Option<&str>, mistakes: &mut Mistakes) -> Option<Length> {
    let si = mistakes.quantity(option, text, Quantity::Length)?;
    if si > LONGEST {
        let fault = Fault::usage(format!("{option}: half a metre is too much for a screw in a printed part"));
        mistakes.add(fault.help("check the unit"));
        return None;
    }
    Some(Length::from_si(si))
}
