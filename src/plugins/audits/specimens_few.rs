//! `specimens-few`: Fewer specimens than such a test asks for.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "specimens-few",
    severity: Warning,
    integrity: false,
    what: "Fewer specimens than such a test asks for.",
    why: "Five specimens find a spread within a factor of two; three hardly find one.",
    waive: "when material or time allowed no more",
    source: "ISO 527-1 asks for five (memory); three for a joint: practice",
    cases: include_str!("../../../tests/data/audits/specimens-few.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
    let least = if at.is_joint() { 3 } else { 5 };
    let n = at.n.or_else(|| u32::try_from(at.samples.len()).ok().filter(|n| *n > 0));
    if let Some(n) = n.filter(|n| *n < least && at.in_use && at.tested && at.of_specimens) {
        let part = if at.n.is_some() { Part::N } else { Part::Samples };
        let were = if n == 1 { "specimen" } else { "specimens" };
        desk.gap(at.own, at.spot(part), format!("{n} {were}; {least} are the least"), "test more, and keep the old results");
    }
}
