//! One run: all audits over the chosen records, waivers applied, findings placed.

use super::context::{AuditContext, ClaimAt};
use super::contract::{Audit, Look};
use super::findings::{AuditFindings, Raw};
use super::loads::Loads;
use super::outside::Outside;
use super::peers::Peers;
use super::place::place;
use super::series::SeriesAt;
use super::statement::Statement;
use super::waiver::{self, ABOUT_WAIVERS, FindingName};
use crate::book::{Book, Record};
use crate::check;
use crate::finding::{Finding, Severity, settle};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What to audit, with what.
pub struct AuditRequest<'a> {
    /// All loaded records.
    pub book: &'a Book,
    /// The audits to run.
    pub audits: &'a [&'a Audit],
    /// Every audit there is, for the names of waivers.
    pub all: &'a [&'a Audit],
    /// What audits found that are not the program's own.
    pub outside: &'a [Outside],
    /// Which records findings are wanted of.
    pub wanted: &'a (dyn Fn(&Record) -> bool + Sync),
    /// Today, `YYYY-MM-DD`.
    pub today: &'a str,
    /// The bytes of a record's file, for lines and columns.
    pub bytes: &'a (dyn Fn(&Record) -> Option<Vec<u8>> + Sync),
}

/// A finding that a reviewer accepted.
#[derive(Debug, Clone)]
pub struct Waived {
    /// The finding.
    pub finding: Finding,
    /// Why it may stand.
    pub because: String,
    /// Last date.
    pub until: Option<String>,
}

/// What a run found.
#[derive(Debug, Clone, Default)]
pub struct AuditReport {
    /// Findings in order of place.
    pub findings: Vec<Finding>,
    /// Accepted ones.
    pub waived: Vec<Waived>,
    /// Records looked at.
    pub records: usize,
    /// Claims and measurements looked at.
    pub claims: usize,
}

/// Runs the audits.
pub fn run(request: &AuditRequest<'_>) -> AuditReport {
    let context =
        AuditContext { book: request.book, today: request.today, peers: Peers::of(request.book), loads: Loads::of(request.book) };
    let records: Vec<&Record> = request.book.records().into_iter().filter(|r| (request.wanted)(r)).collect();
    let known = |name: &str| known(name, request);
    let each: Vec<(Vec<Finding>, Vec<Waived>)> = records
        .par_iter()
        .map(|record| {
            let mut found = look(record, &context, request.audits);
            found.extend(request.outside.iter().flat_map(|outside| outside.on(record)));
            let judged = waiver::judge(record, found, request.audits, &known, request.today);
            finish(record, judged, request)
        })
        .collect();
    let mut report =
        AuditReport { records: records.len(), claims: records.iter().map(|r| statements(r)).sum(), ..AuditReport::default() };
    for (findings, waived) in each {
        report.findings.extend(findings);
        report.waived.extend(waived);
    }
    settle(&mut report.findings);
    report
}

fn statements(record: &Record) -> usize {
    let measurements = record.series().map_or(0, |s| s.measurements.len());
    record.properties.iter().map(|p| p.claims.len()).sum::<usize>() + measurements
}

fn known(name: &str, request: &AuditRequest<'_>) -> FindingName {
    match request.all.iter().chain(ABOUT_WAIVERS).find(|a| a.name == name) {
        Some(audit) if audit.integrity => FindingName::Integrity,
        Some(_) => FindingName::Yes,
        // What check finds is never waived.
        None if check::rules::doc(name).is_some() => FindingName::Integrity,
        // A plug-in that did not run may still have been answered for.
        None if request.book.record(&format!("plugin/{name}")).is_some() => FindingName::Yes,
        None => FindingName::No,
    }
}

/// Every finding of every audit on a record.
fn look(record: &Record, context: &AuditContext<'_>, audits: &[&Audit]) -> Vec<Raw> {
    let claims = claims(record, context);
    let measurements = SeriesAt::of(record, context.book).map(SeriesAt::measurements).unwrap_or_default();
    let mut found = Vec::new();
    for audit in audits {
        let bears = audit.bears();
        let mut findings = AuditFindings::new(&bears);
        match audit.look {
            Look::Record(look) => look(record, context, &mut findings),
            Look::Claim(look) => claims.iter().for_each(|c| look(c, context, &mut findings)),
            Look::Measurement(look) => measurements.iter().for_each(|m| look(m, context, &mut findings)),
            Look::Statement(look) => {
                claims.iter().for_each(|c| look(&Statement::of_claim(c), context, &mut findings));
                measurements.iter().for_each(|m| look(&Statement::of_measurement(m), context, &mut findings));
            }
        }
        found.extend(findings.into_found());
    }
    found
}

fn claims<'a>(record: &'a Record, context: &AuditContext<'a>) -> Vec<ClaimAt<'a>> {
    let book = context.book;
    let of = |property: &'a crate::book::Property| {
        property.claims.iter().enumerate().map(move |(index, claim)| ClaimAt {
            record,
            word: &property.word,
            index,
            claim,
            card: book.catalogue().property(record.id.kind(), &property.word),
            own: claim.source.as_deref().is_some_and(|s| book.own_campaign(s)),
        })
    };
    record.properties.iter().flat_map(of).collect()
}

fn finish(record: &Record, judged: waiver::Judged<'_>, request: &AuditRequest<'_>) -> (Vec<Finding>, Vec<Waived>) {
    if judged.standing.is_empty() && judged.waived.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let bytes = (request.bytes)(record);
    let (raws, reasons): (Vec<Raw>, Vec<_>) =
        judged.waived.into_iter().map(|(raw, w)| (raw, (w.because.to_string(), w.until.as_deref().map(str::to_owned)))).unzip();
    let waived = place(record, raws, bytes.as_deref());
    let waived = waived.into_iter().zip(reasons).map(|(finding, (because, until))| Waived { finding, because, until }).collect();
    (place(record, judged.standing, bytes.as_deref()), waived)
}

/// Many findings of one name in one file as one: a record whose thirty facts have no source is one thing to mend.
/// Errors stay single.
pub fn condense(findings: &[Finding], most: usize) -> Vec<Finding> {
    let key = |f: &Finding| (f.place.file.clone(), f.rule);
    let mut counts: BTreeMap<(String, &str), usize> = BTreeMap::new();
    for finding in findings {
        *counts.entry(key(finding)).or_default() += 1;
    }
    let mut open: BTreeMap<(String, &str), usize> = BTreeMap::new();
    let mut out: Vec<Finding> = Vec::new();
    for finding in findings {
        if finding.severity == Severity::Error || counts.get(&key(finding)).is_none_or(|n| *n <= most) {
            out.push(finding.clone());
            continue;
        }
        if let Some(&first) = open.get(&key(finding)) {
            if let Some(line) = finding.place.span.map(|s| s.line) {
                let more = if out[first].message.contains("; also in line") { ", " } else { "; also in lines " };
                out[first].message.push_str(&format!("{more}{line}"));
            }
            out[first].severity = out[first].severity.max(finding.severity);
            continue;
        }
        open.insert(key(finding), out.len());
        out.push(finding.clone());
    }
    out
}
