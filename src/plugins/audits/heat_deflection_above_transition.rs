//! `heat-deflection-above-transition`: An amorphous polymer deflects above its glass transition.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "heat-deflection-above-transition",
    severity: Warning,
    integrity: false,
    what: "An amorphous polymer deflects above its glass transition.",
    why: "Above the glass transition it has no stiffness left to hold the bar.",
    waive: "when it is filled or crystallised",
    source: "behaviour of amorphous polymers, with a tolerance of 10 K",
    cases: include_str!("../../../tests/data/audits/heat-deflection-above-transition.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let amorphous = at.record.claims("amorphous").iter().any(|c| c.in_use() && c.value == Value::YesNo(true));
    if at.word != "hdt" || !at.in_use() || !amorphous {
        return;
    }
    let tgs = at.record.claims("tg").iter().filter(|c| c.in_use()).filter_map(|c| c.value.ends().map(|(_, high)| high.si));
    if let (Some(hdt), Some(tg)) = (middle(at.claim), tgs.max_by(f64::total_cmp))
        && hdt > tg + 10.0
    {
        let message =
            format!("{} lies above the highest glass transition, {}", at.claim.value.text(), shown(Quantity::Temperature, tg, 3));
        findings.find(at.value_spot(), message, "read both again; a filled or annealed grade belongs in `conditions`");
    }
}
