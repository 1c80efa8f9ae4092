//! Small tables typed by people: delimiter found, quotes by RFC 4180, rows with their line.

use crate::finding::{Finding, Severity};
use crate::series::curve::at;
use crate::series::importer::{Ask, RowIn, Sink, Understood};
use std::io::Read;

/// A table of specimens is small; anything larger is a curve.
const LIMIT: u64 = 4 * 1024 * 1024;

fn error(rule: &'static str, ask: &Ask, line: u64, message: impl Into<String>, help: &str) -> Vec<Finding> {
    vec![Finding::new(rule, Severity::Error, &ask.file, message).at(at(line)).help(help)]
}

/// Reads a table whose header holds every heading of `needed`.
pub fn read(input: &mut dyn Read, ask: &Ask, sink: &mut dyn Sink, needed: &[&str]) -> Result<Understood, Vec<Finding>> {
    let mut bytes = Vec::new();
    let taken = input.take(LIMIT + 1).read_to_end(&mut bytes);
    taken
        .map_err(|e| error("file-unreadable", ask, 1, format!("cannot be read: {e}"), "check that it exists and may be read"))?;
    if bytes.len() as u64 > LIMIT {
        return Err(error(
            "file-too-large",
            ask,
            1,
            "this is not a table of specimens: it is larger than 4 MiB",
            "import curves with `import curve`",
        ));
    }
    if let Some(place) = bytes.iter().position(|b| *b == 0) {
        let line = 1 + bytes[..place].iter().filter(|b| **b == b'\n').count() as u64;
        return Err(error("nul-byte", ask, line, "a NUL byte", "save the table as plain text"));
    }
    let text = std::str::from_utf8(&bytes)
        .map_err(|_| error("encoding-unknown", ask, 1, "the file is not UTF-8", "save it as CSV in UTF-8"))?;
    let text = text.trim_start_matches('\u{FEFF}');
    let delimiter = delimiter(text);
    let rows = rows(text, delimiter).map_err(|line| error("quote-open", ask, line, "a quote is never closed", "close it"))?;
    let comment = |cells: &[String]| cells.first().is_some_and(|c| c.trim().starts_with('#'));
    // A comment with a delimiter in it was taken apart like a row.
    let whole = |cells: &[String]| cells.join(&delimiter.to_string()).trim().trim_start_matches('#').trim().to_owned();
    let comments = rows.iter().filter(|(_, cells)| comment(cells)).map(|(_, cells)| whole(cells)).collect();
    let mut rows = rows.into_iter().filter(|(_, cells)| !comment(cells) && cells.iter().any(|c| !c.trim().is_empty()));
    let Some((line, header)) = rows.next() else {
        return Err(error("table-empty", ask, 1, "the table is empty", "give it a header and a row for each specimen"));
    };
    let header: Vec<String> = header.iter().map(|h| heading(h)).collect();
    if let Some(missing) = needed.iter().find(|n| !header.iter().any(|h| h == **n)) {
        let message = format!("no column `{missing}`; the columns are {}", header.join(", "));
        return Err(error("column-missing", ask, line, message, "name the columns in the first row"));
    }
    let mut faults = Vec::new();
    for (line, cells) in rows {
        if cells.len() != header.len() {
            let message = format!("{} cells where the header has {}", cells.len(), header.len());
            let help = "a decimal comma in a table with commas? write a point, or quote the cell";
            faults.extend(error("cells-differ", ask, line, message, help));
            continue;
        }
        sink.row(RowIn { line, cells: header.iter().cloned().zip(cells.iter().map(|c| unguarded(c))).collect() });
    }
    if faults.is_empty() {
        let name = if delimiter == '\t' { "tab".to_owned() } else { format!("`{delimiter}`") };
        Ok(Understood {
            load_unit: None,
            facts: vec![format!("columns {}, separated by {name}", header.join(", "))],
            findings: vec![],
            comments,
        })
    } else {
        Err(faults)
    }
}

/// The quote mark that our own tables put before cells a spreadsheet would run.
fn unguarded(cell: &str) -> String {
    let risky = cell
        .strip_prefix('\'')
        .filter(|rest| rest.trim_start_matches(' ').starts_with(['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠']));
    risky.unwrap_or(cell).to_owned()
}

/// Lower case, words joined by `_`.
pub fn heading(text: &str) -> String {
    let lower = text.trim().to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect::<Vec<_>>().join("_")
}

fn delimiter(text: &str) -> char {
    let head = text.lines().find(|l| !l.trim().is_empty() && !l.trim_start().starts_with('#')).unwrap_or("");
    ['\t', ';', ','].into_iter().max_by_key(|d| (head.matches(*d).count(), *d != ',')).unwrap_or(',')
}

/// Rows with the line they start on; the line of an open quote otherwise.
fn rows(text: &str, delimiter: char) -> Result<Vec<(u64, Vec<String>)>, u64> {
    let mut rows = Vec::new();
    let (mut cells, mut cell) = (Vec::new(), String::new());
    let (mut line, mut start, mut quote_line) = (1, 1, None);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quote_line.is_some() => {
                if chars.peek() == Some(&'"') {
                    chars.next();
                    cell.push('"');
                } else {
                    quote_line = None;
                }
            }
            '"' if cell.trim().is_empty() => {
                cell.clear();
                quote_line = Some(line);
            }
            '\n' => {
                line += 1;
                if quote_line.is_some() {
                    cell.push('\n');
                } else {
                    cells.push(std::mem::take(&mut cell));
                    rows.push((start, std::mem::take(&mut cells)));
                    start = line;
                }
            }
            '\r' if quote_line.is_none() => {}
            c if c == delimiter && quote_line.is_none() => cells.push(std::mem::take(&mut cell)),
            c => cell.push(c),
        }
    }
    if let Some(line) = quote_line {
        return Err(line);
    }
    if !cell.is_empty() || !cells.is_empty() {
        cells.push(cell);
        rows.push((start, cells));
    }
    Ok(rows)
}
