//! One hole table over many inserts, materials and methods, for publication.

use super::{FastenArgs, SCHEMA, words};
use crate::command::library::{self, Loaded};
use crate::command::lost::{self, RestsOn};
use crate::command::{CommandOutcome, Context, Fault};
use gripbook::book::Record;
use gripbook::joint::geometry::Drawn;
use gripbook::joint::judge::judge;
use gripbook::joint::method::Method;
use gripbook::joint::need::Need;
use gripbook::mechanics::thread;
use gripbook::present::table::Cell;
use gripbook::present::{Page, Sheet, Table};
use gripbook::quantity::{Measure, Quantity, parse};
use gripbook::suit::{Rule, Verdict};
use serde::Deserialize;
use serde_json::json;
use std::path::Path;
use uom::si::f64::Length;

/// One entry of the list.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoleEntry {
    /// Material of the part.
    pub material: String,
    /// Thread.
    pub thread: String,
    /// Engaged length.
    pub length: String,
    /// Method.
    pub method: Option<String>,
    /// Insert.
    pub insert: Option<String>,
    /// Glue.
    pub adhesive: Option<String>,
    /// Process the part is printed with.
    pub process: Option<String>,
}

/// The hole of one entry in words, stretch by stretch; why there is none where no shape is known.
pub fn in_words(entry: &HoleEntry, loaded: &Loaded, rules: &[Rule]) -> Result<String, Fault> {
    let (need, method) = need(entry, loaded, rules)?;
    let methods = loaded.registry.methods_of(&loaded.book);
    let all = methods.all();
    let judgement = judge(&need, &all, method.as_deref());
    let Some(geometry) = judgement.candidates.iter().find_map(|c| c.geometry.as_ref()) else {
        let why = judgement.candidates.iter().find_map(|c| c.impossible.as_ref()).map(|i| i.message.clone());
        return Ok(why.unwrap_or_else(|| "the shape is not known; see fasten".into()));
    };
    let stretch = |s: &gripbook::joint::geometry::HoleStep| {
        let finished = gripbook::quantity::Amount::of(s.finished.nominal).text(3);
        format!("{} finished Ø {finished}, {}", s.purpose, words::drawn(s))
    };
    Ok(geometry.hole.iter().map(stretch).collect::<Vec<_>>().join("; "))
}

/// Largest list that is read.
const MOST: u64 = 1 << 20;

/// Writes `hole-table.md` and `hole-table.csv` for a list.
pub fn write(
    list: &Path,
    args: &FastenArgs,
    loaded: &Loaded,
    rules: &[Rule],
    context: &Context,
) -> Result<CommandOutcome, Fault> {
    let Some(folder) = &args.out else { return Err(Fault::usage("--hole-table needs --out DIR")) };
    let entries = read(list)?;
    let mut table = Table::new(&[
        "material",
        "thread",
        "engaged_mm",
        "method",
        "insert",
        "glue",
        "stretch",
        "finished_mm",
        "low_mm",
        "high_mm",
        "drawn_mm",
        "go_mm",
        "no_go_mm",
        "from_mm",
        "to_mm",
        "gap_each_side_mm",
        "boss_mm",
        "verdict",
    ]);
    let mut short = Table::new(&["joint", "method", "stretch", "finished", "CAD", "go / no-go", "depth_mm"]);
    let methods = loaded.registry.methods_of(&loaded.book);
    let mut used: Vec<&Record> = Vec::new();
    let mut invented = false;
    for (i, entry) in entries.iter().enumerate() {
        let (need, method) =
            need(entry, loaded, rules).map_err(|f| Fault { message: format!("entry {}: {}", i + 1, f.message), ..f })?;
        used.extend([Some(need.material), need.insert, need.adhesive, need.process].into_iter().flatten());
        invented |= need.any_invented();
        rows(&need, &methods.all(), method.as_deref(), &mut table, &mut short);
    }
    let title = if invented { "INVENTED DATA: hole table" } else { "Hole table" };
    let sheet = |table: Table| {
        let mut page = Page::titled(title);
        page.table(table);
        page.line("Diameters in mm. The CAD diameter is unknown without a process record: print the hole ladder first.");
        page.line(format!("gripbook {}; packs: {}", env!("CARGO_PKG_VERSION"), loaded.book.hash_line(used.iter().copied())));
        page.line(context.command_line.clone());
        page
    };
    let mut page = sheet(short);
    page.line(format!("All columns: {} and .csv", folder.join("hole-table.md").display()));
    let file = gripbook::present::text::markdown(&sheet(table.clone()));
    let mut files = crate::command::save::Batch::default();
    files.output(&folder.join("hole-table.md"), file);
    files.output(&folder.join("hole-table.csv"), table.csv());
    files.commit(context)?;
    let json = json!({"rows": table.rows.len(), "written": ["hole-table.md", "hole-table.csv"], "invented": invented});
    let sheet = Sheet { schema: SCHEMA, page, json, table: Some(table) };
    Ok(CommandOutcome { answer: lost::told(&loaded.book, RestsOn::Joints, Box::new(sheet)), exit: loaded.exit(0) })
}

fn read(list: &Path) -> Result<Vec<HoleEntry>, Fault> {
    let refuse = |e: &dyn std::fmt::Display| Fault::usage(format!("{}: {e}", list.display()));
    let size = std::fs::metadata(list).map_err(|e| refuse(&e))?.len();
    if size > MOST {
        return Err(Fault::usage(format!("{}: the list may have at most 1 MiB", list.display())));
    }
    let text = std::fs::read_to_string(list).map_err(|e| refuse(&e))?;
    let entries: Vec<HoleEntry> = serde_yaml::from_str(&text)
        .map_err(|e| refuse(&e).help("a list of {material, thread, length, method?, insert?, adhesive?, process?}"))?;
    if entries.is_empty() {
        return Err(Fault::usage(format!("{}: the list is empty", list.display())));
    }
    Ok(entries)
}

/// The need of an entry, and the one method it asks for.
fn need<'b>(entry: &HoleEntry, loaded: &'b Loaded, rules: &'b [Rule]) -> Result<(Need<'b>, Option<String>), Fault> {
    let book = &loaded.book;
    let thread = thread::fastening(&entry.thread).map_err(|f| Fault::usage(f.message()).help(f.help()))?;
    let length = parse(&entry.length, Quantity::Length).map_err(|f| Fault::usage(f.message()).help(f.help()))?;
    if length.si <= 0.0 {
        return Err(Fault::usage(format!("length {} is not above zero", entry.length)));
    }
    let mut need =
        Need::new(book, rules, library::find(book, &entry.material, &["material"])?, thread, Length::from_si(length.si));
    let find = |text: &Option<String>, role: &'static str| text.as_deref().map(|t| library::find(book, t, &[role])).transpose();
    need.insert = find(&entry.insert, "insert")?;
    need.adhesive = find(&entry.adhesive, "adhesive")?;
    need.process = find(&entry.process, "process")?;
    // Sizes do not depend on the number of draws; a hundred are enough for the verdict's gates.
    need.draws = 2_000;
    need.limit_states = false;
    let method = entry.method.as_deref().map(|m| library::method(m, &loaded.registry.methods_of(book).names())).transpose()?;
    Ok((need, method))
}

/// Rows of one need: every column for the files, the ones a bench wants for the screen.
fn rows(need: &Need<'_>, methods: &[&dyn Method], method: Option<&str>, table: &mut Table, short: &mut Table) {
    let judgement = judge(need, methods, method);
    let two = |l: Length| format!("{:.2}", l.si() * 1e3);
    let mm = |l: Length| Cell::from(two(l));
    for candidate in &judgement.candidates {
        let Some(geometry) = &candidate.geometry else { continue };
        let title = candidate.short_title().replace('/', " ");
        // The files have the verdict in a column of its own.
        let no = candidate.verdict == Verdict::DoesNotSuit;
        let title = if no { format!("{title} ({})", candidate.verdict.text()) } else { title };
        for step in &geometry.hole {
            let drawn = match &step.drawn {
                Drawn::Size { diameter, .. } => two(*diameter),
                Drawn::Unknown(_) => "unknown".into(),
                Drawn::Machined => "cut".into(),
            };
            short.row(vec![
                format!("{} {} x {}", need.material.id.name(), need.thread.designation(), two(geometry.thread.engaged)).into(),
                title.clone().into(),
                step.purpose.into(),
                mm(step.finished.nominal),
                drawn.clone().into(),
                format!("{} / {}", two(step.check.go), two(step.check.no_go)).into(),
                format!("{} to {}", two(step.from), two(step.to)).into(),
            ]);
            let drawn = Cell::from(drawn);
            table.row(vec![
                need.material.id.to_string().into(),
                need.thread.designation().into(),
                mm(geometry.thread.engaged),
                candidate.method.name.into(),
                candidate.insert.map(|r| r.id.to_string()).into(),
                candidate.adhesive.map(|r| r.id.to_string()).into(),
                step.purpose.into(),
                mm(step.finished.nominal),
                mm(step.finished.low),
                mm(step.finished.high),
                drawn,
                mm(step.check.go),
                mm(step.check.no_go),
                mm(step.from),
                mm(step.to),
                geometry.gap.map_or(Cell::Empty, |(low, high)| match two(low) == two(high) {
                    true => two(low).into(),
                    false => format!("{} to {}", two(low), two(high)).into(),
                }),
                mm(geometry.boss),
                candidate.verdict.word().into(),
            ]);
        }
    }
}
