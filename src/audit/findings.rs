//! Where an audit puts what it finds.

use crate::book::{Claim, Record};
use crate::finding::Severity;

/// A place in a record: a JSON pointer into its file, and what it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// Pointer, e.g. `/properties/tg/0/value`; a part that is not there stands for what contains it.
    pub pointer: String,
    /// Line, when it is known without the file.
    pub line: Option<u32>,
    /// Claim address or record id.
    pub subject: String,
    /// What a waiver calls the place: property, property and key, or quantity of a measurement.
    pub at: Vec<String>,
}

impl Spot {
    /// A field of a record.
    pub fn field(record: &Record, pointer: &str) -> Self {
        let at = pointer.split('/').nth(1).filter(|p| !p.is_empty()).map(str::to_owned).into_iter().collect();
        Spot { pointer: pointer.into(), line: None, subject: record.id.to_string(), at }
    }
    /// A claim, found by the line it stands on.
    pub(super) fn claim(record: &Record, word: &str, claim: &Claim) -> Self {
        Spot {
            pointer: format!("/properties/{word}"),
            line: Some(claim.line),
            subject: record.address(word, claim),
            at: vec![word.into(), format!("{word}#{}", claim.key)],
        }
    }
    /// All claims of a property.
    pub fn property(record: &Record, word: &str) -> Self {
        let line = record.claims(word).first().map(|c| c.line);
        Spot { pointer: format!("/properties/{word}"), line, subject: format!("{}:{word}", record.id), at: vec![word.into()] }
    }
}

/// A finding before its place in the file is known.
#[derive(Debug, Clone)]
pub(super) struct Raw {
    pub rule: &'static str,
    pub severity: Severity,
    pub integrity: bool,
    pub spot: Spot,
    pub message: String,
    pub help: String,
}

/// What every finding of an audit bears.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bears {
    /// Its name.
    pub rule: &'static str,
    /// The gravest it gives.
    pub severity: Severity,
    /// Whether it cannot be waived.
    pub integrity: bool,
}

/// Takes the findings of one audit on one record.
pub struct AuditFindings<'a> {
    bears: &'a Bears,
    found: Vec<Raw>,
}

impl<'a> AuditFindings<'a> {
    pub(super) fn new(bears: &'a Bears) -> Self {
        AuditFindings { bears, found: Vec::new() }
    }
    /// A finding of the audit's severity.
    pub fn find(&mut self, spot: Spot, message: impl Into<String>, help: impl Into<String>) {
        self.find_as(self.bears.severity, spot, message, help);
    }
    /// A finding of another severity.
    pub fn find_as(&mut self, severity: Severity, spot: Spot, message: impl Into<String>, help: impl Into<String>) {
        self.found.push(Raw {
            rule: self.bears.rule,
            severity: severity.min(self.bears.severity),
            integrity: self.bears.integrity,
            spot,
            message: message.into(),
            help: help.into(),
        });
    }
    /// A finding on what is not stated: of the audit's severity in tests of one's own, else a note, because a published
    /// source cannot be asked.
    pub fn gap(&mut self, own: bool, spot: Spot, message: impl Into<String>, help: impl Into<String>) {
        let severity = if own { self.bears.severity } else { Severity::Note };
        self.find_as(severity, spot, message, help);
    }
    pub(super) fn into_found(self) -> Vec<Raw> {
        self.found
    }
}
