//! The sheet of a comparison, for people and as JSON.

use super::amount;
use gripbook::present::table::Cell;
use gripbook::present::{Page, Table};
use gripbook::quantity::print::fixed;
use gripbook::series::compare::{ComparedGroup, GroupComparison, NamedGroup, Pair};
use gripbook::series::vocabulary;
use gripbook::statistics::interval::Interval;
use serde_json::{Map, Value, json};

fn percent(ratio: f64) -> String {
    let change = (ratio - 1.0) * 100.0;
    let sign = if change.round() > 0.0 { "+" } else { "" };
    format!("{sign}{} %", fixed(change, 0))
}

fn p_text(p: f64) -> String {
    if p < 0.001 { "< 0.001".into() } else { format!("{p:.3}") }
}

/// The page.
pub fn page(groups: &[NamedGroup], c: &GroupComparison, margin: Option<f64>, invented: bool, full: bool) -> Page {
    let mark = if invented { "INVENTED DATA: " } else { "" };
    let mut page =
        Page::titled(format!("{mark}{} of {} groups; the reference is {}", title(groups), groups.len(), c.sides[0].name));
    page.blank();
    for pair in &c.pairs {
        page.line(pair.sentence.clone());
    }
    page.blank().table(sides(groups, c));
    if full {
        for pair in &c.pairs {
            one(&mut page, groups, c, pair, margin);
        }
        all(&mut page, c);
    }
    every(&mut page, c);
    together(&mut page, groups, c);
    let recorded = c.sides.iter().flat_map(|s| &s.modes).any(|m| &*m.mode != "unknown");
    if (full && recorded) || c.modes_differ {
        page.heading("Failure modes");
        for side in &c.sides {
            page.item(format!("{}: {}", side.name, modes(side)));
        }
    }
    if let Some(held) = held(c) {
        page.line(held);
    }
    if c.modes_differ {
        page.line("Different things broke: the loads compare two mechanisms, not two strengths of one.");
    }
    let list: Vec<_> = c.refused.iter().collect();
    if full && !list.is_empty() {
        page.heading("Not computable with this sample");
        for r in list {
            page.item(format!("{}: {}", r.what, r.why));
        }
    }
    if !full {
        page.blank().line("--full shows every test with its figures.");
    }
    page
}

fn title(groups: &[NamedGroup]) -> String {
    let text = vocabulary::quantity_title(&groups[0].sample.word);
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

fn modes(side: &ComparedGroup) -> String {
    side.modes
        .iter()
        .map(|m| format!("{} × {} ({})", m.count, vocabulary::mode_means(&m.mode), m.mode))
        .collect::<Vec<_>>()
        .join("; ")
}

fn digits(groups: &[NamedGroup]) -> usize {
    groups.iter().map(|g| g.sample.digits()).max().unwrap_or(3)
}

fn sides(groups: &[NamedGroup], c: &GroupComparison) -> Table {
    let d = digits(groups);
    let any_held = c.sides.iter().any(|s| s.held > 0);
    let mut table = Table::new(&["group", "n", "mean", "CV", "values", "held"][..if any_held { 6 } else { 5 }]);
    for (side, group) in c.sides.iter().zip(groups) {
        let values: Vec<&str> = group.sample.specimens.iter().map(|s| &*s.value.text).collect();
        let mean = side.summary.map(|s| s.mean).or_else(|| side.failures.first().copied());
        let mut row = vec![
            side.name.as_str().into(),
            Cell::Number(side.failures.len() as f64),
            mean.map(|m| amount(m, groups).text(d)).into(),
            side.summary.and_then(|s| s.cv().ok()).map(|cv| format!("{:.1} %", cv * 100.0)).into(),
            values.join(", ").into(),
        ];
        row.extend(any_held.then_some(if side.held == 0 { Cell::Empty } else { Cell::Number(side.held as f64) }));
        table.row(row);
    }
    table
}

fn one(page: &mut Page, groups: &[NamedGroup], c: &GroupComparison, pair: &Pair, margin: Option<f64>) {
    page.heading(format!("{} against {}", c.sides[pair.group].name, c.sides[0].name));
    let d = digits(groups);
    if let Some(r) = pair.ratio {
        page.field(
            "ratio of geometric means",
            format!(
                "{:.3}, 95 % interval {:.3} to {:.3} ({} to {})",
                r.ratio,
                r.interval.low,
                r.interval.high,
                percent(r.interval.low),
                percent(r.interval.high)
            ),
        );
    }
    if let Some(w) = pair.difference {
        let text = |v: f64| amount(v, groups).text(d);
        page.field(
            "difference",
            format!("{}, 95 % interval {} to {}", text(w.difference), text(w.interval.low), text(w.interval.high)),
        );
    }
    if let Some(r) = pair.ratio {
        page.field(
            "Welch, on logarithms",
            format!(
                "p {}, t = {}, {:.1} degrees of freedom",
                p_text(r.on_logs.p),
                fixed(r.on_logs.t, 2),
                r.on_logs.degrees_of_freedom
            ),
        );
    }
    if let Some(a) = pair.adjusted {
        let by = if a.by == "dunnett" { "Dunnett, on logarithms" } else { "Holm on Welch" };
        page.field("p for the family", format!("{} ({by}, {} comparisons with the reference)", p_text(a.p), a.family));
    }
    if let Some(e) = pair.effect {
        page.field("effect size", format!("Hedges g {} (exact correction)", fixed(e.g, 2)));
    }
    if let (Some(m), Some(same)) = (margin, pair.same) {
        let word = if same.shown { "shown" } else { "not shown equal" };
        page.field(
            "same within",
            format!(
                "{:.0} %: {word}, p {} (two one-sided tests; 90 % interval {:.3} to {:.3})",
                m * 100.0,
                p_text(same.p),
                same.interval.low,
                same.interval.high
            ),
        );
    }
    if let Some(t) = pair.permutation {
        if pair.permutation_speaks {
            page.field(
                "exact permutation",
                format!("p {} of {} arrangements, floor {}", p_text(t.p), t.arrangements, p_text(t.floor)),
            );
        } else {
            let text = format!(
                "{} arrangements cannot give p below {}: no verdict from it (p {})",
                t.arrangements,
                p_text(t.floor),
                p_text(t.p)
            );
            page.field("exact permutation", text);
        }
    }
    if let Some(t) = pair.ranks.filter(|t| t.floor <= gripbook::series::compare::ALPHA) {
        page.field("Mann-Whitney, exact", format!("p {}, floor {}", p_text(t.p), p_text(t.floor)));
    }
}

fn all(page: &mut Page, c: &GroupComparison) {
    let (Some(f), ranks) = (c.all, c.all_ranks) else { return };
    page.heading("All groups together");
    page.field(
        "Welch's analysis",
        format!("F = {:.2}, {:.0} and {:.1} degrees of freedom, p {}", f.f, f.numerator, f.denominator, p_text(f.p)),
    );
    if let Some(k) = ranks {
        page.field("Kruskal-Wallis", format!("H = {:.2}, p {}", k.statistic, p_text(k.p)));
    }
}

/// What specimens that held do to a comparison.
fn held(c: &GroupComparison) -> Option<String> {
    let list: Vec<String> = c.sides.iter().filter(|s| s.held > 0).map(|s| format!("{} of {}", s.held, s.name)).collect();
    (!list.is_empty()).then(|| {
        format!(
            "Specimens that held ({}) enter no mean and no test: those groups are stronger than the numbers above say.",
            list.join(", ")
        )
    })
}

fn every(page: &mut Page, c: &GroupComparison) {
    let Some(every) = &c.every else { return };
    let by = if every.by == "tukey" { "Tukey, spreads taken as equal" } else { "Games-Howell, spreads differ" };
    page.heading(format!("Every pair ({by}; on logarithms, all pairs at 95 % together)"));
    let mut table = Table::new(&["group", "over", "ratio", "95 % interval", "p for all pairs"]);
    for p in &every.pairs {
        table.row(vec![
            c.sides[p.to].name.as_str().into(),
            c.sides[p.from].name.as_str().into(),
            format!("{:.3}", p.ratio).into(),
            format!("{:.3} to {:.3}", p.interval.low, p.interval.high).into(),
            p_text(p.p).into(),
        ]);
    }
    page.table(table);
}

fn together(page: &mut Page, groups: &[NamedGroup], c: &GroupComparison) {
    let Some(t) = &c.together else { return };
    let d = digits(groups);
    let text = |v: f64| amount(v, groups).text(d);
    let two = |v: f64| amount(v, groups).text(2);
    page.heading("The groups as one");
    page.field(
        "common mean",
        format!(
            "{} ± {} (weights 1/u²; Birge ratio {:.2}, widened ± {})",
            text(t.common.mean),
            two(t.common.standard_error),
            t.common.birge_ratio,
            two(t.common.standard_error_birge)
        ),
    );
    page.field(
        "disagreement",
        format!("Q = {:.2}, p {}, I² {:.0} %", t.common.q, p_text(t.common.q_p), t.common.i_squared_percent),
    );
    page.field(
        "random effects",
        format!(
            "{}, 95 % interval {} to {} (DerSimonian-Laird, Knapp-Hartung), between groups ± {}",
            text(t.random.mean),
            text(t.random.interval_knapp_hartung.low),
            text(t.random.interval_knapp_hartung.high),
            two(libm::sqrt(t.random.between_variance))
        ),
    );
    page.line("± is a standard error. One value over groups stands for the groups tested, not for the next batch.");
}

fn interval(i: &Interval) -> Value {
    let end = |v: f64| if v.is_finite() { json!(v) } else { Value::Null };
    json!({"low": end(i.low), "high": end(i.high), "confidence": i.confidence})
}

/// The document.
pub fn json(groups: &[NamedGroup], c: &GroupComparison, margin: Option<f64>) -> Value {
    let quantity = |v: f64| json!(amount(v, groups));
    let side = |(s, g): (&ComparedGroup, &NamedGroup)| {
        let modes: Map<String, Value> = s.modes.iter().map(|m| (m.mode.to_string(), json!(m.count))).collect();
        json!({
            "name": s.name, "n": s.failures.len(), "held": s.held, "mean": s.summary.map(|x| quantity(x.mean)), "sd": s.summary.map(|x| quantity(x.sd)),
            "cv": s.summary.and_then(|x| x.cv().ok()), "modes": modes,
            "values": g.sample.specimens.iter().map(|x| json!({"label": x.label, "value": x.value, "held": x.censored, "mode": x.mode})).collect::<Vec<_>>(),
        })
    };
    json!({
        "quantity": groups[0].sample.word,
        "groups": c.sides.iter().zip(groups).map(side).collect::<Vec<_>>(),
        "pairs": c.pairs.iter().map(|p| pair_json(p, c, groups, margin)).collect::<Vec<_>>(),
        "welch_anova": c.all.map(|f| json!({"F": f.f, "numerator_freedom": f.numerator, "denominator_freedom": f.denominator, "p": f.p})),
        "kruskal_wallis": c.all_ranks.map(|k| json!({"H": k.statistic, "p": k.p})),
        "all_pairs": c.every.as_ref().map(|e| json!({"by": e.by, "pairs": e.pairs.iter().map(|p| json!({
            "group": c.sides[p.to].name, "over": c.sides[p.from].name, "ratio": p.ratio, "ci": interval(&p.interval), "p": p.p,
        })).collect::<Vec<_>>()})),
        "together": c.together.as_ref().map(|t| json!({
            "common": {"mean": quantity(t.common.mean), "standard_error": quantity(t.common.standard_error), "q": t.common.q, "q_p": t.common.q_p, "birge_ratio": t.common.birge_ratio, "standard_error_birge": quantity(t.common.standard_error_birge), "i_squared_percent": t.common.i_squared_percent},
            "random": {"mean": quantity(t.random.mean), "standard_error": quantity(t.random.standard_error), "between_variance": t.random.between_variance, "standard_error_knapp_hartung": quantity(t.random.standard_error_knapp_hartung), "low": quantity(t.random.interval_knapp_hartung.low), "high": quantity(t.random.interval_knapp_hartung.high)},
        })),
        "modes_differ": c.modes_differ,
        "warnings": held(c).into_iter().map(|m| json!({"name": "specimens-held", "message": m})).collect::<Vec<_>>(),
        "refused": c.refused.iter().map(|x| json!({"what": x.what, "why": x.why, "needed": x.needed})).collect::<Vec<_>>(),
    })
}

fn pair_json(p: &Pair, c: &GroupComparison, groups: &[NamedGroup], margin: Option<f64>) -> Value {
    let quantity = |v: f64| json!(amount(v, groups));
    json!({
        "group": c.sides[p.group].name,
        "reference": c.sides[0].name,
        "ratio": p.ratio.map(|r| json!({"value": r.ratio, "ci": interval(&r.interval), "p": r.on_logs.p, "t": r.on_logs.t, "degrees_of_freedom": r.on_logs.degrees_of_freedom})),
        "difference": p.difference.map(|w| json!({"value": quantity(w.difference), "low": quantity(w.interval.low), "high": quantity(w.interval.high), "p": w.p, "t": w.t, "degrees_of_freedom": w.degrees_of_freedom})),
        "adjusted": p.adjusted.map(|a| json!({"p": a.p, "by": a.by, "family": a.family})),
        "hedges_g": p.effect.map(|e| e.g),
        "permutation": p.permutation.map(|t| json!({"p": t.p, "floor": t.floor, "arrangements": t.arrangements, "speaks": p.permutation_speaks})),
        "mann_whitney": p.ranks.map(|t| json!({"p": t.p, "floor": t.floor})),
        "same_within": p.same.map(|s| json!({"margin": margin, "p": s.p, "shown": s.shown, "ci": interval(&s.interval)})),
        "sentence": p.sentence,
    })
}

/// One row per comparison.
pub fn table(groups: &[NamedGroup], c: &GroupComparison) -> Table {
    let mut table = Table::new(&[
        "group",
        "reference",
        "ratio",
        "ratio_low",
        "ratio_high",
        "difference",
        "unit",
        "p",
        "p_family",
        "sentence",
    ]);
    for p in &c.pairs {
        table.row(vec![
            c.sides[p.group].name.as_str().into(),
            c.sides[0].name.as_str().into(),
            p.ratio.map(|r| r.ratio).into(),
            p.ratio.map(|r| r.interval.low).into(),
            p.ratio.map(|r| r.interval.high).into(),
            p.difference.map(|w| w.difference).into(),
            groups[0].sample.unit().symbol().into(),
            p.ratio.map(|r| r.on_logs.p).into(),
            p.adjusted.map(|a| a.p).into(),
            p.sentence.as_str().into(),
        ]);
    }
    table
}
