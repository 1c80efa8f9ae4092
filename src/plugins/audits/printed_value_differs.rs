//! `printed-value-differs`: The recorded value differs from the printed one by more than rounding.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "printed-value-differs",
    severity: Warning,
    integrity: false,
    what: "The recorded value differs from the printed one by more than rounding.",
    why: "It was converted or copied wrongly, unless the record says why it differs.",
    waive: "when `note` or `because` gives the correction",
    source: "unit table",
    cases: include_str!("../../../tests/data/audits/printed-value-differs.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some(value), Some(printed)) = (&at.mean, at.as_printed) else { return };
    let Ok(printed) = quantity::parse(printed, value.quantity()) else { return };
    let room = half_step(value) + half_step(&printed);
    if (value.si - printed.si).abs() > room * (1.0 + 1e-9) && !at.noted && at.because.is_none() && at.in_use {
        let message = format!("{} is recorded, {} is printed", value.text, printed.text);
        findings.find(at.spot(StatementPart::Mean), message, "convert again, or say in `note` why the record differs");
    }
}
