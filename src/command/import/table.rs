//! Tables of loads become specimens.

use super::destination;
use super::{TableArgs, importer};
use crate::command::series::source::{Rows, sample_of, stopped};
use crate::command::{CommandOutcome, Context, Fault, Shared, library};
use gripbook::present::{Page, counted};
use gripbook::series::importer::{Ask, RowIn, Understood};
use gripbook::series::record::quantity_of;
use gripbook::series::specimen::Sample;
use serde_json::json;
use std::path::Path;

/// A table as read.
pub struct RawTable {
    /// Its rows.
    pub rows: Vec<RowIn>,
    /// How it was understood.
    pub understood: Understood,
}

/// Reads a table with the importer of that name.
pub fn rows(name: &str, path: &Path, context: &Context) -> Result<RawTable, Fault> {
    let shown = path.display().to_string();
    let mut file = std::fs::File::open(context.folder.join(path)).map_err(|e| Fault::data(format!("{shown}: {e}")))?;
    let mut rows = Rows::default();
    let ask = Ask { file: shown, ..Ask::default() };
    let understood = importer(context, name)?.read(&mut file, &ask, &mut rows).map_err(|f| stopped(&f))?;
    Ok(RawTable { rows: rows.rows, understood })
}

/// Refuses a table of another quantity.
pub fn fitting(sample: &Sample, word: &str) -> Result<(), Fault> {
    if sample.quantity == quantity_of(word) {
        return Ok(());
    }
    let message = format!("the table holds {}, `{word}` is {}", sample.quantity.title(), quantity_of(word).title());
    Err(Fault::usage(message).help("say what was measured with --quantity"))
}

/// Runs `import table`.
pub fn run(args: &TableArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let pack = destination::pack(shared, context)?;
    let loaded = library::open(shared, context)?;
    let sample =
        sample_of(&rows("table", &args.file, context)?.rows, &args.file.display().to_string(), args.loads.unit.as_deref())?;
    fitting(&sample, &args.loads.quantity)?;
    twice(&sample)?;
    let methods = context.registry.methods_of(&loaded.book);
    let new = destination::resolved(&args.new, &loaded.book, &methods)?;
    let change = destination::series_change(&pack, &args.series, &args.loads.quantity, &sample.specimens, &new, &[])?;
    let mut page = Page::titled(format!("{} for {}", counted(sample.specimens.len(), "specimen"), change.id));
    let written = destination::carry_out(&mut page, std::slice::from_ref(&change), &args.agree, &loaded.book, context)?;
    let json = json!({"series": change.id, "written": written, "record": context.shown(&change.path), "specimens": sample.specimens.len()});
    Ok(CommandOutcome { answer: Box::new(super::imported(page, json)), exit: 0 })
}

fn twice(sample: &Sample) -> Result<(), Fault> {
    let list = &sample.specimens;
    match (1..list.len()).find(|i| list[..*i].iter().any(|s| s.label == list[*i].label)) {
        None => Ok(()),
        Some(i) => Err(Fault::data(format!("two specimens are called `{}`", list[i].label()))),
    }
}
