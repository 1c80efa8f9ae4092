//! What `audit` answers: findings, what was waived, and counts; never one score.

use super::first::{self, Weight};
use super::outside::PluginPart;
use gripbook::audit::waiver::ABOUT_WAIVERS;
use gripbook::audit::{Audit, AuditReport, condense};
use gripbook::finding::{Finding, Severity};
use gripbook::present::findings::{github, json as findings_json, onto, summary};
use gripbook::present::sarif::{self, RuleCard};
use gripbook::present::{Answer, Format, Page, Table, brief, counted, table::Cell};
use serde_json::{Value, json};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// The answer of `audit`.
pub(super) struct AuditAnswer {
    pub report: AuditReport,
    pub notes: bool,
    /// What rests on each record, where a first screen is wanted.
    pub weight: Option<Weight>,
    pub audits: usize,
    /// Every audit there is.
    pub all: &'static [&'static Audit],
    pub today: String,
    pub left_out: Value,
    /// The plug-ins that had a part.
    pub plugins: Vec<PluginPart>,
}

/// More findings of one name than this in one file are told as one in text.
const SINGLE: usize = 2;
/// Fewer lines than this no finding takes in text.
const SHORTEST: usize = 4;

/// Findings in the order a reader needs them: what is gravest first, then kinds with few findings before kinds with many,
/// because the one contradiction counts more than the hundredth missing source.
fn by_kind(mut findings: Vec<Finding>) -> Vec<Finding> {
    let mut kinds: BTreeMap<(Severity, &'static str), usize> = BTreeMap::new();
    for f in &findings {
        *kinds.entry((f.severity, f.rule)).or_default() += 1;
    }
    let size = |f: &Finding| kinds.get(&(f.severity, f.rule)).copied().unwrap_or(0);
    findings.sort_by_key(|f| (Reverse(f.severity), size(f), f.rule));
    findings
}

impl AuditAnswer {
    fn counts(&self) -> BTreeMap<(&'static str, &'static str), usize> {
        let mut counts = BTreeMap::new();
        for f in &self.report.findings {
            *counts.entry((f.rule, f.severity.word())).or_default() += 1;
        }
        counts
    }
    /// Counts by audit, gravest and most frequent first.
    fn ranked(&self) -> Vec<(&'static str, &'static str, usize)> {
        let mut rows: Vec<_> = self.counts().into_iter().map(|((name, severity), n)| (name, severity, n)).collect();
        let rank = |word: &str| ["error", "warning", "note"].iter().position(|w| *w == word);
        rows.sort_by_key(|(name, severity, n)| (rank(severity), Reverse(*n), *name));
        rows
    }
    fn table_of_counts(&self) -> Table {
        let mut table = Table::new(&["finding", "severity", "count"]);
        for (name, severity, n) in self.ranked() {
            table.row(vec![name.into(), severity.into(), Cell::Number(n as f64)]);
        }
        table
    }
    /// `unsourced 107`, one for each audit that found something of this severity.
    fn by_count(&self, severity: Severity) -> impl Iterator<Item = String> {
        let rows = self.ranked().into_iter().filter(move |(_, word, _)| *word == severity.word());
        rows.map(|(name, _, n)| format!("{name} {n}"))
    }
    /// What was looked at, and how many findings there are.
    fn summary(&self) -> String {
        let r = &self.report;
        let waived = if r.waived.is_empty() { String::new() } else { format!("; {} waived", r.waived.len()) };
        format!(
            "{}, {}, {}: {}{waived}",
            counted(r.records, "record"),
            if r.claims == 1 { "1 claim or measurement".into() } else { format!("{} claims and measurements", r.claims) },
            counted(self.audits, "audit"),
            summary(&r.findings)
        )
    }
    /// The findings a page is about: notes only when asked for.
    fn shown(&self) -> Vec<&Finding> {
        self.report.findings.iter().filter(|f| self.notes || f.severity > Severity::Note).collect()
    }
}

impl Answer for AuditAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/audit/1"
    }
    fn json(&self) -> Value {
        let counts = self.counts();
        let counts: Vec<Value> =
            counts.iter().map(|((name, severity), n)| json!({"finding": name, "severity": severity, "count": n})).collect();
        let waived: Vec<Value> = self
            .report
            .waived
            .iter()
            .map(|w| {
                let mut one = findings_json(std::slice::from_ref(&w.finding))[0].clone();
                one["because"] = json!(w.because);
                one["until"] = json!(w.until);
                one
            })
            .collect();
        json!({
            "today": self.today,
            "records": self.report.records,
            "statements": self.report.claims,
            "audits": self.audits,
            "findings": findings_json(&self.report.findings),
            "waived": waived,
            "counts": counts,
            "left_out": self.left_out,
            "plugins": self.plugins.iter().map(PluginPart::json).collect::<Vec<_>>(),
        })
    }
    fn page(&self) -> Page {
        let mut page = Page::default();
        let notes = self.report.findings.iter().filter(|f| f.severity == Severity::Note).count();
        let shown: Vec<Finding> = self.shown().into_iter().cloned().collect();
        for finding in by_kind(condense(&shown, SINGLE)) {
            onto(&mut page, &finding);
            page.blank();
        }
        if !self.report.waived.is_empty() {
            page.heading("Waived");
            for w in &self.report.waived {
                let until = w.until.as_deref().map(|u| format!(" (until {u})")).unwrap_or_default();
                let about = w.finding.subject.as_deref().unwrap_or(&w.finding.place.file);
                page.item(format!("{} at {about}: {}{until}", w.finding.rule, w.because));
            }
        }
        page.blank();
        if !self.report.findings.is_empty() {
            page.table(self.table_of_counts());
            page.blank();
        }
        page.line(self.summary());
        for plugin in &self.plugins {
            page.line(plugin.line());
        }
        if notes > 0 && !self.notes {
            page.line(match notes {
                1 => "1 note is counted but not shown; --notes shows it".to_owned(),
                _ => format!("{notes} notes are counted but not shown; --notes shows them"),
            });
        }
        page.line("`gripbook why NAME` explains a finding and says when it may be waived");
        page
    }
    fn brief(&self, width: usize) -> Option<Page> {
        let weight = self.weight.as_ref()?;
        let shown = self.shown();
        // A few findings are told whole, with their lines.
        if shown.len() * SHORTEST <= brief::LINES {
            let whole = self.page();
            if brief::fits(&whole) {
                return Some(whole);
            }
        }
        let found = [Severity::Error, Severity::Warning, Severity::Note].map(|s| (s, self.by_count(s).collect::<Vec<_>>()));
        let notes_left = !self.notes && !found[2].1.is_empty();
        let counts = first::Counts { summary: self.summary(), found: found.into(), notes_left };
        let plugins: Vec<String> = self.plugins.iter().map(|plugin| plugin.line()).collect();
        Some(first::page(&counts, &shown, weight, &plugins, width))
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["severity", "finding", "file", "line", "column", "subject", "message", "help"]);
        for f in &self.report.findings {
            let number = |n: Option<u32>| n.map_or(Cell::Empty, |n| Cell::Number(f64::from(n)));
            table.row(vec![
                f.severity.word().into(),
                f.rule.into(),
                f.place.file.clone().into(),
                number(f.place.span.map(|s| s.line)),
                number(f.place.span.map(|s| s.column)),
                f.subject.clone().into(),
                f.message.clone().into(),
                f.help.clone().into(),
            ]);
        }
        Some(table)
    }
    fn special(&self, format: Format) -> Option<String> {
        match format {
            Format::Github => Some(github(&self.report.findings)),
            Format::Sarif => {
                let cards: Vec<RuleCard<'_>> = self
                    .all
                    .iter()
                    .chain(ABOUT_WAIVERS)
                    .map(|a| RuleCard { name: a.name, what: a.what, why: a.why, severity: a.severity })
                    .chain(self.plugins.iter().map(PluginPart::card))
                    .collect();
                Some(sarif::document(&self.report.findings, &cards))
            }
            _ => None,
        }
    }
}
