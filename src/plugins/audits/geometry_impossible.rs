//! `geometry-impossible`: The stated sizes of a joint are geometrically impossible.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "geometry-impossible",
    severity: Error,
    integrity: true,
    what: "The stated sizes of a joint are geometrically impossible.",
    why: "One of them is probably a radius, in inches, or a typing error.",
    waive: "never: correct the record",
    source: "geometry",
    cases: include_str!("../../../tests/data/audits/geometry-impossible.md"),
    look: Look::Record(look),
};

fn look(record: &Record, scene: &Scene<'_>, desk: &mut Desk<'_>) {
    let Some(series) = SeriesAt::of(record, scene.book) else { return };
    let size = |name: &str| series.amount(&format!("/joint/{name}")).map(|w| w.si);
    let thread = series.text("/joint/thread").and_then(|t| t.strip_prefix('M')?.parse::<f64>().ok()).map(|d| d / 1000.0);
    let major = size("thread_diameter").or(thread);
    let mut wrong =
        |field: &str, message: &str| desk.find(series.spot(&format!("/joint/{field}")), message, "read the sizes again");
    if let (Some(boss), Some(hole)) = (size("boss"), size("hole"))
        && boss <= hole
    {
        wrong("boss", "the boss is not wider than its hole");
    }
    if let (Some(core), Some(major)) = (size("thread_core"), major)
        && core >= major
    {
        wrong("thread_core", "the core of the thread is not thinner than the thread");
    }
    if let (Some(pitch), Some(major)) = (size("thread_pitch"), major)
        && pitch >= major
    {
        wrong("thread_pitch", "the pitch is not smaller than the thread");
    }
    if let (Some(hole), Some(major)) = (size("hole"), major)
        && hole >= major
        && series.text("/joint/method").is_some_and(|m| matches!(m, "direct-screw" | "cut-thread"))
    {
        wrong("hole", "the hole is not smaller than the screw that should hold in it");
    }
    if let (Some(length), Some(whole)) = (size("length"), size("screw_length"))
        && length > whole
    {
        wrong("length", "the engaged length is greater than the length of the screw");
    }
}
