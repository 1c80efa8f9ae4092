//! `spread-unlikely`: A spread is smaller or larger than such tests usually give.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "spread-unlikely",
    severity: Warning,
    integrity: false,
    what: "A spread is smaller or larger than such tests usually give.",
    why: "Below a thousandth it is probably a copied value, a rounding or a standard error; above a third the specimens are hardly of one kind.",
    waive: "when the single results are given and confirm it",
    source: "limits of 0.1 %, 30 % and 40 % for joints: practice",
    cases: include_str!("../../../tests/data/audits/spread-unlikely.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some(mean), Some(sd)) = (at.mean.as_ref(), at.sd.as_ref()) else { return };
    let scale = matches!(
        mean.quantity(),
        Quantity::Stress | Quantity::Force | Quantity::Torque | Quantity::Toughness | Quantity::Density
    );
    if !at.in_use || !scale || !at.of_specimens || mean.si <= 0.0 {
        return;
    }
    let share = sd.si / mean.si;
    let most = if at.is_joint() { 0.40 } else { 0.30 };
    let least = if mean.quantity() == Quantity::Density { 0.0 } else { 0.001 };
    if share < least || share > most {
        let message = format!("the spread is {:.2} % of the mean", share * 100.0);
        findings.find(
            at.spot(StatementPart::Sd),
            message,
            "check whether it is a standard error, a slip, or several kinds of specimens in one",
        );
    }
}
