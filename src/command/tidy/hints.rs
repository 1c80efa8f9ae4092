//! The hints that `new` writes into a skeleton, and how to take them out again when the record is filled in.

use crate::command::new::skeleton::Skeleton;
use gripbook::check::schemas::{RecordKind, Schemas};
use std::collections::BTreeSet;

/// The text without lines and line ends that stand word for word in the skeleton of the kind, and how many there were. Comments
/// of a person stay.
pub(super) fn without(text: &str, kind: &RecordKind, schemas: &Schemas) -> (String, usize) {
    let skeleton = Skeleton::of(schemas, kind).hints();
    let lines: BTreeSet<&str> = skeleton.lines().filter_map(comment).collect();
    let meanings: BTreeSet<&str> =
        skeleton.lines().filter_map(|l| l.split_once(BEHIND)).map(|(_, meaning)| meaning.trim()).collect();
    let mut out = String::with_capacity(text.len());
    let mut hints = 0;
    for line in text.lines() {
        if comment(line).is_some_and(|c| lines.contains(c)) {
            hints += 1;
            continue;
        }
        let kept = match line.split_once(BEHIND) {
            Some((field, meaning)) if comment(line).is_none() && meanings.contains(meaning.trim()) => field.trim_end(),
            _ => line,
        };
        hints += usize::from(kept.len() < line.len());
        out.push_str(kept);
        out.push('\n');
    }
    (out, hints)
}

/// Before the meaning of a field, behind its value.
const BEHIND: &str = "  # ";

/// What a line that is nothing but a comment says.
fn comment(line: &str) -> Option<&str> {
    line.trim_start().strip_prefix('#').map(str::trim)
}
