//! What `audit` answers: findings, what was waived, and counts; never one score.

use crate::audit::waiver::ABOUT_WAIVERS;
use crate::audit::{Report, condense};
use crate::finding::{Finding, Severity};
use crate::plugins::audits::ALL;
use crate::present::findings::{github, json as findings_json, summary, text};
use crate::present::sarif::{self, RuleCard};
use crate::present::{Answer, Block, Format, Page, Table, table::Cell};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The answer of `audit`.
pub(super) struct AuditAnswer {
    pub report: Report,
    pub notes: bool,
    pub all: bool,
    pub audits: usize,
    pub today: String,
    pub left_out: Value,
}

/// More findings of one name than this in one file are told as one in text.
const SINGLE: usize = 2;
/// Up to so many findings in all, none is held back in text.
const PAGE: usize = 20;
/// Of a kind with more findings than a page holds, so many are shown.
const FIRST: usize = 3;

/// The findings of one kind, and how many of them are held back.
struct Kind {
    name: &'static str,
    shown: Vec<Finding>,
    more: usize,
}

/// Findings in the order a reader needs them: what is gravest first, then kinds with few findings before kinds with many,
/// because the one contradiction counts more than the hundredth missing source.
fn by_kind(findings: Vec<Finding>, all: bool) -> Vec<Kind> {
    let whole = all || findings.len() <= PAGE;
    let mut kinds: Vec<(Severity, Kind)> = Vec::new();
    for finding in findings {
        let place = kinds.iter().position(|(severity, k)| *severity == finding.severity && k.name == finding.rule);
        let place = place.unwrap_or_else(|| {
            kinds.push((finding.severity, Kind { name: finding.rule, shown: Vec::new(), more: 0 }));
            kinds.len() - 1
        });
        kinds[place].1.shown.push(finding);
    }
    kinds.sort_by_key(|(severity, k)| (std::cmp::Reverse(*severity), k.shown.len(), k.name));
    let cut = |(severity, mut kind): (Severity, Kind)| {
        if !whole && severity != Severity::Error && kind.shown.len() > 2 * FIRST {
            kind.more = kind.shown.len() - FIRST;
            kind.shown.truncate(FIRST);
        }
        kind
    };
    kinds.into_iter().map(cut).collect()
}

impl AuditAnswer {
    fn counts(&self) -> BTreeMap<(&'static str, &'static str), usize> {
        let mut counts = BTreeMap::new();
        for f in &self.report.findings {
            *counts.entry((f.rule, f.severity.word())).or_default() += 1;
        }
        counts
    }
    fn table_of_counts(&self) -> Table {
        let mut rows: Vec<_> = self.counts().into_iter().collect();
        let rank = |word: &str| ["error", "warning", "note"].iter().position(|w| *w == word);
        rows.sort_by_key(|((name, severity), n)| (rank(severity), std::cmp::Reverse(*n), *name));
        let mut table = Table::new(&["finding", "severity", "count"]);
        for ((name, severity), n) in rows {
            table.row(vec![name.into(), severity.into(), Cell::Number(n as f64)]);
        }
        table
    }
}

fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
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
        })
    }
    fn page(&self) -> Page {
        let mut page = Page::default();
        let notes = self.report.findings.iter().filter(|f| f.severity == Severity::Note).count();
        let shown: Vec<Finding> =
            self.report.findings.iter().filter(|f| self.notes || f.severity > Severity::Note).cloned().collect();
        let shown = condense(&shown, SINGLE);
        for kind in by_kind(shown, self.all) {
            page.blocks.push(Block::Verbatim(text(&kind.shown)));
            if kind.more > 0 {
                page.blank().line(format!("… and {} more `{}`: --only {}, or --all", kind.more, kind.name, kind.name));
            }
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
        let r = &self.report;
        page.line(format!(
            "{}, {}, {}: {}",
            counted(r.records, "record", "records"),
            counted(r.claims, "claim or measurement", "claims and measurements"),
            counted(self.audits, "audit", "audits"),
            summary(&r.findings)
        ));
        if notes > 0 && !self.notes {
            page.line(format!("{notes} notes are counted, not shown; --notes shows them"));
        }
        page.line("`gripbook why NAME` explains a finding and says when it may be waived");
        page
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
                let cards: Vec<RuleCard<'_>> =
                    ALL.iter().chain(ABOUT_WAIVERS).map(|a| RuleCard { name: a.name, what: a.what, why: a.why, severity: a.severity }).collect();
                Some(sarif::document(&self.report.findings, &cards))
            }
            _ => None,
        }
    }
}
