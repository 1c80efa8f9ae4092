//! The results sheet of a plan, filled in: one series for each combination. A sheet may come in again as it fills up.

use super::ResultsArgs;
use super::destination::{self, RECORDS, RecordChange, file_name};
use super::table::{fitting, rows};
use crate::command::plan::PLAN_LINE;
use crate::command::series::source::sample_of;
use crate::command::{CommandOutcome, Context, Fault, Shared, library};
use gripbook::book::Book;
use gripbook::book::view::Specimen;
use gripbook::present::Page;
use gripbook::quantity::{Quantity, parse};
use gripbook::series::importer::RowIn;
use gripbook::series::plan::matrix::{self, PlannedRow, REFERENCE};
use gripbook::series::record;
use serde_json::json;

/// Columns of a results sheet that are filled in, or that name the specimen.
const OWN: [&str; 14] = [
    "label",
    "block",
    "order",
    "cell",
    "hole",
    "hole_measured",
    "load",
    "mode",
    "batch",
    "job",
    "date",
    "note",
    "held",
    "position",
];
/// Columns that are filled in.
const FILLED: [&str; 9] = ["load", "mode", "hole_measured", "batch", "job", "date", "note", "held", "position"];
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
/// What the first comment line says of the plan.
struct Header {
    id: String,
    line: String,
}

/// Runs `import results`.
pub fn run(args: &ResultsArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let pack = destination::pack(shared, context)?;
    let loaded = library::open(shared, context)?;
    let methods = context.registry.methods_of(&loaded.book);
    let new = destination::resolved(&args.new, &loaded.book, &methods)?;
    let shown = args.file.display().to_string();
    let sheet = rows("results", &args.file, context)?;
    let header = header(&sheet.understood.comments);
    if let Some(header) = &header {
        whole(&sheet.rows, header, &shown)?;
    }
    let mut cells: Vec<&str> = sheet.rows.iter().filter_map(|r| r.get("cell")).collect();
    cells.sort_unstable();
    cells.dedup();
    let (mut changes, mut summary, mut open, mut known) = (Vec::<RecordChange>::new(), Vec::new(), 0, 0);
    for cell in cells {
        let own: Vec<RowIn> = sheet.rows.iter().filter(|r| r.get("cell") == Some(cell)).map(with_job).collect();
        let filled = own.iter().filter(|r| r.get("load").is_some()).count();
        open += own.len() - filled;
        if filled == 0 {
            continue;
        }
        let id = file_name(&format!("{}-{cell}", args.series));
        same_plan(&loaded.book, &id, header.as_ref(), &shown)?;
        let mut sample = sample_of(&own, &shown, args.loads.unit.as_deref())?;
        fitting(&sample, &args.loads.quantity)?;
        let before = sample.specimens.len();
        let there = there(&loaded.book, &id, &args.loads.quantity);
        sample.specimens = new_ones(sample.specimens, &there, &id)?;
        known += before - sample.specimens.len();
        if sample.specimens.is_empty() {
            continue;
        }
        let holes = holes(&own, &shown)?;
        notes(&mut sample.specimens, &holes);
        let joint = joint(&own, cell, &holes, header.as_ref(), &loaded.book);
        let count = sample.specimens.len();
        changes.push(destination::series_change(&pack, &id, &args.loads.quantity, &sample.specimens, &new, &joint)?);
        summary.push(json!({"cell": cell, "series": id, "specimens": count}));
    }
    if changes.is_empty() {
        let message = if known > 0 {
            format!("{shown}: every load that is filled in is in the records already")
        } else {
            format!("{shown}: no load is filled in")
        };
        return Err(Fault::data(message));
    }
    let mut page = Page::titled(format!("{} series from {shown}", changes.len()));
    page.line(match &header {
        Some(h) => format!("The sheet is that of {}; labels, order and combinations stand as planned.", h.line),
        None => {
            "The sheet does not say which plan it belongs to (no line `# plan …`): labels and combinations are taken as they stand."
                .into()
        }
    });
    if known > 0 {
        page.line(format!("In the records already, with the same load: {known}."));
    }
    if open > 0 {
        page.line(format!("Without a load yet, and left for later: {open}."));
    }
    let written = destination::carry_out(&mut page, &changes, &args.agree, &loaded.book, context)?;
    let plan = header.map(|h| h.id);
    let json = json!({"plan": plan, "written": written, "series": summary, "open": open, "known": known});
    Ok(CommandOutcome { answer: Box::new(super::imported(page, json)), exit: 0 })
}

fn header(comments: &[String]) -> Option<Header> {
    let line = comments.iter().find_map(|c| c.strip_prefix(PLAN_LINE).map(|rest| (rest, c)))?;
    let id: String = line.0.chars().take_while(char::is_ascii_hexdigit).collect();
    (id.len() == 8).then(|| Header { id, line: line.1.clone() })
}

/// Refuses a sheet whose planned columns are not those of its plan.
fn whole(rows: &[RowIn], header: &Header, file: &str) -> Result<(), Fault> {
    let get = |r: &RowIn, name: &str| r.cells.iter().find(|(h, _)| h == name).map(|c| c.1.clone()).unwrap_or_default();
    let planned = |r: &RowIn| {
        let rest = r
            .cells
            .iter()
            .filter(|(h, _)| !FILLED.contains(&h.as_str()) && !matches!(h.as_str(), "label" | "block" | "order" | "cell"));
        PlannedRow {
            block: get(r, "block"),
            order: get(r, "order"),
            label: get(r, "label"),
            cell: get(r, "cell"),
            rest: rest.map(|c| c.1.clone()).collect(),
        }
    };
    let now = matrix::id(&rows.iter().map(planned).collect::<Vec<_>>());
    if now == header.id {
        return Ok(());
    }
    Err(Fault::data(format!("{file}: these are not the rows of plan {}, which its first line names", header.id)).help(
        "rows were added, taken out or changed, or stand under the heading of another plan: copy the loads into the sheet as it was written; a specimen that was not tested keeps its row with an empty load",
    ))
}

/// A series that came from one plan takes nothing from another.
fn same_plan(book: &Book, id: &str, header: Option<&Header>, file: &str) -> Result<(), Fault> {
    let Some(series) = book.record(&format!("series/{id}")).and_then(record::series) else { return Ok(()) };
    let (Some(before), Some(header)) = (series.test.plan.as_deref(), header) else { return Ok(()) };
    if before == header.id {
        return Ok(());
    }
    Err(Fault::data(format!("{file} is of plan {}, series/{id} holds the specimens of plan {before}", header.id))
        .help("take it in under another name with --series"))
}

/// Label and load of the specimens on record.
fn there(book: &Book, id: &str, word: &str) -> Vec<(String, f64)> {
    let series = book.record(&format!("series/{id}")).and_then(record::series);
    let measured = series.and_then(|s| s.measurements.into_iter().find(|m| m.word == word));
    let sample = measured.and_then(|m| m.sample);
    sample.into_iter().flat_map(|s| s.specimens).map(|s| (s.label().to_owned(), s.value.si)).collect()
}

fn new_ones(list: Vec<Specimen>, there: &[(String, f64)], id: &str) -> Result<Vec<Specimen>, Fault> {
    let mut new = Vec::new();
    for s in list {
        match there.iter().find(|(label, _)| *label == *s.label()) {
            None => new.push(s),
            Some((_, load)) if *load == s.value.si => {}
            Some(_) => {
                let message = format!("series/{id} has specimen {} with another load than {}", s.label(), s.value.text);
                return Err(Fault::data(message).help("nothing is overwritten: correct the record or the sheet by hand"));
            }
        }
    }
    Ok(new)
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

/// A hole as measured, with the label of its specimen.
struct Measured {
    label: String,
    text: String,
    millimetres: f64,
}

fn holes(rows: &[RowIn], file: &str) -> Result<Vec<Measured>, Fault> {
    let mut list = Vec::new();
    for row in rows {
        let Some(text) = row.get("hole_measured") else { continue };
        let read = parse(text, Quantity::Length)
            .map_err(|f| Fault::data(format!("{file}:{}: hole_measured: {}", row.line, f.message())).help(f.help()))?;
        let label = row.get("label").unwrap_or_default().to_owned();
        list.push(Measured { label, text: text.to_owned(), millimetres: read.si * 1e3 });
    }
    Ok(list)
}

/// The hole of the series: as written where all are alike, else the mean; `None` where none was measured.
fn hole(holes: &[Measured]) -> Option<String> {
    let first = holes.first()?;
    if holes.iter().all(|h| h.text == first.text) {
        return Some(first.text.clone());
    }
    let mean = holes.iter().map(|h| h.millimetres).sum::<f64>() / holes.len() as f64;
    Some(format!("{mean:.2} mm"))
}

/// Where holes differ, each specimen keeps its own in its note.
fn notes(specimens: &mut [Specimen], holes: &[Measured]) {
    if holes.iter().all(|h| h.text == holes[0].text) {
        return;
    }
    for s in specimens {
        if let Some(own) = holes.iter().find(|h| *h.label == *s.label()) {
            let note = s.note.as_deref().map_or_else(|| format!("hole {}", own.text), |n| format!("{n}; hole {}", own.text));
            s.note = Some(note.into());
        }
    }
}

/// Fields of the joint from the factors of a row; those the schema does not know go to the settings.
fn joint(rows: &[RowIn], cell: &str, holes: &[Measured], header: Option<&Header>, book: &Book) -> Vec<(String, String)> {
    let mut list = Vec::new();
    let mut others = Vec::new();
    let row = rows.first().cloned().unwrap_or_default();
    for (heading, value) in row.cells.iter().filter(|(h, v)| !OWN.contains(&h.as_str()) && !v.trim().is_empty()) {
        let value = value.trim();
        if cell == REFERENCE {
            others.push(value.to_owned());
            continue;
        }
        let roles = RECORDS.iter().find(|(name, _)| name == heading).map(|(_, roles)| *roles);
        let record = roles.and_then(|roles| library::find(book, value, roles).ok());
        match (heading.as_str(), roles, record) {
            (_, Some(_), Some(record)) => list.push((heading.clone(), record.id.to_string())),
            // These have no text of their own in a series.
            ("process" | "primer" | "rig", ..) => others.push(format!("{heading} {value}")),
            (_, Some(_), None) => list.push((format!("{heading}_text"), value.to_owned())),
            (h, ..) if JOINT.contains(&h) => list.push((heading.clone(), value.to_owned())),
            _ => others.push(format!("{heading} {value}")),
        }
    }
    list.extend(hole(holes).map(|h| ("hole".to_owned(), h)));
    if !others.is_empty() {
        list.push(("settings".into(), others.join(", ")));
    }
    list.extend(header.map(|h| ("plan".to_owned(), h.id.clone())));
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(texts: &[&str]) -> Vec<Measured> {
        let one = |(i, t): (usize, &&str)| Measured {
            label: format!("A-1-{}", i + 1),
            text: (*t).to_owned(),
            millimetres: parse(t, Quantity::Length).unwrap().si * 1e3,
        };
        texts.iter().enumerate().map(one).collect()
    }

    #[test]
    fn holes_alike_keep_their_digits_and_others_give_their_mean() {
        assert_eq!(hole(&measured(&["2.50 mm", "2.50 mm"])).as_deref(), Some("2.50 mm"));
        assert_eq!(hole(&measured(&["2.50 mm", "2.54 mm"])).as_deref(), Some("2.52 mm"));
        assert_eq!(hole(&[]), None);
    }

    #[test]
    fn the_first_line_names_the_plan() {
        let read = |line: &str| header(&["gripbook 0.1: gripbook plan".into(), line.into()]).map(|h| h.id);
        assert_eq!(read("plan 0a1b2c3d, seed 1, 2 jobs").as_deref(), Some("0a1b2c3d"));
        assert_eq!(read("plan of the week"), None);
    }
}
