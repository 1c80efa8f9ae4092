//! `results-copied`: Two series have the same single results.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "results-copied",
    severity: Warning,
    integrity: false,
    what: "Two series have the same single results.",
    why: "One was copied for the other, or the specimens are shared and counted twice.",
    waive: "not for different specimens; name shared ones in `shares_specimens_with`",
    source: "practice of data checking",
    cases: include_str!("../../../tests/data/audits/results-copied.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let mine: Vec<f64> = at.specimens.iter().map(|s| s.value.si).collect();
    if mine.len() < 3 || !at.in_use {
        return;
    }
    let me = at.series.record;
    for other in context.book.of_kind("series").filter(|r| r.id != me.id && r.current) {
        let shared =
            |a: &Record, b: &Record| a.series().is_some_and(|s| s.shares_specimens_with.iter().any(|id| **id == *b.id.name()));
        if shared(me, other) || shared(other, me) {
            continue;
        }
        let theirs = SeriesAt::of(other, context.book).map(SeriesAt::measurements).unwrap_or_default();
        let same = |m: &MeasurementAt<'_>| {
            m.specimens.len() == mine.len() && m.specimens.iter().zip(&mine).all(|(s, v)| s.value.si == *v)
        };
        if theirs.iter().any(same) {
            return findings.find(
                at.spot("specimens"),
                format!("the single results are the same as in {}", other.id),
                "correct the copy, or name the other series in `shares_specimens_with`",
            );
        }
    }
}
