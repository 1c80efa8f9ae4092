//! What the first lines of a recording say: separator, decimal mark, columns and their units.

use super::number;
use crate::finding::{Finding, Severity};
use crate::quantity::{Quantity, UnitId};
use crate::series::curve::at;
use crate::series::importer::{Ask, ColumnAsk};

/// How the file is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Separator; a space stands for any run of spaces.
    pub separator: u8,
    /// Decimal mark.
    pub mark: u8,
    /// Cells in a row.
    pub cells: usize,
    /// Header line as it stands in the file, to know it again.
    pub header: Option<Vec<u8>>,
    /// Line of the first sample.
    pub first: u64,
    /// Place of the load, and newtons in one of its units.
    pub load: Column,
    /// Place of travel or time.
    pub axis: Column,
    /// Millimetres for one of the axis' SI units: 1000 for metres, the speed in mm/s for seconds.
    pub axis_mm: f64,
    /// In words.
    pub facts: Vec<String>,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Place from 0.
    pub place: usize,
    /// Its unit.
    pub unit: UnitId,
}

const LOAD: &[&str] = &["load", "force", "kraft", "last", "fz"];
const TRAVEL: &[&str] = &[
    "travel",
    "displacement",
    "extension",
    "position",
    "stroke",
    "crosshead",
    "disp",
    "weg",
    "deflection",
    "deformation",
    "elongation",
];
const TIME: &[&str] = &["time", "zeit", "elapsed", "seconds"];

struct Lines<'a> {
    list: Vec<&'a [u8]>,
}

/// Splits a line into cells.
pub fn cells(line: &[u8], separator: u8) -> Vec<&[u8]> {
    if separator == b' ' {
        line.split(|b| *b == b' ' || *b == b'\r').filter(|c| !c.is_empty()).collect()
    } else {
        line.split(|b| *b == separator).collect()
    }
}

fn error(rule: &'static str, ask: &Ask, line: usize, message: impl Into<String>, help: &str) -> Finding {
    Finding::new(rule, Severity::Error, &ask.file, message).at(at(line as u64)).help(help)
}

/// Looks at the head of a file (whole lines).
///
/// # Errors
/// A finding when rows of numbers, columns or units cannot be told.
pub fn sniff(head: &[u8], ask: &Ask) -> Result<Layout, Finding> {
    let lines = Lines { list: head.split(|b| *b == b'\n').collect() };
    let Some((separator, mark)) = writing(&lines) else {
        return Err(error("samples-none", ask, 1, "no rows of two numbers or more", "is this the export of the samples?"));
    };
    let numeric = |line: &[u8]| {
        let c = cells(line, separator);
        c.len() >= 2 && c.iter().filter(|x| number::read(x, mark).is_some()).count() >= 2
    };
    let first = lines.list.iter().position(|l| numeric(l)).unwrap_or(0);
    let count = cells(lines.list[first], separator).len();
    mixed(&lines, first, separator, mark, ask)?;
    let header = (0..first).rev().find(|i| {
        let words = cells(lines.list[*i], separator);
        words.len() == count && words.iter().any(|w| is_word(w)) && !lines.list[*i].starts_with(b"#")
    });
    let names: Vec<String> = match header {
        // A row of units may stand between the names and the numbers.
        Some(i) => {
            let lower = i
                .checked_sub(1)
                .map(|j| cells(lines.list[j], separator))
                .filter(|c| c.len() == count && units_row(&lines, i, separator));
            let own = cells(lines.list[i], separator);
            (0..count)
                .map(|k| match &lower {
                    Some(upper) => format!("{} {}", text(upper[k]), text(own[k])),
                    None => text(own[k]),
                })
                .collect()
        }
        None => vec![String::new(); count],
    };
    let header_line = header.map(|i| trimmed(lines.list[i]).to_vec());
    columns(&names, header.map_or(first, |i| i) + 1, ask).map(|mut layout| {
        layout.separator = separator;
        layout.mark = mark;
        layout.cells = count;
        layout.header = header_line;
        layout.first = first as u64 + 1;
        let between = match separator {
            b'\t' => "tabs".to_owned(),
            b' ' => "spaces".to_owned(),
            s => format!("`{}`", char::from(s)),
        };
        layout.facts.push(format!(
            "cells between {between}, decimal mark `{}`, samples from line {}",
            char::from(mark),
            first + 1
        ));
        layout
    })
}

fn units_row(lines: &Lines<'_>, i: usize, separator: u8) -> bool {
    let row = cells(lines.list[i], separator);
    row.iter().all(|c| unit_in(&text(c), None).is_some() || text(c).is_empty())
}

fn text(cell: &[u8]) -> String {
    String::from_utf8_lossy(cell).trim_matches(|c: char| c.is_whitespace() || c == '"').to_owned()
}

fn is_word(cell: &[u8]) -> bool {
    cell.iter().any(u8::is_ascii_alphabetic)
}

/// A line without its end.
pub fn trimmed(line: &[u8]) -> &[u8] {
    line.strip_suffix(b"\r").unwrap_or(line)
}

/// The writing that makes most lines rows of equally many numbers.
fn writing(lines: &Lines<'_>) -> Option<(u8, u8)> {
    let all = [(b'\t', b'.'), (b'\t', b','), (b';', b'.'), (b';', b','), (b',', b'.'), (b' ', b'.'), (b' ', b',')];
    let score = |&(separator, mark): &(u8, u8)| {
        let numeric = |l: &&[u8]| {
            let c = cells(trimmed(l), separator);
            c.len() >= 2 && c.iter().filter(|x| number::read(x, mark).is_some()).count() >= 2
        };
        lines.list.iter().copied().filter(|l| numeric(l)).count()
    };
    let mut best: Option<((u8, u8), usize)> = None;
    for candidate in all {
        let s = score(&candidate);
        if s > best.map_or(0, |b| b.1) {
            best = Some((candidate, s));
        }
    }
    best.map(|b| b.0)
}

/// Two decimal marks in one file: which rows are wrong cannot be known.
fn mixed(lines: &Lines<'_>, first: usize, separator: u8, mark: u8, ask: &Ask) -> Result<(), Finding> {
    let other = if mark == b'.' { b',' } else { b'.' };
    if separator == other {
        return Ok(());
    }
    for (i, line) in lines.list.iter().enumerate().skip(first) {
        let bad = |c: &&[u8]| number::read(c, mark).is_none() && number::read(c, other).is_some();
        if cells(trimmed(line), separator).iter().any(bad) {
            return Err(decimal_mixed(ask, i as u64 + 1, mark));
        }
    }
    Ok(())
}

/// The finding on a number with the other decimal mark.
pub fn decimal_mixed(ask: &Ask, line: u64, mark: u8) -> Finding {
    let message = format!("a number with another decimal mark than `{}`", char::from(mark));
    error(
        "decimal-mark-mixed",
        ask,
        line as usize,
        message,
        "export again with one decimal mark; thousands marks count as one too",
    )
}

fn columns(names: &[String], line: usize, ask: &Ask) -> Result<Layout, Finding> {
    let load_place = place(names, ask.load_column.as_ref(), LOAD, "load", line, ask)?;
    let load_unit = load_unit(&names[load_place], line, ask)?;
    let travel = match (&ask.travel_column, &ask.time_column) {
        (Some(asked), _) => Some(place(names, Some(asked), TRAVEL, "travel", line, ask)?),
        (None, Some(_)) => None,
        (None, None) => place(names, None, TRAVEL, "travel", line, ask).ok(),
    };
    let (axis, axis_mm, what) = match travel {
        Some(place) => {
            let unit = ask.travel_unit.or_else(|| unit_in(&names[place], Some(Quantity::Length))).ok_or_else(|| {
                let message = format!("the travel column `{}` has no unit of length", names[place]);
                error("column-unit-missing", ask, line, message, "give --travel-unit mm")
            })?;
            (Column { place, unit }, 1e3, "travel")
        }
        None => time_axis(names, line, ask)?,
    };
    if axis.place == load_place {
        return Err(error(
            "column-twice",
            ask,
            line,
            "load and travel are the same column",
            "give --load-column and --travel-column",
        ));
    }
    let shown =
        |place: usize| if names[place].is_empty() { format!("column {}", place + 1) } else { format!("`{}`", names[place]) };
    let facts = vec![
        format!("load from {} in {}", shown(load_place), load_unit.symbol()),
        format!("{what} from {} in {}", shown(axis.place), axis.unit.symbol()),
    ];
    Ok(Layout {
        separator: b',',
        mark: b'.',
        cells: names.len(),
        header: None,
        first: 1,
        load: Column { place: load_place, unit: load_unit },
        axis,
        axis_mm,
        facts,
    })
}

fn time_axis(names: &[String], line: usize, ask: &Ask) -> Result<(Column, f64, &'static str), Finding> {
    let Ok(place) = place(names, ask.time_column.as_ref(), TIME, "time", line, ask) else {
        let message = format!("no column of travel or time among {}", listed(names));
        return Err(error("column-missing", ask, line, message, "give --travel-column 1 --travel-unit mm"));
    };
    let unit =
        unit_in(&names[place], Some(Quantity::Duration)).or(Quantity::Duration.unit("s").filter(|_| ask.time_column.is_some()));
    let unit = unit.ok_or_else(|| {
        let message = format!("the time column `{}` has no unit", names[place]);
        error("column-unit-missing", ask, line, message, "write the unit in the header: time (s)")
    })?;
    let speed = ask.speed.ok_or_else(|| {
        error("speed-missing", ask, line, "a time axis needs the speed of the crosshead", "give --speed '6 mm/min'")
    })?;
    Ok((Column { place, unit }, speed, "time, turned into travel by the speed,"))
}

fn listed(names: &[String]) -> String {
    if names.iter().all(String::is_empty) { "columns without a header".into() } else { names.join(", ") }
}

fn place(
    names: &[String],
    asked: Option<&ColumnAsk>,
    words: &[&str],
    what: &str,
    line: usize,
    ask: &Ask,
) -> Result<usize, Finding> {
    let help = format!("name it: --{what}-column NAME or its number");
    let found: Vec<usize> = match asked {
        Some(ColumnAsk::Number(n)) => (1..=names.len()).filter(|i| i == n).map(|i| i - 1).collect(),
        Some(ColumnAsk::Name(name)) => (0..names.len()).filter(|&i| names[i].eq_ignore_ascii_case(name)).collect(),
        None => (0..names.len()).filter(|&i| words.iter().any(|w| has_word(&names[i], w))).collect(),
    };
    match found[..] {
        [one] => Ok(one),
        [] => Err(error("column-missing", ask, line, format!("no {what} column among {}", listed(names)), &help)),
        _ => Err(error("column-ambiguous", ask, line, format!("more than one {what} column among {}", listed(names)), &help)),
    }
}

fn has_word(name: &str, word: &str) -> bool {
    name.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|w| w == word)
}

/// The unit named in a heading: in brackets, or as its last word.
fn unit_in(name: &str, quantity: Option<Quantity>) -> Option<UnitId> {
    let inside = name.rfind(['(', '[']).map(|i| name[i + 1..].trim_end_matches([')', ']', ' ']));
    let last = name.rsplit([' ', '_', '/', ',']).next();
    let all = [Quantity::Force, Quantity::Length, Quantity::Duration];
    let of = |symbol: &str| match quantity {
        Some(q) => q.unit(symbol),
        None => all.iter().find_map(|q| q.unit(symbol)),
    };
    [inside, last].into_iter().flatten().find_map(|s| of(s.trim()))
}

fn load_unit(name: &str, line: usize, ask: &Ask) -> Result<UnitId, Finding> {
    if let Some(unit) = ask.load_unit {
        return Ok(unit);
    }
    if let Some(unit) = unit_in(name, Some(Quantity::Force)) {
        return Ok(unit);
    }
    let mass = Quantity::Mass.units().iter().any(|u| has_word_exact(name, u.symbol));
    if mass {
        let message = format!("the load column `{name}` is in a unit of mass");
        return Err(error("load-in-mass", ask, line, message, "if the machine means kilogram-force, give --load-unit kgf"));
    }
    let message = format!("the load column `{name}` has no unit of force");
    Err(error("column-unit-missing", ask, line, message, "give --load-unit N"))
}

fn has_word_exact(name: &str, word: &str) -> bool {
    name.split(|c: char| !c.is_alphanumeric()).any(|w| w == word)
}
