//! What is read before anything else: verdict and evidence, what to make, the load with its kind, what can hurt.
//!
//! On the first screen at most [`MOST`] lines: every line has a rank, and where the lines of a screen do not suffice, those
//! that the whole page has too go first; then what stays is said in short. The whole page has every line.

use super::change::WhatIf;
use super::words::{check, design, design_load, drawn, factor, finished, lengths, load, mm, percent, promised, torque, wanted};
use gripbook::joint::geometry::{Drawn, Geometry};
use gripbook::joint::held::{Class, HeldVerdict, stretch};
use gripbook::joint::judge::{Candidate, Ground, Judgement, Survival, tighten};
use gripbook::joint::need::{Duration, Need};
use gripbook::present::brief::shortened;
use gripbook::present::fold::wide;
use gripbook::present::{Look, Page, text};
use gripbook::quantity::{Amount, Measure};
use gripbook::suit::Verdict;

/// Said on every sheet.
pub const STANDING: &str = "Not for lifting, overhead loads, brakes, climbing, vehicles or medical use.";
/// Lines of the head on the first screen.
pub const MOST: usize = 15;
/// The narrowest screen the lines are counted on.
const NARROW: usize = 80;
/// Columns of it that a text has behind the widest label.
const LINE: usize = NARROW - 15;
/// Letters that the steps may take on the first screen.
const SHORT: usize = 124;

/// How much of the head is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// The first screen of so many columns.
    First(usize),
    /// Everything.
    Whole,
}

/// How much a line matters: those of a low rank go first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// The second of two.
    Further,
    /// It helps.
    Helps,
    /// It is how the joint is made.
    Makes,
    /// It is why the answer is read.
    Must,
}

struct ScreenLine {
    label: &'static str,
    text: String,
    /// What stands in its place where the screen has no room for all of it.
    short: Option<String>,
    rank: Rank,
}

struct ScreenHead<'a, 'n> {
    judgement: &'a Judgement<'n>,
    note: Option<&'a str>,
    extent: Extent,
    lines: Vec<ScreenLine>,
}

/// Title, a note below it, and first lines about the best candidate.
pub fn page(
    judgement: &Judgement<'_>,
    best: Option<&Candidate<'_>>,
    changes: &[WhatIf],
    note: Option<&str>,
    extent: Extent,
) -> Page {
    let mut head = ScreenHead { judgement, note, extent, lines: Vec::new() };
    head.add(Rank::Helps, "Use", using(judgement.need));
    if let Some(best) = best {
        head.evidence(best);
        head.shape(best);
        head.steps(best);
        head.loads(best);
        head.tightening(best);
        for (i, change) in changes.iter().enumerate() {
            match &change.needed {
                // What has to be told decides: without it there is no answer.
                Some(needed) if i == 0 => head.add_must(change.what, change.text.clone(), shortened(needed, LINE)),
                _ => head.add(if i == 0 { Rank::Makes } else { Rank::Further }, change.what, change.text.clone()),
            }
        }
        head.cautions(best);
    }
    head.fitted(&headline(judgement, best))
}

fn headline(judgement: &Judgement<'_>, best: Option<&Candidate<'_>>) -> String {
    let need = judgement.need;
    let mark = if judgement.invented { "INVENTED DATA: " } else { "" };
    let what = format!("{} x {} in {}", need.thread.designation(), Amount::of(need.length).trimmed(4), need.material.name);
    let several = judgement.candidates.iter().any(|c| best.is_some_and(|b| b.method.name != c.method.name));
    match best {
        None => format!("{mark}{what}: no method is known"),
        Some(_) if judgement.no_promise => format!("{mark}{what}: no load is given where somebody may be hurt"),
        Some(best) if best.verdict == Verdict::DoesNotSuit && several => {
            format!("{mark}{what}: no thread suits; nearest: {}", best.method.title)
        }
        Some(best) if best.verdict == Verdict::Unknown && several => {
            format!("{mark}{what}: no thread is known to suit; nearest, {}: {}", best.method.title, best.verdict.text())
        }
        // The glue has a line of its own.
        Some(best) => format!("{mark}{what}, {}: {}", best.method.title, best.verdict.text()),
    }
}

fn using(need: &Need<'_>) -> String {
    let mut words = vec![match need.using.duration {
        Duration::Short => "short pull".to_string(),
        Duration::Held => {
            format!("load sustained for {}", need.using.held.map_or_else(|| Class::of(None).text().to_owned(), stretch))
        }
        Duration::Repeated => "repeated load".into(),
        Duration::Shock => "impact load".into(),
    }];
    let hot = need.using.hottest.map(|t| format!("up to {:.0} °C", t.si() - 273.15));
    let cold = need.using.coldest.map(|t| format!("down to {:.0} °C", t.si() - 273.15));
    words.push(hot.unwrap_or_else(|| "room temperature".into()));
    words.extend(cold);
    words.extend(need.using.place.map(|p| p.word().to_string()));
    words.push(match need.using.cycles {
        Some(n) => format!("{n} openings"),
        None => "one assembly".into(),
    });
    if let Some(load) = need.load {
        words.push(format!("need {}{}", wanted(need, load.si()), factor(need)));
    }
    words.join(", ")
}

impl ScreenHead<'_, '_> {
    fn add(&mut self, rank: Rank, label: &'static str, text: impl Into<String>) {
        self.lines.push(ScreenLine { label, text: text.into(), short: None, rank });
    }
    /// A line that has to stand, told in short where there is no room for all of it.
    fn add_must(&mut self, label: &'static str, text: String, short: String) {
        let short = (wide(&short) < wide(&text)).then_some(short);
        self.lines.push(ScreenLine { label, text, short, rank: Rank::Must });
    }
    fn whole(&self) -> bool {
        self.extent == Extent::Whole
    }
    fn page(&self, title: &str) -> Page {
        let mut page = Page::titled(title.to_string());
        if let Some(note) = self.note {
            page.line(note);
        }
        for line in &self.lines {
            page.field(line.label, line.text.clone());
        }
        page.line(STANDING);
        page
    }
    /// Leaves out what the whole page has too, the last first, then says the rest in short, until the head is short enough.
    fn fitted(mut self, title: &str) -> Page {
        loop {
            let page = self.page(title);
            let Extent::First(width) = self.extent else { return page };
            let count = text::page(&page, Look { width: width.max(NARROW), colour: false }).lines().count();
            if count <= MOST {
                return page;
            }
            let least = self.lines.iter().map(|l| l.rank).min().unwrap_or(Rank::Must);
            if least == Rank::Must {
                let long = self.lines.iter_mut().rev().find_map(|line| line.short.take().map(|short| (line, short)));
                let Some((line, short)) = long else { return page };
                line.text = short;
            } else if let Some(place) = self.lines.iter().rposition(|l| l.rank == least) {
                self.lines.remove(place);
            }
        }
    }
    /// What the verdict rests on, and why it is what it is.
    fn evidence(&mut self, best: &Candidate<'_>) {
        // Of a model alone the verdict or the load says so already.
        if self.whole() || best.evidence.ground() != Ground::Model {
            self.add(Rank::Makes, "Evidence", best.evidence.text());
        }
        for (i, why) in self.reasons(best).iter().enumerate() {
            let survival = best.survival.filter(|s| s.text() == *why);
            // How many hold nothing at all is told already where nothing is promised.
            if survival.is_some_and(|s| !s.asked && s.load <= 0.0) {
                continue;
            }
            let why = survival.map_or_else(|| why.clone(), |s| self.survival(s));
            let short = in_short(best, &why);
            self.add_must(if i == 0 { "Reason" } else { "" }, why, short);
        }
    }
    /// All of them; on the first screen one: where no load was asked for, a rule that speaks tells more than the survival at the
    /// design load, which is hardly ever another than that bound promises.
    fn reasons<'c>(&self, best: &'c Candidate<'_>) -> &'c [String] {
        let all = &best.because[..];
        if self.whole() {
            return all;
        }
        let is_bound = best.survival.is_some_and(|s| !s.asked && all.first().is_some_and(|first| *first == s.text()));
        let one = all.iter().position(|why| is_bound && why.contains("(rule/")).unwrap_or(0);
        all.get(one..=one).unwrap_or_default()
    }
    /// The load as it stands elsewhere on the page: that asked for in its own unit, the design load with its two digits.
    fn survival(&self, survival: Survival) -> String {
        let load = match survival.asked {
            true => wanted(self.judgement.need, survival.load),
            false => format!("the design load of {}", promised(survival.load)),
        };
        format!("predicted survival at {load}: {}", survival.percent())
    }
    fn shape(&mut self, best: &Candidate<'_>) {
        let Some(geometry) = &best.geometry else { return };
        for (i, step) in geometry.hole.iter().enumerate() {
            let purpose = if i == 0 { String::new() } else { format!("{}: ", step.purpose) };
            let size = format!("{purpose}finished {}", finished(step));
            // The whole page says it in a sentence.
            let whose = if i == 0 && !self.whole() { hole_of(best) } else { String::new() };
            let mut words = format!("{size}{whose}");
            // What is unknown of every stretch alike is said once.
            if i == 0 || !matches!(step.drawn, Drawn::Unknown(_)) {
                words = format!("{words}; {}", drawn(step));
            }
            if self.whole() {
                words = format!("{words}; {}", check(step));
            }
            if i > 0 {
                self.add(Rank::Makes, "", words);
                continue;
            }
            let short = match &step.drawn {
                Drawn::Unknown(what) => format!("{size}; {what}"),
                _ => format!("{size}; {}", drawn(step)),
            };
            self.add_must("Hole", words, short);
        }
        let boss = if geometry.boss_given { "" } else { " or more" };
        let hole = if geometry.through { "through" } else { "blind" };
        self.add(Rank::Makes, "Part", format!("boss Ø {}{boss}, {hole} hole {} deep", mm(geometry.boss), mm(geometry.depth)));
        if let Some(insert) = best.insert {
            let short = format!("{}; engaged {}", insert.name, mm(geometry.thread.engaged));
            self.add_must("Insert", format!("{}; {}", insert.name, lengths(geometry)), short);
        }
        if let Some(vent) = geometry.vent.as_ref().filter(|_| self.whole()) {
            let text = format!("vent Ø {:.1} to {:.1} mm or a flat on the insert", vent.least.si() * 1e3, vent.most.si() * 1e3);
            self.add(Rank::Helps, "", text);
        }
        if let Some(glue) = best.adhesive {
            self.add(Rank::Must, "Glue", format!("{}, {}", glue.name, gap(geometry)));
        }
    }
    /// The steps in short; the whole page lists them.
    fn steps(&mut self, best: &Candidate<'_>) {
        let steps = best.model.as_ref().map_or(&[][..], |m| &m.model.steps);
        if self.whole() || steps.is_empty() || best.verdict == Verdict::DoesNotSuit {
            return;
        }
        let mut words = String::new();
        let mut told = 0;
        for step in steps.iter().map(|step| step.trim_end_matches('.')) {
            if told > 0 && words.chars().count() + step.chars().count() > SHORT {
                break;
            }
            words = if told == 0 { step.to_owned() } else { format!("{words}; {step}") };
            told += 1;
        }
        let more = steps.len() - told;
        self.add(Rank::Helps, "Steps", if more > 0 { format!("{words}; {more} more") } else { words });
    }
    fn loads(&mut self, best: &Candidate<'_>) {
        if self.judgement.no_promise {
            return;
        }
        let lasts = best.model.as_ref().is_some_and(|m| m.model.lasting.is_some());
        let duration = self.judgement.need.using.duration;
        let stays = matches!(duration, Duration::Held | Duration::Repeated);
        // The load is that of a short pull unless a claim says what stays of it.
        let label = if stays && !lasts { "Short pull" } else { "Design load" };
        match (best.design(), &best.lower_bound) {
            (Some(bound), _) => {
                // The whole page has the median with its band.
                let capacity = best.capacity.as_ref().filter(|_| !self.whole());
                let median = capacity.map(|c| format!("; median {}", load(c.load.median))).unwrap_or_default();
                // Where the title says in full that nobody measured it, two words do on the first screen.
                let told = match best.verdict {
                    Verdict::ModelOnly if !self.whole() => format!("{}, model only ({})", design(bound), bound.kind.text()),
                    _ => design_load(bound, best),
                };
                self.add(Rank::Must, label, format!("{told}{median}"));
            }
            (None, Some(bound)) if best.verdict == Verdict::Unknown && bound.design() > 0.0 => {
                let load = format!("{} ({})", design(*bound), bound.kind.text());
                let text = format!("not to be used while the verdict is unknown: {load}");
                self.add_must(label, text, format!("not to be used: {load}"));
            }
            _ => self.add(Rank::Must, label, "none, and no tightening torque"),
        }
        self.stays(best, duration);
        self.modes(best);
    }
    /// What stands beside a short pull where the load stays or comes and goes.
    fn stays(&mut self, best: &Candidate<'_>, duration: Duration) {
        if let Some(held) = &best.held {
            let told_above = |why: &String| best.because.first().is_some_and(|first| first.contains(why.as_str()));
            let text = match &held.verdict {
                HeldVerdict::No(why) if told_above(why) => format!("none for {}", held.how_long()),
                _ => held.text(&held.load().map(promised).unwrap_or_default()),
            };
            let short = text.replace(&format!(", as for {}", held.class.text()), "");
            self.add_must("Sustained", text, short);
        }
        let practice = best.cautions.iter().find(|c| c.starts_with("by practice only"));
        if let Some(practice) = practice.filter(|_| duration == Duration::Repeated) {
            self.add(Rank::Must, "Repeated", format!("none is predicted; {practice}"));
        }
    }
    fn modes(&mut self, best: &Candidate<'_>) {
        // Without a load nothing fails at it.
        let gated = best.model.as_ref().is_none_or(|m| !m.model.gates.is_empty());
        let Some(capacity) = best.capacity.as_ref().filter(|_| !gated) else { return };
        if self.whole() {
            let band = format!(
                "median {}, 90 % between {} and {}",
                load(capacity.load.median),
                load(capacity.load.low),
                load(capacity.load.high)
            );
            self.add(Rank::Helps, "Band", band);
        }
        let worth = if self.whole() { 0.005 } else { 0.10 };
        let modes = capacity.modes.iter().filter(|(_, s)| *s >= worth).take(3);
        let modes: Vec<String> = modes.map(|(m, s)| format!("{} {}", percent(*s), m.text())).collect();
        // As many as one line takes; the first in any case.
        let some = (1..=modes.len()).rev().map(|n| modes[..n].join(", ")).find(|some| wide(some) <= LINE);
        let short = some.or_else(|| modes.first().cloned()).unwrap_or_default();
        self.add_must("Failure modes", modes.join(", "), short);
    }
    fn tightening(&mut self, best: &Candidate<'_>) {
        let Some(tighten) = tighten(self.judgement.need, best) else { return };
        if self.judgement.no_promise || best.design().is_none() {
            return;
        }
        let share = match self.judgement.need.assumptions.value("tighten_share") {
            0.5 => "half".to_string(),
            share => percent(share),
        };
        let held = best.held.as_ref();
        let text = match torque(tighten) {
            _ if held.is_some_and(|held| held.load().is_none()) => {
                "none: the preload of a screw is a sustained load too".to_owned()
            }
            Some(torque) => {
                let stays = held.map_or_else(String::new, |h| format!(", times {} for a preload that stays", percent(h.share)));
                format!("at most {torque}: {share} of the lower 5 % strip torque{stays} (practice)")
            }
            None => "none: in more than 5 % of draws the thread would strip at once".into(),
        };
        self.add(Rank::Must, "Torque", text);
    }
    /// What can hurt stands whatever else has to go. Before it stands what is met first at the bench: that some split unloaded.
    fn cautions(&mut self, best: &Candidate<'_>) {
        // The whole page has it among its cautions, with what brings it about; where there is no load it is the reason.
        let told_elsewhere = self.whole() || best.design().is_none();
        let split = best.split().filter(|_| !told_elsewhere);
        let all: Vec<&str> = split.as_deref().into_iter().chain(best.hazards.iter().copied()).collect();
        if !all.is_empty() {
            self.add(Rank::Must, "Cautions", all.join("; "));
        }
    }
}

/// `, as in logger-grey-cut-m3`: whose hole this is, where none was asked for.
fn hole_of(best: &Candidate<'_>) -> String {
    let names: Vec<&str> = best.evidence.hole_of.iter().map(|id| id.rsplit('/').next().unwrap_or(id)).collect();
    match &names[..] {
        [] => String::new(),
        [one] => format!(", as in {one}"),
        [one, other, ..] => format!(", between those of {one} and {other}"),
    }
}

/// A reason on one line; that of a sustained load has a line of its own besides.
fn in_short(best: &Candidate<'_>, why: &str) -> String {
    match best.held.as_ref().map(|held| &held.verdict) {
        Some(HeldVerdict::Practice(name)) if why.contains(*name) => {
            "the share for a sustained load is practice only, no creep data".into()
        }
        _ => shortened(why, LINE),
    }
}

/// `gap 0.10 mm a side`.
fn gap(geometry: &Geometry) -> String {
    match geometry.gap {
        Some((low, high)) if (high - low).si() < 1e-6 => format!("gap {} a side", mm(low)),
        Some((low, high)) => format!("gap {:.2} to {} a side", low.si() * 1e3, mm(high)),
        None => "no gap".into(),
    }
}
