//! Which findings of `check` and `audit` a change causes, and which it settles.

use super::ReviewSide;
use crate::command::{Context, Fault, library, lost};
use gripbook::audit::{AuditRequest, run as run_audits};
use gripbook::book::{Record, kinds};
use gripbook::check::packs::PackFrom;
use gripbook::check::{self, Targets};
use gripbook::finding::{Finding, Severity, settle};
use std::collections::HashMap;
use std::hash::Hash;

/// Findings caused and settled.
pub(super) struct Caused {
    pub new: Vec<Finding>,
    pub gone: usize,
}

/// What the change caused: findings after it that were not there before.
pub(super) fn caused(old: &ReviewSide, new: &ReviewSide, today: &str, context: &Context) -> Result<Caused, Fault> {
    let (before, after) = (all(old, today, context)?, all(new, today, context)?);
    // First those whose line is the same, wherever it stands now; then those of a line that was written anew.
    let (before, after) = without_pairs(before, after, key);
    let (before, mut after) = without_pairs(before, after, |finding| (String::new(), key(finding).1));
    settle(&mut after);
    Ok(Caused { new: after, gone: before.len() })
}

/// What is left of two lists when those that are one are taken out of both.
fn without_pairs<K: Eq + Hash>(
    before: Vec<Finding>,
    after: Vec<Finding>,
    key: impl Fn(&Finding) -> K,
) -> (Vec<Finding>, Vec<Finding>) {
    let mut open: HashMap<K, Vec<Finding>> = HashMap::new();
    before.into_iter().for_each(|finding| open.entry(key(&finding)).or_default().push(finding));
    let came = |finding: &Finding| open.get_mut(&key(finding)).and_then(Vec::pop).is_none();
    let after: Vec<Finding> = after.into_iter().filter(came).collect();
    (open.into_values().flatten().collect(), after)
}

/// What makes two findings one: the line, rule, record and claim without its key. Lines move, and so do the numbers in a
/// message when a neighbour comes.
fn key(finding: &Finding) -> (String, (&'static str, String, String)) {
    let record: Vec<&str> = finding.place.file.rsplit('/').take(2).collect();
    let subject = finding.subject.as_deref().unwrap_or_default();
    let subject = subject.split('#').next().unwrap_or(subject).to_owned();
    let line = finding.excerpt.as_deref().map_or_else(|| finding.message.clone(), |line| line.trim().to_owned());
    (line, (finding.rule, record.join("/"), subject))
}

fn all(side: &ReviewSide, today: &str, context: &Context) -> Result<Vec<Finding>, Fault> {
    let broken = |e| Fault { exit: 70, message: format!("an embedded schema is broken: {e}"), help: None };
    let packs: Vec<PackFrom<'static>> = library::packs_for_check(&side.book, context);
    let request = check::CheckRequest { shared: kinds::built_in_schemas(), packs, targets: Targets::Packs(side.places.clone()) };
    let mut findings = check::run(&request).map_err(broken)?.findings;
    let wanted = |record: &Record| side.places.contains(&record.pack);
    findings.extend(lost::findings(&side.book, wanted, context));
    let bytes = |record: &Record| library::bytes(&side.book, record, context);
    let audits = context.registry.audits;
    let request = AuditRequest { book: &side.book, audits, all: audits, outside: &[], wanted: &wanted, today, bytes: &bytes };
    findings.extend(run_audits(&request).findings);
    findings.retain(|finding| finding.severity > Severity::Note || finding.excerpt.is_some());
    Ok(findings)
}
