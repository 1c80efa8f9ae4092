//! `bond-strength-high`: A bond strength is higher than such bonds reach.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "bond-strength-high",
    severity: Error,
    integrity: false,
    what: "A bond strength is higher than such bonds reach.",
    why: "Few structural epoxies on metal exceed 60 MPa, and none 120 MPa; a wrong area or unit is likely.",
    waive: "when the joint is metal in a pin and collar",
    source: "audit bands of bond strengths (memory)",
    cases: include_str!("../../../tests/data/audits/bond-strength-high.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    const BONDS: [&str; 4] = ["lap_shear_strength", "shear_strength", "pull_off_strength", "butt_strength"];
    let joint = &at.series.says.joint;
    let bonded = joint.adhesive.is_some() || joint.adhesive_text.is_some();
    let Some(mean) = at.mean.as_ref().filter(|_| at.in_use && bonded && BONDS.contains(&at.quantity)) else { return };
    let limit = if mean.si > 120e6 {
        Some((Error, "120 MPa"))
    } else if mean.si > 60e6 {
        Some((Warning, "60 MPa"))
    } else {
        None
    };
    if let Some((severity, limit)) = limit {
        findings.find_as(severity, at.spot("mean"), format!("{} is above {limit}", mean.text), "check load, area and unit");
    }
}
