//! `gripbook thread`: sizes, limits, holes and shear areas of one thread.

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::{CommandOutcome, Context, Fault, Shared, headings};
use gripbook::mechanics::thread::sheet::{Engaged, LimitSizes, ShearAreas, SizeBand};
use gripbook::mechanics::thread::{Thread, ThreadFault, ThreadQuestion, ThreadSheet, ValueStatus, all, parse, sheet};
use gripbook::present::{Answer, Page, Table, table::Cell};
use gripbook::quantity::print::fixed;
use gripbook::quantity::{self, Amount, Measure, Quantity};
use serde_json::{Value, json};
use uom::si::f64::Length;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "thread",
    about: "Sizes, limits, holes and shear areas of a screw thread",
    group: HelpGroup::Joints,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `thread`.
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "\
Examples:
  gripbook thread M3
  gripbook thread M3 --engaged 5.7mm --offset 0.05mm
  gripbook thread M3x0.35 --engaged 6mm --hole 2.7mm
  gripbook thread '#4-40' --engaged 0.25in")]
#[command(next_help_heading = headings::ASKED)]
pub struct ThreadArgs {
    /// The thread: M3, M3x0.35, #4-40, 1/4-20, G1/8; without one, all threads are listed
    thread: Option<String>,
    /// Engaged length: gives the shear areas
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    engaged: Option<String>,
    /// Radial growth of a printed internal thread (half of what the diameter grows)
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    offset: Option<String>,
    /// Diameter of the finished hole, instead of the thread's own
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    hole: Option<String>,
}

/// Runs the command.
pub fn run(args: &ThreadArgs, _: &Shared, _: &Context) -> Result<CommandOutcome, Fault> {
    let Some(name) = &args.thread else {
        return Ok(CommandOutcome { answer: Box::new(ThreadList), exit: 0 });
    };
    let wrong = |f: ThreadFault| Fault::usage(f.message()).help(f.help());
    let thread = parse(name).map_err(wrong)?;
    let asked = ThreadQuestion {
        engaged: length("--engaged", args.engaged.as_deref())?,
        offset: length("--offset", args.offset.as_deref())?,
        hole: length("--hole", args.hole.as_deref())?,
    };
    let sheet = sheet(&thread, asked).map_err(wrong)?;
    Ok(CommandOutcome { answer: Box::new(ThreadAnswer(sheet)), exit: 0 })
}

fn length(option: &str, text: Option<&str>) -> Result<Option<Length>, Fault> {
    let Some(text) = text else { return Ok(None) };
    let written = quantity::parse_typed(text, Quantity::Length)
        .map_err(|fault| Fault::usage(format!("{option}: {}", fault.message())).help(fault.help()))?;
    Ok(Some(Length::from_si(written.si)))
}

struct ThreadAnswer(ThreadSheet);

/// Five significant digits: a tenth of a micrometre on a small screw.
fn size(amount: Amount) -> String {
    amount.trimmed(5)
}

/// Limits have as many decimals as their tables: a micrometre, or a tenth of a thousandth of an inch.
fn band(b: SizeBand) -> String {
    let unit = b.max.unit.symbol();
    let limit = |a: Amount| fixed(a.value(), if unit == "in" { 4 } else { 3 });
    format!("{} to {} {unit}", limit(b.min), limit(b.max))
}

fn known(known: ValueStatus) -> &'static str {
    match known {
        ValueStatus::Read => "read in a public table",
        ValueStatus::Computed => "computed by the formulas of the standard",
        ValueStatus::Recalled => "recalled, not read",
    }
}

fn areas(a: ShearAreas) -> String {
    format!("internal thread {}, external thread {}", a.internal.text(4), a.external.text(4))
}

impl Answer for ThreadAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/thread/1"
    }
    fn json(&self) -> Value {
        serde_json::to_value(&self.0).unwrap_or(Value::Null)
    }
    fn page(&self) -> Page {
        let s = &self.0;
        let per_inch = s.threads_per_inch.map_or(String::new(), |n| format!(" ({} threads per inch)", n.text(2)));
        let mut page = Page::titled(format!("{}: pitch {}{per_inch}", s.thread, s.pitch.trimmed(4)));
        page.heading("Basic sizes");
        page.field("Major diameter", size(s.basic.major_diameter))
            .field("Pitch diameter", size(s.basic.pitch_diameter))
            .field("Minor diameter, internal", size(s.basic.minor_diameter))
            .field("Root diameter, external", size(s.basic.root_diameter))
            .field("Stress area", s.stress_area.map_or("none: a pipe thread seals, it does not clamp".into(), |a| a.text(4)));
        limits(&mut page, s.limits.as_ref(), s.limits_missing);
        holes(&mut page, s);
        if let Some(e) = &s.engaged {
            engaged(&mut page, e);
        }
        asked(&mut page, s);
        if !s.cautions.is_empty() {
            page.heading("Cautions");
            for caution in &s.cautions {
                page.item(caution);
            }
        }
        page.heading("Sources");
        for source in &s.sources {
            page.item(*source);
        }
        page
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["quantity", "value", "unit", "si"]);
        rows(&self.json(), "", &mut table);
        Some(table)
    }
}

/// Every quantity of the document as one row, named by its path.
fn rows(value: &Value, path: &str, table: &mut Table) {
    let Value::Object(fields) = value else { return };
    if let (Some(v), Some(unit), Some(si)) = (fields.get("value"), fields.get("unit"), fields.get("si")) {
        let number = |v: &Value| v.as_f64().map(Cell::Number).unwrap_or(Cell::Empty);
        table.row(vec![path.into(), number(v), unit.as_str().unwrap_or("").into(), number(si)]);
        return;
    }
    for (name, inner) in fields {
        let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
        rows(inner, &path, table);
    }
}

fn limits(page: &mut Page, limits: Option<&LimitSizes>, missing: Option<&'static str>) {
    page.heading("Limits");
    if let Some(l) = limits {
        let status = match l.external_known == l.internal_known {
            true => format!("both {}", known(l.external_known)),
            false => format!("external {}; internal {}", known(l.external_known), known(l.internal_known)),
        };
        page.field(format!("External {}, major diameter", l.external_class), band(l.external_major))
            .field("External, pitch diameter", band(l.external_pitch_diameter))
            .field(format!("Internal {}, minor diameter", l.internal_class), band(l.internal_minor))
            .field("Internal, pitch diameter", band(l.internal_pitch_diameter))
            .field("Status", status);
    }
    if let Some(missing) = missing {
        page.line(missing);
    }
}

fn holes(page: &mut Page, s: &ThreadSheet) {
    let h = &s.holes;
    page.heading("Holes");
    page.field("Tap drill", format!("{} ({})", h.tap_drill.trimmed(4), known(h.tap_drill_known)));
    if let Some(wide) = h.tap_drill_wide {
        page.field("Wider, less thread", wide.trimmed(4));
    }
    page.field("Diameter less pitch", h.tap_drill_by_rule.trimmed(4));
    match (h.clearance_close, h.clearance_medium, h.clearance_coarse) {
        (Some(close), Some(medium), Some(coarse)) => {
            page.field(
                "Clearance",
                format!("close {}, medium {}, coarse {}", close.trimmed(3), medium.trimmed(3), coarse.trimmed(3)),
            );
        }
        _ => {
            page.field("Clearance", "no sizes are stored");
        }
    }
}

fn engaged(page: &mut Page, e: &Engaged) {
    page.heading(format!("Shear areas over {} engaged ({} diameters)", e.length.trimmed(4), e.over_diameter.trimmed(3)));
    page.field("Basic sizes", areas(e.basic));
    if let Some(m) = &e.mid_zone {
        page.field("Middle of limits, cut", areas(m.cut));
        page.field("Middle of limits, formed", format!("internal thread {}", m.formed.text(4)));
        if let Some(printed) = m.printed {
            page.field("Middle of limits, printed", format!("internal thread {}", printed.text(4)));
        }
    }
    if let Some(worst) = e.worst {
        page.field("Worst limits", areas(worst));
    }
}

fn asked(page: &mut Page, s: &ThreadSheet) {
    if let Some(p) = &s.printed {
        page.heading(format!("Printed, with a radial offset of {}", p.offset.trimmed(3)));
        page.field("Radial overlap", p.overlap.text(3));
        if let Some(a) = p.areas {
            page.field("Shear areas", areas(a));
        }
    }
    if let Some(h) = &s.in_hole {
        page.heading(format!("In a hole of Ø {}", h.diameter.trimmed(4)));
        page.field("Thread height", h.height_share.text(3)).field("Radial overlap", h.overlap.text(3));
        if let Some(a) = h.areas {
            page.field("Shear areas", areas(a));
        }
        if let Some(bearing) = h.bearing {
            page.field("Bearing area of the flanks", bearing.text(4));
        }
    }
}

/// All threads.
struct ThreadList;

fn list_row(t: &Thread) -> Value {
    json!({
        "thread": t.designation(), "system": t.system, "series": t.series,
        "major_diameter": t.amount(t.major()), "pitch": t.amount(t.pitch()), "limits": t.limits().is_some(),
    })
}

impl Answer for ThreadList {
    fn schema(&self) -> &'static str {
        "gripbook/threads/1"
    }
    fn json(&self) -> Value {
        json!({ "threads": all().iter().map(list_row).collect::<Vec<_>>() })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{} threads", all().len()));
        page.blank();
        if let Some(table) = self.table() {
            page.table(table);
        }
        page
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["thread", "series", "major", "pitch", "limits"]);
        for t in all() {
            let series = serde_json::to_value(t.series).ok();
            table.row(vec![
                t.designation().into(),
                series.as_ref().and_then(Value::as_str).unwrap_or("").into(),
                t.amount(t.major()).trimmed(4).into(),
                t.amount(t.pitch()).trimmed(3).into(),
                if t.limits().is_some() { "yes" } else { "none" }.into(),
            ]);
        }
        Some(table)
    }
}
