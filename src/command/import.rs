//! `gripbook import`: recordings and tables become records. The diff first, the write after a yes, nothing overwritten.

use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::choice::choice;
use super::plugins::PluginArgs;
use super::{CommandOutcome, Context, Fault, Shared, headings};
use clap::{Args, Subcommand};
use gripbook::present::{Page, Sheet};
use gripbook::series::plan::ladder::HoleEnd;
use std::path::PathBuf;

mod curve;
mod destination;
mod ladder;
mod results;
mod table;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "import",
    about: "Import curves, tables, results of a plan, readings of a hole ladder",
    group: HelpGroup::Measurements,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `import`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  gripbook import table loads.csv --series grey-m3 --dry-run
  gripbook import results test-1/results.csv --series test-1")]
pub struct ImportArgs {
    /// What is taken in.
    #[command(subcommand)]
    pub what: Import,
}

/// What is taken in.
#[derive(Debug, Subcommand)]
pub enum Import {
    /// Recordings of a testing machine, one pull in each file
    Curve(Box<CurveArgs>),
    /// A table of loads and modes, one specimen in each row
    Table(Box<TableArgs>),
    /// The results sheet of a plan, filled in
    Results(ResultsArgs),
    /// Pin readings of a hole ladder
    Ladder(LadderArgs),
}

/// How writing is agreed to.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct Agree {
    /// Write without asking
    #[arg(long, help_heading = headings::OUTPUT)]
    pub yes: bool,
    /// Show what would be written, but write nothing
    #[arg(long, conflicts_with = "yes", help_heading = headings::OUTPUT)]
    pub dry_run: bool,
}

/// What a new series record is to say. Without effect when the record exists.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct NewSeries {
    /// What was tested, in one line
    #[arg(long, value_name = "TEXT")]
    pub name: Option<String>,
    /// The campaign the results come from: a source record
    #[arg(long, value_name = "ID")]
    pub source: Option<String>,
    /// Method of the joint
    #[arg(long, value_name = "WORD")]
    pub method: Option<String>,
    /// Material of the part
    #[arg(long, value_name = "NAME")]
    pub material: Option<String>,
    /// Further fields of the joint or test: hole=2.56mm thread=M3 speed='6 mm/min'
    #[arg(long, value_name = "FIELD=VALUE", help_heading = headings::COMPUTED)]
    pub set: Vec<String>,
}

/// Facts of specimens that no file says.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct SpecimenFacts {
    /// Batch of all of them
    #[arg(long, value_name = "LOT")]
    pub batch: Option<String>,
    /// Print job of all of them
    #[arg(long, value_name = "NAME")]
    pub job: Option<String>,
    /// Date of the test
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub date: Option<String>,
    /// How they failed: LABEL=MODE, or MODE for all (repeatable)
    #[arg(long, value_name = "[LABEL=]MODE")]
    pub mode: Vec<String>,
}

/// What the loads of a table are.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct LoadOptions {
    /// Quantity measured
    #[arg(long, value_name = "WORD", default_value = "pull_out_load")]
    pub quantity: String,
    /// Unit of loads that are written without one
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,
}

/// Recordings.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  gripbook import curve a1.csv a2.csv --series housing-cut-m3 --pack my-pack --source pull-2026-05 --method cut-thread \\
      --material resin/tough --rig rig/puller --mode a1=part-thread-shear")]
#[command(next_help_heading = headings::ASKED)]
pub struct CurveArgs {
    /// The recordings: tables with a column of loads
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Series the specimens belong to
    #[arg(long, value_name = "ID")]
    pub series: String,
    /// Quantity the peaks are
    #[arg(long, value_name = "WORD", default_value = "pull_out_load")]
    pub quantity: String,
    /// Test rig: its compliance is subtracted, and its capacity is the limit
    #[arg(long, value_name = "ID")]
    pub rig: Option<String>,
    /// Compliance of the rig, where no record has it
    #[arg(long, value_name = "COMPLIANCE", help_heading = headings::COMPUTED)]
    pub compliance: Option<String>,
    /// Limit of the load cell, where no record has it
    #[arg(long, value_name = "LOAD", help_heading = headings::COMPUTED)]
    pub capacity: Option<String>,
    /// Load column: heading or number
    #[arg(long, value_name = "COLUMN", help_heading = headings::COMPUTED)]
    pub load_column: Option<String>,
    /// Unit of the load; kg is read as kgf only when it is given here
    #[arg(long, value_name = "UNIT", help_heading = headings::COMPUTED)]
    pub load_unit: Option<String>,
    /// Travel column: heading or number
    #[arg(long, value_name = "COLUMN", help_heading = headings::COMPUTED)]
    pub travel_column: Option<String>,
    /// Unit of the travel
    #[arg(long, value_name = "UNIT", help_heading = headings::COMPUTED)]
    pub travel_unit: Option<String>,
    /// Time column: heading or number
    #[arg(long, value_name = "COLUMN", help_heading = headings::COMPUTED)]
    pub time_column: Option<String>,
    /// Speed of the crosshead, for a time axis
    #[arg(long, value_name = "SPEED", help_heading = headings::COMPUTED)]
    pub speed: Option<String>,
    /// The load cell counts pulling as negative
    #[arg(long, help_heading = headings::COMPUTED)]
    pub reversed: bool,
    /// Load shown by the unloaded cell, subtracted from every sample
    #[arg(long, value_name = "LOAD", help_heading = headings::COMPUTED)]
    pub zero: Option<String>,
    /// Share of the peak load that is lost at the break
    #[arg(long, value_name = "SHARE", default_value = "20%", help_heading = headings::COMPUTED)]
    pub drop: String,
    /// Pitch of the thread
    #[arg(long, value_name = "LENGTH")]
    pub pitch: Option<String>,
    /// Use the suggested failure modes where none is given
    #[arg(long, help_heading = headings::COMPUTED)]
    pub accept_modes: bool,
    /// The plug-in that reads the recordings, where none of gripbook's own can
    #[command(flatten)]
    pub plugins: PluginArgs,
    /// Facts of the specimens
    #[command(flatten)]
    pub facts: SpecimenFacts,
    /// The record, when it is new
    #[command(flatten)]
    pub new: NewSeries,
    /// Agreement
    #[command(flatten)]
    pub agree: Agree,
}

/// A table.
#[derive(Debug, Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook import table loads.csv --series grey-m3 --source pulls-2026-05 --method cut-thread --material resin/tough --set thread=M3 --set hole='2.52 mm'
  gripbook import table loads.csv --series grey-m3 --unit N --dry-run     show, write nothing")]
pub struct TableArgs {
    /// The table: a column `load`, and where known label, mode, batch, job, date, position, held, note
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Series the specimens belong to
    #[arg(long, value_name = "ID")]
    pub series: String,
    /// What the loads are
    #[command(flatten)]
    pub loads: LoadOptions,
    /// The record, when it is new
    #[command(flatten)]
    pub new: NewSeries,
    /// Agreement
    #[command(flatten)]
    pub agree: Agree,
}

/// Results of a plan.
#[derive(Debug, Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook import results test-1/results.csv --series test-1 --source pulls-2026-05")]
pub struct ResultsArgs {
    /// The results sheet
    #[arg(value_name = "PLAN.csv")]
    pub file: PathBuf,
    /// Start of the ids: each combination becomes the series PREFIX-letter
    #[arg(long, value_name = "PREFIX")]
    pub series: String,
    /// What the loads are
    #[command(flatten)]
    pub loads: LoadOptions,
    /// The records
    #[command(flatten)]
    pub new: NewSeries,
    /// Agreement
    #[command(flatten)]
    pub agree: Agree,
}

/// Readings of a ladder.
#[derive(Debug, Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook import ladder readings.csv --process screen-printer --source ladder-2026-05 --printer vat-screen --name 'Screen printer'")]
pub struct LadderArgs {
    /// The readings: columns `drawn` and `measured`
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Process record the offsets belong to
    #[arg(long, value_name = "ID")]
    pub process: String,
    /// The campaign the readings come from: a source record
    #[arg(long, value_name = "ID")]
    pub source: Option<String>,
    /// Only holes of this kind
    #[arg(long, value_parser = choice::<HoleEnd>(), value_name = "KIND")]
    pub kind: Option<HoleEnd>,
    /// Printer type of a process record that is new: vat-screen, filament, …
    #[arg(long, value_name = "TYPE")]
    pub printer: Option<String>,
    /// Name of a process record that is new
    #[arg(long, value_name = "TEXT", requires = "printer")]
    pub name: Option<String>,
    /// Agreement
    #[command(flatten)]
    pub agree: Agree,
}

/// Runs the command.
pub fn run(args: &ImportArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    match &args.what {
        Import::Curve(args) => curve::run(args, shared, context),
        Import::Table(args) => table::run(args, shared, context),
        Import::Results(args) => results::run(args, shared, context),
        Import::Ladder(args) => ladder::run(args, shared, context),
    }
}

/// The importer of a name; its absence is a bug that a test catches.
fn importer(context: &Context, name: &str) -> Result<&'static dyn gripbook::series::importer::Importer, Fault> {
    context.registry.importer(name).ok_or(Fault { exit: 70, message: format!("the importer `{name}` is missing"), help: None })
}

/// The answer of an import.
fn imported(page: Page, json: serde_json::Value) -> Sheet {
    Sheet { schema: "gripbook/import/1", page, json, table: None }
}
