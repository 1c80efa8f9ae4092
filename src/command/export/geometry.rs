//! Geometry: shapes of inserts, sizes of nuts, basic sizes and limits of threads, one dimension a row.

use gripbook::book::{Basis, Record, Value};
use gripbook::mechanics::thread::{Thread, ThreadQuestion, ValueStatus, all, sheet};
use gripbook::present::{Table, table::Cell};
use gripbook::quantity::Written;

/// Columns of dimensions.
const COLUMNS: [&str; 11] =
    ["id", "name", "thread", "part", "dimension", "written", "unit", "value_si", "basis", "source", "locator"];

/// What a row says of its thing.
struct Of<'a> {
    id: &'a str,
    name: &'a str,
    thread: &'a str,
    basis: &'a str,
    source: &'a str,
    locator: &'a str,
}

impl Of<'_> {
    fn row(&self, table: &mut Table, part: &str, dimension: &str, size: &Written) {
        let words = [self.id, self.name, self.thread, part, dimension, &size.text, size.unit.symbol()];
        let mut row: Vec<Cell> = words.into_iter().map(Cell::from).collect();
        row.push(Cell::Number(size.si));
        row.extend([self.basis, self.source, self.locator].into_iter().map(Cell::from));
        table.row(row);
    }
}

/// Inserts and nuts among the records, then all threads when every record was asked for.
pub(super) fn table(records: &[&Record], threads: bool) -> Table {
    let mut table = Table::new(&COLUMNS);
    for record in records {
        match record.id.kind() {
            "insert" => insert(&mut table, record),
            "nut" => nut(&mut table, record),
            _ => {}
        }
    }
    for thread in all().iter().filter(|_| threads) {
        of_thread(&mut table, thread);
    }
    table
}

fn insert(table: &mut Table, record: &Record) {
    let (Some(says), common) = (record.insert(), record.common()) else { return };
    let of = Of {
        id: record.id.as_str(),
        name: &record.name,
        thread: common.thread.as_deref().unwrap_or_default(),
        basis: common.basis.map_or("", Basis::word),
        source: common.source.as_deref().unwrap_or_default(),
        locator: common.locator.as_deref().unwrap_or_default(),
    };
    for (field, size) in [("length", &says.length), ("thread_length", &says.thread_length)] {
        size.iter().for_each(|size| of.row(table, "whole", field, size));
    }
    for (place, step) in says.steps.iter().enumerate() {
        let part = format!("step {}, {}", place + 1, step.form.as_deref().unwrap_or_default());
        step.sizes().for_each(|(field, size)| of.row(table, &part, field, size));
    }
}

fn nut(table: &mut Table, record: &Record) {
    for property in &record.properties {
        for claim in property.claims.iter().filter(|c| c.in_use()) {
            let of = Of {
                id: record.id.as_str(),
                name: &record.name,
                thread: record.common().thread.as_deref().unwrap_or_default(),
                basis: claim.basis.word(),
                source: claim.source.as_deref().unwrap_or_default(),
                locator: claim.locator.as_deref().unwrap_or_default(),
            };
            let ends = match &claim.value {
                Value::One(size) => vec![("nominal", size)],
                Value::Between { low, high } => {
                    [("least", low), ("most", high)].into_iter().filter_map(|(part, end)| Some((part, end.as_ref()?))).collect()
                }
                _ => Vec::new(),
            };
            ends.into_iter().for_each(|(part, size)| of.row(table, part, &property.word, size));
        }
    }
}

fn of_thread(table: &mut Table, thread: &Thread) {
    let Ok(sheet) = sheet(thread, ThreadQuestion::default()) else { return };
    let known = |known: ValueStatus| match known {
        ValueStatus::Read => "read in a public table",
        ValueStatus::Computed => "computed by the formulas of the standard",
        ValueStatus::Recalled => "recalled",
    };
    let mut row = |part: &str, dimension: &str, amount: gripbook::quantity::Amount, basis: &str, source: &str| {
        let mut cells: Vec<Cell> = ["", "", &sheet.thread, part, dimension].into_iter().map(Cell::from).collect();
        cells.extend([amount.value().to_string().as_str(), amount.unit.symbol()].into_iter().map(Cell::from));
        cells.push(Cell::Number(amount.si));
        cells.extend([basis, source, ""].into_iter().map(Cell::from));
        table.row(cells);
    };
    let basic = sheet.sources.first().copied().unwrap_or_default();
    for (dimension, amount) in [
        ("pitch", sheet.pitch),
        ("major_diameter", sheet.basic.major_diameter),
        ("pitch_diameter", sheet.basic.pitch_diameter),
        ("minor_diameter", sheet.basic.minor_diameter),
        ("root_diameter", sheet.basic.root_diameter),
    ] {
        row("basic", dimension, amount, "computed from diameter and pitch", basic);
    }
    let Some(l) = &sheet.limits else { return };
    for (part, dimension, band, how) in [
        ("screw", "major_diameter", l.external_major, l.external_known),
        ("screw", "pitch_diameter", l.external_pitch_diameter, l.external_known),
        ("hole", "minor_diameter", l.internal_minor, l.internal_known),
        ("hole", "pitch_diameter", l.internal_pitch_diameter, l.internal_known),
    ] {
        let class = if part == "screw" { l.external_class } else { l.internal_class };
        row(&format!("{part} {class}, minimum"), dimension, band.min, known(how), l.source);
        row(&format!("{part} {class}, maximum"), dimension, band.max, known(how), l.source);
    }
}
