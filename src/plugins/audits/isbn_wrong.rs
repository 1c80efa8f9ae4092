//! `isbn-wrong`: The check digit of an ISBN does not fit its other digits.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "isbn-wrong",
    severity: Error,
    integrity: false,
    what: "The check digit of an ISBN does not fit its other digits.",
    why: "One digit is wrong, and the book cannot be found.",
    waive: "when the book itself prints a wrong number",
    source: "ISO 2108 (memory): weights 10 to 1 modulo 11, or 1 and 3 modulo 10",
    cases: include_str!("../../../tests/data/audits/isbn-wrong.md"),
    look: Look::Record(look),
};

fn look(record: &Record, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let Some(isbn) = record.source().and_then(|s| s.isbn.as_deref()) else { return };
    let digits: Option<Vec<u32>> =
        isbn.chars().filter(|c| *c != '-').map(|c| if c == 'X' { Some(10) } else { c.to_digit(10) }).collect();
    let right = match digits.as_deref() {
        Some(d) if d.len() == 10 => d.iter().zip((1..=10).rev()).map(|(d, w)| d * w).sum::<u32>() % 11 == 0,
        Some(d) if d.len() == 13 => d.iter().zip([1, 3].into_iter().cycle()).map(|(d, w)| d * w).sum::<u32>() % 10 == 0,
        _ => false,
    };
    if !right {
        findings.find(
            Spot::field(record, "/ISBN"),
            format!("{isbn} is not a valid ISBN: its check digit does not fit"),
            "copy it again from the title page",
        );
    }
}
