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

fn look(record: &Record, scene: &Scene<'_>, desk: &mut Desk<'_>) {
    let Some(series) = SeriesAt::of(record, scene.book) else { return };
    let test = series.text("/joint/test").unwrap_or_default();
    if !matches!(test, "pull-out" | "push-out" | "torque") || !series.in_use() {
        return;
    }
    let wanted: [(&str, &[&str], &str); 5] = [
        ("thread", &["/joint/thread", "/joint/thread_diameter", "/joint/insert"], "thread"),
        ("engaged length", &["/joint/length"], "length"),
        ("hole", &["/joint/hole"], "hole"),
        ("boss", &["/joint/boss", "/joint/edge_distance"], "boss"),
        ("speed", &["/test/speed"], "speed"),
    ];
    // A test of one's own can be measured again: that it was not stated is no excuse.
    let excused = |word: &str| !series.own && series.not_stated(word);
    let lacks = wanted.iter().filter(|(_, fields, word)| !excused(word) && !fields.iter().any(|f| series.has(f)));
    let missing: Vec<&str> = lacks.map(|(name, ..)| *name).collect();
    if !missing.is_empty() {
        desk.gap(
            series.own,
            series.spot("/joint"),
            format!("not stated: {}", missing.join(", ")),
            "add the fields; what a publication leaves out goes into `not_stated`",
        );
    }
}
