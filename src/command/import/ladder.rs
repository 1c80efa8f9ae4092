//! Pin readings of a hole ladder become the hole offsets of a process record.

use super::destination::{self, RecordChange};
use super::{LadderArgs, importer};
use crate::command::editor::Editor;
use crate::command::series::source::{Rows, stopped};
use crate::command::{CommandOutcome, Context, Fault, Shared, library, save};
use gripbook::present::table::Cell;
use gripbook::present::{Page, Table};
use gripbook::quantity::{Quantity, parse};
use gripbook::series::importer::{Ask, RowIn};
use gripbook::series::plan::ladder::{HoleEnd, KindGap, Offset, PinReading, kind_gap, offsets};
use gripbook::series::write::{self, CannotAdd, OffsetLine};
use serde_json::json;
use std::path::Path;

/// Runs `import ladder`.
pub fn run(args: &LadderArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let pack = destination::pack(shared, context)?;
    let loaded = library::open(shared, context)?;
    let shown = args.file.display().to_string();
    let mut file = std::fs::File::open(context.folder.join(&args.file)).map_err(|e| Fault::data(format!("{shown}: {e}")))?;
    let mut rows = Rows::default();
    importer(context, "ladder")?
        .read(&mut file, &Ask { file: shown.clone(), ..Ask::default() }, &mut rows)
        .map_err(|f| stopped(&f))?;
    let wanted = |r: &&RowIn| args.kind.is_none_or(|k| r.get("kind") == Some(k.word()));
    let filled: Vec<&RowIn> = rows.rows.iter().filter(wanted).filter(|r| r.get("measured").is_some()).collect();
    let readings = filled.iter().map(|r| reading(r, &shown)).collect::<Result<Vec<_>, _>>()?;
    if readings.is_empty() {
        return Err(
            Fault::data(format!("{shown}: no reading is filled in")).help("fill in the column `measured`, e.g. `2.51 mm`")
        );
    }
    let list = offsets(&readings)
        .map_err(|e| Fault::data(format!("{shown}: {e}")).help("read two holes of each drawn diameter at least"))?;
    let id = args.process.trim_start_matches("process/");
    let path = destination::record_file(&pack, "processes", id)?;
    let editor = if save::exists(&path)? { Editor::default() } else { Editor::of(&pack, "process.schema.json") };
    let (read, base) = record(&path, id, args, editor.line.as_deref())?;
    let lines: Vec<OffsetLine> = list.iter().map(|o| line(o, args)).collect();
    let new = write::add_offsets(&base, &lines).map_err(|CannotAdd(why)| Fault::data(format!("process/{id}: {why}")))?;
    let old = String::from_utf8_lossy(&read).into_owned();
    let change = RecordChange { id: format!("process/{id}"), path, old, read, new, open: Vec::new(), editor };
    let mut page = Page::titled(format!("Hole offsets for process/{id} from {} readings", readings.len()));
    page.table(table(&list));
    page.line("offset: measured minus drawn; draw a hole larger by what it comes out small.");
    let gap = kind_gap(&readings);
    kinds(&mut page, &readings, gap.as_ref());
    let unread = rows.rows.iter().filter(wanted).count() - filled.len();
    if unread > 0 {
        page.line(format!("{unread} holes of the sheet have no reading."));
    }
    let written = destination::carry_out(&mut page, std::slice::from_ref(&change), &args.agree, &loaded.book, context)?;
    let json = json!({
        "process": change.id, "written": written,
        "through_over_blind": gap.map(|g| json!({"mean_mm": g.through_over_blind, "low_mm": g.interval.low, "high_mm": g.interval.high, "told_apart": g.told()})),
        "offsets": list.iter().map(|o| json!({"drawn_mm": o.drawn, "offset_mm": o.offset, "sd_mm": o.sd, "n": o.n, "low_mm": o.interval.low, "high_mm": o.interval.high})).collect::<Vec<_>>(),
    });
    Ok(CommandOutcome { answer: Box::new(super::imported(page, json)), exit: 0 })
}

/// Bytes of the process record now, and what the offsets are added to: a new record begins with name and printer.
fn record(path: &Path, id: &str, args: &LadderArgs, line: Option<&str>) -> Result<(Vec<u8>, String), Fault> {
    match (save::exists(path)?, &args.printer) {
        (false, Some(printer)) => {
            let name = args.name.clone().unwrap_or_else(|| id.replace('-', " "));
            let head = line.map(|line| format!("{line}\n")).unwrap_or_default();
            Ok((Vec::new(), format!("{head}name: {}\nprinter_type: {}\n", write::scalar(&name), write::scalar(printer))))
        }
        (false, None) => Err(Fault::data(format!("{}: no such record", path.display()))
            .help("start one with --printer vat-screen (vat-laser, vat-projector, filament, powder-bed, jetting) and --name")),
        (true, _) => {
            let bytes =
                gripbook::read::file::load(path).map_err(|f| Fault::data(format!("{}: {}", path.display(), f.message)))?;
            let base = String::from_utf8_lossy(&bytes).into_owned();
            Ok((bytes, base))
        }
    }
}

/// Whether blind and through holes may stand in one offset.
fn kinds(page: &mut Page, readings: &[PinReading], gap: Option<&KindGap>) {
    let Some(gap) = gap else {
        if let [Some(one), ..] = readings.iter().map(|r| r.kind).collect::<Vec<_>>()[..]
            && readings.iter().all(|r| r.kind == Some(one))
        {
            page.line(format!("Read on {} holes only.", one.word()));
        }
        return;
    };
    let size = format!(
        "{} (95 % interval {} to {})",
        millimetres(gap.through_over_blind),
        millimetres(gap.interval.low),
        millimetres(gap.interval.high)
    );
    page.line(if gap.told() {
        format!("Through holes come out larger than blind ones by {size}: the offsets above are means of both and fit neither. Take in one kind with --kind.")
    } else {
        format!("Blind and through holes are taken together; through minus blind: {size}, not statistically distinguishable with these readings.")
    });
}

fn kind(row: &RowIn, file: &str) -> Result<Option<HoleEnd>, Fault> {
    match row.get("kind") {
        None => Ok(None),
        Some("blind") => Ok(Some(HoleEnd::Blind)),
        Some("through") => Ok(Some(HoleEnd::Through)),
        Some(other) => Err(Fault::data(format!("{file}:{}: kind `{other}`", row.line)).help("blind or through")),
    }
}

fn reading(row: &RowIn, file: &str) -> Result<PinReading, Fault> {
    let length = |column: &str| {
        let text = row.get(column).unwrap_or_default();
        let read = parse(text, Quantity::Length)
            .map_err(|f| Fault::data(format!("{file}:{}: {column}: {}", row.line, f.message())).help(f.help()))?;
        // Micrometres at the most: the SI value of 2.42 mm is not 2.42/1000 to the last bit.
        Ok::<f64, Fault>(libm::round(read.si * 1e9) / 1e6)
    };
    let (drawn, measured) = (length("drawn")?, length("measured")?);
    if measured <= 0.0 || (measured - drawn).abs() > 0.5 * drawn {
        let message = format!("{file}:{}: a hole drawn {drawn} mm that measures {measured} mm", row.line);
        return Err(Fault::data(message).help("check unit and decimal point"));
    }
    Ok(PinReading { drawn, measured, kind: kind(row, file)? })
}

fn millimetres(x: f64) -> String {
    format!("{} mm", gripbook::quantity::print::fixed(x, 3))
}

fn line(o: &Offset, args: &LadderArgs) -> OffsetLine {
    let diameter = format!("{} mm", o.drawn);
    let kinds = args.kind.map_or(String::new(), |k| format!("{} holes, ", k.word()));
    let file = args.file.file_name().map(|n| n.to_string_lossy().into_owned());
    let item = write::flow(&[
        ("diameter", Some(diameter.clone())),
        ("offset", Some(millimetres(o.offset))),
        ("sd", Some(millimetres(o.sd))),
        ("n", Some("N".into())),
        ("basis", Some("measured".into())),
        ("source", args.source.clone()),
        ("locator", file),
        ("method", Some("pins".into())),
        ("note", Some(format!("{kinds}95 % interval {} to {}", millimetres(o.interval.low), millimetres(o.interval.high)))),
    ]);
    // The count is a number; a quoted one would be a word.
    let item = item.replacen("n: N,", &format!("n: {},", o.n), 1);
    // A negative length starts with a sign and needs no quotes in this profile.
    let item = item.replace(&format!("offset: \"{}\"", millimetres(o.offset)), &format!("offset: {}", millimetres(o.offset)));
    OffsetLine { diameter, item }
}

fn table(list: &[Offset]) -> Table {
    let mut table = Table::new(&["drawn", "offset", "95 % interval", "between holes", "holes"]);
    for o in list {
        table.row(vec![
            format!("{} mm", o.drawn).into(),
            millimetres(o.offset).into(),
            format!("{} to {}", millimetres(o.interval.low), millimetres(o.interval.high)).into(),
            format!("± {}", millimetres(o.sd)).into(),
            Cell::Number(o.n as f64),
        ]);
    }
    table
}
