//! Recordings beside a series: every one that is named is there, every one that is there is named.
//!
//! An import writes recordings first and the record last, so that an import cut short leaves a recording that no record names,
//! and never a record whose recording is missing. Both are found here.

use super::desk::Desk;
use super::packs::{Index, Pack, Part};
use super::rules;
use crate::finding::{Finding, Span};
use crate::read::tree::Node;

/// The kind whose records have recordings.
pub(super) const KIND: &str = "series";

/// How to mend a recording that no record names.
const UNNAMED: &str = "an import that was cut short? run it again; else name it in a specimen (`curve: …`) or take it away";

/// Whether a file in the folder of a series is a recording; notes and pictures may lie there too.
fn is_recording(name: &str) -> bool {
    name.ends_with(".csv")
}

/// Compares the names in a series with the files in its folder.
pub(super) fn look(id: &str, tree: &Node, index: &Index<'_>, desk: &mut Desk<'_>) {
    let measurements = tree.get("measurements").and_then(Node::as_list).unwrap_or_default();
    let specimens = measurements.iter().filter_map(|m| m.get("specimens")).filter_map(Node::as_list).flatten();
    let named: Vec<(&str, Span)> =
        specimens.filter_map(|s| s.get("curve")).filter_map(|c| Some((c.as_text()?, c.span))).collect();
    let there = index.curves(id);
    for (name, span) in &named {
        if !there.contains(name) {
            let message = format!("the recording `{name}` is not in series/{id}/");
            desk.find("curve-missing", *span, message, "put the file there, or take the name out");
        }
    }
    for name in there.into_iter().filter(|n| is_recording(n) && !named.iter().any(|(known, _)| known == n)) {
        desk.find_whole("curve-unnamed", format!("no specimen names the recording series/{id}/{name}"), UNNAMED);
    }
}

/// Recordings in the folder of a series that does not exist.
pub(super) fn lost(pack: &Pack<'_>, index: &Index<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (file, _) in pack.files.all.iter().zip(&pack.parts).filter(|(_, part)| **part == Part::Curve) {
        let Some((id, name)) = file.relative.strip_prefix("series/").and_then(|inside| inside.split_once('/')) else { continue };
        if is_recording(name) && !index.contains(KIND, id) {
            let message = format!("a recording of series/{id}, which has no record");
            found.push(rules::finding("curve-unnamed", &pack.files.shown(file), message, UNNAMED));
        }
    }
    found
}
