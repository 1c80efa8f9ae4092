//! `gripbook series`: what a test series says.

use super::{Context, Fault, Outcome, Shared};
use crate::present::{Answer, Page, Table};
use crate::series::loads::loads;
use crate::series::reduce::reduce;

mod page;

/// What does a test series say?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook series --loads '812 N, 857 N, 790 N'
  gripbook series --loads '812,857,790 / 655,702,731' --unit N     two batches
  gripbook series --loads '400, 420, >520' --unit N                one specimen held 520 N")]
pub struct SeriesArgs {
    /// Loads of the specimens; `/` starts the next batch, `>520 N` marks a specimen that held
    #[arg(long, value_name = "LOADS", required = true)]
    loads: Option<String>,
    /// Unit of loads written without one
    #[arg(long, value_name = "UNIT", requires = "loads")]
    unit: Option<String>,
    /// Show every bound, not only the usual two
    #[arg(long)]
    all_bounds: bool,
}

/// Runs the command.
pub fn run(args: &SeriesArgs, _shared: &Shared, _context: &Context) -> Result<Outcome, Fault> {
    let text = args.loads.as_deref().unwrap_or_default();
    let sample = loads(text, args.unit.as_deref()).map_err(|f| Fault::usage(format!("--loads: {}", f.message)).help(f.help))?;
    let reduction = reduce(&sample, None);
    let shown = page::Shown { heading: None, sample: &sample, reduction: &reduction, all_bounds: args.all_bounds };
    let mut page = Page::default();
    page::add(&mut page, &shown);
    let sheet = Sheet { page, json: page::json(&shown), table: Some(page::table(&sample)) };
    Ok(Outcome { answer: Box::new(sheet), exit: 0 })
}

struct Sheet {
    page: Page,
    json: serde_json::Value,
    table: Option<Table>,
}

impl Answer for Sheet {
    fn schema(&self) -> &'static str {
        "gripbook/series/1"
    }
    fn json(&self) -> serde_json::Value {
        self.json.clone()
    }
    fn page(&self) -> Page {
        self.page.clone()
    }
    fn table(&self) -> Option<Table> {
        self.table.clone()
    }
}
