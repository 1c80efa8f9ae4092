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

fn look(record: &Record, scene: &Scene<'_>, desk: &mut Desk<'_>) {
    let Some(series) = SeriesAt::of(record, scene.book) else { return };
    let test = series.text("/joint/test").unwrap_or_default();
    if !matches!(test, "lap-shear" | "shear" | "pin-collar" | "butt" | "pull-off" | "peel") || !series.in_use() {
        return;
    }
    let wanted: [(&str, &[&str], &str); 5] = [
        ("adhesive", &["/joint/adhesive", "/joint/adhesive_text"], "adhesive"),
        ("preparation", &["/joint/preparation", "/joint/primer"], "preparation"),
        ("gap", &["/joint/gap", "/joint/gap_low", "/joint/gap_high"], "gap"),
        ("overlap", &["/joint/overlap", "/joint/bond_area", "/joint/length"], "overlap"),
        ("age of the bond", &["/test/age_of_bond"], "bond-age"),
    ];
    let lacks = wanted.iter().filter(|(_, fields, word)| {
        let told = series.not_stated(word) || (*word == "overlap" && series.not_stated("area"));
        !told && !fields.iter().any(|f| series.has(f))
    });
    let missing: Vec<&str> = lacks.map(|(name, ..)| *name).collect();
    if !missing.is_empty() {
        desk.gap(
            series.own,
            series.spot("/joint"),
            format!("not stated: {}", missing.join(", ")),
            "add the fields; what a publication leaves out goes into `not_stated`",
        );
    }
}
