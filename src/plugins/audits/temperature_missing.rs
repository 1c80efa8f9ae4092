//! `temperature-missing`: A test does not state its temperature.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "temperature-missing",
    severity: Error,
    integrity: false,
    what: "A test does not state its temperature.",
    why: "Strength, impact strength and viscosity of plastics and glues can change by several per cent per degree.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "properties of plastics depend on it; ISO 527, ISO 178, ISO 10350-1 ask for it (memory)",
    cases: include_str!("../../../tests/data/audits/temperature-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let adhesive = at.record.id.kind() == "adhesive" || at.is("impact");
    let concerned = is_mechanical_test(at) || (at.word == "viscosity" && at.tested() && at.in_use());
    if concerned && !at.states("temperature") {
        let severity = if adhesive || at.word == "viscosity" { Error } else { Warning };
        let severity = if at.own { severity } else { Note };
        findings.find_as(
            severity,
            at.spot(""),
            format!("the temperature of {} is not stated", at.title()),
            "add `conditions: {temperature: …}`",
        );
    }
}
