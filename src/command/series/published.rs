//! What a record says around and instead of single results: joint, source, published figures, curves.

use super::source::Read;
use crate::command::library::Loaded;
use gripbook::book::view::Joint;
use gripbook::book::{Book, Standing};
use gripbook::present::table::Cell;
use gripbook::present::{Page, Table, counted};
use gripbook::quantity::{Amount, Measure, Quantity, Written};
use gripbook::series::curve::Pull;
use gripbook::series::earlier::Earlier;
use gripbook::series::record::{Measurement, Series};
use gripbook::series::reduction::Reduction;
use gripbook::series::stress::engaged_area;
use serde_json::{Value, json};
use uom::si::f64::Force;

/// Title, source and joint; with `full` the test and what is remarked too.
pub fn head(series: &Series, book: &Book, full: bool) -> Page {
    let mark = if series.invented() { "INVENTED DATA: " } else { "" };
    let mut page = Page::titled(format!("{mark}{} ({})", series.name, series.id));
    page.blank();
    if let Some(source) = &series.source {
        let read = match series.read.as_deref() {
            Some("abstract") => ", only the abstract read",
            Some("graph") => ", read off a graph",
            Some("secondary") => ", read where it is quoted",
            _ => "",
        };
        let basis = series.basis.map_or("", |b| b.word());
        let at = series.locator.as_ref().map(|l| format!(", {l}")).unwrap_or_default();
        page.field("source", format!("{}{at} [{basis}{read}]", book.cite(source)));
    }
    let [joint, _] = &series.as_written;
    page.field("joint", if full { fields(joint) } else { in_short(joint) });
    if full {
        background(&mut page, series);
    }
    if series.untraced {
        page.line(
            "The source does not say who measured this; it may be supplier data. It is shown but kept out of every estimate.",
        );
    }
    standing(&mut page, series.standing, series.because.as_deref());
    page
}

fn in_short(joint: &Value) -> String {
    let known = Joint::KNOWN_BY.iter().filter_map(|word| Some(((*word).to_string(), joint.get(*word)?.clone())));
    fields(&Value::Object(known.collect()))
}

fn background(page: &mut Page, series: &Series) {
    let [_, test] = &series.as_written;
    if test.is_object() {
        page.field("test", fields(test));
    }
    if !series.not_stated.is_empty() {
        page.field("not stated", series.not_stated.join(", "));
    }
    if !series.shares.is_empty() {
        page.field("same specimens as", series.shares.join(", "));
    }
    if let Some(note) = &series.note {
        page.field("note", note.clone());
    }
}

fn standing(page: &mut Page, standing: Standing, because: Option<&str>) {
    let why = because.map(|b| format!(": {b}")).unwrap_or_default();
    match standing {
        Standing::Good => {}
        Standing::Disputed => {
            page.line(format!("Disputed{why}. It is shown but never used."));
        }
        Standing::Withdrawn => {
            page.line(format!("Withdrawn{why}. It is shown but never used."));
        }
    }
}

fn text(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}

fn fields(value: &Value) -> String {
    let plain = |v: &Value| match v {
        Value::Bool(b) => if *b { "yes" } else { "no" }.to_owned(),
        Value::Array(list) => list.iter().filter_map(text).collect::<Vec<_>>().join(" and "),
        other => text(other).unwrap_or_else(|| other.to_string()),
    };
    let shown = |(key, v): (&String, &Value)| {
        // The words of the source stand behind the record they belong to.
        match key.strip_suffix("_text").map(|whole| (whole, &value[whole])) {
            Some((_, Value::String(_))) => None,
            Some((whole, _)) => Some(format!("{} {}", whole.replace('_', " "), plain(v))),
            None => {
                let named = text(&value[format!("{key}_text")]).map(|t| format!(" ({t})")).unwrap_or_default();
                let key = if key == "derived" { "worked out".to_owned() } else { key.replace('_', " ") };
                Some(format!("{key} {}{named}", plain(v)))
            }
        }
    };
    value.as_object().into_iter().flatten().filter_map(shown).collect::<Vec<_>>().join(", ")
}

/// Figures of a source that gives no single results.
pub fn figures(page: &mut Page, m: &Measurement) {
    let p = &m.published;
    let mut put = |label: &str, value: Option<String>| {
        if let Some(value) = value {
            page.field(label.to_owned(), value);
        }
    };
    let written = |w: &Option<Written>| w.as_ref().map(|w| w.text.to_string());
    let bound = if p.bound.as_deref() == Some("lower") { " or more" } else { "" };
    put(p.statistic.as_deref().unwrap_or("mean"), written(&p.mean).map(|t| t + bound));
    let range = match (&p.low, &p.high) {
        (Some(l), Some(h)) => Some(format!("{} to {}", l.text, h.text)),
        (Some(l), None) => Some(format!("at least {}", l.text)),
        (None, Some(h)) => Some(format!("at most {}", h.text)),
        (None, None) => None,
    };
    put("range", range.map(|r| p.range.as_ref().map_or(r.clone(), |k| format!("{r} (over {k})"))));
    put("n", Some(p.n.map_or("not stated".to_owned(), |n| n.to_string())));
    put("standard deviation", written(&p.sd).map(|sd| format!("{sd} ({})", sd_words(p.sd_kind.as_deref()))));
    put("CV", written(&p.cv));
    put("least", written(&p.min));
    put("greatest", written(&p.max));
    put("failure modes", (!m.modes.is_empty()).then(|| m.modes.join(", ")));
    page.line("The source gives no single results, so no interval, bound or test can be computed.");
}

fn sd_words(kind: Option<&str>) -> &'static str {
    match kind {
        Some("n-1") => "divisor n - 1",
        Some("n") => "divisor n",
        _ => "divisor not stated, so not pooled with others",
    }
}

/// The figures as JSON.
pub fn figures_json(m: &Measurement) -> Value {
    let p = &m.published;
    json!({
        "quantity": m.word, "n": p.n, "mean": p.mean, "sd": p.sd, "sd_kind": p.sd_kind, "cv": p.cv.as_ref().map(|w| w.si),
        "low": p.low, "high": p.high, "min": p.min, "max": p.max, "statistic": p.statistic, "range": p.range, "bound": p.bound,
        "values": Value::Null, "ci": {}, "bounds": [], "modes_text": m.modes,
        "warnings": [{"name": "no-single-results", "message": "the source gives no single results"}],
    })
}

/// What the record remarks on a measurement.
pub fn remarks(page: &mut Page, m: &Measurement) {
    if let Some(area) = &m.area {
        page.field("divided by", area.clone());
    }
    if let Some(printed) = &m.as_printed {
        page.field("as printed", printed.clone());
    }
    if let Some(note) = m.note.as_deref().filter(|n| n.len() >= 40) {
        page.field("note", note.to_owned());
    }
    standing(page, m.standing, m.because.as_deref());
}

/// Mean stress on the engaged area.
pub fn stress(page: &mut Page, series: &Series, r: &Reduction, quantity: Quantity) {
    if let Some((amount, definition)) = mean_stress(series, r, quantity) {
        page.blank().field("mean stress", format!("{} on the {definition}", amount.text(3)));
    }
}

fn mean_stress(series: &Series, r: &Reduction, quantity: Quantity) -> Option<(Amount, String)> {
    if !super::is_force(quantity) {
        return None;
    }
    let area = engaged_area(series)?;
    let load = Force::from_si(r.unit.unit().si_from_number(r.mean()?));
    Some((Amount::of(area.stress(load)), area.definition))
}

/// The series a pooled spread comes from.
pub fn earlier(page: &mut Page, earlier: Option<&Earlier>) {
    if let Some(e) = earlier {
        page.field(
            "pooled spread",
            format!(
                "{:.1} % within batches, {}, from {}",
                e.spread.sd_of_logs * 100.0,
                super::series_page::freedom(e.spread.degrees_of_freedom),
                e.from.join(", ")
            ),
        );
    }
}

/// Adds stress and pooled spread to the JSON of a quantity.
pub fn extend(json: &mut Value, series: &Series, m: &Measurement, r: &Reduction, earlier: Option<&Earlier>) {
    if let Some((amount, definition)) = mean_stress(series, r, m.quantity) {
        json["mean_stress"] = json!({"value": amount, "area": definition});
    }
    if let Some(e) = earlier {
        json["pooled_spread"] = json!({"sd_of_logs": e.spread.sd_of_logs, "degrees_of_freedom": e.spread.degrees_of_freedom, "bartlett_p": e.spread.bartlett_p, "series": e.from});
    }
    if let Some(note) = &m.note {
        json["note"] = json!(note);
    }
}

/// Curves that cannot be read, and how many can.
pub fn curves_in_short(page: &mut Page, read: &[Read]) {
    if read.is_empty() {
        return;
    }
    let good = read.iter().filter(|c| c.pull.is_ok()).count();
    page.blank().line(format!(
        "{good} of {} could be read; --full shows stiffness, energy and load drops.",
        counted(read.len(), "recorded curve")
    ));
    for curve in read {
        if let Err(why) = &curve.pull {
            page.item(format!("{}: {why}", curve.label));
        }
    }
}

/// The table of curves.
pub fn curves(page: &mut Page, read: &[Read]) {
    if read.is_empty() {
        return;
    }
    let rig = read.iter().filter_map(|r| r.pull.as_ref().ok()).filter_map(|p| p.slope).any(|s| s.rig_taken_off);
    page.heading("Curves");
    let mut table = Table::new(&[
        "specimen",
        "peak",
        "at",
        "stiffness",
        "resolution",
        "energy_to_peak",
        "energy",
        "broke_at",
        "waves",
        "spacing",
    ]);
    for curve in read {
        if let Ok(p) = &curve.pull {
            table.row(row(&curve.label, p));
        }
    }
    page.table(table);
    let whose = if rig {
        "of the joint, without the rig"
    } else {
        "of joint and rig together, because the compliance of the rig is not known"
    };
    page.line(format!(
        "at: travel at the peak from where the steepest line crosses zero load; stiffness {whose}; resolution: largest rise between samples near the peak; broke at: 20 % of the peak lost; waves: how often the load rose and fell again, at which spacing."
    ));
    for curve in read {
        match &curve.pull {
            Err(why) => {
                page.item(format!("{}: {why}", curve.label));
            }
            Ok(p) => {
                for f in &p.findings {
                    page.item(format!("{}: {}", curve.label, super::source::told(f)));
                }
            }
        }
    }
}

fn row(label: &str, p: &Pull) -> Vec<Cell> {
    let force = |f: Force| Amount::of(f).text(4);
    let millimetres = |l: uom::si::f64::Length| Amount::of(l).text(3);
    vec![
        label.into(),
        force(p.peak).into(),
        millimetres(p.travel_at_peak_corrected.unwrap_or(p.travel_at_peak)).into(),
        p.slope.map(|s| Amount::of(s.stiffness).text(3)).into(),
        Amount::of(p.peak_doubt).text(2).into(),
        Amount::of(p.energy_to_peak).text(3).into(),
        Amount::of(p.energy).text(3).into(),
        p.load_drop.map(|b| millimetres(b.travel)).into(),
        Cell::Number(p.teeth.len() as f64),
        p.tooth_pitch.map(millimetres).into(),
    ]
}

/// A pull as JSON.
pub fn pull_json(p: &Pull) -> Value {
    json!({
        "samples": p.samples,
        "peak": Amount::of(p.peak),
        "peak_line": p.peak_line,
        "travel_at_peak": Amount::of(p.travel_at_peak),
        "travel_at_peak_corrected": p.travel_at_peak_corrected.map(Amount::of),
        "peak_doubt": Amount::of(p.peak_doubt),
        "stiffness": p.slope.map(|s| json!({
            "value": Amount::of(s.stiffness), "from": Amount::of(s.from), "to": Amount::of(s.to), "samples": s.samples,
            "zero": Amount::of(s.zero), "of": if s.rig_taken_off { "joint" } else { "system" },
        })),
        "energy_to_peak": Amount::of(p.energy_to_peak),
        "energy": Amount::of(p.energy),
        "break": p.load_drop.map(|b| json!({"travel": Amount::of(b.travel), "load": Amount::of(b.load), "line": b.line})),
        "teeth": p.teeth.iter().map(|t| json!({"travel_mm": t.top.x, "load_N": t.top.y, "prominence_N": t.prominence})).collect::<Vec<_>>(),
        "tooth_pitch": p.tooth_pitch.map(Amount::of),
        "held": p.held,
        "findings": p.findings,
    })
}

/// What a sheet rests on: the address of a measured quantity, and its value as written.
pub fn claim(series: &Series, m: &Measurement) -> Value {
    let p = &m.published;
    let list = |s: &gripbook::series::specimen::Sample| {
        let one = |x: &gripbook::book::view::Specimen| format!("{}{}", if x.censored { ">" } else { "" }, x.value.text);
        s.specimens.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    let ends = || match (&p.low, &p.high) {
        (Some(l), Some(h)) => Some(format!("{} to {}", l.text, h.text)),
        (one, other) => one.as_ref().or(other.as_ref()).map(|w| w.text.to_string()),
    };
    let written = m.sample.as_ref().map(list).or_else(|| p.mean.as_ref().map(|w| w.text.to_string())).or_else(ends);
    json!({"claim": format!("{}:{}", series.id, m.word), "drawn": m.drawn.as_ref().map(|d| &d.text), "written": written})
}

/// The whole document of a recorded series. The fields of the first quantity stand at the top too.
pub fn document(series: &Series, quantities: Vec<Value>, read: &[Read], pack: &str, loaded: &Loaded) -> Value {
    let mut all = serde_json::Map::new();
    if let Some(first) = quantities.iter().find(|q| !q["values"].is_null()).or(quantities.first()).and_then(Value::as_object) {
        all.extend(first.clone());
    }
    let curve = |c: &Read| match &c.pull {
        Ok(p) => json!({"label": c.label, "pull": pull_json(p)}),
        Err(why) => json!({"label": c.label, "unreadable": why}),
    };
    all.insert("series".into(), json!({
        "id": series.id, "name": series.name, "basis": series.basis.map(|b| b.word()), "source": series.source, "locator": series.locator,
        "read": series.read, "untraced": series.untraced, "invented": series.invented(), "joint": series.as_written[0], "test": series.as_written[1],
        "not_stated": series.not_stated, "shares_specimens_with": series.shares, "note": series.note,
    }));
    all.insert("quantities".into(), Value::Array(quantities));
    all.insert("curves".into(), read.iter().map(curve).collect());
    all.insert("claims".into(), series.measurements.iter().map(|m| claim(series, m)).collect());
    all.insert("pack".into(), json!(pack));
    all.insert("left_out".into(), loaded.left_out_json());
    Value::Object(all)
}
