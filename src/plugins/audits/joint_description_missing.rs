//! `joint-description-missing`: A test of a threaded joint does not say its geometry.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "joint-description-missing",
    severity: Error,
    integrity: false,
    what: "A test of a threaded joint does not say its geometry.",
    why: "The load depends on hole, boss, length and thread; without them it cannot be compared.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "series of this book; mechanics of thread stripping",
    cases: include_str!("../../../tests/data/audits/joint-description-missing.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(series) = SeriesAt::of(record, context.book) else { return };
    let (joint, test) = (&series.says.joint, &series.says.test);
    if !["pull-out", "push-out", "torque"].into_iter().any(|t| joint.is(t)) || !series.in_use() {
        return;
    }
    let threaded = joint.thread.is_some() || joint.thread_diameter.is_some() || joint.insert.is_some();
    let wanted = [
        ("thread", threaded, "thread"),
        ("engaged length", joint.length.is_some(), "length"),
        ("hole", joint.hole.is_some(), "hole"),
        ("boss", joint.boss.is_some() || joint.edge_distance.is_some(), "boss"),
        ("speed", test.speed.is_some(), "speed"),
    ];
    // A test of one's own can be measured again: that it was not stated is no excuse.
    let excused = |word: &str| !series.own && series.not_stated(word);
    let lacks = wanted.into_iter().filter(|(_, stated, word)| !stated && !excused(word));
    let missing: Vec<&str> = lacks.map(|(name, ..)| name).collect();
    if !missing.is_empty() {
        findings.gap(
            series.own,
            series.spot("/joint"),
            format!("not stated: {}", missing.join(", ")),
            "add the fields; what a publication leaves out goes into `not_stated`",
        );
    }
}
