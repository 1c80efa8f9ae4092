//! `print-settings-missing`: A printed specimen does not say how it was printed.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "print-settings-missing",
    severity: Error,
    integrity: false,
    what: "A printed specimen does not say how it was printed.",
    why: "A printed part is weaker across its layers; how much depends on orientation, layer height and infill.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO/ASTM 52921 on orientation (memory)",
    cases: include_str!("../../../tests/data/audits/print-settings-missing.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let process = at.condition("process").unwrap_or_default();
    if !is_mechanical_test(at) || !process.starts_with("printed") {
        return;
    }
    let has = |names: &[&str]| names.iter().any(|n| at.states(n));
    let mut missing = Vec::new();
    if !has(&["orientation", "build_angle", "direction"]) {
        missing.push("orientation");
    }
    if !has(&["layer_height"]) {
        missing.push("layer height");
    }
    if process == "printed-filament" && !has(&["infill"]) {
        missing.push("infill");
    }
    if !missing.is_empty() {
        findings.gap(
            at.own,
            at.spot("conditions"),
            format!("the specimen was printed, but these are not stated: {}", missing.join(", ")),
            "add the fields to `conditions`",
        );
    }
}
