//! What allowed plug-ins find in the records, each record in the order of its id.

use super::AuditArgs;
use crate::command::plugins::failed;
use crate::command::{Context, Fault, library};
use gripbook::audit::Outside;
use gripbook::book::{Book, Record};
use gripbook::read::{self, located};
use gripbook::sandbox::SandboxFault;
use serde_json::{Value, json};

/// A plug-in that had a part in the answer.
pub(super) struct PluginPart {
    /// Its name.
    pub name: &'static str,
    /// SHA-256 of its module.
    pub sha256: String,
    /// What it found.
    pub found: Outside,
    /// Why it was stopped, if it was.
    pub stopped: Option<SandboxFault>,
}

impl PluginPart {
    /// A line of the page.
    pub fn line(&self) -> String {
        let count: usize = self.found.found.values().map(Vec::len).sum();
        match &self.stopped {
            None => format!("plug-in {}, SHA-256 {}…: {count} findings", self.name, &self.sha256[..16]),
            Some(fault) => {
                let left =
                    if count == 0 { String::new() } else { format!("; {count} findings from before it was stopped stand above") };
                format!("{} ({}){left}", failed(self.name, fault).message, &self.sha256[..16])
            }
        }
    }
    /// As JSON.
    pub fn json(&self) -> Value {
        let stopped = self.stopped.as_ref().map(|f| json!({"name": f.name(), "message": f.to_string()}));
        json!({"name": self.name, "sha256": self.sha256, "stopped": stopped})
    }
}

/// Runs the plug-ins that may run.
pub(super) fn look(
    args: &AuditArgs,
    book: &Book,
    wanted: &dyn Fn(&Record) -> bool,
    today: &str,
    context: &Context,
) -> Result<Vec<PluginPart>, Fault> {
    let audits = args.plugins.audits(book, context)?;
    let asked = audits.into_iter().filter(|a| args.only.is_empty() || args.only.iter().any(|only| only == a.name));
    let mut records: Vec<&Record> = book.records().into_iter().filter(|r| wanted(r)).collect();
    records.sort_by(|a, b| a.id.cmp(&b.id));
    let document = |record: &Record| {
        let bytes = library::bytes(book, record, context)?;
        located::decode::<Value>(read::read(&bytes).tree.as_ref()?).ok()
    };
    let part = |audit: crate::command::plugins::Audited| {
        let (found, stopped) = match &audit.plugin {
            Ok(plugin) => plugin.look(records.iter().filter_map(|r| Some((*r, document(r)?))), today),
            Err(fault) => (Outside::none(audit.name), Some(fault.clone())),
        };
        PluginPart { name: audit.name, sha256: audit.fingerprint, found, stopped }
    };
    Ok(asked.map(part).collect())
}
