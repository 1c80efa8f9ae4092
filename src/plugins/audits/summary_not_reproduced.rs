//! `summary-not-reproduced`: The stated mean, standard deviation or number of specimens does not follow from the single results.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "summary-not-reproduced",
    severity: Error,
    integrity: true,
    what: "The stated mean, standard deviation or number of specimens does not follow from the single results.",
    why: "Either a result is missing or a number was copied wrongly.",
    waive: "never: correct the record",
    source: "arithmetic",
    cases: include_str!("../../../tests/data/audits/summary-not-reproduced.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let values: Vec<f64> = at.samples.iter().map(|w| w.si).collect();
    if values.is_empty() || !at.in_use || censored(at) {
        return;
    }
    let total = values.len();
    if let Some(n) = at.n.filter(|n| usize::try_from(*n) != Ok(total)) {
        return findings.find(
            at.spot(StatementPart::N),
            format!("n is {n}, but {total} single results are given"),
            "count again",
        );
    }
    let mean = values.iter().sum::<f64>() / total as f64;
    let step = at.samples.iter().map(half_step).fold(0.0, f64::max);
    if let Some(stated) = at.mean.as_ref().filter(|m| (m.si - mean).abs() > half_step(m) + step * 1.001) {
        let message = format!("{} is stated, but the single results give {}", stated.text, shown(stated.quantity(), mean, 4));
        findings.find(at.spot(StatementPart::Mean), message, "compute the mean again");
    }
    if let (Some(stated), Some((sample, whole))) = (at.sd.as_ref(), deviations(&values)) {
        let fits = |x: f64| (stated.si - x).abs() <= half_step(stated) + step;
        if !fits(sample) && !fits(whole) {
            let message =
                format!("{} is stated, but the single results give {}", stated.text, shown(stated.quantity(), sample, 3));
            findings.find(at.spot(StatementPart::Sd), message, "compute the standard deviation again");
        }
    }
}

fn censored(at: &Statement<'_>) -> bool {
    at.measurement().is_some_and(|m| m.specimens.iter().any(|s| s.censored))
}
