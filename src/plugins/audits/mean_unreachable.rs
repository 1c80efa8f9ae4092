//! `mean-unreachable`: The mean is not possible for this number of results with this resolution.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "mean-unreachable",
    severity: Warning,
    integrity: false,
    what: "The mean is not possible for this number of results with this resolution.",
    why: "The mean of three whole newtons ends in .0, .3 or .7.",
    waive: "when the single results were recorded with more digits than are printed",
    source: "Brown and Heathers 2017, granularity of means (memory)",
    cases: include_str!("../../../tests/data/audits/mean-unreachable.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some(mean), Some(least), Some(n)) = (&at.mean, &at.least, at.n) else { return };
    let same_unit = mean.unit == least.unit && at.most.as_ref().is_some_and(|m| m.resolution() == least.resolution());
    let step = least.resolution();
    if !same_unit || !at.in_use || step <= mean.resolution() {
        return;
    }
    let places = mean.digits().split_once('.').map_or(0, |(_, f)| f.len());
    let Ok(places) = u32::try_from(places) else { return };
    if let Ok(n) = usize::try_from(n)
        && mean_is_reachable(mean.value, places, n, step) == Ok(false)
    {
        let message = format!("{} cannot be the mean of {n} results in steps of {step} {}", mean.text, mean.unit.symbol());
        findings.find(at.spot(StatementPart::Mean), message, "compute the mean again from the single results");
    }
}
