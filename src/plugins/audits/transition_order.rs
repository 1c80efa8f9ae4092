//! `transition-order`: A glass transition or heat deflection temperature lies above the melting point, or too near or far from it.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "transition-order",
    severity: Error,
    integrity: false,
    what: "A glass transition or heat deflection temperature lies above the melting point, or too near or far from it.",
    why: "A polymer softens before it melts; in kelvin the transition is 0.45 to 0.85 of the melting point.",
    waive: "when the temperatures belong to different phases of a blend",
    source: "rule of two thirds, Boyer and Beaman (memory)",
    cases: include_str!("../../../tests/data/audits/transition-order.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    if !matches!(at.word, "tg" | "hdt") || !at.in_use() {
        return;
    }
    let Some(soft) = middle(at.claim) else { return };
    let melts: Vec<f64> = at.record.claims("melting_temperature").iter().filter(|c| c.in_use()).filter_map(middle).collect();
    let Some(melt) = melts.iter().copied().min_by(f64::total_cmp) else { return };
    let title = at.title();
    if soft >= melt {
        let message = format!(
            "{title} of {} is not below the melting point, {}",
            at.claim.value.text(),
            shown(Quantity::Temperature, melt, 3)
        );
        findings.find(at.value_spot(), message, "check the unit, and which of the two is meant");
    } else if at.word == "tg" && !(0.45..=0.85).contains(&(soft / melt)) {
        let message = format!("{title} is {:.2} of the melting point in kelvin", soft / melt);
        findings.find_as(Warning, at.value_spot(), message, "0.45 to 0.85 is usual: read both again");
    }
}
