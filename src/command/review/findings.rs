//! Which findings of `check` and `audit` a change causes, and which it settles.

use super::Side;
use crate::audit::{Request, run as run_audits};
use crate::book::{Record, kinds};
use crate::check::packs::PackFrom;
use crate::check::{self, Targets};
use crate::command::{Context, Fault, library, lost};
use crate::finding::{Finding, Severity, settle};
use crate::plugins::audits::ALL;
use std::collections::HashMap;

/// Findings caused and settled.
pub(super) struct Caused {
    pub new: Vec<Finding>,
    pub gone: usize,
}

/// What the change caused: findings after it that were not there before.
pub(super) fn caused(old: &Side, new: &Side, today: &str, context: &Context) -> Result<Caused, Fault> {
    let mut before: HashMap<_, usize> = HashMap::new();
    for finding in all(old, today, context)? {
        *before.entry(key(&finding)).or_default() += 1;
    }
    let mut caused = Vec::new();
    for finding in all(new, today, context)? {
        match before.get_mut(&key(&finding)).filter(|left| **left > 0) {
            Some(left) => *left -= 1,
            None => caused.push(finding),
        }
    }
    settle(&mut caused);
    Ok(Caused { new: caused, gone: before.values().sum() })
}

/// What makes two findings one: rule, record, claim without its key, and the line it stands on. Lines move, and so do the
/// numbers in a message when a neighbour comes.
fn key(finding: &Finding) -> (&'static str, String, String, String) {
    let record: Vec<&str> = finding.place.file.rsplit('/').take(2).collect();
    let subject = finding.subject.as_deref().unwrap_or_default();
    let subject = subject.split('#').next().unwrap_or(subject).to_owned();
    let line = finding.excerpt.as_deref().map_or_else(|| finding.message.clone(), |line| line.trim().to_owned());
    (finding.rule, record.join("/"), subject, line)
}

fn all(side: &Side, today: &str, context: &Context) -> Result<Vec<Finding>, Fault> {
    let broken = |e| Fault { exit: 70, message: format!("an embedded schema is broken: {e}"), help: None };
    let packs: Vec<PackFrom<'static>> = library::packs_for_check(&side.book, context);
    let request = check::Request { shared: kinds::built_in_schemas(), packs, targets: Targets::Packs(side.places.clone()) };
    let mut findings = check::run(&request).map_err(broken)?.findings;
    findings.retain(|finding| finding.rule != check::WITHDRAWS);
    let wanted = |record: &Record| side.places.contains(&record.pack);
    findings.extend(lost::findings(&side.book, wanted, context));
    let bytes = |record: &Record| library::bytes(&side.book, record, context);
    let request = Request { book: &side.book, audits: ALL, all: ALL, wanted: &wanted, today, bytes: &bytes };
    findings.extend(run_audits(&request).findings);
    findings.retain(|finding| finding.severity > Severity::Note || finding.excerpt.is_some());
    Ok(findings)
}
