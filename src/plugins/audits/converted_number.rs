//! `converted-number`: A value is a round number in another unit, but that unit is not recorded.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "converted-number",
    severity: Note,
    integrity: false,
    what: "A value is a round number in another unit, but that unit is not recorded.",
    why: "It was probably converted, and its digits promise more than was measured.",
    waive: "when the value is round by chance",
    source: "factors of exact unit definitions",
    cases: include_str!("../../../tests/data/audits/converted-number.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(value) = at.mean.as_ref().filter(|_| at.in_use && at.as_printed.is_none()) else { return };
    // Two digits are round in many units by chance.
    if value.significant_digits() < 4 {
        return;
    }
    if CUSTOMARY.contains(&value.unit.symbol()) {
        return;
    }
    let others = value.quantity().units().iter().filter(|u| CUSTOMARY.contains(&u.symbol) && u.symbol != value.unit.symbol());
    for unit in others {
        let number = unit.number_from_si(value.si);
        let tolerance = half_step(value) / unit.size();
        let round = two_digits(number);
        if (number - round).abs() <= tolerance && number.abs() >= 0.1 {
            let message = format!("{} is {round} {} to its last digit", value.text, unit.symbol);
            return findings.find(
                at.spot(StatementPart::Mean),
                message,
                "if the source prints that number, record it as printed",
            );
        }
    }
}

/// Units of which round numbers are a sign that somebody converted.
const CUSTOMARY: [&str; 9] = ["ksi", "psi", "kgf/mm²", "kgf", "lbf", "lbf·in", "in", "ft·lbf/in", "°F"];

/// The nearest number of two significant digits.
fn two_digits(x: f64) -> f64 {
    format!("{x:.1e}").parse().unwrap_or(x)
}
