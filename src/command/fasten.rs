//! `gripbook fasten`: which thread will hold in this part, how strongly, how it fails, with which hole?

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::choice::choice;
use super::library::{self, Loaded};
use super::lost::{self, RestsOn};
use super::{CommandOutcome, Context, Fault, Shared, headings, waiting::Waiting};
use gripbook::joint::assumption::Assumptions;
use gripbook::joint::held::{Lasting, lasting};
use gripbook::joint::judge::{Judgement, judge};
use gripbook::joint::need::{Axis, Consequence, Lacking, Need};
use gripbook::present::{Block, Opened, Sheet};
use gripbook::suit::{self, STEPS, ServiceConditions, Verdict};
use serde_json::Value;
use std::path::PathBuf;

mod ask;
mod background;
mod change;
mod drawings;
mod fasten_page;
mod head;
pub(super) mod holes;
mod json;
mod ranking;
mod tree;
mod typed;
mod words;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "fasten",
    about: "Which thread will hold in this part, how strongly, and with which hole?",
    group: HelpGroup::Joints,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--out", "--drawing", "--profile", "--solid"],
    runs: &Run(run),
};

/// Which thread will hold in this part, how strongly, how it fails, with which hole?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook fasten petg M4 8mm 20kgf
  gripbook fasten pla M3 --insert 'heat set'
  gripbook fasten --material tough --thread M3 --length 5.7mm --need 200N --boss 9mm --axis along-build
  gripbook fasten --material tough --thread M3 --length 5.7mm --method insert-glued-stepped --adhesive epoxy-slow
  gripbook fasten --material pla --thread M3 --length 5.7mm --method heat-set-insert --insert heat-set-m3 --drawing hole.svg
  gripbook fasten --assumptions             every number of practice or judgement, with its reason
  gripbook fasten --calibration             what measured series say of each limit state
  gripbook fasten --hole-table list.yaml --out holes/")]
#[command(next_help_heading = headings::ASKED)]
pub struct FastenArgs {
    /// Material, thread, engaged length and load, in this order: petg M4 8mm 20kgf; options take precedence
    #[arg(value_name = "MATERIAL THREAD [LENGTH] [LOAD]", num_args = 0..=8)]
    asked: Vec<String>,
    /// The material of the part
    #[arg(long, value_name = "NAME")]
    material: Option<String>,
    /// The thread: M3, M3x0.35, #4-40
    #[arg(long)]
    thread: Option<String>,
    /// Engaged length of the thread; without it that of the insert, else two diameters
    #[arg(long, allow_hyphen_values = true)]
    length: Option<String>,
    /// Load the joint must hold; without it the methods are ordered by their lower bound
    #[arg(long, value_name = "FORCE", allow_hyphen_values = true)]
    need: Option<String>,
    /// Factor on the load
    #[arg(long, default_value_t = 1.0, allow_negative_numbers = true)]
    factor: f64,
    /// Process the part is printed with: it gives the CAD diameter of the hole
    #[arg(long, value_name = "ID", help_heading = headings::JOINT)]
    process: Option<String>,
    /// Diameter of the boss
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    boss: Option<String>,
    /// Distance from the axis to the nearest free edge
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    edge: Option<String>,
    /// The hole goes through (the default)
    #[arg(long, conflicts_with = "blind", help_heading = headings::JOINT)]
    through: bool,
    /// The hole is blind
    #[arg(long, help_heading = headings::JOINT)]
    blind: bool,
    /// Finished diameter of the hole
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    hole_size: Option<String>,
    /// Depth of the hole
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    depth: Option<String>,
    /// Glue gap on each side
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    gap: Option<String>,
    /// Radial enlargement of a printed thread
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    offset: Option<String>,
    /// The insert
    #[arg(long, value_name = "ID", help_heading = headings::JOINT)]
    insert: Option<String>,
    /// The adhesive; without it two common ones are tried
    #[arg(long, value_name = "ID", help_heading = headings::JOINT)]
    adhesive: Option<String>,
    /// The screw; without it a steel screw of class 8.8
    #[arg(long, value_name = "ID", help_heading = headings::JOINT)]
    screw: Option<String>,
    /// Only this method
    #[arg(long, value_name = "NAME")]
    method: Option<String>,
    /// What the workshop lacks (repeatable)
    #[arg(long, value_parser = choice::<Lacking>(), value_name = "WHAT", value_delimiter = ',')]
    without: Vec<Lacking>,
    /// Hottest temperature in use
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    hottest: Option<String>,
    /// Coldest temperature in use
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    coldest: Option<String>,
    /// Kind of load: short, held, repeated, shock; or how long it is sustained: 10 h, 3 months, a year
    #[arg(long = "for", value_name = "WORD or TIME", default_value = "short", value_parser = lasting)]
    lasting: Lasting,
    /// Where the joint is used
    #[arg(long, value_parser = choice::<ServiceConditions>())]
    place: Option<ServiceConditions>,
    /// Direction of the screw relative to the build direction
    #[arg(long, value_parser = choice::<Axis>(), default_value = "unknown", help_heading = headings::JOINT)]
    axis: Axis,
    /// Perimeters around the hole
    #[arg(long, value_name = "N", help_heading = headings::JOINT)]
    perimeters: Option<u32>,
    /// Infill of the part
    #[arg(long, value_name = "FRACTION", allow_hyphen_values = true, help_heading = headings::JOINT)]
    infill: Option<String>,
    /// How often the joint is opened and closed
    #[arg(long, value_name = "N")]
    cycles: Option<u32>,
    /// What a failure causes; where somebody may be hurt (injury) no load is given
    #[arg(long, value_parser = choice::<Consequence>(), default_value = "damage")]
    consequence: Consequence,
    /// Light dose at the part, for its own resin as glue
    #[arg(long, value_name = "DOSE", allow_hyphen_values = true, help_heading = headings::JOINT)]
    dose: Option<String>,
    /// Wavelength of the lamp
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    wavelength: Option<String>,
    /// Thickness of the part between lamp and glue
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, help_heading = headings::JOINT)]
    wall: Option<String>,
    /// A preparation step that is carried out (repeatable)
    #[arg(long, value_name = "STEP", value_parser = clap::builder::PossibleValuesParser::new(STEPS), help_heading = headings::JOINT)]
    step: Vec<String>,
    /// The surfaces are glued unprepared: neither abraded nor degreased
    #[arg(long, help_heading = headings::JOINT)]
    unprepared: bool,
    /// Override an assumption: NAME=VALUE or NAME=LOW..HIGH (repeatable); protrusion=2mm is how far the screw protrudes below
    /// what it engages: the hole gets that much deeper, beside bottom_clearance
    #[arg(long = "set", value_name = "NAME=VALUE", help_heading = headings::COMPUTED)]
    set: Vec<String>,
    /// The whole page: every limit state, value, source and method
    #[arg(long, help_heading = headings::OUTPUT)]
    full: bool,
    /// Exit code 1 for "with care", "model only" and "unknown" too
    #[arg(long, help_heading = headings::OUTPUT)]
    strict: bool,
    /// Number of draws
    #[arg(long, default_value_t = 20_000, help_heading = headings::COMPUTED)]
    draws: usize,
    /// Seed of the draws
    #[arg(long, default_value_t = 1, help_heading = headings::COMPUTED)]
    seed: u64,
    /// Show where the load comes from: limit states, formulas, inputs, claims, sources, assumptions
    #[arg(long, help_heading = headings::OUTPUT)]
    trace: bool,
    /// Show every assumption with its reason
    #[arg(long, conflicts_with_all = ["calibration", "hole_table"], help_heading = headings::OUTPUT)]
    assumptions: bool,
    /// Show what measured series say about each limit state
    #[arg(long, conflicts_with = "hole_table", help_heading = headings::OUTPUT)]
    calibration: bool,
    /// Write one hole table for a list of materials, threads and lengths
    #[arg(long, value_name = "LIST.yaml", requires = "out", help_heading = headings::OUTPUT)]
    hole_table: Option<PathBuf>,
    /// Folder of the hole table, or file to which the sheet is written as JSON
    #[arg(long, value_name = "PATH", help_heading = headings::OUTPUT)]
    out: Option<PathBuf>,
    /// Write a dimensioned half-section of the best joint (SVG, A4)
    #[arg(long, value_name = "FILE.svg", help_heading = headings::OUTPUT)]
    drawing: Option<PathBuf>,
    /// Write the hole's profile as radius and depth, to revolve (CSV)
    #[arg(long, value_name = "FILE.csv", help_heading = headings::OUTPUT)]
    profile: Option<PathBuf>,
    /// Write the hole as a closed body to subtract (STL, mm)
    #[arg(long, value_name = "FILE.stl", help_heading = headings::OUTPUT)]
    solid: Option<PathBuf>,
}

/// Schema tag of every sheet of this command.
const SCHEMA: &str = "gripbook/fasten/1";

/// Answers the question.
pub fn run(args: &FastenArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let assumptions = overrides(&args.set)?;
    if args.assumptions {
        return Ok(CommandOutcome { answer: Box::new(background::assumptions(&assumptions)), exit: 0 });
    }
    let loaded = library::open(shared, context)?;
    let (rules, broken) = suit::rules(&loaded.book);
    if let Some(fault) = broken.first() {
        return Err(Fault::data(format!("{}: {}", fault.id, fault.message)).help("`gripbook check` says more"));
    }
    if let Some(list) = &args.hole_table {
        return holes::write(list, args, &loaded, &rules, context);
    }
    let _waiting = Waiting::on("computing the joints");
    let ask::FastenQuestion { need, method, length_taken } =
        ask::asked(args, &loaded, &rules, assumptions, &context.command_line)?;
    // A terminal that shows the first screen reads nothing of the rest, and that takes a while to compute and to write.
    let is_brief = !args.full && !args.trace;
    let is_read = shared.is_whole(args.out.is_some()) || context.handed.is_some() || lost::any_news(&loaded.book);
    let need = Need { limit_states: is_read || !is_brief, ..need };
    let methods = loaded.registry.methods_of(&loaded.book);
    let all = methods.all();
    if args.calibration {
        let answer = Box::new(background::calibration(&need, &all, args.full));
        return Ok(CommandOutcome { answer: lost::told(&loaded.book, RestsOn::Joints, answer), exit: loaded.exit(0) });
    }
    let judgement = judge(&need, &all, method.as_deref());
    refuse_impossible(&judgement)?;
    let changes = judgement.best().map_or_else(Vec::new, |best| change::would_change(&judgement, best));
    let tree = args.trace.then(|| judgement.best().map(|best| tree::Tree::of(&loaded.book, &judgement, best))).flatten();
    let told = |answer| lost::told(&loaded.book, RestsOn::Joints, answer);
    let brief = is_brief.then(|| fasten_page::first_screen(&judgement, &changes, length_taken.as_deref(), context.width));
    let taken = length_taken.map(|text| Block::Line { indent: 0, text });
    let sheet = match &brief {
        Some(brief) if !is_read => Sheet { schema: SCHEMA, page: brief.clone(), json: Value::Null, table: None },
        _ => whole(&judgement, &changes, tree.as_ref(), taken, &loaded, context),
    };
    let mut files = super::save::Batch::default();
    if args.out.is_some() {
        files.sheet(args.out.as_deref(), &*told(Box::new(sheet.clone())), context);
    }
    let drawn = drawings::add(&mut files, &judgement, args, &packs(&loaded, &judgement), context)?;
    files.commit(context)?;
    drawn.iter().for_each(|line| gripbook::present::writer::notice(line));
    let exit = loaded.exit(u8::from(is_no(&judgement, args.strict)));
    let answer = told(Box::new(Opened { brief, sheet }));
    context.leave(judgement);
    Ok(CommandOutcome { answer, exit })
}

/// Everything there is to say, for a reader and for a program.
fn whole(
    judgement: &Judgement<'_>,
    changes: &[change::WhatIf],
    tree: Option<&tree::Tree>,
    taken: Option<Block>,
    loaded: &Loaded,
    context: &Context,
) -> Sheet {
    let mut page = fasten_page::sheet(judgement, changes, &loaded.book, &context.command_line, tree);
    let mut json = json::sheet(judgement, changes, loaded);
    if let Some(Block::Line { text, .. }) = &taken {
        json["length_taken"] = text.clone().into();
    }
    page.blocks.splice(1..1, taken);
    if let Some(tree) = tree {
        json["trace"] = tree.json();
    }
    Sheet { schema: SCHEMA, page, json, table: Some(ranking::table(judgement)) }
}

fn overrides(set: &[String]) -> Result<Assumptions, Fault> {
    let mut assumptions = Assumptions::default();
    for text in set {
        assumptions.set(text).map_err(|f| Fault::usage(f.message).help(f.help))?;
    }
    Ok(assumptions)
}

/// A geometry that cannot be made is a wrong question when no candidate is left by it.
fn refuse_impossible(judgement: &Judgement<'_>) -> Result<(), Fault> {
    let impossible = judgement.candidates.iter().find_map(|c| c.impossible.as_ref());
    match impossible {
        Some(why) if judgement.candidates.iter().all(|c| c.geometry.is_none()) => {
            Err(Fault::usage(why.message.clone()).help(why.help.clone()))
        }
        _ => Ok(()),
    }
}

fn is_no(judgement: &Judgement<'_>, strict: bool) -> bool {
    let worst = if strict { Verdict::Suits } else { Verdict::Unknown };
    let yes = judgement.candidates.iter().any(|c| !c.alternative && c.verdict <= worst);
    judgement.no_promise || !yes
}

/// The packs an answer rests on.
fn packs(loaded: &Loaded, judgement: &Judgement<'_>) -> String {
    packs_of(&loaded.book, judgement)
}

fn packs_of(book: &gripbook::book::Book, judgement: &Judgement<'_>) -> String {
    let need = judgement.need;
    let named = [Some(need.material), need.insert, need.adhesive, need.screw, need.process];
    let tried = judgement.candidates.iter().flat_map(|c| [c.insert, c.adhesive]);
    let ways = judgement.candidates.iter().filter_map(|c| book.record(c.method.record?)).map(Some);
    let series = judgement.calibration.used.iter().filter_map(|u| book.record(&u.series)).map(Some);
    book.hash_line(named.into_iter().chain(tried).chain(ways).chain(series).flatten())
}
