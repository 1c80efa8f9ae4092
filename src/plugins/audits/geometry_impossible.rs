//! `geometry-impossible`: The stated sizes of a joint are geometrically impossible.

use super::common::*;
use crate::book::view::Stated;
use uom::si::f64::Length;

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

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(series) = SeriesAt::of(record, context.book) else { return };
    let joint = &series.says.joint;
    let size = |stated: &Option<Stated<Length>>| stated.as_ref().map(|w| w.si);
    let thread = joint.thread.as_deref().and_then(|t| t.strip_prefix('M')?.parse::<f64>().ok()).map(|d| d / 1000.0);
    let (major, hole) = (size(&joint.thread_diameter).or(thread), size(&joint.hole));
    let mut wrong = |at: &str, message: &str| findings.find(series.spot(at), message, "read the sizes again");
    if let (Some(boss), Some(hole)) = (size(&joint.boss), hole)
        && boss <= hole
    {
        wrong("/joint/boss", "the boss is not wider than its hole");
    }
    if let (Some(core), Some(major)) = (size(&joint.thread_core), major)
        && core >= major
    {
        wrong("/joint/thread_core", "the core of the thread is not thinner than the thread");
    }
    if let (Some(pitch), Some(major)) = (size(&joint.thread_pitch), major)
        && pitch >= major
    {
        wrong("/joint/thread_pitch", "the pitch is not smaller than the thread");
    }
    if let (Some(hole), Some(major)) = (hole, major)
        && hole >= major
        && matches!(joint.method.as_deref(), Some("direct-screw" | "cut-thread"))
    {
        wrong("/joint/hole", "the hole is not smaller than the screw that should hold in it");
    }
    if let (Some(length), Some(whole)) = (size(&joint.length), size(&joint.screw_length))
        && length > whole
    {
        wrong("/joint/length", "the engaged length is greater than the length of the screw");
    }
}
