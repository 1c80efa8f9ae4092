//! `audit`: should I believe it?

mod answer;
mod first;
mod ledger;
mod outside;
mod scope;

use super::card::{CommandCard, Effect, FINDINGS, HelpGroup, Run};
use super::check::FailOn;
use super::plugins::{FAILED, PluginArgs};
use super::{CommandOutcome, Context, Fault, Shared, headings, library};
use gripbook::audit::{Audit, AuditRequest, Outside, run as run_audits, waiver::ABOUT_WAIVERS};
use gripbook::book::Record;
use gripbook::present::Format;
use std::path::PathBuf;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "audit",
    about: "Audit records: what is doubtful in them, what was waived and why",
    group: HelpGroup::Contributions,
    formats: FINDINGS,
    effect: Effect::Inspects,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `audit`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook audit                                 the current pack
  gripbook audit resins/tough-grey.yaml --full   one record, every finding
  gripbook audit --ledger                        how the book knows what it says")]
pub struct AuditArgs {
    /// Files or folders; without them the current pack, else the packs named, else the built-in one
    pub paths: Vec<PathBuf>,
    /// Lowest severity that makes the exit code 1
    #[arg(long, value_enum, default_value = "error", help_heading = headings::OUTPUT)]
    pub fail_on: FailOn,
    /// Only these audits (repeatable)
    #[arg(long, value_name = "NAME")]
    pub only: Vec<String>,
    /// Show notes one by one too, not only their number
    #[arg(long, help_heading = headings::OUTPUT)]
    pub notes: bool,
    /// Show how claims and measurements are known, and which weakly known values most answers rest on
    #[arg(long, conflicts_with_all = ["only", "notes"], help_heading = headings::OUTPUT)]
    pub ledger: bool,
    /// The whole page: every finding with its line and remedy; of the ledger, every weak value
    #[arg(long, help_heading = headings::OUTPUT)]
    pub full: bool,
    /// Plug-ins that look at the records too
    #[command(flatten)]
    pub plugins: PluginArgs,
    /// Date for which waivers are judged; today unless given
    #[arg(long, value_name = "DATE", help_heading = headings::OUTPUT)]
    pub today: Option<String>,
}

/// Audits what the arguments name.
///
/// # Errors
/// Wrong use, and packs that cannot be opened.
pub fn run(args: &AuditArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    super::save::recover(&args.paths, context);
    let shared = scope::with_homes(args, &args.plugins.with_packs(shared), context)?;
    let loaded = library::open(&shared, context)?;
    let book = &loaded.book;
    let today = today(args.today.as_deref(), context)?;
    let scope = scope::of(&args.paths, book, &shared, context);
    let wanted = |record: &Record| scope.holds(record);
    if args.ledger {
        let answer = ledger::answer(&loaded, &|r| wanted(r) && !r.invented(), args.full);
        return Ok(CommandOutcome { answer: Box::new(answer), exit: loaded.exit(0) });
    }
    let bytes = |record: &Record| library::bytes(book, record, context);
    let plugins = outside::look(args, book, &wanted, &today, context)?;
    let names: Vec<&str> = plugins.iter().map(|p| p.name).collect();
    let audits = chosen(context.registry.audits, &args.only, &names)?;
    let found: Vec<Outside> = plugins.iter().map(|p| p.found.clone()).collect();
    let report = run_audits(&AuditRequest {
        book,
        audits: &audits,
        all: context.registry.audits,
        outside: &found,
        wanted: &wanted,
        today: &today,
        bytes: &bytes,
    });
    if report.records == 0 {
        return Err(Fault::data("nothing that was named holds a record that can be read")
            .help("name files or folders of a pack; `gripbook check` says what is wrong with a record"));
    }
    let is_no = report.findings.iter().any(|f| f.severity >= args.fail_on.severity());
    let answer = answer::AuditAnswer {
        report,
        notes: args.notes,
        weight: (!args.full && shared.format == Format::Text).then(|| first::weight(book)),
        audits: audits.len() + plugins.len(),
        all: context.registry.audits,
        today,
        left_out: loaded.left_out_json(),
        plugins,
    };
    let exit = if answer.plugins.iter().any(|p| p.stopped.is_some()) { FAILED } else { loaded.exit(u8::from(is_no)) };
    Ok(CommandOutcome { answer: Box::new(answer), exit })
}

fn chosen(all: &[&'static Audit], only: &[String], plugins: &[&str]) -> Result<Vec<&'static Audit>, Fault> {
    for name in only.iter().filter(|name| !plugins.contains(&name.as_str())) {
        if !all.iter().chain(ABOUT_WAIVERS).any(|a| a.name == name) {
            return Err(Fault::usage(format!("no audit is called `{name}`")).help("`gripbook why` lists all names"));
        }
    }
    Ok(all.iter().copied().filter(|a| only.is_empty() || only.iter().any(|o| o == a.name)).collect())
}

/// The day given, or that of the clock.
pub(super) fn today(given: Option<&str>, context: &Context) -> Result<String, Fault> {
    let Some(given) = given else { return Ok(context.today.clone()) };
    let parts: Vec<&str> = given.split('-').collect();
    let sizes: Vec<usize> = parts.iter().map(|p| p.len()).collect();
    let digits = parts.iter().all(|p| p.bytes().all(|b| b.is_ascii_digit()));
    if sizes == [4, 2, 2] && digits {
        return Ok(given.to_owned());
    }
    Err(Fault::usage(format!("`{given}` is not a date")).help("write it like 2026-03-14"))
}
