//! `withdrawn-used`: A record in use refers to a withdrawn record.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "withdrawn-used",
    severity: Error,
    integrity: true,
    what: "A record in use refers to a withdrawn record.",
    why: "Nothing may rest on what was withdrawn.",
    waive: "never: correct the record",
    source: "rule of this database",
    cases: include_str!("../../../tests/data/audits/withdrawn-used.md"),
    look: Look::Record(look),
};

fn look(record: &Record, scene: &Scene<'_>, desk: &mut Desk<'_>) {
    if !record.current {
        return;
    }
    for (target, at) in references::of(record) {
        let withdrawn = scene.book.record(&target).is_some_and(|r| !r.current);
        let in_use = record.claims(&at).is_empty()
            || record
                .claims(&at)
                .iter()
                .any(|c| c.in_use() && c.source.as_deref().is_some_and(|s| target == format!("source/{s}")))
            || record.claims(&at).iter().any(|c| c.in_use() && c.from.iter().any(|f| f.starts_with(&format!("{target}:"))));
        if withdrawn && in_use {
            let spot = if record.claims(&at).is_empty() {
                Spot::field(record, &format!("/{}", at.replace('.', "/")))
            } else {
                Spot::property(record, &at)
            };
            desk.find(spot, format!("`{target}` is withdrawn"), "name the record that replaces it, or withdraw this one too");
        }
    }
}
