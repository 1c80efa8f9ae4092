//! Waivers: what a reviewer has read and accepted, in the record, with a reason and perhaps a date.

use super::contract::{Audit, Look};
use super::findings::{Raw, Spot};
use crate::book::Record;
use crate::book::view::Waiver;
use crate::finding::Severity;

/// Findings on waivers themselves, so that `why` explains them too.
pub const ABOUT_WAIVERS: &[&Audit] = &[&EXPIRED, &OBSOLETE, &REFUSED, &UNKNOWN];

const fn about(
    name: &'static str,
    severity: Severity,
    what: &'static str,
    why: &'static str,
    waive: &'static str,
    cases: &'static str,
) -> Audit {
    // Waivers are judged by the run, after all audits; there is nothing left to look at.
    Audit {
        name,
        severity,
        integrity: true,
        what,
        why,
        waive,
        source: "rule of this database",
        cases,
        look: Look::Record(|_, _, _| {}),
    }
}

const NEVER: &str = "never: correct or remove the waiver";

static EXPIRED: Audit = about(
    "waiver-expired",
    Severity::Warning,
    "A waiver is past its date.",
    "The reviewer accepted the finding for a limited time, and that time is over.",
    NEVER,
    include_str!("../../tests/data/audits/waiver-expired.md"),
);
static OBSOLETE: Audit = about(
    "waiver-obsolete",
    Severity::Warning,
    "A waiver waives nothing: there is no such finding any more.",
    "It would hide the next finding of that name, which nobody has read.",
    NEVER,
    include_str!("../../tests/data/audits/waiver-obsolete.md"),
);
static REFUSED: Audit = about(
    "waiver-refused",
    Severity::Error,
    "A waiver is about a finding that cannot be waived.",
    "A record whose numbers contradict each other has to be corrected; no reason can make them agree.",
    NEVER,
    include_str!("../../tests/data/audits/waiver-refused.md"),
);
static UNKNOWN: Audit = about(
    "waiver-unknown",
    Severity::Error,
    "A waiver names a finding that does not exist.",
    "It waives nothing, and its author believes it does.",
    NEVER,
    include_str!("../../tests/data/audits/waiver-unknown.md"),
);

/// The waivers of a record, in the order of the file.
pub fn of(record: &Record) -> &[Waiver] {
    record.common().waive.as_deref().unwrap_or_default()
}

impl Waiver {
    fn covers(&self, raw: &Raw) -> bool {
        raw.rule == &*self.finding && self.at.as_deref().is_none_or(|at| raw.spot.at.iter().any(|a| a == at))
    }
    /// Whether its date has passed. A month or year lasts to its end.
    fn is_past(&self, today: &str) -> bool {
        self.until.as_deref().is_some_and(|until| today.get(..until.len()).is_some_and(|now| now > until))
    }
}

/// Which findings stand and which are waived, and what is wrong with the waivers.
pub(super) struct Judged<'a> {
    pub standing: Vec<Raw>,
    pub waived: Vec<(Raw, &'a Waiver)>,
}

/// Applies the waivers of a record. `run` names the audits of this run: a waiver of an audit that did not run is let be.
pub(super) fn judge<'a>(
    record: &'a Record,
    found: Vec<Raw>,
    run: &[&Audit],
    known: &dyn Fn(&str) -> FindingName,
    today: &str,
) -> Judged<'a> {
    let waivers = of(record);
    let mut judged = Judged { standing: Vec::new(), waived: Vec::new() };
    let mut used = vec![false; waivers.len()];
    for raw in found {
        let place = waivers.iter().position(|w| w.covers(&raw) && !w.is_past(today) && !raw.integrity);
        match place {
            Some(place) => {
                used[place] = true;
                judged.waived.push((raw, &waivers[place]));
            }
            None => {
                // A past waiver is reported as such, not as obsolete.
                waivers.iter().zip(&mut used).filter(|(w, _)| w.covers(&raw)).for_each(|(_, used)| *used = true);
                judged.standing.push(raw);
            }
        }
    }
    for (index, waiver) in waivers.iter().enumerate() {
        let spot = |field: &str| Spot::field(record, &format!("/waive/{index}/{field}"));
        let mut say = |audit: &Audit, field: &str, message: String, help: &str| {
            let (rule, severity) = (audit.name, audit.severity);
            judged.standing.push(Raw { rule, severity, integrity: true, spot: spot(field), message, help: help.into() });
        };
        let name = &*waiver.finding;
        match known(name) {
            FindingName::No => {
                say(&UNKNOWN, "finding", format!("no finding is called `{name}`"), "`gripbook why` lists all names")
            }
            FindingName::Integrity => {
                say(&REFUSED, "finding", format!("`{name}` cannot be waived"), "correct the record and remove the waiver");
            }
            FindingName::Yes if waiver.is_past(today) => {
                let message = format!("the waiver of `{name}` held until {}", waiver.until.as_deref().unwrap_or_default());
                say(&EXPIRED, "until", message, "read the finding again; correct the record, or give a new date");
            }
            FindingName::Yes if !used[index] && run.iter().any(|a| a.name == name) => {
                let message = format!("`{name}` is waived, but there is no such finding");
                say(&OBSOLETE, "finding", message, "remove the waiver, or correct `at`");
            }
            FindingName::Yes => {}
        }
    }
    judged
}

/// What is known of a finding's name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FindingName {
    /// Nothing.
    No,
    /// It can be waived.
    Yes,
    /// It cannot be waived.
    Integrity,
}
