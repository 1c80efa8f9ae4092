//! Modules of plug-ins: each beside its record, each record beside its module, with the checksum it says.
//!
//! Asked of the pack and not of the record, since the answer changes with the module.

use super::file_findings::FileFindingList;
use super::packs::{Files, PLUGINS, ids_of_folder};
use super::rules;
use crate::finding::Finding;
use crate::read::{self, digest::sha256};

const BUILD: &str = "build it again and write its checksum (sha256sum) into the record";

/// What is wrong between the records of plug-ins and their modules.
pub(super) fn look(files: &Files<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for id in ids_of_folder(files, PLUGINS, ".yaml") {
        let Some(file) = files.get(&format!("{PLUGINS}/{id}.yaml")) else { continue };
        let Ok(bytes) = files.bytes(file) else { continue };
        let reading = read::read(&bytes);
        let Some(said) = reading.tree.as_ref().and_then(|tree| tree.get("sha256")) else { continue };
        let whole = files.shown(file);
        let mut list = FileFindingList::new(&whole, None, &reading.source);
        match files.get(&format!("{PLUGINS}/{id}.wasm")).map(|module| files.bytes(module)) {
            Some(Ok(module)) => {
                let digits = sha256(&module);
                if said.as_text() != Some(digits.as_str()) {
                    let message = format!("{PLUGINS}/{id}.wasm has another checksum: {digits}");
                    list.find("module-differs", said.span, message, BUILD);
                }
            }
            _ => list.find("module-missing", said.span, format!("there is no module {PLUGINS}/{id}.wasm"), BUILD),
        }
        found.extend(list.findings());
    }
    for id in ids_of_folder(files, PLUGINS, ".wasm") {
        if files.get(&format!("{PLUGINS}/{id}.yaml")).is_none()
            && let Some(file) = files.get(&format!("{PLUGINS}/{id}.wasm"))
        {
            let help = "a module without a record never runs: add the record, or remove the module";
            found.push(rules::finding("module-unnamed", &files.shown(file), "no record describes this module", help));
        }
    }
    found
}
