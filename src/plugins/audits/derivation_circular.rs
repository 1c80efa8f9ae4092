//! `derivation-circular`: A computed claim rests on itself.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "derivation-circular",
    severity: Error,
    integrity: true,
    what: "A computed claim rests on itself.",
    why: "A number derived from itself is derived from nothing.",
    waive: "never: correct the record",
    source: "NIST SP 960-11 (2003) on evaluating property data, abstract read: what is reported must be traceable",
    cases: include_str!("../../../tests/data/audits/derivation-circular.md"),
    look: Look::Claim(look),
};

fn look(at: &ClaimAt<'_>, context: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let own = at.record.address(at.word, at.claim);
    let mut seen: Vec<String> = Vec::new();
    let mut open: Vec<String> = at.claim.from.iter().map(|f| f.to_string()).collect();
    while let Some(next) = open.pop() {
        for named in address::resolve(context.book, &next) {
            let name = named.address();
            if name == own {
                return findings.find(
                    at.spot("from"),
                    format!("it is computed from `{next}`, which rests on it"),
                    "name the measured claims it starts from",
                );
            }
            if !seen.contains(&name) {
                open.extend(named.claim.from.iter().map(|f| f.to_string()));
                seen.push(name);
            }
        }
    }
}
