//! `conversion-slip`: A value differs from comparable values by a factor that exchanged units would explain.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "conversion-slip",
    severity: Warning,
    integrity: false,
    what: "A value differs from comparable values by a factor that exchanged units would explain.",
    why: "Most wrong numbers in print are right numbers with the wrong unit.",
    waive: "when the source was read again and prints this value with this unit",
    source: "factors from exact unit definitions; comparable values by the median and the median deviation of logarithms",
    cases: include_str!("../../../tests/data/audits/conversion-slip.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(odd) = odd(at, context) else { return };
    let (quantity, typical) = (odd.quantity, odd.typical);
    // Loads of different joints differ by tens without any slip.
    if at.is_joint() && odd.apart() < libm::log(50.0) {
        return;
    }
    let band = 2.0 * typical.log_spread;
    let ways = slip::explanations(quantity, odd.si, typical.median, band.min(0.25));
    if ways.is_empty() {
        return;
    }
    let told: Vec<String> = ways.iter().map(|w| format!("{} (then {})", w.what, shown(quantity, w.si, 3))).collect();
    let message = format!(
        "{}, while {} comparable values lie around {}: {}",
        odd.text,
        typical.count,
        shown(quantity, typical.median, 3),
        told.join("; or ")
    );
    findings.find(
        at.spot(odd.part),
        message,
        "read the source again; dispute the value or give it in the right unit as a second claim",
    );
}
