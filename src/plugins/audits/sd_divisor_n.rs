//! `sd-divisor-n`: A standard deviation was computed with the divisor n, or fits it.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "sd-divisor-n",
    severity: Warning,
    integrity: false,
    what: "A standard deviation was computed with the divisor n, or fits it.",
    why: "It is too small for a sample: by a fifth for three specimens, by a tenth for five.",
    waive: "when the record says so with `sd_kind: n` and the source gives no single results",
    source: "divisor n-1 for a sample: GUM 4.2.2 (memory)",
    cases: include_str!("../../../tests/data/audits/sd-divisor-n.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(sd) = at.sd.as_ref().filter(|_| at.in_use && at.of_specimens) else { return };
    if at.sd_kind == Some("n") {
        // Said in the record, so that every use corrects it.
        let help = "pooling corrects it; give the single results if you have them";
        return findings.find_as(
            Note,
            at.spot(StatementPart::Sd),
            "the standard deviation has the divisor n, as the record says",
            help,
        );
    }
    let values: Vec<f64> = at.samples.iter().map(|w| w.si).collect();
    let Some((sample, whole)) = deviations(&values) else { return };
    let fits = |x: f64| (sd.si - x).abs() <= half_step(sd) * 1.001;
    if fits(whole) && !fits(sample) {
        let message =
            format!("{} is the standard deviation with divisor n; with n - 1 it is {}", sd.text, shown(sd.quantity(), sample, 3));
        findings.find(at.spot(StatementPart::Sd), message, "add `sd_kind: n`, or give the deviation with n - 1");
    }
}
