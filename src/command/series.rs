//! `gripbook series`: what a test series says.

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::lost::{self, RestsOn};
use super::{CommandOutcome, Context, Fault, Shared, headings, save};
use gripbook::present::svg::{curves, strip};
use gripbook::present::{Page, Sheet};
use gripbook::quantity::{Measure, Quantity};
use gripbook::series::bounds::NotComputable;
use gripbook::series::earlier::{self, Earlier};
use gripbook::series::loads::loads;
use gripbook::series::plot::{CurveLine, Strip, Traces, rows};
use gripbook::series::record::{Measurement, Series};
use gripbook::series::reduce::reduce;
use gripbook::series::reduction::Reduction;
use gripbook::series::specimen::Sample;
use gripbook::series::vocabulary::quantity_title;
use std::path::{Path, PathBuf};

mod holes;
pub mod published;
pub mod series_page;
pub mod source;
pub mod units;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "series",
    about: "What does a test series say? Mean, spread, bounds, failure modes",
    group: HelpGroup::Measurements,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--out", "--plot"],
    runs: &Run(run),
};

/// What does a test series say?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook series --loads '812 N, 857 N, 790 N'
  gripbook series --loads '812,857,790 / 655,702,731' --unit N     two batches
  gripbook series --loads '400, 420, >520' --unit N                one specimen held 520 N
  gripbook series bohl-2019-pla-infill-30                          a published series
  gripbook series logger-grey-direct-m3 --pack demo --plot pull.svg")]
#[command(next_help_heading = headings::ASKED)]
pub struct SeriesArgs {
    /// A series by id, a record file, or a table of loads (CSV with a column `load`)
    #[arg(value_name = "ID|FILE", required_unless_present = "loads", conflicts_with = "loads")]
    series: Option<String>,
    /// Loads of the specimens; `/` starts the next batch, `>520 N` marks a specimen that held
    #[arg(long, value_name = "LOADS")]
    loads: Option<String>,
    /// Unit of loads that are written without one
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// The whole page: every bound with its basis, intervals, batches, what further specimens would gain
    #[arg(long, help_heading = headings::OUTPUT)]
    full: bool,
    /// Only this quantity of the record
    #[arg(long, value_name = "WORD")]
    quantity: Option<String>,
    /// Plot the specimens; with recorded curves also load against travel, in FILE-curves.svg
    #[arg(long, value_name = "FILE.svg", help_heading = headings::OUTPUT)]
    plot: Option<PathBuf>,
    /// Write the sheet as JSON, for `recheck` and `affected`
    #[arg(long, value_name = "FILE.json", help_heading = headings::OUTPUT)]
    out: Option<PathBuf>,
}

/// One measured quantity with what it says.
struct JudgedSample {
    word: String,
    sample: Sample,
    reduction: Reduction,
    earlier: Option<Earlier>,
}

/// Runs the command.
pub fn run(args: &SeriesArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    match (&args.loads, &args.series) {
        (Some(text), _) => typed(args, text, shared, context),
        (None, Some(text)) if text.ends_with(".csv") && source::is_file(text) => {
            let sample = source::table(&context.registry, text, args.unit.as_deref())?;
            loose(args, sample, shared, context)
        }
        (None, Some(text)) => recorded(args, text, shared, context),
        (None, None) => Err(Fault::usage("a series or --loads is needed").help("gripbook series --loads '812 N, 857 N, 790 N'")),
    }
}

fn typed(args: &SeriesArgs, text: &str, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let sample = loads(text, args.unit.as_deref()).map_err(|f| Fault::usage(format!("--loads: {}", f.message)).help(f.help))?;
    loose(args, sample, shared, context)
}

/// Specimens without a record.
fn loose(args: &SeriesArgs, sample: Sample, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let full = shared.is_whole(args.full);
    let reduction = reduce(&sample, None);
    let shown = series_page::ShownSample { heading: None, sample: &sample, reduction: &reduction, full };
    let mut page = Page::default();
    series_page::add(&mut page, &shown);
    if !full {
        page.blank().line(series_page::MORE);
    }
    let mut files = save::Batch::default();
    if let Some(path) = &args.plot {
        files.output(path, plot("Test series", &sample, &reduction, vec![stamp(context)]));
        page.blank().line(format!("plot written to {}", path.display()));
    }
    let sheet =
        Sheet { schema: "gripbook/series/1", page, json: series_page::json(&shown), table: Some(series_page::table(&sample)) };
    files.sheet(args.out.as_deref(), &sheet, context);
    files.commit(context)?;
    Ok(CommandOutcome { answer: Box::new(sheet), exit: 0 })
}

fn recorded(args: &SeriesArgs, text: &str, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = source::open(&[text], shared, context)?;
    let book = &loaded.book;
    if let Some(listed) = source::members(&loaded, text) {
        return Ok(listed);
    }
    let series = source::series(book, text)?;
    if let Some(word) = &args.quantity {
        source::measurement(&series, Some(word))?;
    }
    let full = shared.is_whole(args.full);
    let wanted = |m: &&Measurement| args.quantity.as_deref().is_none_or(|w| m.word == w);
    let record = book.record(&series.id);
    let origin = format!("pack {}", book.hash_line(record));
    let mut page = published::head(&series, book, full);
    let mut quantities = Vec::new();
    let mut first: Option<JudgedSample> = None;
    let ladder = holes::ladder(&series);
    if !ladder.is_empty() && args.quantity.as_deref().is_none_or(|w| w == holes::WORD) {
        holes::show(&mut page, &ladder, series.joint.process.as_deref());
        quantities.extend(ladder.iter().map(holes::json));
    }
    for measured in series.measurements.iter().filter(wanted).filter(|m| !holes::is_rung(m)) {
        let heading = measured_title(measured);
        page.heading(heading.clone());
        match &measured.sample {
            Some(sample) => {
                let judged = judge(&series, measured, sample, book);
                let shown = series_page::ShownSample { heading: Some(heading), sample, reduction: &judged.reduction, full };
                series_page::add(&mut page, &shown);
                if full {
                    published::stress(&mut page, &series, &judged.reduction, measured.quantity);
                    published::earlier(&mut page, judged.earlier.as_ref());
                }
                let mut json = series_page::json(&shown);
                published::extend(&mut json, &series, measured, &judged.reduction, judged.earlier.as_ref());
                quantities.push(json);
                first.get_or_insert(judged);
            }
            None => {
                published::figures(&mut page, measured);
                quantities.push(published::figures_json(measured));
            }
        }
        published::remarks(&mut page, measured);
    }
    let judged_any = first.is_some();
    let chosen = source::measurement(&series, args.quantity.as_deref())?;
    let read = source::curves(&loaded, &series, chosen, &context.folder);
    if full {
        published::curves(&mut page, &read);
    } else {
        published::curves_in_short(&mut page, &read);
    }
    let mut files = save::Batch::default();
    if let Some(path) = &args.plot {
        let judged = first.as_ref().ok_or_else(|| Fault {
            exit: 1,
            message: format!("{} has no single results to plot", series.id),
            help: None,
        })?;
        draw(&mut files, path, (&series, judged, &read), vec![origin.clone(), stamp(context)], &mut page);
    }
    page.blank().field("pack", book.hash_line(record));
    if !full && judged_any {
        page.line(series_page::MORE);
    }
    let json = published::document(&series, quantities, &read, &origin, &loaded);
    let table = first.map(|j| series_page::table(&j.sample)).or_else(|| holes::table(&ladder));
    let sheet = Sheet { schema: "gripbook/series/1", page, json, table };
    let answer = lost::told(&loaded.book, RestsOn::Named, Box::new(sheet));
    files.sheet(args.out.as_deref(), &*answer, context);
    files.commit(context)?;
    Ok(CommandOutcome { answer, exit: loaded.exit(0) })
}

fn measured_title(m: &Measurement) -> String {
    let note = m.note.as_deref().filter(|n| n.len() < 40).map(|n| format!(", {n}")).unwrap_or_default();
    format!("{}{note}", capital(&quantity_title(&m.word)))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

fn judge(series: &Series, measured: &Measurement, sample: &Sample, book: &gripbook::book::Book) -> JudgedSample {
    let (earlier, refused) = match earlier::earlier(book, series, measured) {
        Ok(found) => (found, None),
        Err(refusal) => (None, Some(NotComputable::of("Bounds with the spread of earlier series", &refusal))),
    };
    let mut reduction = reduce(sample, earlier.as_ref().map(|e| &e.spread));
    reduction.bounds.refused.extend(refused);
    JudgedSample { word: measured.word.clone(), sample: sample.clone(), reduction, earlier }
}

/// Tool, version and command, for the foot of a plot.
pub fn stamp(context: &Context) -> String {
    format!("gripbook {}: {}", env!("CARGO_PKG_VERSION"), context.command_line)
}

fn plot(title: &str, sample: &Sample, r: &Reduction, footer: Vec<String>) -> String {
    let bound = r.bounds.given.first().map(|b| {
        let amount = units::amount(b.value, r.unit).text(r.digits);
        (b.value, format!("{} {amount}", gripbook::series::bounds::title(b.name)))
    });
    let strip_plot =
        Strip { title: title.to_owned(), axis: quantity_title(&sample.word), unit: r.unit, rows: rows(sample), bound, footer };
    strip::draw(&strip_plot)
}

fn draw(
    files: &mut save::Batch,
    path: &Path,
    (series, judged, read): (&Series, &JudgedSample, &[source::Read]),
    footer: Vec<String>,
    page: &mut Page,
) {
    let mark = if series.invented() { "INVENTED DATA: " } else { "" };
    let title = format!("{mark}{}", series.name);
    files.output(path, plot(&title, &judged.sample, &judged.reduction, footer.clone()));
    page.blank().line(format!("plot of {} written to {}", quantity_title(&judged.word), path.display()));
    let traces: Vec<CurveLine> = read
        .iter()
        .filter_map(|c| c.pull.as_ref().ok().map(|p| (c, p)))
        .map(|(c, p)| CurveLine {
            name: c.label.clone(),
            mode: c.mode.clone().unwrap_or_else(|| "unknown".into()),
            held: p.held,
            points: p.outline.clone(),
            peak: gripbook::series::curve::bins::Point { x: p.travel_at_peak.si() * 1e3, y: p.peak.si() },
        })
        .collect();
    if !traces.is_empty() {
        let stem = path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
        let beside = path.with_file_name(format!("{stem}-curves.svg"));
        files.output(&beside, curves::draw(&Traces { title, curves: traces, footer }));
        page.line(format!("load against travel written to {}", beside.display()));
    }
}

/// Whether a quantity is a load that a stress can be made of.
fn is_force(quantity: Quantity) -> bool {
    quantity == Quantity::Force
}
