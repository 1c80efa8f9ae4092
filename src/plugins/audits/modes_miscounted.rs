//! `modes-miscounted`: The counted failure modes do not add up to the number of specimens.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "modes-miscounted",
    severity: Error,
    integrity: true,
    what: "The counted failure modes do not add up to the number of specimens.",
    why: "A specimen was lost or counted twice.",
    waive: "never: correct the record",
    source: "arithmetic",
    cases: include_str!("../../../tests/data/audits/modes-miscounted.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(n) = at.n.filter(|_| at.says.modes.is_some()) else { return };
    let sum: u64 = at.says.counted().map(|(_, n)| n).sum();
    if at.in_use && sum != u64::from(n) {
        findings.find(at.spot("modes"), format!("{sum} failure modes are counted for {n} specimens"), "count again");
    }
}
