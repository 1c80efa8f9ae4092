//! `bond-description-missing`: A bond test does not say everything that is needed to repeat it.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "bond-description-missing",
    severity: Error,
    integrity: false,
    what: "A bond test does not say everything that is needed to repeat it.",
    why: "The same glue gives half the strength on another surface, gap or overlap.",
    waive: "when the source does not say and its authors cannot be asked",
    source: "ISO 4587 and ISO 10365 test reports (memory)",
    cases: include_str!("../../../tests/data/audits/bond-description-missing.md"),
    look: Look::Record(look),
};

fn look(record: &Record, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(series) = SeriesAt::of(record, context.book) else { return };
    let (joint, test) = (&series.says.joint, &series.says.test);
    if !["lap-shear", "shear", "pin-collar", "butt", "pull-off", "peel"].into_iter().any(|t| joint.is(t)) || !series.in_use() {
        return;
    }
    let wanted = [
        ("adhesive", joint.adhesive.is_some() || joint.adhesive_text.is_some(), "adhesive"),
        ("preparation", joint.preparation.is_some() || joint.primer.is_some(), "preparation"),
        ("steps in words", joint.steps.is_some() || joint.preparation.is_none(), "preparation"),
        ("gap", joint.gap.is_some() || joint.gap_low.is_some() || joint.gap_high.is_some(), "gap"),
        ("overlap", joint.overlap.is_some() || joint.bond_area.is_some() || joint.length.is_some(), "overlap"),
        ("age of the bond", test.age_of_bond.is_some(), "bond-age"),
    ];
    let lacks = wanted.into_iter().filter(|(_, stated, word)| {
        let told = series.not_stated(word) || (*word == "overlap" && series.not_stated("area"));
        !told && !stated
    });
    let missing: Vec<&str> = lacks.map(|(name, ..)| name).collect();
    if !missing.is_empty() {
        findings.gap(
            series.own,
            series.spot("/joint"),
            format!("not stated: {}", missing.join(", ")),
            "add the fields; what a publication leaves out goes into `not_stated`",
        );
    }
}
