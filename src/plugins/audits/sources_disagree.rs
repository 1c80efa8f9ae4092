//! `sources-disagree`: Two sources contradict each other on a property.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "sources-disagree",
    severity: Warning,
    integrity: false,
    what: "Two sources contradict each other on a property.",
    why: "Both are shown and used, and the answer becomes as wide as the gap between them.",
    waive: "when the difference is understood and a condition or note says it",
    source: "no overlap within two standard deviations; tolerance 2 % for density, 5 K for temperatures, otherwise 10 % (30 % without any spread)",
    cases: include_str!("../../../tests/data/audits/sources-disagree.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let found = disagree::disagreements(record);
    for d in &found {
        let known_spread = d.low.sd.is_some() || d.high.sd.is_some() || d.low.u.is_some() || d.high.u.is_some();
        let (low, high) = (d.low.value.middle_si(), d.high.value.middle_si());
        let stated = matches!(d.low.value, Value::Between { .. }) && matches!(d.high.value, Value::Between { .. });
        let near = match (low, high, d.low.value.quantity()) {
            (Some(_), Some(_), Some(Quantity::Temperature)) | (None, ..) | (_, None, _) => false,
            (Some(l), Some(h), _) => !known_spread && !stated && (h - l) / h.abs().max(l.abs()) < 0.3,
        };
        if !near {
            tell(record, d.property, d.low, d.high, findings);
        }
    }
    // Densities of one polymer agree within a per cent or two, so ten per cent of room would hide every slip.
    let densities: Vec<&Claim> = record.claims("density").iter().filter(|c| c.in_use() && middle(c).is_some()).collect();
    let ends = |c: &&&Claim| middle(c).unwrap_or(0.0);
    let low = densities.iter().min_by(|a, b| ends(a).total_cmp(&ends(b)));
    let high = densities.iter().max_by(|a, b| ends(a).total_cmp(&ends(b)));
    if let (Some(low), Some(high)) = (low, high)
        && !found.iter().any(|d| d.property == "density")
        && low.source != high.source
        && matches!((&low.value, &high.value), (Value::One(_), Value::One(_)))
        && ends(&high) > 1.02 * ends(&low)
    {
        tell(record, "density", low, high, findings);
    }
}

fn tell(record: &Record, property: &str, low: &Claim, high: &Claim, findings: &mut AuditFindings<'_>) {
    let who = |c: &Claim| c.source.as_deref().unwrap_or("no source").to_owned();
    let message = format!("{} ({}) against {} ({})", low.value.text(), who(low), high.value.text(), who(high));
    findings.find(
        Spot::property(record, property),
        message,
        "find the condition that differs, or mark one of the two as disputed",
    );
}
