//! The review as a page, and as programs read it.

use super::findings::Caused;
use gripbook::audit::review::{ChangeSort, Move, Near, ReviewedChange};
use gripbook::audit::{Audit, waiver::ABOUT_WAIVERS};
use gripbook::check::rules;
use gripbook::finding::Finding;
use gripbook::present::findings::{github, json as findings_json, onto, summary};
use gripbook::present::sarif::{self, RuleCard};
use gripbook::present::{Answer, Block, Format, Page, Table, brief, counted};
use gripbook::quantity::{Amount, Quantity};
use gripbook::suit::Verdict;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// How answers moved.
pub(super) struct Answers {
    pub asked: usize,
    pub gone: usize,
    pub come: usize,
    pub moved: Vec<Move>,
}

/// A review.
pub(super) struct Review {
    pub base: String,
    pub commit: String,
    pub packs: Vec<String>,
    pub changes: Vec<(ReviewedChange, Option<Near>)>,
    /// Records that are there and cannot be used: what they say now is not known.
    pub left_out: BTreeSet<String>,
    pub answers: Option<Answers>,
    pub caused: Caused,
    pub short: bool,
    /// What SARIF documents as rules.
    pub audits: &'static [&'static Audit],
}

/// Changes, answers and findings of a first screen.
const SHORT: [usize; 3] = [5, 4, 4];
/// Letters of the id of a commit.
const COMMIT: usize = 10;

/// A change with those that are told in the same line: single results of one measurement that changed by one factor, and all
/// that a record said which went.
struct ToldChange<'c> {
    first: &'c ReviewedChange,
    near: Option<&'c Near>,
    results: Vec<&'c ReviewedChange>,
    /// What went with a record.
    within: usize,
    left_out: bool,
}

fn told<'c>(changes: &'c [(ReviewedChange, Option<Near>)], left_out: &BTreeSet<String>) -> Vec<ToldChange<'c>> {
    let mut all: Vec<ToldChange<'_>> = Vec::new();
    for (change, near) in changes {
        let went = |t: &ToldChange<'_>| t.first.sort == ChangeSort::Removed && t.first.address == change.record;
        if let Some(record) = all.iter_mut().find(|t| change.sort == ChangeSort::Removed && went(t)) {
            record.within += 1;
            continue;
        }
        let series = change.address.split('#').next();
        let is_more = |t: &ToldChange<'_>| {
            change.what == "result"
                && t.first.what == "result"
                && t.first.sort == change.sort
                && t.first.address.split('#').next() == series
        };
        match all.iter_mut().find(|t| is_more(t)) {
            Some(group) => group.results.push(change),
            None => all.push(ToldChange {
                first: change,
                near: near.as_ref(),
                results: vec![change],
                within: 0,
                left_out: change.sort == ChangeSort::Removed && left_out.contains(&change.record),
            }),
        }
    }
    all
}

impl ToldChange<'_> {
    /// `~ polymer/grey:tg: 60 °C → 61 °C (+1.0 K)`.
    fn line(&self) -> String {
        let c = self.first;
        if self.left_out {
            return format!("! {}: cannot be used for the error below, so what it says now was not compared", c.record);
        }
        let mark = match c.sort {
            ChangeSort::Changed => "~",
            ChangeSort::Added => "+",
            ChangeSort::Removed => "-",
        };
        if self.results.len() > 1 {
            let series = c.address.split('#').next().unwrap_or(&c.address);
            return format!("{mark} {series}: {} {}{}", counted(self.results.len(), "result"), c.sort.word(), self.factor());
        }
        let value = match (&c.old, &c.new) {
            (Some(old), Some(new)) if old.text == new.text => new.text.clone(),
            (Some(old), Some(new)) => format!("{} → {}", old.text, new.text),
            (Some(one), None) | (None, Some(one)) => one.text.clone(),
            (None, None) => String::new(),
        };
        let mut marks = c.marks();
        if c.sort != ChangeSort::Changed {
            let field = |name: &str| c.fields.iter().find(|f| f.name == name).and_then(|f| f.new.clone().or(f.old.clone()));
            marks.extend(["basis", "source", "locator"].iter().filter_map(|name| field(name)));
            if self.within > 0 {
                marks.push(format!("with {} in it", counted(self.within, "value")));
            }
        } else {
            marks.extend(c.fields.iter().take(3).map(field));
            if c.fields.len() > 3 {
                marks.push(format!("{} more fields", c.fields.len() - 3));
            }
        }
        let marks = if marks.is_empty() { String::new() } else { format!(" ({})", marks.join("; ")) };
        let colon = if value.is_empty() { "" } else { ": " };
        format!("{mark} {}{colon}{value}{marks}", c.address)
    }
    /// ` by 0.4536`, where all results changed by one factor.
    fn factor(&self) -> String {
        let ratio = |c: &&ReviewedChange| Some(c.new.as_ref()?.si? / c.old.as_ref()?.si?);
        let ratios: Option<Vec<f64>> = self.results.iter().map(ratio).collect();
        let Some(ratios) = ratios else { return String::new() };
        let (low, high) = (ratios.iter().copied().fold(f64::INFINITY, f64::min), ratios.iter().copied().fold(0.0, f64::max));
        if high / low < 1.01 { format!(", all times {:.4}", ratios[0]) } else { format!(", times {low:.3} to {high:.3}") }
    }
    /// The picture, and what is in it.
    fn near(&self) -> Option<[String; 2]> {
        let near = self.near?;
        let all = counted(near.same + near.others, "other");
        let old = if near.picture.contains('x') { "x: old, N: new, o: others" } else { "N: new, o: others" };
        let text = format!("{}: {all}, {} of them lower ({old})", near.among, near.below);
        Some([near.picture.replace(" log", " (log scale)"), text])
    }
}

fn field(f: &gripbook::audit::review::ChangedField) -> String {
    match (&f.old, &f.new) {
        (Some(old), Some(new)) => format!("{}: {old} → {new}", f.name),
        (None, Some(new)) => format!("{}: {new} (new)", f.name),
        (Some(old), None) => format!("{}: {old} (gone)", f.name),
        (None, None) => f.name.clone(),
    }
}

fn load(newtons: Option<f64>) -> String {
    newtons.map_or_else(|| "no load".into(), |n| Amount::new(Quantity::Force, n).text(2))
}

fn moved(m: &Move) -> String {
    let (Some(old), Some(new)) = (&m.old, &m.new) else { return m.question.clone() };
    let words = |word: &str| Verdict::of_word(word).map_or_else(|| word.to_owned(), |verdict| verdict.short().to_owned());
    let is_same = old.verdict == new.verdict;
    let verdict = if is_same { String::new() } else { format!(" {} → {}", words(&old.verdict), words(&new.verdict)) };
    let loads = match (old.load, new.load) {
        (None, None) => String::new(),
        (a, b) if a == b => format!(" ({})", load(a)),
        (Some(a), Some(b)) => format!(" {} → {} ({:+.0} %)", load(Some(a)), load(Some(b)), (b / a - 1.0) * 100.0),
        (a, b) => format!(" {} → {}", load(a), load(b)),
    };
    format!("{}:{verdict}{loads}", m.question)
}

/// Findings that say the same of several places are told as one, the gravest first.
fn alike(findings: &[Finding]) -> Vec<Vec<&Finding>> {
    let mut all: Vec<Vec<&Finding>> = Vec::new();
    for f in findings {
        match all.iter_mut().find(|group| (group[0].rule, &group[0].message) == (f.rule, &f.message)) {
            Some(group) => group.push(f),
            None => all.push(vec![f]),
        }
    }
    all.sort_by_key(|group| std::cmp::Reverse(group[0].severity));
    all
}

/// `error polymers/grey.yaml:12 (3 times) source-unknown: …`, at the first of its places.
fn finding(alike: &[&Finding]) -> String {
    let Some(f) = alike.first() else { return String::new() };
    let at = f.place.span.map(|span| format!(":{}", span.line)).unwrap_or_default();
    let times = if alike.len() > 1 { format!(" ({} times)", alike.len()) } else { String::new() };
    format!("{} {}{at} {}{times}: {}", f.severity.word(), f.place.file, f.rule, f.message)
}

impl Review {
    fn title(&self) -> String {
        let told = told(&self.changes, &self.left_out);
        let count = |sort: ChangeSort| {
            let of = |t: &&ToldChange<'_>| !t.left_out && t.first.sort == sort;
            told.iter().filter(of).map(|t| t.results.len() + t.within).sum::<usize>()
        };
        let left_out = told.iter().filter(|t| t.left_out).count();
        let parts = [ChangeSort::Changed, ChangeSort::Added, ChangeSort::Removed].map(|s| (s.word(), count(s)));
        let parts = parts.into_iter().chain([("left out", left_out)]);
        let parts: Vec<String> = parts.filter(|(_, n)| *n > 0).map(|(word, n)| format!("{n} {word}")).collect();
        let what = if parts.is_empty() { "no record differs".into() } else { parts.join(", ") };
        let commit: String = self.commit.chars().take(COMMIT).collect();
        let named = |inside: &String| if inside.is_empty() { "the pack".to_owned() } else { inside.clone() };
        let packs: Vec<String> = self.packs.iter().map(named).collect();
        let packs = if packs.is_empty() { "no pack".into() } else { packs.join(", ") };
        format!("Review of {packs} against {} ({commit}): {what}", self.base)
    }
    fn about_answers(&self) -> String {
        let Some(a) = &self.answers else { return "not asked".into() };
        let turned = a.moved.iter().filter(|m| m.turns()).count();
        let changed = |n: usize, thing: &str| format!("{} {}", counted(n, thing), if n == 1 { "changes" } else { "change" });
        let loads = changed(a.moved.len() - turned, "other load");
        let mut text = format!("{} asked again, {}, {loads}", a.asked, changed(turned, "verdict"));
        for (n, word) in [(a.gone, "no longer possible"), (a.come, "new")] {
            if n > 0 {
                text.push_str(&format!("; {n} {word}"));
            }
        }
        text
    }
    fn about_findings(&self) -> String {
        let gone = if self.caused.gone > 0 { format!("; {} settled", self.caused.gone) } else { String::new() };
        format!("{}{gone}", summary(&self.caused.new))
    }
    fn made(&self, most: [usize; 3], width: Option<usize>) -> Page {
        let mut page = Page::titled(self.title());
        let whole = width.is_none();
        let cut = |text: String| width.map_or_else(|| text.clone(), |width| brief::shortened(&text, 2 * width - 6));
        let told = told(&self.changes, &self.left_out);
        page.blank();
        for one in told.iter().take(most[0]) {
            page.line(cut(one.line()));
            if let Some([picture, text]) = one.near() {
                page.blocks.push(Block::Verbatim(format!("    {picture}")));
                page.sub(2, text);
            }
            if whole {
                let fields = one.first.fields.iter().filter(|_| one.results.len() == 1);
                fields.for_each(|f| {
                    page.subitem(1, field(f));
                });
                one.results.iter().filter(|_| one.results.len() > 1).for_each(|c| {
                    let text = |s: &Option<gripbook::audit::review::Stated>| s.as_ref().map_or("none", |s| &s.text).to_owned();
                    page.subitem(1, format!("{}: {} → {}", c.address, text(&c.old), text(&c.new)));
                });
            }
        }
        more(&mut page, told.len(), most[0], "change");
        page.heading(format!("Answers: {}", self.about_answers()));
        let moves = self.answers.as_ref().map_or(&[][..], |a| &a.moved);
        for m in moves.iter().take(most[1]) {
            page.item(cut(moved(m)));
        }
        more(&mut page, moves.len(), most[1], "answer");
        page.heading(format!("Findings it causes: {}", self.about_findings()));
        if whole {
            for f in &self.caused.new {
                onto(&mut page, f);
                page.blank();
            }
        } else {
            let all = alike(&self.caused.new);
            for group in all.iter().take(most[2]) {
                page.item(cut(finding(group)));
            }
            let shown: usize = all.iter().take(most[2]).map(Vec::len).sum();
            more(&mut page, self.caused.new.len(), shown, "finding");
        }
        page
    }
}

fn more(page: &mut Page, all: usize, shown: usize, word: &str) {
    if all > shown {
        page.line(format!("{}: --full", gripbook::present::more(all - shown, word)));
    }
}

impl Answer for Review {
    fn schema(&self) -> &'static str {
        "gripbook/review/1"
    }
    fn json(&self) -> Value {
        let stated = |s: &Option<gripbook::audit::review::Stated>| {
            s.as_ref().map(|s| json!({"written": s.text, "si": s.si, "unit": s.written.as_ref().map(|w| w.unit.symbol())}))
        };
        let changes: Vec<Value> = self
            .changes
            .iter()
            .map(|(c, near)| {
                json!({
                    "change": c.sort.word(),
                    "what": c.what,
                    "address": c.address,
                    "old": stated(&c.old),
                    "new": stated(&c.new),
                    "marks": c.marks(),
                    "fields": c.fields.iter().map(|f| json!({"name": f.name, "old": f.old, "new": f.new})).collect::<Vec<_>>(),
                    "near": near.as_ref().map(|n| json!({"among": n.among, "same_record": n.same, "others": n.others, "below": n.below, "picture": n.picture})),
                })
            })
            .collect();
        let answered = |a: &Option<gripbook::audit::review::Answered>| {
            a.as_ref()
                .map(|a| json!({"verdict": a.verdict, "design_load": a.load.map(|n| json!({"value": n, "unit": "N", "si": n}))}))
        };
        let answers = self.answers.as_ref().map(|a| {
            let moved: Vec<Value> = a
                .moved
                .iter()
                .map(|m| json!({"question": m.question, "old": answered(&m.old), "new": answered(&m.new)}))
                .collect();
            json!({"asked": a.asked, "given_no_more": a.gone, "new": a.come, "moved": moved})
        });
        json!({
            "base": self.base,
            "commit": self.commit,
            "packs": self.packs,
            "changes": changes,
            "left_out": self.left_out,
            "answers": answers,
            "findings": findings_json(&self.caused.new),
            "findings_settled": self.caused.gone,
        })
    }
    fn page(&self) -> Page {
        self.made([usize::MAX; 3], None)
    }
    fn brief(&self, width: usize) -> Option<Page> {
        self.short.then(|| self.made(SHORT, Some(width)))
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["change", "what", "address", "old", "new", "marks"]);
        for (c, _) in &self.changes {
            let text = |s: &Option<gripbook::audit::review::Stated>| s.as_ref().map(|s| s.text.clone()).into();
            let marks = c.marks().join("; ");
            table.row(vec![
                c.sort.word().into(),
                c.what.into(),
                c.address.clone().into(),
                text(&c.old),
                text(&c.new),
                marks.into(),
            ]);
        }
        Some(table)
    }
    fn special(&self, format: Format) -> Option<String> {
        match format {
            Format::Github => Some(github(&self.caused.new)),
            Format::Sarif => {
                let audits = self.audits.iter().chain(ABOUT_WAIVERS);
                let audits = audits.map(|a| RuleCard { name: a.name, what: a.what, why: a.why, severity: a.severity });
                let cards: Vec<RuleCard<'_>> = audits.chain(check_cards()).collect();
                Some(sarif::document(&self.caused.new, &cards))
            }
            _ => None,
        }
    }
}

/// The findings of `check`, as SARIF wants to know them.
pub(in crate::command) fn check_cards() -> Vec<RuleCard<'static>> {
    let card = |doc: &'static rules::Doc| RuleCard { name: doc.name, what: doc.what, why: doc.why, severity: doc.severity };
    rules::all().into_iter().map(card).collect()
}
