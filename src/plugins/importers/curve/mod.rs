//! Recordings of testing machines with unknown headers: told apart by their first lines, then read in one pass.

mod number;
mod sniff;

use crate::finding::{Finding, Severity};
use crate::series::curve::{at, short};
use crate::series::importer::{Ask, Importer, ImporterCard, Sink, Understood};
use sniff::{Layout, sniff};
use std::io::Read;

/// The importer.
pub struct Curve;

const CARD: ImporterCard = ImporterCard {
    name: "curve",
    takes: "a recording of one pull: columns of load and of travel or time, with units in the header or in options",
    example: "travel (mm),load (N)\n0.00,0.0\n0.01,2.5\n0.02,7.0\n",
};

/// Bytes looked at before the columns are settled.
const HEAD: usize = 64 * 1024;
/// Bytes read at a time: few enough to stay near the processor while they are gone through.
const BLOCK: usize = 1 << 17;
/// A line longer than this is no row of a recording.
const LONGEST_LINE: usize = 1 << 20;
/// Rows named one by one before the rest is counted.
const NAMED: u64 = 3;

impl Importer for Curve {
    fn card(&self) -> &'static ImporterCard {
        &CARD
    }
    fn read(&self, input: &mut dyn Read, ask: &Ask, sink: &mut dyn Sink) -> Result<Understood, Vec<Finding>> {
        let mut reading = CurveReading::new(ask);
        // The front of the buffer holds what is not gone through yet: the beginning of a line.
        let (mut buffer, mut filled) = (vec![0; BLOCK], 0);
        let mut total = 0;
        loop {
            if filled == buffer.len() {
                buffer.resize(2 * filled, 0);
            }
            let n = match input.read(&mut buffer[filled..]) {
                Ok(n) => n,
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(e) => {
                    return Err(vec![reading.error("file-unreadable", format!("cannot be read: {e}"), "check its permissions")]);
                }
            };
            total += n as u64;
            filled += n;
            let ended = n == 0;
            if ended && filled > 0 && buffer[filled - 1] != b'\n' {
                buffer[filled] = b'\n';
                filled += 1;
            }
            if !ended && filled < HEAD && reading.layout.is_none() {
                continue;
            }
            let whole = buffer[..filled].iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
            reading.take(&buffer[..whole], sink).map_err(|f| vec![f])?;
            buffer.copy_within(whole..filled, 0);
            filled -= whole;
            sink.progress(total);
            if filled > LONGEST_LINE {
                return Err(vec![reading.error("line-too-long", "a line of more than a million bytes", "is this a text file?")]);
            }
            if ended {
                return reading.finish();
            }
        }
    }
}

struct CurveReading<'a> {
    ask: &'a Ask,
    layout: Option<Layout>,
    line: u64,
    samples: u64,
    left_out: u64,
    last: f64,
    farthest: f64,
    header_again: Option<u64>,
    findings: Vec<Finding>,
}

impl<'a> CurveReading<'a> {
    fn new(ask: &'a Ask) -> Self {
        CurveReading {
            ask,
            layout: None,
            line: 0,
            samples: 0,
            left_out: 0,
            last: f64::NEG_INFINITY,
            farthest: 0.0,
            header_again: None,
            findings: Vec::new(),
        }
    }
    fn error(&self, rule: &'static str, message: impl Into<String>, help: &str) -> Finding {
        Finding::new(rule, Severity::Error, &self.ask.file, message).at(at(self.line)).help(help)
    }
    /// Takes whole lines.
    fn take(&mut self, lines: &[u8], sink: &mut dyn Sink) -> Result<(), Finding> {
        if lines.contains(&0) {
            let place = lines.iter().position(|b| *b == 0).unwrap_or_default();
            self.line += lines[..=place].iter().filter(|b| **b == b'\n').count() as u64 + 1;
            return Err(self.error("nul-byte", "a NUL byte", "a damaged file, or text in two-byte characters: export as UTF-8"));
        }
        let mut lines = lines;
        if self.layout.is_none() {
            lines = lines.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(lines);
            let head_end = lines.iter().take(HEAD).rposition(|b| *b == b'\n').map_or(lines.len(), |i| i + 1);
            self.layout = Some(sniff(&lines[..head_end], self.ask)?);
        }
        // Taken out for the loop, so that rows can be judged while the layout is read.
        let Some(layout) = self.layout.take() else { return Ok(()) };
        let done = self.rows(lines, &layout, sink);
        self.layout = Some(layout);
        done
    }
    fn rows(&mut self, lines: &[u8], layout: &Layout, sink: &mut dyn Sink) -> Result<(), Finding> {
        let times_load = layout.load.unit.unit().si_from_number(1.0) * if self.ask.reversed { -1.0 } else { 1.0 };
        let times_axis = layout.axis.unit.unit().si_from_number(1.0) * layout.axis_mm;
        // Exact for the plain case of mm and N, so that written digits come through unchanged.
        let plain_axis = layout.axis.unit.symbol() == "mm";
        let mut start = 0;
        while start < lines.len() {
            let SampleRow { length, values } = row(&lines[start..], layout);
            let line = &lines[start..start + length];
            start += length + 1;
            self.line += 1;
            if self.line < layout.first {
                continue;
            }
            match values {
                Some((axis, load)) => {
                    let travel = if plain_axis { axis } else { axis * times_axis };
                    self.sample(travel)?;
                    sink.sample(travel, load * times_load - self.ask.zero, self.line);
                }
                None => self.no_row(line, layout)?,
            }
        }
        Ok(())
    }
    fn sample(&mut self, travel: f64) -> Result<(), Finding> {
        self.samples += 1;
        if let Some(line) = self.header_again.take() {
            let restarted = travel < self.last - 0.05 * self.farthest.abs();
            self.line = if restarted { line } else { self.line };
            if restarted {
                return Err(self.error(
                    "header-repeated",
                    "the header comes again and the travel starts anew: a second recording",
                    "keep one pull in one file",
                ));
            }
            let note = Finding::new(
                "header-repeated",
                Severity::Warning,
                &self.ask.file,
                "the header comes again; the recording goes on behind it",
            );
            self.findings.push(note.at(at(line)).help("nothing was left out but the header"));
        }
        self.last = travel;
        self.farthest = self.farthest.max(travel);
        Ok(())
    }
    /// A line that is no row: blank, comment, header again, or something to be named.
    fn no_row(&mut self, line: &[u8], layout: &Layout) -> Result<(), Finding> {
        let line = sniff::trimmed(line);
        if line.iter().all(u8::is_ascii_whitespace) || line.starts_with(b"#") {
            return Ok(());
        }
        if layout.header.as_deref() == Some(line) {
            self.header_again = Some(self.line);
            return Ok(());
        }
        let other = if layout.mark == b'.' { b',' } else { b'.' };
        let cells = sniff::cells(line, layout.separator);
        if layout.separator != other
            && cells.iter().any(|c| number::read(c, layout.mark).is_none() && number::read(c, other).is_some())
        {
            return Err(sniff::decimal_mixed(self.ask, self.line, layout.mark));
        }
        if cells.len() != layout.cells && cells.iter().all(|c| number::read(c, layout.mark).is_some()) {
            let message = format!("{} numbers where the rows before have {}", cells.len(), layout.cells);
            return Err(self.error("cells-differ", message, "a decimal comma between commas? export with another separator"));
        }
        self.left_out += 1;
        if self.left_out <= NAMED {
            let shown = String::from_utf8_lossy(&line[..line.len().min(40)]).into_owned();
            let note = Finding::new(
                "row-left-out",
                Severity::Warning,
                &self.ask.file,
                format!("no row of numbers, left out: `{shown}`"),
            );
            self.findings.push(note.at(at(self.line)).help("the raw file is kept whole"));
        }
        Ok(())
    }
    fn finish(mut self) -> Result<Understood, Vec<Finding>> {
        let Some(layout) = self.layout.take() else {
            return Err(vec![self.error("samples-none", "the file is empty", "export the samples of the pull")]);
        };
        if self.left_out > NAMED {
            let message = format!("{} rows in all were not rows of numbers and were left out", self.left_out);
            self.findings.push(Finding::new("row-left-out", Severity::Warning, &self.ask.file, message));
        }
        if self.left_out * 20 > self.samples + self.left_out {
            let share = short(100.0 * self.left_out as f64 / (self.samples + self.left_out) as f64);
            self.findings.push(self.error(
                "rows-unreadable",
                format!("{share} % of the rows are not numbers"),
                "see the lines named above",
            ));
            return Err(self.findings);
        }
        Ok(Understood { load_unit: Some(layout.load.unit), facts: layout.facts, findings: self.findings, comments: vec![] })
    }
}

/// The next line of a recording.
struct SampleRow {
    /// Bytes before its end.
    length: usize,
    /// Axis and load; `None` when it is no row of numbers or has another number of cells.
    values: Option<(f64, f64)>,
}

/// The line at the front of `lines`.
#[inline]
fn row(lines: &[u8], layout: &Layout) -> SampleRow {
    plain_row(lines, layout).unwrap_or_else(|| any_row(lines, layout))
}

/// The same where axis and load are plain numbers, as they nearly always are: gone through once.
#[inline]
fn plain_row(lines: &[u8], layout: &Layout) -> Option<SampleRow> {
    (layout.separator != b' ').then_some(())?;
    let (mut axis, mut load, mut at) = (0.0, 0.0, 0);
    for place in 0..layout.cells {
        if place == layout.axis.place || place == layout.load.place {
            let (value, length) = number::plain(&lines[at..], layout.mark)?;
            if place == layout.axis.place {
                axis = value;
            } else {
                load = value;
            }
            at += length;
        } else {
            // Times of day and notes need not be numbers.
            at += lines[at..].iter().take_while(|b| **b != layout.separator && **b != b'\n' && **b != b'\r').count();
        }
        let is_last = place + 1 == layout.cells;
        if is_last && lines.get(at) == Some(&b'\r') {
            at += 1;
        }
        (*lines.get(at)? == if is_last { b'\n' } else { layout.separator }).then_some(())?;
        at += 1;
    }
    Some(SampleRow { length: at - 1, values: Some((axis, load)) })
}

/// The same for whatever may stand there.
fn any_row(lines: &[u8], layout: &Layout) -> SampleRow {
    if layout.separator == b' ' {
        let length = lines.iter().position(|b| *b == b'\n').unwrap_or(lines.len());
        let cells = sniff::cells(&lines[..length], b' ');
        let get = |place: usize| number::read(cells.get(place)?, layout.mark);
        let values = || Some((get(layout.axis.place)?, get(layout.load.place)?));
        return SampleRow { length, values: (cells.len() == layout.cells).then(values).flatten() };
    }
    let (mut axis, mut load, mut place, mut start, mut length) = (None, None, 0, 0, lines.len());
    let mut cell = |bytes: &[u8]| {
        if place == layout.axis.place {
            axis = number::read(bytes, layout.mark);
        } else if place == layout.load.place {
            load = number::read(bytes, layout.mark);
        }
        place += 1;
    };
    for (at, byte) in lines.iter().enumerate() {
        let is_end = *byte == b'\n';
        if is_end || *byte == layout.separator {
            cell(&lines[start..at]);
            start = at + 1;
            if is_end {
                length = at;
                break;
            }
        }
    }
    if length == lines.len() {
        cell(&lines[start..]);
    }
    let values = if place == layout.cells { axis.zip(load) } else { None };
    SampleRow { length, values }
}

#[cfg(test)]
mod tests;
