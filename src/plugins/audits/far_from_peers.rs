//! `far-from-peers`: A value lies far from all comparable values, and no exchange of units explains it.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "far-from-peers",
    severity: Warning,
    integrity: false,
    what: "A value lies far from all comparable values, and no exchange of units explains it.",
    why: "It may belong to another material or another condition, or be wrong.",
    waive: "when the conditions explain it",
    source: "robust outlier rule: more than five median deviations and at least a third away",
    cases: include_str!("../../../tests/data/audits/far-from-peers.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(odd) = odd(at, context).filter(|_| !at.is_joint()) else { return };
    let (quantity, typical) = (odd.quantity, odd.typical);
    let band = 2.0 * typical.log_spread;
    if !slip::explanations(quantity, odd.si, typical.median, band.min(0.25)).is_empty() {
        return;
    }
    let apart = odd.apart();
    let far = if quantity == Quantity::Temperature { apart > 0.07 } else { apart > 0.4 };
    if apart > 5.0 * typical.log_spread && far {
        let message =
            format!("{}, while {} comparable values lie around {}", odd.text, typical.count, shown(quantity, typical.median, 3));
        findings.find(at.spot(odd.part), message, "say in `conditions` what makes it different, or read the source again");
    }
}
