//! `gripbook plan`: how many specimens, in which order, with what.

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::fasten::holes::{HoleEntry, in_words};
use super::series::stamp;
use super::{CommandOutcome, Context, Fault, Shared, headings, library, save};
use gripbook::present::svg::{labels, ladder as drawing};
use gripbook::present::{Page, Sheet, stl};
use gripbook::quantity::{Quantity, parse_typed};
use gripbook::series::plan::ladder::{Ladder, ladder};
use gripbook::series::plan::matrix::{Factor, RunCell, RunMatrix, cells, matrix};
use gripbook::series::plan::number::{promise, tell};
use std::path::{Path, PathBuf};

mod plan_page;
mod sheets;

pub use sheets::PLAN_LINE;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "plan",
    about: "Plan a test: how many specimens, in which order, with labels and results sheets",
    group: HelpGroup::Measurements,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--out"],
    runs: &Run(run),
};

/// How many specimens, in which order, with what?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook plan --cv 10% --tell 20%
  gripbook plan --cv 10% --promise 0.8
  gripbook plan --matrix material=logger-grey,logger-clear method=cut-thread,direct-screw --thread M3 --length 6mm --pack demo --out test-1
  gripbook plan --ladder --diameter 2.6mm --out ladder")]
#[command(next_help_heading = headings::ASKED)]
pub struct PlanArgs {
    /// Expected scatter, as a coefficient of variation
    #[arg(long, value_name = "SHARE", required_unless_present_any = ["matrix", "ladder"])]
    cv: Option<String>,
    /// Difference between two groups that the test should detect
    #[arg(long, value_name = "SHARE", requires = "cv")]
    tell: Option<String>,
    /// Probability of detecting that difference
    #[arg(long, value_name = "SHARE", default_value = "0.8")]
    power: String,
    /// Share of the mean that a lower bound should reach
    #[arg(long, value_name = "SHARE", requires = "cv")]
    promise: Option<String>,
    /// Factors of a test plan with their values: material=a,b method=x,y
    #[arg(long, value_name = "NAME=VALUE,…", num_args = 1..)]
    matrix: Vec<String>,
    /// Thread of every joint, for its hole sizes
    #[arg(long, value_name = "THREAD", help_heading = headings::JOINT)]
    thread: Option<String>,
    /// Engaged length of every joint, for its hole sizes
    #[arg(long, value_name = "LENGTH", help_heading = headings::JOINT)]
    length: Option<String>,
    /// Process the parts are printed with, for the CAD diameters
    #[arg(long, value_name = "ID", help_heading = headings::JOINT)]
    process: Option<String>,
    /// Specimens of each combination; without it as --cv and --tell require, else 4
    #[arg(long, value_name = "N")]
    specimens: Option<usize>,
    /// Print jobs; each holds every combination and one reference joint (one job does not show how jobs differ)
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=50))]
    jobs: u16,
    /// What the reference joint of every job is
    #[arg(long, value_name = "TEXT", default_value = "the same joint as in the last plan")]
    reference: String,
    /// Seed of the random order
    #[arg(long, value_name = "NUMBER", default_value_t = 1, help_heading = headings::COMPUTED)]
    seed: u64,
    /// Plan a hole-ladder coupon
    #[arg(long, conflicts_with = "matrix")]
    ladder: bool,
    /// CAD diameter in the middle of the ladder
    #[arg(long, value_name = "LENGTH", default_value = "2.6 mm")]
    diameter: String,
    /// The whole page: order of testing, kit, stop rule, cautions, tables
    #[arg(long, help_heading = headings::OUTPUT)]
    full: bool,
    /// Folder to write the sheets and the plan to; without --matrix or --ladder, a JSON file for the answer
    #[arg(long, value_name = "PATH", help_heading = headings::OUTPUT)]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(args: &PlanArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    if args.ladder {
        return ladder_plan(args, context);
    }
    let full = shared.is_whole(args.full);
    let power = share(&args.power, "--power")?;
    let cv = args.cv.as_deref().map(|t| share(t, "--cv")).transpose()?;
    let told = match (cv, &args.tell) {
        (Some(cv), Some(t)) => Some(tell(cv, share(t, "--tell")?, power).map_err(|e| Fault::usage(e.to_string()))?),
        _ => None,
    };
    let kept = match (cv, &args.promise) {
        (Some(cv), Some(t)) => Some(promise(cv, share(t, "--promise")?).map_err(|e| Fault::usage(e.to_string()))?),
        _ => None,
    };
    if told.is_none() && kept.is_none() && args.matrix.is_empty() {
        return Err(Fault::usage("say what the test is to show")
            .help("--tell 20% (a difference) or --promise 0.8 (a bound over the mean)"));
    }
    let mut page = Page::titled("Test plan");
    let mut json = serde_json::json!({"cv": cv});
    if let (Some(cv), Some(t)) = (cv, &told) {
        plan_page::tell(&mut page, cv, t, full);
        json["tell"] = plan_page::tell_json(t);
    }
    if let (Some(cv), Some(p)) = (cv, &kept) {
        plan_page::promise(&mut page, cv, p, full);
        json["promise"] = plan_page::promise_json(p);
    }
    let mut table = None;
    let mut files = save::Batch::default();
    if !args.matrix.is_empty() {
        let (plan, packs) = planned(args, told.as_ref().map(|t| t.size.per_group), shared, context)?;
        plan_page::matrix(&mut page, &plan, &args.reference, full);
        json["matrix"] = plan_page::matrix_json(&plan, &args.reference);
        json["plan"] = sheets::id(&plan, &args.reference).into();
        if let Some(folder) = &args.out {
            page.blank().line(add_matrix(&mut files, folder, &plan, args, context)?);
        } else {
            page.blank().line("--out DIR writes the results sheet and the labels.");
        }
        if !packs.is_empty() {
            page.blank().field("packs", packs.as_str());
        }
        json["packs"] = packs.into();
        table = Some(sheets::results(&plan, &args.reference));
    }
    if !full {
        page.blank().line(match args.matrix.is_empty() {
            true => "--full shows the table over other numbers of specimens.",
            false => "--full shows the tables, the order of testing, the kit, the stop rule and the cautions.",
        });
    }
    let planned = Sheet { schema: "gripbook/plan/1", page, json, table };
    let sheet = args.out.as_deref().map(|out| if args.matrix.is_empty() { out.to_owned() } else { out.join(PLAN) });
    files.sheet(sheet.as_deref(), &planned, context);
    files.commit(context)?;
    Ok(CommandOutcome { answer: Box::new(planned), exit: 0 })
}

/// The plan itself, beside its sheets.
const PLAN: &str = "plan.json";

fn share(text: &str, option: &str) -> Result<f64, Fault> {
    super::compare::share(text).map_err(|f| Fault { message: format!("{option}: {}", f.message), ..f })
}

/// The plan, and the packs its holes come from.
fn planned(args: &PlanArgs, told: Option<usize>, shared: &Shared, context: &Context) -> Result<(RunMatrix, String), Fault> {
    let loaded = library::open(shared, context)?;
    let methods = context.registry.methods_of(&loaded.book);
    let factors = args.matrix.iter().map(|t| factor(t, &methods.names())).collect::<Result<Vec<_>, _>>()?;
    let mut list = cells(&factors).map_err(|f| Fault::usage(f.0))?;
    let packs = holes(args, &factors, &mut list, &loaded)?;
    let specimens = args.specimens.or(told).unwrap_or(4);
    if !(1..=200).contains(&specimens) {
        return Err(Fault::usage(format!("--specimens {specimens}: between 1 and 200")));
    }
    let jobs = usize::from(args.jobs);
    if specimens < jobs {
        return Err(Fault::usage(format!("{specimens} specimens of each combination do not fill {jobs} print jobs"))
            .help(format!("--jobs {specimens}, or --specimens {jobs} or more")));
    }
    let mut plan = matrix(factors, list, specimens, jobs, args.seed);
    let options = [("thread", &args.thread), ("length", &args.length), ("process", &args.process)];
    let given = options.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value.clone()?)));
    plan.common = given.filter(|(name, _)| !plan.factors.iter().any(|f| f.name == *name)).collect();
    Ok((plan, packs))
}

/// What the plan says of a hole it cannot work out.
const HOLE_OPEN: &str = "open";

/// Hole sizes of every cell, from the joint; a factor comes before the option of the same name. The packs they come from.
fn holes(args: &PlanArgs, factors: &[Factor], list: &mut [RunCell], loaded: &library::Loaded) -> Result<String, Fault> {
    let (rules, _) = gripbook::suit::rules(&loaded.book);
    let mut used = Vec::new();
    for cell in list {
        let value = |name: &str| factors.iter().position(|f| f.name == name).and_then(|i| cell.values.get(i)).cloned();
        let named = (
            value("material"),
            value("method"),
            value("thread").or(args.thread.clone()),
            value("length").or(args.length.clone()),
        );
        cell.hole = match named {
            (Some(material), Some(method), Some(thread), Some(length)) => {
                let (insert, adhesive) = (value("insert"), value("adhesive"));
                let process = value("process").or(args.process.clone());
                // A material that is not there is told with its cell, just below.
                used.extend(library::find(&loaded.book, &material, &["material"]));
                let entry = HoleEntry { material, thread, length, method: Some(method), insert, adhesive, process };
                in_words(&entry, loaded, &rules)
                    .map_err(|f| Fault { message: format!("cell {}: {}", cell.letter, f.message), ..f })?
            }
            _ => HOLE_OPEN.into(),
        };
    }
    Ok(loaded.book.hash_line(used))
}

fn factor(text: &str, names: &[&str]) -> Result<Factor, Fault> {
    let (name, values) = text.split_once('=').filter(|(n, _)| !n.is_empty()).ok_or_else(|| {
        Fault::usage(format!("--matrix {text}: write NAME=VALUE,VALUE")).help("--matrix material=a,b method=x,y")
    })?;
    if ["label", "block", "order", "cell", "hole"].iter().chain(&sheets::TO_FILL).any(|c| *c == name.trim()) {
        return Err(Fault::usage(format!("--matrix {text}: `{}` is a column of the results sheet", name.trim()))
            .help("give the factor another name"));
    }
    let name = name.trim().to_owned();
    let as_named = |value: &str| if name == "method" { library::method(value, names) } else { Ok(value.to_owned()) };
    let values = values.split(',').map(str::trim).map(as_named).collect::<Result<Vec<_>, _>>()?;
    Ok(Factor { name, values })
}

/// Refuses a name that exists: a results sheet may hold a week's work.
fn fresh(path: &Path) -> Result<(), Fault> {
    if save::exists(path)? {
        let message = format!("{} already exists and was not replaced", path.display());
        return Err(Fault::environment(message).help("choose another folder with --out"));
    }
    Ok(())
}

fn add_matrix(
    files: &mut save::Batch,
    folder: &Path,
    plan: &RunMatrix,
    args: &PlanArgs,
    context: &Context,
) -> Result<String, Fault> {
    let results = folder.join("results.csv");
    let pages = sheets::labels(plan, &args.reference);
    let count = pages.len().div_ceil(labels::ON_A_SHEET).max(1);
    let names: Vec<PathBuf> = (1..=count).map(|i| folder.join(format!("labels-{i}.svg"))).collect();
    for path in names.iter().chain([&results, &folder.join(PLAN)]) {
        fresh(path)?;
    }
    files.create(&results, sheets::results_file(plan, &args.reference, &stamp(context)));
    for (path, part) in names.iter().zip(pages.chunks(labels::ON_A_SHEET)) {
        files.create(path, labels::draw(part, "Labels: cut out and stick on", &stamp(context)));
    }
    Ok(format!(
        "written to {}: results.csv to fill in, {} with {} labels, {PLAN}; then: gripbook import results {} --series PREFIX",
        folder.display(),
        if count == 1 { "labels-1.svg".to_owned() } else { format!("{count} label sheets") },
        pages.len(),
        results.display()
    ))
}

fn ladder_plan(args: &PlanArgs, context: &Context) -> Result<CommandOutcome, Fault> {
    let middle = parse_typed(&args.diameter, Quantity::Length)
        .map_err(|f| Fault::usage(format!("--diameter: {}", f.message())).help(f.help()))?;
    let millimetres = middle.si * 1e3;
    if !(0.8..=30.0).contains(&millimetres) {
        return Err(Fault::usage(format!("--diameter {}: between 0.8 mm and 30 mm", args.diameter)));
    }
    let coupon = ladder(millimetres);
    let mut page = plan_page::ladder(&coupon);
    let mut files = save::Batch::default();
    if let Some(folder) = &args.out {
        page.blank().line(add_ladder(&mut files, folder, &coupon, context)?);
    } else {
        page.blank().line("--out DIR writes the body (STL), a drawing (SVG) and the sheet for the readings (CSV).");
    }
    let json = plan_page::ladder_json(&coupon);
    let planned = Sheet { schema: "gripbook/plan/1", page, json, table: Some(sheets::readings(&coupon)) };
    files.sheet(args.out.as_deref().map(|out| out.join(PLAN)).as_deref(), &planned, context);
    files.commit(context)?;
    Ok(CommandOutcome { answer: Box::new(planned), exit: 0 })
}

fn add_ladder(files: &mut save::Batch, folder: &Path, coupon: &Ladder, context: &Context) -> Result<String, Fault> {
    let paths = ["ladder.stl", "ladder.svg", "readings.csv"].map(|n| folder.join(n));
    for path in paths.iter().chain([&folder.join(PLAN)]) {
        fresh(path)?;
    }
    let body = stl::binary(&stl::ladder(coupon), "hole ladder");
    let footer = [
        stamp(context),
        "Print it flat, as the parts are printed. Measure with pins; the largest that drops in by its own weight counts."
            .to_owned(),
    ];
    files.create(&paths[0], body);
    files.create(&paths[1], drawing::draw(coupon, "Hole ladder", &footer));
    files.create(&paths[2], sheets::readings_file(coupon, &stamp(context)));
    Ok(format!("written to {}: ladder.stl, ladder.svg, readings.csv, {PLAN}", folder.display()))
}
