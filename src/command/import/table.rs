//! Tables of loads, and the results sheets of plans, become specimens.

use super::destination::{self, Change, file_name};
use super::{Imported, ResultsArgs, TableArgs, importer};
use crate::command::series::source::{Rows, sample_of, stopped};
use crate::command::{Context, Fault, Outcome, Shared, library};
use crate::present::Page;
use crate::series::importer::{Ask, RowIn};
use crate::series::record::quantity_of;
use crate::series::specimen::Sample;
use serde_json::json;
use std::path::Path;

fn rows(name: &str, path: &Path, context: &Context) -> Result<Vec<RowIn>, Fault> {
    let shown = path.display().to_string();
    let mut file = std::fs::File::open(context.folder.join(path)).map_err(|e| Fault::data(format!("{shown}: {e}")))?;
    let mut rows = Rows::default();
    importer(name)?.read(&mut file, &Ask { file: shown, ..Ask::default() }, &mut rows).map_err(|f| stopped(&f))?;
    Ok(rows.rows)
}

fn fitting(sample: &Sample, word: &str) -> Result<(), Fault> {
    if sample.quantity == quantity_of(word) {
        return Ok(());
    }
    let message = format!("the table holds {}, `{word}` is {}", sample.quantity.title(), quantity_of(word).title());
    Err(Fault::usage(message).help("say what was measured with --quantity"))
}

/// Runs `import table`.
pub fn run(args: &TableArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let pack = destination::pack(shared, context)?;
    let loaded = library::open(shared, context)?;
    let sample = sample_of(&rows("table", &args.file, context)?, &args.file.display().to_string(), args.unit.as_deref())?;
    fitting(&sample, &args.quantity)?;
    twice(&sample)?;
    let change = destination::series_change(&pack, &args.series, &args.quantity, &sample.specimens, &args.new, &[])?;
    let mut page = Page::titled(format!("{} specimens for {}", sample.specimens.len(), change.id));
    let written = destination::carry_out(&mut page, std::slice::from_ref(&change), &[], &args.agree, &loaded.book)?;
    let json = json!({"series": change.id, "written": written, "record": change.path.display().to_string(), "specimens": sample.specimens.len()});
    Ok(Outcome { answer: Box::new(Imported { page, json }), exit: 0 })
}

fn twice(sample: &Sample) -> Result<(), Fault> {
    let list = &sample.specimens;
    match (1..list.len()).find(|i| list[..*i].iter().any(|s| s.label == list[*i].label)) {
        None => Ok(()),
        Some(i) => Err(Fault::data(format!("two specimens are called `{}`", list[i].label))),
    }
}

/// Columns of a results sheet that are not factors.
const OWN: [&str; 13] =
    ["label", "block", "order", "cell", "hole", "load", "mode", "batch", "job", "date", "note", "held", "position"];
/// Factors that are fields of the joint by their own name.
const JOINT: [&str; 18] = [
    "method",
    "material",
    "adhesive",
    "insert",
    "thread",
    "length",
    "boss",
    "plate",
    "edge_distance",
    "process",
    "infill",
    "axis",
    "gap",
    "preparation",
    "settings",
    "primer",
    "overlap",
    "screw_text",
];

/// Runs `import results`.
pub fn results(args: &ResultsArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let pack = destination::pack(shared, context)?;
    let loaded = library::open(shared, context)?;
    let all = rows("results", &args.file, context)?;
    let mut cells: Vec<&str> = all.iter().filter_map(|r| r.get("cell")).collect();
    cells.sort_unstable();
    cells.dedup();
    let (mut changes, mut open): (Vec<Change>, usize) = (Vec::new(), 0);
    let mut summary = Vec::new();
    for cell in cells {
        let own: Vec<RowIn> = all.iter().filter(|r| r.get("cell") == Some(cell)).map(with_job).collect();
        let filled = own.iter().filter(|r| r.get("load").is_some()).count();
        open += own.len() - filled;
        if filled == 0 {
            continue;
        }
        let sample = sample_of(&own, &args.file.display().to_string(), args.unit.as_deref())?;
        fitting(&sample, &args.quantity)?;
        let id = file_name(&format!("{}-{cell}", args.series));
        let joint = own.first().map(|r| joint(r, cell)).unwrap_or_default();
        changes.push(destination::series_change(&pack, &id, &args.quantity, &sample.specimens, &args.new, &joint)?);
        summary.push(json!({"cell": cell, "series": id, "specimens": filled}));
    }
    if changes.is_empty() {
        return Err(Fault::data(format!("{}: no load is filled in", args.file.display())));
    }
    let mut page = Page::titled(format!("{} series from {}", changes.len(), args.file.display()));
    if open > 0 {
        page.line(format!("{open} specimens have no load yet and are left for later."));
    }
    let written = destination::carry_out(&mut page, &changes, &[], &args.agree, &loaded.book)?;
    Ok(Outcome {
        answer: Box::new(Imported { page, json: json!({"written": written, "series": summary, "open": open}) }),
        exit: 0,
    })
}

/// A row whose job nobody wrote down belongs to the job of its block.
fn with_job(row: &RowIn) -> RowIn {
    let mut row = row.clone();
    if row.get("job").is_none()
        && let Some(block) = row.get("block").map(str::to_owned)
    {
        row.cells.retain(|(h, _)| h != "job");
        row.cells.push(("job".into(), format!("job {block}")));
    }
    row
}

/// Fields of the joint from the factors of a row; those the schema does not know go to the settings.
fn joint(row: &RowIn, cell: &str) -> Vec<(String, String)> {
    let mut list = Vec::new();
    let mut others = Vec::new();
    for (heading, value) in row.cells.iter().filter(|(h, v)| !OWN.contains(&h.as_str()) && !v.trim().is_empty()) {
        let value = value.trim().to_owned();
        let reference = cell == crate::series::plan::matrix::REFERENCE;
        let field = match heading.as_str() {
            _ if reference => None,
            "material" | "adhesive" | "insert" | "process" | "primer" if !value.contains('/') => Some(format!("{heading}_text")),
            h if JOINT.contains(&h) => Some(h.to_owned()),
            _ => None,
        };
        // A process has no text of its own in a series.
        match field.filter(|f| f != "process_text" && f != "primer_text") {
            Some(field) => list.push((field, value)),
            None => others.push(if reference { value } else { format!("{heading} {value}") }),
        }
    }
    if let Some(hole) = row.get("hole").filter(|h| crate::quantity::parse(h, crate::quantity::Quantity::Length).is_ok()) {
        list.push(("hole".into(), hole.to_owned()));
    }
    if !others.is_empty() {
        list.push(("settings".into(), others.join(", ")));
    }
    list
}
