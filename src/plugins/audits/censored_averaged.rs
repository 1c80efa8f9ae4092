//! `censored-averaged`: Specimens that did not fail, or whose screw broke, are averaged with those that failed.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "censored-averaged",
    severity: Warning,
    integrity: false,
    what: "Specimens that did not fail, or whose screw broke, are averaged with those that failed.",
    why: "The joint was stronger than that number, so the mean is too low by an unknown amount.",
    waive: "when `bound: lower` says so",
    source: "statistics of censored samples",
    cases: include_str!("../../../tests/data/audits/censored-averaged.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, _: &Scene<'_>, desk: &mut Desk<'_>) {
    const OTHER: [&str; 2] = ["machine-limit", "screw-break"];
    let censored =
        at.specimens.iter().filter(|s| s.censored || s.json["mode"].as_str().is_some_and(|m| OTHER.contains(&m))).count();
    let modes = at.json["modes"].as_object();
    let counted: u64 =
        modes.into_iter().flatten().filter(|(m, _)| OTHER.contains(&m.as_str())).filter_map(|(_, n)| n.as_u64()).sum();
    let all = at.text("mode").is_some_and(|m| OTHER.contains(&m));
    let some = censored > 0 || counted > 0 || all;
    if some && at.in_use && at.mean.is_some() && at.text("bound").is_none() {
        desk.find(
            at.spot("mean"),
            "the mean includes specimens whose joint did not fail",
            "add `bound: lower`, or average only the specimens that failed",
        );
    }
}
