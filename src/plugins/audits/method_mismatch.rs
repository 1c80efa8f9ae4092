//! `method-mismatch`: The named test standard does not measure this property.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "method-mismatch",
    severity: Warning,
    integrity: false,
    what: "The named test standard does not measure this property.",
    why: "Either the standard or the property is wrong.",
    waive: "when the standard was adapted and `note` says how",
    source: "scopes of the standards (memory)",
    cases: include_str!("../../../tests/data/audits/method-mismatch.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(method) = at.claim.method.as_deref().filter(|_| at.in_use()) else { return };
    let upper = method.to_uppercase();
    let named = STANDARDS.iter().find(|(name, _)| names(&upper, name));
    if let Some((name, words)) = named
        && !words.iter().any(|w| at.word.contains(w))
    {
        let message = format!("{name} does not measure {}", at.title());
        findings.find(at.spot("method"), message, format!("it measures: {}", words.join(", ").replace('_', " ")));
    }
}

/// Standards with words of the properties they measure.
const STANDARDS: [(&str, &[&str]); 22] = [
    ("ISO 527", &["tensile", "yield", "elongation", "stress_at_break", "poisson"]),
    ("ASTM D638", &["tensile", "yield", "elongation", "stress_at_break", "poisson"]),
    ("ASTM D412", &["tensile", "elongation", "stress_at_break"]),
    ("ISO 178", &["flexural", "elongation"]),
    ("ASTM D790", &["flexural", "elongation"]),
    ("ISO 20795", &["flexural", "water", "sorption"]),
    ("ISO 604", &["compressive", "yield"]),
    ("ASTM D695", &["compressive", "yield"]),
    ("ISO 179", &["charpy"]),
    ("ISO 180", &["izod"]),
    ("ASTM D256", &["izod"]),
    ("ISO 75", &["hdt"]),
    ("ASTM D648", &["hdt"]),
    ("ISO 11357", &["tg", "melting", "conversion"]),
    ("ISO 11359", &["cte", "tg"]),
    ("ASTM E831", &["cte"]),
    ("ISO 1183", &["density"]),
    ("ASTM D792", &["density"]),
    ("ISO 62", &["water", "moisture"]),
    ("ASTM D570", &["water", "moisture"]),
    ("ISO 868", &["shore"]),
    ("ASTM D2240", &["shore"]),
];

/// Whether the text names the standard and not one whose number begins alike: ISO 62 is not ISO 620.
fn names(text: &str, standard: &str) -> bool {
    text.match_indices(standard).any(|(at, _)| !text[at + standard.len()..].starts_with(|c: char| c.is_ascii_digit()))
}
