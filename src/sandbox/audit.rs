//! A module as an audit: it looks at one record after the other, in their order, each in a fresh instance.

use super::documents::{LookAnswer, LookInput, SeveritySaid, ask, said};
use super::fault::SandboxFault;
use super::importer::about;
use super::limits;
use super::module::{Module, Operation};
use crate::audit::{Outside, OutsideFinding};
use crate::book::Record;
use crate::finding::Severity;
use serde_json::Value;
use std::collections::BTreeMap;

/// An audit in a sandbox.
pub struct AuditPlugin {
    name: &'static str,
    severity: Severity,
    module: Module,
}

impl AuditPlugin {
    /// An audit of that name; its findings weigh at most `severity`, and never more than a warning.
    ///
    /// # Errors
    /// [`SandboxFault`] where the module is refused or says that it is something else.
    pub fn new(name: &'static str, severity: Severity, module: Module) -> Result<Self, SandboxFault> {
        about(&module, name, "audit")?;
        Ok(AuditPlugin { name, severity: severity.min(Severity::Warning), module })
    }
    /// Looks at the records, each as it is written. What was found before it had to be stopped stays.
    pub fn look<'a>(&self, records: impl Iterator<Item = (&'a Record, Value)>, today: &str) -> (Outside, Option<SandboxFault>) {
        let mut found = BTreeMap::new();
        let mut left = limits::FUEL_ALL;
        let mut stopped = None;
        for (record, document) in records {
            match self.one(record, &document, today, &mut left) {
                Ok(findings) if findings.is_empty() => {}
                Ok(findings) => {
                    found.insert(record.id.to_string(), findings);
                }
                Err(fault) => {
                    stopped = Some(fault);
                    break;
                }
            }
        }
        (Outside { name: self.name, severity: self.severity, found }, stopped)
    }
    fn one(&self, record: &Record, document: &Value, today: &str, left: &mut u64) -> Result<Vec<OutsideFinding>, SandboxFault> {
        if *left == 0 {
            return Err(SandboxFault::AllTooLong);
        }
        let mut session = self.module.instance()?.with_left(*left);
        let input = LookInput { today, id: record.id.as_str(), kind: record.id.kind(), record: document };
        let answer: Result<LookAnswer, _> = ask(&mut session, Operation::Look, &input);
        *left = session.left();
        let findings = answer?.findings;
        if findings.len() > limits::FINDINGS {
            return Err(SandboxFault::TooManyFindings(findings.len()));
        }
        let finding = |f: super::documents::RecordFinding| OutsideFinding {
            pointer: said(&f.at),
            severity: match f.severity {
                SeveritySaid::Note => Severity::Note,
                SeveritySaid::Warning | SeveritySaid::Error => Severity::Warning,
            }
            .min(self.severity),
            message: said(&f.message),
            help: said(&f.help),
        };
        Ok(findings.into_iter().map(finding).collect())
    }
}
