//! Recordings beside a series: every one that is named is there, every one that is there is named.
//!
//! An import writes recordings first and the record last, so that an import cut short leaves a recording that no record names,
//! and never a record whose recording is missing. Both are found here.

use super::file_findings::FileFindingList;
use super::packs::{Index, Pack, PackFile};
use super::rules;
use crate::finding::{Finding, Span};
use crate::read::tree::Node;

/// The kind whose records have recordings.
pub(super) const KIND: &str = "series";

/// How to mend a recording that no record names.
const UNNAMED: &str = "if an import was cut short, run it again; otherwise name the file in a specimen (`curve: …`) or remove it";

/// Whether a file in the folder of a series is a recording; notes and pictures may lie there too.
fn is_recording(name: &str) -> bool {
    name.ends_with(".csv")
}

/// Compares the names in a series with the files in its folder.
pub(super) fn look(id: &str, tree: &Node, index: &Index<'_>, list: &mut FileFindingList<'_>) {
    let measurements = tree.get("measurements").and_then(Node::as_list).unwrap_or_default();
    let specimens = measurements.iter().filter_map(|m| m.get("specimens")).filter_map(Node::as_list).flatten();
    let named: Vec<(&str, Span)> =
        specimens.filter_map(|s| s.get("curve")).filter_map(|c| Some((c.as_text()?, c.span))).collect();
    let there = index.curves(id);
    for (name, span) in &named {
        if !there.contains(name) {
            let message = format!("there is no recording `{name}` in series/{id}/");
            list.find("curve-missing", *span, message, "put the file there, or remove its name from the record");
        }
    }
    for name in there.into_iter().filter(|n| is_recording(n) && !named.iter().any(|(known, _)| known == n)) {
        list.find_whole("curve-unnamed", format!("no specimen names the recording series/{id}/{name}"), UNNAMED);
    }
}

/// Recordings in the folder of a series that does not exist.
pub(super) fn lost(pack: &Pack<'_>, index: &Index<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (file, _) in pack.files.all.iter().zip(&pack.parts).filter(|(_, part)| **part == PackFile::Curve) {
        let Some((id, name)) = file.relative.strip_prefix("series/").and_then(|inside| inside.split_once('/')) else { continue };
        if is_recording(name) && !index.contains(KIND, id) {
            let message = format!("this is a recording of series/{id}, but there is no such record");
            found.push(rules::finding("curve-unnamed", &pack.files.shown(file), message, UNNAMED));
        }
    }
    found
}
