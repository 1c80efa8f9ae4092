//! The sheet of one measured quantity, for people and as JSON.

use crate::present::table::Cell;
use crate::present::{Page, Table};
use crate::quantity::{Amount, UnitId, print};
use crate::series::bounds::{self, Bound};
use crate::series::reduce::Reduction;
use crate::series::specimen::{Level, Sample};
use crate::series::words;
use crate::statistics::interval::Interval;
use serde_json::{Map, Value, json};

/// A sample with what it says.
pub struct Shown<'a> {
    /// Heading; the quantity where left out.
    pub heading: Option<String>,
    /// The specimens.
    pub sample: &'a Sample,
    /// What they say.
    pub reduction: &'a Reduction,
    /// Every bound, not only the default ones.
    pub all_bounds: bool,
}

/// An amount from a number in the unit shown.
pub fn amount(value: f64, unit: UnitId) -> Amount {
    Amount { si: unit.unit().si_from_number(value), unit }
}

fn shown(value: f64, r: &Reduction) -> String {
    amount(value, r.unit).text(r.digits)
}

fn percent(fraction: f64) -> String {
    if !fraction.is_finite() {
        return "no limit".into();
    }
    format!("{} %", print::number(fraction * 100.0, if fraction >= 0.1 { 3 } else { 2 }))
}

/// Adds the sheet to a page.
pub fn add(page: &mut Page, s: &Shown<'_>) {
    let r = s.reduction;
    page.line(headline(s));
    page.blank();
    values(page, s);
    centre(page, r);
    modes(page, r);
    apart(page, r);
    stretch(page, s);
    refused(page, s);
    if !r.warnings.is_empty() {
        page.heading("Keep in mind");
        for w in &r.warnings {
            page.item(w.message.clone());
        }
    }
    more(page, r);
}

fn headline(s: &Shown<'_>) -> String {
    let r = s.reduction;
    // Below a heading the quantity need not be named again.
    let mut text = if s.heading.is_some() { String::new() } else { format!("{}: ", words::quantity_title(&s.sample.word)) };
    match (r.mean(), r.failures.len()) {
        (Some(mean), 1) => text += &format!("{} (one specimen)", shown(mean, r)),
        (Some(mean), n) => {
            let cv = r.cv().map(|c| format!(", CV {}", percent(c))).unwrap_or_default();
            text += &format!("mean {} of {n}{cv}", shown(mean, r));
        }
        (None, _) => text += "no specimen failed",
    }
    if let Some(bound) = r.bounds.given.first() {
        text += &format!("; {} {}", bounds::title(bound.name), shown(bound.value, r));
    }
    text
}

fn values(page: &mut Page, s: &Shown<'_>) {
    let list: Vec<String> =
        s.sample.specimens.iter().map(|sp| format!("{}{}", if sp.censored { "> " } else { "" }, sp.value.text)).collect();
    page.field("specimens", format!("{} ({})", list.len(), list.join(", ")));
}

fn interval(i: &Interval, r: &Reduction) -> String {
    let high = if i.high.is_finite() { shown(i.high, r) } else { "no limit".into() };
    format!("95 % interval {} to {high}", shown(i.low, r))
}

fn centre(page: &mut Page, r: &Reduction) {
    let Some(summary) = &r.summary else { return };
    let with = |text: String, i: Option<String>| i.map_or(text.clone(), |i| format!("{text}, {i}"));
    page.field("mean", with(shown(summary.mean, r), r.mean_interval.as_ref().map(|i| interval(i, r))));
    page.field("standard deviation", with(shown(summary.sd, r), r.sd_interval.as_ref().map(|i| interval(i, r))));
    if let Some(cv) = r.cv() {
        let range = r.cv_interval.map(|i| format!("95 % interval {} to {}", percent(i.low), percent(i.high)));
        page.field("CV", with(percent(cv), range));
    }
    page.field("range", format!("{} to {}", shown(summary.min, r), shown(summary.max, r)));
}

fn modes(page: &mut Page, r: &Reduction) {
    let list: Vec<String> = r.modes.iter().map(|m| format!("{} {} ({})", m.count, m.mode, words::mode_means(&m.mode))).collect();
    if r.modes.iter().any(|m| &*m.mode != "unknown") {
        page.field("failed by", list.join("; "));
    }
}

fn apart(page: &mut Page, r: &Reduction) {
    let Some(apart) = &r.apart else { return };
    page.heading(match apart.level {
        Level::Batch => "Batches apart",
        Level::Job => "Print jobs apart (one batch)",
    });
    let name = apart.level.word();
    let mut table = Table::new(&[name, "specimens", "mean", "standard_deviation", "held"]);
    for group in &apart.groups {
        let summary = crate::statistics::summary::summary(&group.failures).ok();
        let mean = summary.map(|s| s.mean).or_else(|| group.failures.first().copied());
        table.row(vec![
            (*group.name).into(),
            Cell::Number(group.failures.len() as f64),
            mean.map(|m| shown(m, r)).into(),
            summary.map(|s| shown(s.sd, r)).into(),
            if group.held.is_empty() { Cell::Empty } else { Cell::Number(group.held.len() as f64) },
        ]);
    }
    page.table(table);
}

fn stretch(page: &mut Page, s: &Shown<'_>) {
    let r = s.reduction;
    let list: Vec<&Bound> = r.bounds.given.iter().filter(|b| b.default || s.all_bounds).collect();
    if list.is_empty() {
        return;
    }
    page.heading("Lower bounds");
    for bound in list {
        page.item(format!("{}: {}", shown(bound.value, r), bounds::title(bound.name)));
        page.sub(1, bounds::promise(bound, words::above(&s.sample.word).unwrap_or("lie above it")));
        page.sub(1, basis(bound, r));
    }
    let hidden = r.bounds.given.iter().filter(|b| !b.default).count();
    if hidden > 0 && !s.all_bounds {
        page.line(format!("{hidden} further bounds with --all-bounds."));
    }
}

fn basis(bound: &Bound, r: &Reduction) -> String {
    let k = bound.k.map(|k| format!(", k = {k:.3}")).unwrap_or_default();
    let freedom = bound.degrees_of_freedom.map(|f| format!(", {}", freedom(f))).unwrap_or_default();
    let held = match bound.held {
        0 => String::new(),
        h => format!(", {h} of them held and counted as at least that"),
    };
    let together = bound
        .held_down
        .as_ref()
        .map(|h| format!("; all specimens as if one batch: {}", shown(h.together, r)))
        .unwrap_or_default();
    let form = if bound.form == "none" { "no distribution assumed" } else { bound.form };
    format!("{form}, n = {}{held}{k}{freedom}{together}", bound.n)
}

/// Degrees of freedom in words.
pub fn freedom(f: f64) -> String {
    format!("{f:.0} {}", if f == 1.0 { "degree of freedom" } else { "degrees of freedom" })
}

fn refused(page: &mut Page, s: &Shown<'_>) {
    // Refusals of bounds nobody asked for would only be noise.
    let list: Vec<_> = s.reduction.bounds.refused.iter().filter(|x| s.all_bounds || !x.what.contains("bound at 9")).collect();
    if list.is_empty() {
        return;
    }
    page.heading("Not given with these specimens");
    let mut told: Vec<&str> = Vec::new();
    for refused in &list {
        if told.contains(&refused.why.as_str()) {
            continue;
        }
        told.push(&refused.why);
        let all: Vec<&str> = list.iter().filter(|x| x.why == refused.why).map(|x| x.what.as_str()).collect();
        page.item(format!("{}: {}", all.join("; "), refused.why));
    }
}

fn more(page: &mut Page, r: &Reduction) {
    if r.more.is_empty() {
        if r.apart.as_ref().is_some_and(|a| a.level == Level::Batch) {
            page.blank().line("The batches differ: another batch would tell more than further specimens of these.");
        }
        return;
    }
    page.heading("What more specimens would buy, if mean and spread stay as seen");
    let mut table = Table::new(&["specimens", "5 % bound, 75 %", "5 % bound, next", "mean known within"]);
    for m in &r.more {
        table.row(vec![
            Cell::Number(m.n as f64),
            shown(m.five_at_75, r).into(),
            shown(m.predictive, r).into(),
            format!("± {}", percent(m.mean_within)).into(),
        ]);
    }
    page.table(table);
}

/// One row per specimen.
pub fn table(sample: &Sample) -> Table {
    let mut table = Table::new(&["label", "written", "value", "unit", "si", "held", "mode", "batch", "job", "date"]);
    for s in &sample.specimens {
        table.row(vec![
            (*s.label).into(),
            (*s.value.text).into(),
            s.value.value.into(),
            s.value.unit.symbol().into(),
            s.value.si.into(),
            if s.censored { "yes" } else { "no" }.into(),
            s.mode.as_deref().into(),
            s.batch.as_deref().into(),
            s.job.as_deref().into(),
            s.date.as_deref().into(),
        ]);
    }
    table
}

fn interval_json(i: &Option<Interval>, unit: Option<UnitId>) -> Value {
    let Some(i) = i else { return Value::Null };
    let end = |v: f64| match unit {
        Some(unit) if v.is_finite() => json!(amount(v, unit)),
        None if v.is_finite() => json!(v),
        _ => Value::Null,
    };
    json!({"low": end(i.low), "high": end(i.high), "confidence": i.confidence})
}

/// The fields of one measured quantity.
pub fn json(s: &Shown<'_>) -> Value {
    let r = s.reduction;
    let quantity = |v: f64| json!(amount(v, r.unit));
    let modes: Map<String, Value> = r.modes.iter().map(|m| (m.mode.to_string(), json!(m.count))).collect();
    json!({
        "quantity": s.sample.word,
        "n": r.failures.len(),
        "held": r.held.len(),
        "values": s.sample.specimens.iter().map(specimen_json).collect::<Vec<_>>(),
        "mean": r.mean().map(quantity),
        "sd": r.summary.map(|x| quantity(x.sd)),
        "cv": r.cv(),
        "ci": {
            "mean": interval_json(&r.mean_interval, Some(r.unit)),
            "sd": interval_json(&r.sd_interval, Some(r.unit)),
            "cv": interval_json(&r.cv_interval, None),
        },
        "bounds": r.bounds.given.iter().map(|b| bound_json(b, r, words::above(&s.sample.word).unwrap_or("lie above it"))).collect::<Vec<_>>(),
        "refused": r.bounds.refused.iter().map(|x| json!({"what": x.what, "why": x.why, "needed": x.needed})).collect::<Vec<_>>(),
        "modes": modes,
        "groups": groups_json(r),
        "outlier": r.outlier.map(|o| json!({"value": quantity(o.value), "statistic": o.statistic, "critical": o.critical, "alpha": o.alpha, "suspect": o.suspect})),
        "weibull": r.weibull.as_ref().map(|w| json!({
            "shape": w.fit.shape, "scale": quantity(w.fit.scale), "unbiased_shape": w.unbiased_shape, "failures": w.fit.failures,
            "ci": w.intervals.map(|i| json!({"shape": interval_json(&Some(i.shape), None), "scale": interval_json(&Some(i.scale), Some(r.unit))})),
        })),
        "more": r.more.iter().map(|m| json!({"n": m.n, "five-at-75": quantity(m.five_at_75), "predictive-5": quantity(m.predictive), "mean_within": m.mean_within})).collect::<Vec<_>>(),
        "warnings": r.warnings.iter().map(|w| json!({"name": w.name, "message": w.message})).collect::<Vec<_>>(),
    })
}

fn specimen_json(s: &crate::series::specimen::Specimen) -> Value {
    json!({
        "label": s.label, "value": s.value, "held": s.censored, "mode": s.mode, "batch": s.batch, "job": s.job,
        "date": s.date, "position": s.position, "curve": s.curve, "note": s.note,
    })
}

fn bound_json(b: &Bound, r: &Reduction, above: &str) -> Value {
    json!({
        "name": b.name,
        "title": bounds::title(b.name),
        "value": amount(b.value, r.unit),
        "coverage": b.coverage,
        "confidence": b.confidence,
        "form": b.form,
        "k": b.k,
        "n": b.n,
        "degrees_of_freedom": b.degrees_of_freedom,
        "spread": b.spread.word(),
        "held_down": b.held_down.as_ref().map(|h| json!({"batch": h.batch, "together": amount(h.together, r.unit)})),
        "held": b.held,
        "promise": bounds::promise(b, above),
    })
}

fn groups_json(r: &Reduction) -> Value {
    let Some(apart) = &r.apart else { return Value::Null };
    json!({
        "level": apart.level.word(),
        "effective_n": apart.effect.map(|e| e.effective_n),
        "between_share": apart.effect.map(|e| e.between_share),
        "groups": apart.groups.iter().map(|g| json!({
            "name": g.name,
            "jobs": g.jobs,
            "values": g.failures.iter().map(|v| json!(amount(*v, r.unit))).collect::<Vec<_>>(),
            "held": g.held.iter().map(|v| json!(amount(*v, r.unit))).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}
