//! `value-impossible`: A value lies outside the possible range of its property.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "value-impossible",
    severity: Error,
    integrity: false,
    what: "A value lies outside the possible range of its property.",
    why: "A unit or a decimal point is wrong, or the value is so unusual that it deserves a note.",
    waive: "when the source was read again and the material really is that unusual",
    source: "bands of the property in its schema, with their source",
    cases: include_str!("../../../tests/data/audits/value-impossible.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some(card), true) = (at.card, at.in_use()) else { return };
    let (Some(band), Some((low, high))) = (&card.possible, at.claim.value.ends()) else { return };
    let beyond = |si: f64| si < band.low.si || si > band.high.si;
    if let Some(end) = [low, high].into_iter().find(|w| beyond(w.si)) {
        let source = card.band_source.as_deref().unwrap_or("the schema");
        let message = format!("{} lies outside {} to {}", end.text, band.low.text, band.high.text);
        findings.find(at.value_spot(), message, format!("check unit and decimal point; the band: {source}"));
    }
}
