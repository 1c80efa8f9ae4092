//! The sheet of one measured quantity, for people and as JSON.

use super::units::{amount, with_newton};
use gripbook::present::table::Cell;
use gripbook::present::{Page, Table};
use gripbook::quantity::{UnitId, print};
use gripbook::series::bounds::{self, SampleBound, SpreadFrom};
use gripbook::series::reduction::Reduction;
use gripbook::series::specimen::{FactorLevel, Sample};
use gripbook::series::vocabulary;
use gripbook::series::warnings::HARDLY;
use gripbook::statistics::interval::Interval;
use serde_json::{Map, Value, json};

/// A sample with what it says.
pub struct ShownSample<'a> {
    /// Heading; the quantity where left out.
    pub heading: Option<String>,
    /// The specimens.
    pub sample: &'a Sample,
    /// What they say.
    pub reduction: &'a Reduction,
    /// The whole page.
    pub full: bool,
}

/// What stands below a page that is not whole.
pub const MORE: &str = "--full shows every bound with its basis, the intervals and the batches.";

fn shown(value: f64, r: &Reduction) -> String {
    amount(value, r.unit).text(r.digits)
}

fn percent(fraction: f64) -> String {
    if !fraction.is_finite() {
        return "no limit".into();
    }
    format!("{} %", print::number(fraction * 100.0, if fraction >= 0.1 { 3 } else { 2 }))
}

fn both(value: f64, r: &Reduction) -> String {
    with_newton(value, r.unit, r.digits)
}

/// Adds the sheet to a page.
pub fn add(page: &mut Page, s: &ShownSample<'_>) {
    let r = s.reduction;
    page.line(measured(s));
    if let Some(bound) = r.bounds.given.first() {
        let by = bounds::governed(bound).map(|by| format!("; {by}")).unwrap_or_default();
        page.line(format!("{} {}{by}", sentence_case(bounds::title(bound.name)), both(bound.value, r)));
    }
    page.blank();
    values(page, s);
    centre(page, s);
    over_batches(page, s);
    modes(page, r);
    if s.full {
        apart(page, r);
        lower_bounds(page, s);
    } else {
        further(page, r);
    }
    refused(page, s);
    warnings(page, s);
    if s.full {
        more(page, r);
    }
}

fn sentence_case(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// A small count as a word.
fn in_words(n: usize) -> String {
    const WORDS: [&str; 10] = ["none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

/// `two batches of three`, `three print jobs, 7 specimens`; of one sample `3 specimens`.
fn how_many(r: &Reduction) -> String {
    let n = r.failures.len() + r.held.len();
    let Some(apart) = &r.apart else { return gripbook::present::counted(n, "specimen") };
    let size = |g: &gripbook::series::specimen::SpecimenGroup| g.failures.len() + g.held.len();
    let first = apart.groups.first().map_or(0, size);
    match apart.groups.iter().all(|g| size(g) == first) {
        true => format!("{} {} of {}", in_words(apart.groups.len()), apart.level.words(), in_words(first)),
        false => format!("{} {}, {n} specimens", in_words(apart.groups.len()), apart.level.words()),
    }
}

/// What was measured: how many, mean, scatter.
fn measured(s: &ShownSample<'_>) -> String {
    let r = s.reduction;
    // Below a heading the quantity need not be named again.
    let mut text = if s.heading.is_some() { String::new() } else { format!("{}: ", vocabulary::quantity_title(&s.sample.word)) };
    text += &how_many(r);
    let (failed, none_held) = (r.failures.len(), r.held.is_empty());
    text += &match r.mean().map(|mean| both(mean, r)) {
        None => ", none failed".to_owned(),
        Some(one) if failed == 1 && none_held => format!(", {one}"),
        Some(one) if failed == 1 => format!(", one failed at {one}"),
        Some(mean) if none_held => format!(", mean {mean}"),
        Some(mean) => format!(", mean of the {failed} that failed {mean}"),
    };
    match r.cv() {
        Some(0.0) => text += ", no scatter seen",
        Some(cv) => text += &format!(", CV {}", percent(cv)),
        None => {}
    }
    if !r.held.is_empty() {
        text += &format!("; {} held", r.held.len());
    }
    text
}

fn values(page: &mut Page, s: &ShownSample<'_>) {
    let text = |sp: &gripbook::book::view::Specimen| format!("{}{}", if sp.censored { "> " } else { "" }, sp.value.text);
    let Some(apart) = &s.reduction.apart else {
        page.field("specimens", s.sample.specimens.iter().map(text).collect::<Vec<_>>().join(", "));
        return;
    };
    let of = |name: &str| {
        let own = s.sample.specimens.iter().filter(|sp| apart.level.holds(sp, name));
        own.map(text).collect::<Vec<_>>().join(", ")
    };
    let list: Vec<String> = apart.groups.iter().map(|g| format!("{}: {}", g.name, of(&g.name))).collect();
    page.field("specimens", list.join(" / "));
}

fn interval(i: &Interval, r: &Reduction) -> String {
    let high = if i.high.is_finite() { shown(i.high, r) } else { "no limit".into() };
    format!("95 % interval {} to {high}", shown(i.low, r))
}

fn centre(page: &mut Page, s: &ShownSample<'_>) {
    let r = s.reduction;
    let Some(summary) = &r.summary else { return };
    let with = |text: String, i: Option<String>| i.map_or(text.clone(), |i| format!("{text}, {i}"));
    if s.full {
        page.field("mean", with(shown(summary.mean, r), r.mean_interval.as_ref().map(|i| interval(i, r))));
    }
    let by_batch = r.apart.as_ref().is_some_and(|a| a.spread.is_some());
    if by_batch && !s.full {
        return;
    }
    page.field("standard deviation", with(shown(summary.sd, r), r.sd_interval.as_ref().map(|i| interval(i, r))));
    if s.full {
        if let Some(cv) = r.cv() {
            let range = r.cv_interval.map(|i| format!("95 % interval {} to {}", percent(i.low), percent(i.high)));
            page.field("CV", with(percent(cv), range));
        }
        page.field("range", format!("{} to {}", shown(summary.min, r), shown(summary.max, r)));
    }
}

/// Spread between and within batches, what a published spread would give, and what another batch would buy.
fn over_batches(page: &mut Page, s: &ShownSample<'_>) {
    let r = s.reduction;
    let Some((apart, spread)) = r.apart.as_ref().and_then(|a| Some((a, a.spread?))) else { return };
    let (word, words) = (apart.level.one(), apart.level.words());
    let known = if spread.between_freedom <= HARDLY { ", hardly known" } else { "" };
    let seen = match spread.between_sd > 0.0 {
        true => shown(spread.between_sd, r),
        false => format!("none seen beyond the scatter within {words}"),
    };
    let between = format!("standard deviation {seen} ({}{known})", freedom(spread.between_freedom as f64));
    let within = match spread.within_sd {
        Some(sd) => format!("standard deviation {} ({})", shown(sd, r), freedom(spread.within_freedom as f64)),
        None => format!("not known: one specimen in each of {} {words}", apart.groups.len()),
    };
    page.field(format!("between {words}"), between);
    page.field(format!("within {words}"), within);
    if let Some(p) = &r.prior {
        let told = if s.full { p.source } else { "a laminate, not printed parts" };
        let (bound, spread) = (shown(p.five_at_75, r), percent(p.between_sd_of_logs));
        page.field(
            "for comparison",
            format!("{bound} if batches differed by {spread}, as published ({told}); not a bound to design by"),
        );
    }
    if let Some(m) = r.more_batches.iter().find(|m| m.batches == apart.groups.len() + 1) {
        let same = r.more_batches.iter().find(|m| m.batches == apart.groups.len());
        let same = same.filter(|_| s.full);
        let beside =
            same.map(|m| format!("; {} specimens in the same {words}: {}", m.n, shown(m.five_at_75, r))).unwrap_or_default();
        page.field(
            format!("with one {word} more"),
            format!("about {} if the spreads stay as they are{beside}", shown(m.five_at_75, r)),
        );
    }
}

fn modes(page: &mut Page, r: &Reduction) {
    let list: Vec<String> =
        r.modes.iter().map(|m| format!("{} × {} ({})", m.count, vocabulary::mode_means(&m.mode), m.mode)).collect();
    if r.modes.iter().any(|m| &*m.mode != "unknown") {
        page.field("failure modes", list.join("; "));
    }
}

fn apart(page: &mut Page, r: &Reduction) {
    let Some(apart) = &r.apart else { return };
    page.heading(match apart.level {
        FactorLevel::Batch => "Results by batch",
        FactorLevel::Job => "Results by print job",
    });
    let name = apart.level.word();
    let any_held = apart.groups.iter().any(|g| !g.held.is_empty());
    let mut table = Table::new(&[name, "specimens", "mean", "standard_deviation", "held"][..if any_held { 5 } else { 4 }]);
    for group in &apart.groups {
        let summary = gripbook::statistics::summary::summary(&group.failures).ok();
        let mean = summary.map(|s| s.mean).or_else(|| group.failures.first().copied());
        let mut row = vec![
            (*group.name).into(),
            Cell::Number(group.failures.len() as f64),
            mean.map(|m| shown(m, r)).into(),
            summary.map(|s| shown(s.sd, r)).into(),
        ];
        row.extend(any_held.then_some(if group.held.is_empty() { Cell::Empty } else { Cell::Number(group.held.len() as f64) }));
        table.row(row);
    }
    page.table(table);
}

/// The usual bounds behind the headline, one line each.
fn further(page: &mut Page, r: &Reduction) {
    for (at, bound) in r.bounds.given.iter().skip(1).filter(|b| b.default).enumerate() {
        let by = bounds::governed(bound).map(|by| format!("; {by}")).unwrap_or_default();
        let text = format!("{}: {}{by}", bounds::title(bound.name), both(bound.value, r));
        page.field(if at == 0 { "further bounds" } else { "" }, text);
    }
}

fn lower_bounds(page: &mut Page, s: &ShownSample<'_>) {
    let r = s.reduction;
    if r.bounds.given.is_empty() {
        return;
    }
    page.heading("Lower bounds");
    for bound in &r.bounds.given {
        page.item(format!("{}: {}", both(bound.value, r), bounds::title(bound.name)));
        page.sub(1, bounds::promise(bound, vocabulary::above(&s.sample.word).unwrap_or("lie above it")));
        page.sub(1, basis(bound, r));
    }
}

fn basis(bound: &SampleBound, r: &Reduction) -> String {
    let k = bound.k.map(|k| format!(", k = {k:.3}")).unwrap_or_default();
    let freedom = bound.degrees_of_freedom.map(|f| format!(", {}", freedom(f))).unwrap_or_default();
    let held = match bound.held {
        0 => String::new(),
        h => format!(", {h} of them held and counted as at least that"),
    };
    let together =
        bound.held_down.as_ref().map(|h| format!("; all batches together: {}", shown(h.together, r))).unwrap_or_default();
    let form = match (bound.form, bound.spread) {
        ("none", _) => "no distribution assumed".to_owned(),
        (form, SpreadFrom::BetweenAndWithin) => format!("{form}, random effects of batches (Krishnamoorthy and Mathew 2004)"),
        (form, _) => form.to_owned(),
    };
    format!("{form}, n = {}{held}{k}{freedom}{together}", bound.n)
}

/// Degrees of freedom in words.
pub fn freedom(f: f64) -> String {
    format!("{f:.0} {}", if f == 1.0 { "degree of freedom" } else { "degrees of freedom" })
}

/// What could not be worked out; on the short page only where it leaves no bound at all.
fn refused(page: &mut Page, s: &ShownSample<'_>) {
    let list: Vec<_> = s.reduction.bounds.refused.iter().collect();
    if list.is_empty() || (!s.full && !s.reduction.bounds.given.is_empty()) {
        return;
    }
    page.heading("Not computable with this sample");
    let mut told: Vec<&str> = Vec::new();
    for refused in &list {
        if told.contains(&refused.why.as_str()) {
            continue;
        }
        told.push(&refused.why);
        let all: Vec<&str> = list.iter().filter(|x| x.why == refused.why).map(|x| x.what.as_str()).collect();
        let what = if s.full { all.join("; ") } else { all.first().copied().unwrap_or_default().to_owned() };
        page.item(format!("{what}: {}", refused.why));
        if !s.full {
            break;
        }
    }
}

fn warnings(page: &mut Page, s: &ShownSample<'_>) {
    // The share of the variance between batches stands in the two spreads; on the short page it would say them twice.
    let list: Vec<_> = s.reduction.warnings.iter().filter(|w| s.full || w.name != "groups-differ").collect();
    if list.is_empty() {
        return;
    }
    page.heading("Remarks");
    for w in list {
        page.item(w.message.clone());
    }
}

fn more(page: &mut Page, r: &Reduction) {
    if !r.more_batches.is_empty() {
        page.heading("What further batches would gain, if mean and spreads stay as they are");
        let mut table = Table::new(&["batches", "specimens", "characteristic value"]);
        for m in &r.more_batches {
            table.row(vec![Cell::Number(m.batches as f64), Cell::Number(m.n as f64), shown(m.five_at_75, r).into()]);
        }
        page.table(table);
        page.line("The bound of the weakest batch still governs where it is lower than these.");
    }
    if r.more.is_empty() {
        return;
    }
    page.heading("What further specimens would gain, if mean and spread stay as they are");
    let mut table = Table::new(&["specimens", "characteristic value", "95 % prediction bound", "mean known within"]);
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
            s.label().into(),
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
pub fn json(s: &ShownSample<'_>) -> Value {
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
        "bounds": r.bounds.given.iter().map(|b| bound_json(b, r, vocabulary::above(&s.sample.word).unwrap_or("lie above it"))).collect::<Vec<_>>(),
        "refused": r.bounds.refused.iter().map(|x| json!({"what": x.what, "why": x.why, "needed": x.needed})).collect::<Vec<_>>(),
        "modes": modes,
        "groups": groups_json(r),
        "outlier": r.outlier.map(|o| json!({"value": quantity(o.value), "statistic": o.statistic, "critical": o.critical, "alpha": o.alpha, "suspect": o.suspect})),
        "weibull": r.weibull.as_ref().map(|w| json!({
            "shape": w.fit.shape, "scale": quantity(w.fit.scale), "unbiased_shape": w.unbiased_shape, "failures": w.fit.failures,
            "ci": w.intervals.map(|i| json!({"shape": interval_json(&Some(i.shape), None), "scale": interval_json(&Some(i.scale), Some(r.unit))})),
        })),
        "more": r.more.iter().map(|m| json!({"n": m.n, "five-at-75": quantity(m.five_at_75), "predictive-5": quantity(m.predictive), "mean_within": m.mean_within})).collect::<Vec<_>>(),
        "more_batches": r.more_batches.iter().map(|m| json!({"batches": m.batches, "n": m.n, "five-at-75": quantity(m.five_at_75)})).collect::<Vec<_>>(),
        "between_published": r.prior.map(|p| json!({"between_sd_of_logs": p.between_sd_of_logs, "source": p.source, "five-at-75": quantity(p.five_at_75)})),
        "warnings": r.warnings.iter().map(|w| json!({"name": w.name, "message": w.message})).collect::<Vec<_>>(),
    })
}

fn specimen_json(s: &gripbook::book::view::Specimen) -> Value {
    json!({
        "label": s.label, "value": s.value, "held": s.censored, "mode": s.mode, "batch": s.batch, "job": s.job,
        "date": s.date, "position": s.position, "curve": s.curve, "note": s.note,
    })
}

fn bound_json(b: &SampleBound, r: &Reduction, above: &str) -> Value {
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
        "between_sd": apart.spread.map(|s| json!(amount(s.between_sd, r.unit))),
        "between_degrees_of_freedom": apart.spread.map(|s| s.between_freedom),
        "within_sd": apart.spread.and_then(|s| s.within_sd).map(|sd| json!(amount(sd, r.unit))),
        "within_degrees_of_freedom": apart.spread.map(|s| s.within_freedom),
        "groups": apart.groups.iter().map(|g| json!({
            "name": g.name,
            "jobs": g.jobs,
            "values": g.failures.iter().map(|v| json!(amount(*v, r.unit))).collect::<Vec<_>>(),
            "held": g.held.iter().map(|v| json!(amount(*v, r.unit))).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}
