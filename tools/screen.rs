//! Tries every material x method x insert x adhesive of the built-in book through the real engine and says how fast that is:
//! `cargo run --release --example screen -- [DRAWS] [EVERY]`. Lines of `name value unit`, for other programs.
//!
//! DRAWS for each candidate (20000 unless told); with EVERY above one, only each EVERYth candidate is tried, for a short look.

use gripbook::book::{Book, Record, WantedPacks};
use gripbook::joint::calibration::calibrate;
use gripbook::joint::judge::{judge, weigh};
use gripbook::joint::method::{Case, Glue, Method};
use gripbook::joint::need::Need;
use gripbook::mechanics::thread::{self, Thread};
use gripbook::plugins::BUILT_IN;
use gripbook::present::drawing::section::{TitleBlock, svg};
use gripbook::quantity::Measure;
use gripbook::suit::{self, Rule};
use std::error::Error;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};
use uom::si::f64::{Force, Length};

/// Length over which every screw engages, in screw diameters.
const ENGAGED: f64 = 2.0;
/// Cases weighed in one go: enough to share the draws of a material, few enough to stay in memory.
const AT_ONCE: usize = 64;
/// Runs of which the fastest counts.
const RUNS: usize = 7;

/// What was tried.
#[derive(Default)]
struct Tally {
    candidates: usize,
    with_load: usize,
    took: Duration,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut numbers = std::env::args().skip(1).map(|a| a.parse::<usize>());
    let draws = numbers.next().transpose()?.unwrap_or(20_000);
    let every = numbers.next().transpose()?.unwrap_or(1).max(1);
    let here = Path::new("/");
    let roots = WantedPacks { packs: Vec::new(), here: here.into(), home: None }.roots().map_err(|e| format!("{e:?}"))?;
    let book = Book::load(&roots, here).map_err(|e| format!("{e:?}"))?;
    let (rules, _) = suit::rules(&book);
    // One thread, so that the figure is that of one core.
    let methods = BUILT_IN.methods_of(&book);
    let all = methods.all();
    let one_core = rayon::ThreadPoolBuilder::new().num_threads(1).build()?;
    let tally = one_core.install(|| screen(&book, &rules, &all, (draws, every)));
    let mut out = std::io::stdout().lock();
    writeln!(out, "screen_candidates {} count", tally.candidates)?;
    writeln!(out, "screen_candidates_with_load {} count", tally.with_load)?;
    writeln!(out, "screen_time {:.3} s", tally.took.as_secs_f64())?;
    let speed = (tally.with_load * draws) as f64 / tally.took.as_secs_f64();
    writeln!(out, "screen_draws_per_second_per_core {speed:.0} 1/s")?;
    let pla = book.record("polymer/pla").ok_or("the book has no polymer/pla")?;
    let mut need = Need::new(&book, &rules, pla, m3()?, Length::from_si(6e-3));
    need.load = Some(Force::from_si(300.0));
    writeln!(out, "fasten_all_methods {:.2} ms", fastest(|| judge(&need, &all, None).candidates.len()))?;
    let judgement = judge(&need, &all, Some("insert-glued-stepped"));
    let shape = judgement.candidates.iter().find_map(|c| c.geometry.as_ref()).ok_or("no shape to draw")?;
    writeln!(out, "drawing {:.3} ms", fastest(|| svg(shape, &TitleBlock::default()).len()))?;
    Ok(())
}

fn m3() -> Result<Thread, Box<dyn Error>> {
    thread::parse("M3").map_err(|e| e.message().into())
}

/// Milliseconds of the fastest of a few runs.
fn fastest(mut work: impl FnMut() -> usize) -> f64 {
    let run = |_| {
        let start = Instant::now();
        std::hint::black_box(work());
        start.elapsed().as_secs_f64() * 1e3
    };
    (0..RUNS).map(run).fold(f64::INFINITY, f64::min)
}

/// Every method with every insert of its fitting and every glue, in every material.
fn screen(book: &Book, rules: &[Rule], methods: &[&dyn Method], (draws, every): (usize, usize)) -> Tally {
    let mut tally = Tally::default();
    let inserts: Vec<&Record> = book.of_role("insert").filter(|r| usable(r)).collect();
    let mut threads: Vec<Thread> = inserts.iter().filter_map(|r| thread_of(r)).collect();
    threads.sort_by_key(Thread::designation);
    threads.dedup_by_key(|t| t.designation());
    let start = Instant::now();
    for material in book.of_role("material").filter(|r| usable(r)) {
        for thread in &threads {
            let mut need = Need::new(book, rules, material, *thread, thread.major() * ENGAGED);
            need.draws = draws;
            let calibration = calibrate(&need, methods);
            let all = cases(&need, methods, &inserts);
            tally.candidates += all.len();
            let some: Vec<_> = all.into_iter().step_by(every).collect();
            for part in some.chunks(AT_ONCE) {
                tally.with_load += weigh(&need, part, &calibration).iter().filter(|c| c.capacity.is_some()).count();
            }
        }
    }
    tally.took = start.elapsed();
    tally
}

fn usable(record: &Record) -> bool {
    record.current && !record.invented() && !record.is_invented()
}

fn thread_of(insert: &Record) -> Option<Thread> {
    thread::parse(insert.common().thread.as_deref()?).ok()
}

fn cases<'n>(need: &'n Need<'n>, methods: &[&'n dyn Method], inserts: &[&'n Record]) -> Vec<(&'n dyn Method, Case<'n>)> {
    let mut all: Vec<(&'n dyn Method, Case<'n>)> = Vec::new();
    let bare = Case { need, insert: None, adhesive: None };
    let fitting = |word: &str| {
        let fits = move |r: &&&Record| {
            r.insert().is_some_and(|i| i.fitting.as_deref() == Some(word))
                && r.common().thread.as_deref() == Some(&*need.thread.designation())
        };
        inserts.iter().filter(fits).copied().collect::<Vec<&Record>>()
    };
    let own = need.book.record("adhesive/own-resin");
    for method in methods {
        let takes = method.card().takes;
        match (takes.insert, takes.glue) {
            (None, _) => all.push((*method, bare)),
            (Some(word), None) => {
                all.extend(fitting(word).into_iter().map(|r| (*method, Case { insert: Some(r), ..bare })));
            }
            (Some(word), Some(glue)) => {
                let glues: Vec<&Record> = match glue {
                    Glue::OwnResin => own.into_iter().collect(),
                    Glue::Adhesive => need.book.of_role("adhesive").filter(|r| usable(r) && Some(*r) != own).collect(),
                };
                for insert in fitting(word) {
                    let with = |glue: &&'n Record| (*method, Case { insert: Some(insert), adhesive: Some(*glue), ..bare });
                    all.extend(glues.iter().map(with));
                }
            }
        }
    }
    all
}
