//! What stands behind the answers: the table of assumptions, and what measured series say.

use super::SCHEMA;
use gripbook::book::sought;
use gripbook::joint::assumption::Assumptions;
use gripbook::joint::bonds;
use gripbook::joint::calibration::{Calibration, calibrate, foam, left_out};
use gripbook::joint::method::Method;
use gripbook::joint::mode::Mode;
use gripbook::joint::need::Need;
use gripbook::present::table::Cell;
use gripbook::present::{Opened, Page, Sheet, Table, counted};
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};

/// Every assumption with value and reason.
pub fn assumptions(assumptions: &Assumptions) -> Sheet {
    let mut page = Page::titled("Assumptions: numbers of practice and judgement, what each is, and its reason");
    page.line("`--set NAME=VALUE` or `--set NAME=LOW..HIGH` overrides one, and the answer then says so.");
    let mut table = Table::new(&["name", "kind", "value", "what_it_is", "reason"]);
    let mut list = Vec::new();
    for setting in assumptions.all() {
        let row = setting.row;
        let value = if setting.overridden { format!("{} (overridden)", setting.text()) } else { setting.text() };
        table.row(vec![row.name.into(), row.kind.word().into(), value.clone().into(), row.means.into(), row.reason.into()]);
        list.push(json!({
            "name": row.name, "kind": row.kind.word(), "value": value, "low": setting.low, "high": setting.high,
            "means": row.means, "reason": row.reason, "overridden": setting.overridden,
        }));
    }
    page.blank();
    for setting in assumptions.all() {
        let (row, mark) = (setting.row, if setting.overridden { ", overridden" } else { "" });
        page.item(format!("{} = {} ({}{mark}): {}; {}", row.name, setting.text(), row.kind.word(), row.means, row.reason));
    }
    Sheet { schema: SCHEMA, page, json: json!({ "assumptions": list }), table: Some(table) }
}

/// Prior, posterior, series used and not used; on the first screen the table and what it rests on.
pub fn calibration(need: &Need<'_>, methods: &[&dyn Method], full: bool) -> Opened {
    let calibration = calibrate(need, methods);
    let whose = if need.any_material { "the next material".to_string() } else { need.material.name.to_string() };
    let mark = if need.any_invented() && !need.any_material { "INVENTED DATA: " } else { "" };
    let mut page = Page::titled(format!("{mark}Bias of each limit state (measured over predicted) for {whose}"));
    page.line(
        "A bias of 1 means that the model is right; bounds are 90 %. Failure of metal is never corrected by series in plastics.",
    );
    page.line(
        "Left-out check: how many series lie in the 90 % band that the others give them; the spread is how far they differ from it, \
         in parts of what was predicted: 1 is right, less is cautious.",
    );
    let prior = &calibration.prior;
    page.line(format!("Prior of every limit state: {}.", band(prior.low, prior.median, prior.high)));
    let mut table = Table::new(&["limit_state", "prior", "posterior", "groups", "specimens", "own_series", "left_out_check"]);
    let mut told = Table::new(&["limit_state", "posterior", "groups", "specimens", "own_series", "left_out_check"]);
    let (mut list, mut rests) = (Vec::new(), Vec::new());
    for mode in Mode::ALL.into_iter().filter(|m| !m.is_metal() && *m != Mode::PlateSplit) {
        let p = calibration.posterior(mode);
        let specimens: usize = p.groups.iter().map(|g| g.failed + g.held).sum();
        let classes: BTreeSet<&str> = p.groups.iter().map(|g| &*g.class).collect();
        let classes: Vec<&str> = classes.into_iter().collect();
        // Of thread shear there are published screws too, whose strength was fitted to them.
        let screws = || left_out::foam_screws(need.book, &need.assumptions).filter(|_| mode == Mode::PartThreadShear);
        let left_out = calibration.left_out(mode).or_else(screws).map(|l| l.short());
        let known = calibration.posteriors.contains_key(&mode);
        let rest: Vec<Cell> = vec![
            if known { band(p.low, p.median, p.high).into() } else { "prior only".into() },
            Cell::Number(p.groups.len() as f64),
            Cell::Number(specimens as f64),
            if p.own { "yes" } else { "no" }.into(),
            left_out.clone().unwrap_or_else(|| "none".into()).into(),
        ];
        told.row(std::iter::once(mode.short().into()).chain(rest.clone()).collect());
        let before = band(prior.low, prior.median, prior.high);
        table.row([mode.word().into(), before.into()].into_iter().chain(rest).collect());
        if !classes.is_empty() {
            rests.push(format!("{} rests on groups of: {}", mode.short(), classes.join(", ")));
        }
        list.push(json!({
            "mode": mode,
            "prior": {"low": prior.low, "median": prior.median, "high": prior.high},
            "posterior": {"low": p.low, "median": p.median, "high": p.high},
            "calibrated": known, "groups": p.groups.len(), "classes": classes, "specimens": specimens, "own": p.own, "left_out": left_out,
        }));
    }
    page.blank().table(told);
    for line in rests {
        page.item(line);
    }
    literature(&mut page, need);
    let sought = sought::of_joints(need.book);
    let brief = (!full).then(|| {
        let mut brief = page.clone();
        let (used, unused) = (counted(calibration.used.len(), "series"), unused(&calibration).len());
        let searches = counted(sought.len(), "search");
        brief.blank().line(format!("--full: {used} used, {unused} not used and why, {searches} that found nothing."));
        brief
    });
    if !sought.is_empty() {
        page.heading("Looked for and not found");
    }
    for search in &sought {
        page.item(search.told());
    }
    series(&mut page, &calibration);
    let json = json!({
        "material": (!need.any_material).then(|| need.material.id.to_string()),
        "limit_states": list,
        "used": calibration.used.iter().map(|u| json!({"series": u.series, "modes": u.modes, "n": u.n, "own": u.own})).collect::<Vec<_>>(),
        "unused": calibration.unused.iter().map(|u| json!({"series": u.series, "because": u.because})).collect::<Vec<_>>(),
        "sought": sought,
        "spread_only": foam::spread_only(need.book).iter().map(|r| json!({"series": r.series, "ratio": r.ratio})).collect::<Vec<_>>(),
    });
    Opened { brief, sheet: Sheet { schema: SCHEMA, page, json, table: Some(table) } }
}

fn band(low: f64, median: f64, high: f64) -> String {
    format!("{median:.2} ({low:.2} to {high:.2})")
}

/// Series of which nothing is used.
fn unused(calibration: &Calibration) -> Vec<(&str, &str)> {
    let is_used = |series: &str| calibration.used.iter().any(|used| *used.series == *series);
    let all = calibration.unused.iter().map(|u| (&*u.series, &*u.because));
    all.filter(|(series, _)| !is_used(series)).collect()
}

fn literature(page: &mut Page, need: &Need<'_>) {
    page.heading("What the literature gives");
    page.line(
        "Published series feed thread shear only: one study of twelve screws in foam with the strength measured in it. \
         None feeds knurls or bonded inserts: no series with insert sizes, hole and strength could be read, so those rest on the prior.",
    );
    let spread = foam::spread_only(need.book);
    if spread.len() > 1 {
        let n = spread.len() as f64;
        let variance = spread.iter().map(|r| (r.ratio - 1.0) * (r.ratio - 1.0)).sum::<f64>() / (n - 1.0);
        page.line(format!(
            "{} screws in one foam, one strength fitted to all: spread {:.1} %. That is evidence of spread only, not of level.",
            spread.len(),
            libm::sqrt(variance) * 100.0
        ));
        if let Some(left_out) = left_out::foam_screws(need.book, &need.assumptions) {
            page.line(format!("Each of them predicted from the others, their strength taken as unknown: {}.", left_out.text()));
        }
    }
    let bonds = bonds::left_out(need);
    let told = [("bonds of other studies", bonds.from_bonds), ("the class range of the glue on metal", bonds.from_class)];
    for (from, found) in told.into_iter().filter(|(_, found)| found.tried > 0) {
        page.line(format!("Bonds to plastics, each without its own study, predicted from {from}: {}.", found.text()));
    }
    page.line("A bond without stated preparation is 0.21 of a prepared one, give or take a factor of 2.15: an assumption, not a calibration.");
}

fn series(page: &mut Page, calibration: &Calibration) {
    page.heading("Series used");
    if calibration.used.is_empty() {
        page.line("none");
    }
    for used in &calibration.used {
        let modes: Vec<&str> = used.modes.iter().map(|m| m.text()).collect();
        let own = if used.own { ", of the material asked about" } else { "" };
        page.item(format!("{} ({}: {}{own})", used.series, counted(used.n, "value"), modes.join(", ")));
    }
    let mut why: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (series, because) in unused(calibration) {
        why.entry(because).or_default().push(series.trim_start_matches("series/"));
    }
    if !why.is_empty() {
        page.heading("Series not used, and why");
    }
    for (because, names) in why {
        page.item(format!("{because}: {}", names.join(", ")));
    }
}
