//! The first lines of the sheet: what a customer reads before anything else, at most [`MOST`] of them.
//!
//! Every line has a rank; where the lines of a narrow screen do not suffice, those that stand further down too go first.

use super::words::{check, drawn, finished, lengths, load, mm, percent, promised, torque};
use crate::joint::geometry::Geometry;
use crate::joint::held::Class;
use crate::joint::judge::{Candidate, Judgement, tighten};
use crate::joint::need::{Duration, Need};
use crate::present::{Look, Page, text};
use crate::quantity::{Amount, Measure};
use crate::suit::Verdict;

/// Said on every sheet.
pub const STANDING: &str = "Not for lifting, overhead loads, brakes, climbing, vehicles or medical use.";
/// Lines of the head on the narrowest screen it is measured for.
pub const MOST: usize = 25;
const NARROW: usize = 80;

/// How much a line matters: those of a low rank go first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// It stands below too.
    Further,
    /// It helps.
    Helps,
    /// It is why the sheet is read.
    Must,
}

struct Line {
    label: String,
    text: String,
    rank: Rank,
}

#[derive(Default)]
struct Head {
    lines: Vec<Line>,
}

impl Head {
    fn add(&mut self, rank: Rank, label: &str, text: impl Into<String>) {
        self.lines.push(Line { label: label.into(), text: text.into(), rank });
    }
    fn page(&self, title: &str) -> Page {
        let mut page = Page::titled(title.to_string());
        for line in &self.lines {
            page.field(line.label.clone(), line.text.clone());
        }
        page.line(STANDING);
        page
    }
    /// Leaves out what stands below too, the last first, until the head is short enough.
    fn fitted(mut self, title: &str) -> Page {
        loop {
            let page = self.page(title);
            let count = text::page(&page, Look { width: NARROW, colour: false }).lines().count();
            let least = self.lines.iter().map(|l| l.rank).min().unwrap_or(Rank::Must);
            if count <= MOST || least == Rank::Must {
                return page;
            }
            if let Some(place) = self.lines.iter().rposition(|l| l.rank == least) {
                self.lines.remove(place);
            }
        }
    }
}

/// Title and first lines about the best candidate.
pub fn page(judgement: &Judgement<'_>, best: Option<&Candidate<'_>>) -> Page {
    let need = judgement.need;
    let mut head = Head::default();
    head.add(Rank::Must, "Use", using(need));
    if let Some(best) = best {
        shape(&mut head, best);
        tightening(&mut head, need, best, judgement.no_promise);
        holds(&mut head, judgement, best);
        rests(&mut head, need, best);
        missing(&mut head, best);
        cautions(&mut head, best);
    }
    head.fitted(&headline(judgement, best))
}

fn headline(judgement: &Judgement<'_>, best: Option<&Candidate<'_>>) -> String {
    let need = judgement.need;
    let mark = if judgement.invented { "INVENTED DATA: " } else { "" };
    let what = format!("{} x {} in {}", need.thread.designation(), Amount::of(need.length).text(2), need.material.name);
    match best {
        None => format!("{mark}{what}: no method"),
        Some(_) if judgement.no_promise => format!("{mark}{what}: no promise where somebody may be hurt"),
        Some(best) => format!("{mark}{what}: {}: {}", best.title(), best.verdict.text()),
    }
}

fn using(need: &Need<'_>) -> String {
    let mut words = vec![match need.using.duration {
        Duration::Short => "short pull of about a minute".to_string(),
        Duration::Held => format!("load held {}", Class::of(need.using.held).text()),
        other => format!("{} load", other.word()),
    }];
    let hot = need.using.hottest.map(|t| format!("up to {:.0} °C", t.si() - 273.15));
    let cold = need.using.coldest.map(|t| format!("down to {:.0} °C", t.si() - 273.15));
    words.push(hot.unwrap_or_else(|| "room temperature".into()));
    words.extend(cold);
    words.extend(need.using.place.map(|p| p.word().to_string()));
    words.push(match need.using.cycles {
        Some(n) => format!("{n} openings"),
        None => "meant for one assembly".into(),
    });
    if let Some(load) = need.load {
        words.push(format!("need {}", wanted(need, Amount::of(load))));
    }
    words.join(", ")
}

/// `300 N x 2`.
fn wanted(need: &Need<'_>, load: Amount) -> String {
    let factor = if need.factor == 1.0 { String::new() } else { format!(" x {}", need.factor) };
    format!("{}{factor}", load.text(3))
}

fn shape(head: &mut Head, best: &Candidate<'_>) {
    let Some(geometry) = &best.geometry else { return };
    for (i, step) in geometry.hole.iter().enumerate().take(3) {
        let label = if i == 0 { "Hole" } else { "" };
        let purpose = if i == 0 { String::new() } else { format!("{}: ", step.purpose) };
        let rank = if i == 0 { Rank::Must } else { Rank::Helps };
        // What is unknown of every stretch alike is said once.
        let drawn =
            if i == 0 || !drawn(step).starts_with("unknown") { format!("drawn {}; ", drawn(step)) } else { String::new() };
        head.add(rank, label, format!("{purpose}finished {}; {drawn}{}", finished(step), check(step)));
    }
    let boss = if geometry.boss_given { "" } else { " or more" };
    let hole = if geometry.through { "through" } else { "blind" };
    let part = format!("boss Ø {}{boss}, {hole}, {} deep; {}", mm(geometry.boss), mm(geometry.depth), lengths(geometry));
    head.add(Rank::Must, "Part", part);
    if let Some(vent) = &geometry.vent {
        let text = format!("vent Ø {:.1} to {:.1} mm or a flat on the insert", vent.least.si() * 1e3, vent.most.si() * 1e3);
        head.add(Rank::Helps, "", text);
    }
    if let Some(glue) = best.adhesive {
        head.add(Rank::Must, "Glue", format!("{}, {}", glue.name, gap(geometry)));
    }
}

/// `gap 0.10 mm each side`.
fn gap(geometry: &Geometry) -> String {
    match geometry.gap {
        Some((low, high)) if (high - low).si() < 1e-6 => format!("gap {} each side", mm(low)),
        Some((low, high)) => format!("gap {} to {} each side", mm(low), mm(high)),
        None => "no gap".into(),
    }
}

fn tightening(head: &mut Head, need: &Need<'_>, best: &Candidate<'_>, no_promise: bool) {
    let Some(band) = best.capacity.as_ref().and_then(|c| c.torque) else { return };
    if no_promise {
        return;
    }
    let share = percent(need.assumptions.value("tighten_share"));
    let text = format!("at most {} ({share} of the 5 % point of what strips; practice)", torque(tighten(need, &band)));
    head.add(Rank::Must, "Tighten", text);
}

fn holds(head: &mut Head, judgement: &Judgement<'_>, best: &Candidate<'_>) {
    if judgement.no_promise {
        let text = "no promise: a joint on which somebody's safety hangs belongs to a licensed engineer and to tests";
        head.add(Rank::Must, "Holds", text);
        return;
    }
    let (Some(capacity), Some(bound)) = (&best.capacity, &best.lower_bound) else {
        head.add(Rank::Must, "Holds", "no promise: something is missing");
        return;
    };
    let band = format!(
        "median {}, 90 % between {} and {}",
        load(capacity.load.median),
        load(capacity.load.low),
        load(capacity.load.high)
    );
    let lasts = best.model.as_ref().is_some_and(|m| m.model.lasting.is_some());
    let pull = if lasts { "under a load that comes and goes" } else { "in a short pull" };
    if let Some(held) = &best.held {
        head.add(Rank::Must, "Held load", held.text(&held.load().map(promised).unwrap_or_default()));
    }
    match best.verdict {
        Verdict::Unknown => {
            head.add(Rank::Must, "Holds", format!("no promise while the verdict is unknown; by the model, {pull}, {band}"));
            let practice = best.cautions.iter().find(|c| c.starts_with("practice only"));
            practice.into_iter().for_each(|p| head.add(Rank::Must, "", p.clone()));
        }
        _ => {
            head.add(Rank::Must, "Holds", format!("at most {} {pull}: {}", promised(bound.value), bound.kind.text()));
            head.add(Rank::Helps, "", band);
        }
    }
    let modes = capacity.modes.iter().filter(|(_, s)| *s >= 0.005).take(3);
    let modes: Vec<String> = modes.map(|(m, s)| format!("{} ({})", m.text(), percent(*s))).collect();
    head.add(Rank::Must, "Fails by", modes.join(", "));
}

fn rests(head: &mut Head, need: &Need<'_>, best: &Candidate<'_>) {
    head.add(Rank::Must, "Rests on", best.evidence.text());
    if let Some(why) = best.because.first() {
        head.add(Rank::Must, "Because", why.clone());
    }
    if let Some(settling) = &best.settling {
        let suits = settling.suits_from.map(|from| {
            let load = need.load.map_or_else(String::new, |l| format!(" for {}", wanted(need, Amount::of(l))));
            format!("; from a mean of {} it suits{load}", load_up(from))
        });
        let text = format!(
            "pull {} such joints, of this material and this hole{}; the band would then be about {:.1} times wide",
            settling.joints,
            suits.unwrap_or_default(),
            settling.width
        );
        head.add(Rank::Must, "To settle", text);
    }
}

/// A load rounded up to two significant digits: what is asked for is never rounded down.
fn load_up(newtons: f64) -> String {
    let step = libm::pow(10.0, libm::floor(libm::log10(newtons)) - 1.0);
    load(libm::ceil(newtons / step - 1e-9) * step)
}

fn missing(head: &mut Head, best: &Candidate<'_>) {
    let mut lacks: Vec<_> = best.missing.iter().collect();
    lacks.sort_by_key(|l| !l.blocks);
    for (i, lack) in lacks.iter().enumerate().take(2) {
        let more = if i == 1 && lacks.len() > 2 { format!(" (and {} more below)", lacks.len() - 2) } else { String::new() };
        let rank = if i == 0 { Rank::Helps } else { Rank::Further };
        head.add(rank, if i == 0 { "Missing" } else { "" }, format!("{}: {}{more}", lack.what, lack.settle));
    }
}

fn cautions(head: &mut Head, best: &Candidate<'_>) {
    let hazards = best.hazards.iter().map(|h| (*h).to_string());
    for (i, text) in hazards.chain(best.cautions.first().cloned()).enumerate().take(3) {
        let rank = if i == 0 { Rank::Must } else { Rank::Further };
        head.add(rank, if i == 0 { "Cautions" } else { "" }, text);
    }
}
