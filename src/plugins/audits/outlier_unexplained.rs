//! `outlier-unexplained`: A single result stands far from the others, and no note says why it was kept.

use super::common::*;
use crate::statistics::outlier::{GrubbsSide, grubbs};

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "outlier-unexplained",
    severity: Warning,
    integrity: false,
    what: "A single result stands far from the others, and no note says why it was kept.",
    why: "It may be a slipped grip, another failure mode, or the weak specimen that matters most.",
    waive: "when the specimen was examined and nothing was found; say so in a note",
    source: "Grubbs 1950; ISO 16269-4, ASTM E178 (memory): two-sided, one per cent",
    cases: include_str!("../../../tests/data/audits/outlier-unexplained.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let values: Vec<f64> = at.samples.iter().map(|w| w.si).collect();
    if values.len() < 4 || !at.in_use || at.noted {
        return;
    }
    if let Ok(test) = grubbs(&values, 0.01, GrubbsSide::Either)
        && test.statistic > test.critical
    {
        let far = at.samples.get(test.index).map_or("", |w| &w.text);
        findings.find(
            at.spot(StatementPart::Sample(test.index)),
            format!("{far} stands far from the others"),
            "examine the specimen and its curve, and say in a note what was found; withdraw a result that is wrong",
        );
    }
}
