//! Printed holes of a ladder: what the printer makes of a drawn diameter.

use gripbook::present::table::Cell;
use gripbook::present::{Page, Table};
use gripbook::quantity::{Amount, Measure, print};
use gripbook::series::plan::ladder::{Offset, PinReading, offsets};
use gripbook::series::record::{Measurement, Series};
use serde_json::{Value, json};
use uom::si::f64::Length;

/// The quantity.
pub const WORD: &str = "hole_diameter";

/// One drawn diameter with its readings, mm.
pub struct Rung<'a> {
    measured: &'a Measurement,
    readings: Vec<PinReading>,
    /// `None` with one reading: nothing says how sure it is.
    offset: Option<Offset>,
}

/// Whether a measurement is a rung of a ladder.
pub fn is_rung(m: &Measurement) -> bool {
    m.word == WORD && m.drawn.is_some() && m.sample.is_some()
}

fn micrometres(si: f64) -> f64 {
    // The SI value of 2.42 mm is not 2.42/1000 to the last bit.
    libm::round(si * 1e9) / 1e6
}

/// The rungs of a series, as recorded.
pub fn ladder(series: &Series) -> Vec<Rung<'_>> {
    let rung = |measured: &'_ Measurement| {
        let drawn = micrometres(measured.drawn.as_ref()?.si);
        let sample = measured.sample.as_ref()?;
        let reading = |s: &gripbook::book::view::Specimen| PinReading { drawn, measured: micrometres(s.value.si), kind: None };
        let readings: Vec<PinReading> = sample.specimens.iter().map(reading).collect();
        let offset = offsets(&readings).ok().and_then(|list| list.into_iter().next());
        Some((readings, offset))
    };
    let rungs = series.measurements.iter().filter(|m| is_rung(m));
    rungs.filter_map(|measured| rung(measured).map(|(readings, offset)| Rung { measured, readings, offset })).collect()
}

fn mean(rung: &Rung<'_>) -> f64 {
    rung.readings.iter().map(|r| r.measured).sum::<f64>() / rung.readings.len() as f64
}

fn signed(mm: f64) -> String {
    let text = print::fixed(mm, 3);
    if mm > 0.0 && text != "0.000" { format!("+{text} mm") } else { format!("{text} mm") }
}

fn written(rung: &Rung<'_>) -> String {
    rung.measured.drawn.as_ref().map(|d| d.text.to_string()).unwrap_or_default()
}

/// The table of offsets, and what it is for.
pub fn show(page: &mut Page, rungs: &[Rung<'_>], process: Option<&str>) {
    page.heading("Printed holes: measured minus drawn");
    let mut table = Table::new(&["drawn", "kind", "holes", "measured", "offset", "95 % interval", "between holes"]);
    for rung in rungs {
        let offset = rung.offset;
        table.row(vec![
            written(rung).into(),
            rung.measured.hole_kind.as_deref().into(),
            Cell::Number(rung.readings.len() as f64),
            format!("{:.3} mm", mean(rung)).into(),
            offset.map_or_else(|| signed(mean(rung) - rung.readings[0].drawn), |o| signed(o.offset)).into(),
            offset.map(|o| format!("{} to {}", signed(o.interval.low), signed(o.interval.high))).into(),
            offset.map(|o| format!("± {:.3} mm", o.sd)).into(),
        ]);
    }
    page.table(table);
    page.line("A hole that prints too small is drawn larger by its offset; `fasten --process` reads the offsets from the process record.");
    if let Some(process) = process {
        page.line(format!("They belong in {process}, field hole_offset."));
    }
    if rungs.iter().any(|r| r.offset.is_none()) {
        page.line("One reading gives an offset but no interval: measure at least two holes of each drawn diameter.");
    }
}

/// A rung as JSON.
pub fn json(rung: &Rung<'_>) -> Value {
    let length = |mm: f64| json!(Amount::of(Length::from_si(mm * 1e-3)));
    let sample = rung.measured.sample.as_ref();
    let values = sample
        .into_iter()
        .flat_map(|s| &s.specimens)
        .map(|s| json!({"label": s.label, "value": s.value, "job": s.job, "batch": s.batch}));
    json!({
        "quantity": WORD, "drawn": rung.measured.drawn, "hole_kind": rung.measured.hole_kind, "n": rung.readings.len(),
        "values": values.collect::<Vec<_>>(), "mean": length(mean(rung)),
        "offset": rung.offset.map(|o| json!({
            "value": length(o.offset), "low": length(o.interval.low), "high": length(o.interval.high), "confidence": o.interval.confidence,
            "sd": length(o.sd), "n": o.n,
        })),
        "bounds": [], "warnings": [],
    })
}

/// One row per hole.
pub fn table(rungs: &[Rung<'_>]) -> Option<Table> {
    let mut table = Table::new(&["label", "drawn", "kind", "measured", "offset_mm"]);
    for rung in rungs {
        for (s, r) in rung.measured.sample.iter().flat_map(|s| &s.specimens).zip(&rung.readings) {
            table.row(vec![
                s.label().into(),
                written(rung).into(),
                rung.measured.hole_kind.as_deref().into(),
                (*s.value.text).into(),
                print::number(r.measured - r.drawn, 6).into(),
            ]);
        }
    }
    (!rungs.is_empty()).then_some(table)
}
