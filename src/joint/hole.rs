//! Three sizes of a hole: finished, drawn, checked.

use super::geometry::{Check, Drawn, HoleStep, Section, Size};
use super::need::Need;
use crate::book::Record;
use crate::book::view::HoleOffset;
use crate::quantity::{Amount, Measure, Quantity};
use uom::si::f64::Length;

/// How a hole comes to its size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// Printed to size.
    Printed,
    /// Drilled or tapped.
    Cut,
}

/// Measured minus drawn diameter at a drawn diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffsetRow {
    /// Drawn diameter, m.
    pub drawn: f64,
    /// Measured minus drawn, m.
    pub offset: f64,
    /// Standard deviation between holes, m.
    pub sd: Option<f64>,
}

/// The ladder of a process, by drawn diameter.
pub fn ladder(process: &Record) -> Vec<OffsetRow> {
    let rows = process.process().map_or(&[][..], |p| &p.hole_offset);
    let row = |r: &HoleOffset| {
        let (drawn, offset) = (r.diameter.as_ref()?.si, r.offset.as_ref()?.si);
        Some(OffsetRow { drawn, offset, sd: r.sd.as_ref().map(|sd| sd.si) })
    };
    let mut ladder: Vec<OffsetRow> = rows.iter().filter_map(row).collect();
    ladder.sort_by(|a, b| a.drawn.total_cmp(&b.drawn));
    ladder
}

/// How far outside its rungs a ladder is still asked, as a factor on the diameter.
const BEYOND: f64 = 1.25;

fn at(ladder: &[OffsetRow], drawn: f64) -> Option<OffsetRow> {
    let (first, last) = (ladder.first()?, ladder.last()?);
    if drawn < first.drawn / BEYOND || drawn > last.drawn * BEYOND {
        return None;
    }
    let after = ladder.iter().position(|r| r.drawn >= drawn);
    match after {
        Some(0) => Some(OffsetRow { drawn, ..*first }),
        None => Some(OffsetRow { drawn, ..*last }),
        Some(i) => {
            let (a, b) = (&ladder[i - 1], &ladder[i]);
            let share = (drawn - a.drawn) / (b.drawn - a.drawn);
            let sd = a.sd.zip(b.sd).map(|(x, y)| x + (y - x) * share).or(a.sd).or(b.sd);
            Some(OffsetRow { drawn, offset: a.offset + (b.offset - a.offset) * share, sd })
        }
    }
}

/// The diameter to draw so that the hole comes out at its finished size.
fn drawn(need: &Need<'_>, finished: f64) -> Drawn {
    let Some(process) = need.process else { return Drawn::Unknown("print the hole ladder first".into()) };
    let ladder = ladder(process);
    let mut guess = finished;
    for _ in 0..8 {
        let Some(row) = at(&ladder, guess) else {
            let text = Amount::new(Quantity::Length, finished).text(3);
            return Drawn::Unknown(format!("the hole ladder of {} does not reach {text}: print one that does", process.id));
        };
        guess = finished - row.offset;
    }
    match at(&ladder, guess) {
        Some(row) => {
            Drawn::Size { diameter: Length::from_si(guess), offset: Length::from_si(row.offset), sd: row.sd.map(Length::from_si) }
        }
        None => Drawn::Unknown("print the hole ladder first".into()),
    }
}

/// Half width of the limits of a hole of that size.
fn tolerance(need: &Need<'_>, made: Made, finished: f64) -> f64 {
    if made == Made::Cut {
        return need.assumptions.value("drill_tolerance");
    }
    let sd = need.process.and_then(|p| at(&ladder(p), finished)).and_then(|r| r.sd);
    sd.map_or_else(|| need.assumptions.value("hole_tolerance"), |sd| 2.0 * sd)
}

/// One stretch of a hole.
pub fn step(need: &Need<'_>, purpose: &'static str, diameter: Length, made: Made, from: Length, to: Length) -> HoleStep {
    let nominal = diameter.si();
    let tolerance = tolerance(need, made, nominal);
    // A drill only makes holes larger.
    let low = if made == Made::Cut { nominal } else { nominal - tolerance };
    let high = nominal + tolerance;
    HoleStep {
        purpose,
        section: Section::Round,
        finished: Size { nominal: diameter, low: Length::from_si(low), high: Length::from_si(high) },
        drawn: match made {
            Made::Printed => drawn(need, nominal),
            Made::Cut => Drawn::Machined,
        },
        check: Check { go: Length::from_si(low), no_go: Length::from_si(high + PIN) },
        from,
        to,
    }
}

/// Step of a pin gauge set: the no-go pin is the next one above the limit.
const PIN: f64 = 1e-5;

/// Names and claims of the process behind the drawn size.
pub fn rests_on_process(need: &Need<'_>) -> Option<String> {
    need.process.map(|p| format!("{} (hole ladder of {} sizes)", p.id, ladder(p).len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(drawn: f64, offset: f64) -> OffsetRow {
        OffsetRow { drawn, offset, sd: Some(1e-5) }
    }

    #[test]
    fn ladders_are_read_between_and_a_little_beyond_their_rungs() {
        let ladder = [row(2.0e-3, -0.10e-3), row(4.0e-3, -0.06e-3)];
        assert!((at(&ladder, 3.0e-3).unwrap().offset + 0.08e-3).abs() < 1e-12);
        assert!((at(&ladder, 4.5e-3).unwrap().offset + 0.06e-3).abs() < 1e-12);
        assert!(at(&ladder, 6.0e-3).is_none());
    }
}
