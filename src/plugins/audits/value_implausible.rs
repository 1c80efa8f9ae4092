//! `value-implausible`: A value lies outside the plausible range of its property.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "value-implausible",
    severity: Warning,
    integrity: false,
    what: "A value lies outside the plausible range of its property.",
    why: "A unit or a decimal point is wrong, or the value is so unusual that it deserves a note.",
    waive: "when the source was read again and the material really is that unusual",
    source: "bands of the property in its schema, with their source",
    cases: include_str!("../../../tests/data/audits/value-implausible.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some(card), true) = (at.card, at.in_use()) else { return };
    let (Some(band), Some((low, high))) = (&card.plausible, at.claim.value.ends()) else { return };
    let impossible = |si: f64| card.possible.as_ref().is_some_and(|p| si < p.low.si || si > p.high.si);
    let beyond = |si: f64| (si < band.low.si || si > band.high.si) && !impossible(si);
    if let Some(end) = [low, high].into_iter().find(|w| beyond(w.si)) {
        let source = card.band_source.as_deref().unwrap_or("the schema");
        let message = format!("{} lies outside {} to {}", end.text, band.low.text, band.high.text);
        findings.find(at.value_spot(), message, format!("check unit and decimal point; the band: {source}"));
    }
}
